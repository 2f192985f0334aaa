"""A PDF opened, or one sentence why it cannot be."""

from functools import cache

import pymupdf

TAIL = 2048
"""A PDF ends with %%EOF within so many bytes (ISO 32000-1, annex H, asks readers to look in the last 1024)."""


class ReadingError(ValueError):
    """The file cannot be read at all; the message is one sentence for the librarian."""


@cache
def _hush() -> None:
    """The library says nothing by itself from now on."""
    pymupdf.TOOLS.mupdf_display_errors(False)
    pymupdf.TOOLS.mupdf_display_warnings(False)


def opened(pdf: bytes) -> pymupdf.Document:
    """The PDF opened; ReadingError in one sentence when it cannot be."""
    if not pdf:
        raise ReadingError("The file is empty; export the part again.")
    if b"%PDF-" not in pdf[:1024]:
        raise ReadingError("This is not a PDF; export the part as PDF and bring that.")
    _hush()
    try:
        document = pymupdf.open(stream=pdf, filetype="pdf")
        locked, count = bool(document.needs_pass), len(document)
    except Exception as error:  # the library raises several kinds for damaged files
        what = "damaged and cannot be opened" if b"%%EOF" in pdf[-TAIL:] else "cut short"
        raise ReadingError(f"The PDF is {what}; copy or export it again.") from error
    if locked:
        raise ReadingError("The PDF is locked with a password; save it without one and bring that.")
    if document.is_repaired and b"%%EOF" not in pdf[-TAIL:]:
        raise ReadingError("The PDF is cut short; copy or export it again.")
    if count == 0:
        raise ReadingError("The PDF holds no page; export the part again.")
    return document
