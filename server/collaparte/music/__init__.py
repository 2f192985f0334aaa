"""Bars, the ruler, places, form, edits and played order. Pure."""
