"""A book that a hub sends: the PDF, and beside it what is said of it."""

import msgspec

HEADER = "Collaparte-Book"
"""The header that `AboutBook` comes in, as JSON with percent-encoding (RFC 3986, 2.1)."""


class AboutBook(msgspec.Struct, frozen=True):
    """What a book is called, how many tunes are in it, and a sentence for each part that could not be printed."""

    name: str
    tunes: int
    missing: tuple[str, ...] = ()
