"""How much of a machine one file may take, and the first look at a file that keeps the worst ones out."""

import msgspec

MB = 1024 * 1024
MM = 25.4 / 72
"""One PDF point in mm (ISO 32000-1, 8.3.2.3: a unit of default user space is 1/72 inch)."""


class Limits(msgspec.Struct, frozen=True):
    """What a worker may take. Memory is its address space, held by the system where it has such a limit.

    Seconds of jobs are those that a processor works on it, where the system counts them: a file is not to blame for
    a machine that has other work. Where it does not, they are those of the clock.

    The sizes leave room for what a librarian really brings: a 16-part book scanned at 600 dpi, an A2 score.
    """

    file_mb: int = 200
    memory_mb: int = 1024
    pages: int = 400
    side_mm: float = 1000.0
    """Longest side of a page."""
    page_megapixels: float = 150.0
    """Pixels of all pictures on one page: A3 at 600 dpi in one picture is 70."""
    start_seconds: float = 360.0
    """By the clock: it takes one or two of a processor, and a machine may have other work."""
    look_seconds: float = 30.0
    """Opening, counting pages, reading the words at the heads."""
    page_seconds: float = 20.0
    """For each page to be read or cut, on top of `look_seconds`."""
    lay_seconds: float = 20.0
    starved: float = 6.0
    """So many times as long a job may take by the clock: beyond, it does not work but waits for what does not come."""


class Refused(ValueError):
    """This file is not taken; the message is one sentence: what is wrong, with which file, what to do."""


def check_bytes(data: bytes, name: str, limits: Limits) -> None:
    """Refuse what needs no opening to be refused: empty, not a PDF, too big. Raises `Refused`."""
    if not data:
        raise Refused(f"{name} is empty (0 bytes): export or copy it again.")
    if len(data) > limits.file_mb * MB:
        raise too_large(len(data), name, limits)
    # ISO 32000-1, 7.5.2 and Annex H.3, note 13 (from memory): readers accept the header within the first 1024 bytes.
    if b"%PDF-" not in data[:1024]:
        raise Refused(f"{name} is not a PDF, {_what_it_is(data)}: export the part as PDF and bring that.")


def too_large(size: int, name: str, limits: Limits) -> Refused:
    """What is said of a file of so many bytes."""
    return Refused(
        f"{name} is {size // MB} MB, more than the {limits.file_mb} MB that are opened: "
        "split it, or scan it at 300 dpi in grey."
    )


def _what_it_is(data: bytes) -> str:
    known = (
        (b"\x89PNG", "it is a PNG picture"),
        (b"\xff\xd8\xff", "it is a JPEG picture"),
        (b"PK\x03\x04", "it is a zip archive"),
        (b"II*\x00", "it is a TIFF picture"),
        (b"MM\x00*", "it is a TIFF picture"),
        (b"MThd", "it is a MIDI file"),
    )
    for start, words in known:
        if data.startswith(start):
            return words
    if b"<score-partwise" in data[:4096] or b"<score-timewise" in data[:4096]:
        return "it is MusicXML"
    try:
        data[:2048].decode("utf-8")
    except UnicodeDecodeError as error:
        # A character cut in two by the slice is no sign of anything.
        if error.start < 2040:
            return "whatever its name says"
    return "it is text" if b"\x00" not in data[:2048] else "whatever its name says"
