"""A small typed client: find a hub, join it, follow it, send to it."""

from collaparte_client.band import Band, NotAnswered, NotIn, Refused
from collaparte_client.books import Book, fetch_book
from collaparte_client.finding import Found, find
from collaparte_client.joining import join

__all__ = ["Band", "Book", "Found", "NotAnswered", "NotIn", "Refused", "fetch_book", "find", "join"]
