"""What is not sure, in words: printed bar numbers against the count, unread pages."""

from collections.abc import Sequence

from msgspec.structs import replace

from collaparte.paper.lines import MusicLine, Printed
from collaparte.paper.strokes import PageInk

MISMATCH = 0.3
"""Confidence of the bars between the last printed number that agreed with the count and the first that did not."""


def unread(ink: PageInk, lines: Sequence[MusicLine]) -> str:
    """Why a page is only shown as printed; empty when it has lines of music."""
    if lines:
        return ""
    if ink.picture > 0.4:
        return "This page is a picture; it is shown as printed."
    if any(g.kind == "letter" for g in ink.glyphs):
        return "There are words but no staves on this page; it is shown as printed."
    return "There is no music on this page; it is shown as printed."


def check_numbers(lines: Sequence[MusicLine]) -> list[str]:
    """Compare printed numbers with the count; lowers confidence where they part, and says where."""
    said: list[str] = []
    off = 0
    since: tuple[int, int] = (0, 0)
    for n, line in enumerate(lines):
        for printed in line.numbers:
            if not line.bars:
                continue
            counted = line.bars[printed.bar].number
            if printed.number - counted != off:
                said.append(_sentence(lines, since, line, printed, counted + off))
                _doubt(lines, since, (n, printed.bar), said[-1])
                off = printed.number - counted
            since = (n, printed.bar)
    return said


def _sentence(
    lines: Sequence[MusicLine], since: tuple[int, int], line: MusicLine, printed: Printed, counted: int
) -> str:
    first = next((other.bars[since[1]].number for other in lines[since[0] :] if len(other.bars) > since[1]), 1)
    difference = abs(printed.number - counted)
    bars = "bar" if difference == 1 else "bars"
    more = "more" if printed.number > counted else "fewer"
    return (
        f"The bar on page {line.page + 1} that is numbered {printed.number} would be {counted} by the count: "
        f"between bar {first} and there the printed numbers have {difference} {bars} {more}."
    )


def _doubt(lines: Sequence[MusicLine], since: tuple[int, int], to: tuple[int, int], sentence: str) -> None:
    """Bars from one place (line, bar in it) up to another are in doubt, and so are their lines."""
    for n in range(since[0], to[0] + 1):
        line = lines[n]
        low = since[1] if n == since[0] else 0
        high = to[1] if n == to[0] else len(line.bars)
        for at in range(low, high):
            line.bars[at] = replace(line.bars[at], confidence=MISMATCH)
        if low < high:
            line.confidence = min(line.confidence, MISMATCH)
            line.doubt = sentence
