"""A small typed client: find a hub, join it, follow it, send to it."""

from collaparte_client.band import Band, NotAnswered, NotIn, Refused
from collaparte_client.finding import Found, find
from collaparte_client.joining import join

__all__ = ["Band", "Found", "NotAnswered", "NotIn", "Refused", "find", "join"]
