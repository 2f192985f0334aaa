"""A small typed client: find a hub, join it, follow it, send to it."""
