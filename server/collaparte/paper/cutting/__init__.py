"""Ink to pieces: every object has one owner, and each bar can be set anywhere. Pure."""
