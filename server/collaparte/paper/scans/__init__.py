"""The same from a page that is a picture. Pure."""
