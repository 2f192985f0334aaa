"""What is not sure, in words: printed bar numbers against the count, unread pages."""

from collections.abc import Sequence

from collaparte.paper.lines import MusicLine
from collaparte.paper.strokes import PageInk

UNCHECKED = 0.97
"""Confidence of a line whose count no printed number confirms."""
MISMATCH = 0.3
"""Confidence of lines between the last number that agreed and the first that did not."""


def unread(ink: PageInk, lines: Sequence[MusicLine]) -> str:
    """Why a page is only shown as printed; empty when it has lines of music."""
    if lines:
        return ""
    if ink.picture > 0.4:
        return "This page is a picture; it is shown as printed."
    if any(g.kind == "letter" for g in ink.glyphs):
        return "There are words but no staves on this page; it is shown as printed."
    return "There is no music on this page; it is shown as printed."


def check_numbers(lines: Sequence[MusicLine], pickup: bool) -> list[str]:
    """Compare printed numbers with the count; lowers confidence where they part, and says where."""
    said: list[str] = []
    off = 0
    since: list[MusicLine] = []
    for line in lines:
        if not line.bars:
            continue
        since.append(line)
        if line.printed is None:
            continue
        printed, counted = line.printed[0], line.bars[0].number
        if printed - counted != off:
            _part(since[:-1] or since, line, printed, counted + off, said)
            off = printed - counted
        since = [line]
    return said


def _part(lines: Sequence[MusicLine], at: MusicLine, printed: int, counted: int, said: list[str]) -> None:
    first = lines[0].bars[0].number
    more = "more" if printed > counted else "fewer"
    difference = abs(printed - counted)
    bars = "bar" if difference == 1 else "bars"
    sentence = (
        f"The line on page {at.page + 1} that is numbered {printed} would be {counted} by the count: "
        f"between bar {first} and there the printed numbers have {difference} {bars} {more}."
    )
    said.append(sentence)
    for line in lines:
        line.confidence = min(line.confidence, MISMATCH)
        line.doubt = sentence
