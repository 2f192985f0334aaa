"""Printed bar numbers against the count: where they part, in words, and what bars are called from there on.

Whoever says "bar 45" means the bar that is numbered so on paper, whatever the count makes of it.
"""

from collections.abc import Sequence
from typing import NamedTuple

from msgspec.structs import replace

from collaparte.paper.doubts import MISMATCH
from collaparte.paper.reading import Barline, Leap, Uncounted, called
from collaparte.paper.sight.lines import STRONG, MusicLine, Printed

BEGIN_AGAIN = (
    "The printed bar numbers begin again at bar {} of the count, on page {}: the bar numbered {} there is bar {} of "
    "the count. Some numbers stand at two bars: say by a mark which is meant."
)
FEW_BARS = 4
"""Numbers that begin again do so behind more bars than this."""
ALONE = 0.85
"""Confidence of what bars are called behind a printed number that parts from the count and that no other bears out."""


class Parted(NamedTuple):
    """What is said where printed numbers part from the count, and the bars from which on others are called by them."""

    said: list[str]
    leaps: list[Uncounted]


def part_from_count(lines: Sequence[MusicLine], uncounted: Sequence[Uncounted], *, scanned: bool) -> Parted:
    """Compare printed numbers with the count; lowers confidence where they part, and behind a last one that parts.

    On pictures (`scanned`) numbers are misread, so only those that begin again are gone by.
    """
    said: list[str] = []
    leaps: list[Uncounted] = []
    off = 0
    since: tuple[int, int] = (0, 0)
    alone: tuple[int, int] | None = None
    for n, line in enumerate(lines):
        for printed in line.numbers:
            if not line.bars:
                continue
            at = line.bars[printed.bar].number
            counted = called(uncounted, at)
            more = printed.number - counted - off
            if more:
                first = at - printed.number + 1
                again = _begins_again(lines, since, first)
                said.append(
                    BEGIN_AGAIN.format(counted - printed.number + 1, again.page + 1, printed.number, counted)
                    if again
                    else _sentence(lines, since, line, printed, counted + off, [*uncounted, *leaps], scanned)
                )
                _doubt(lines, since, (n, printed.bar), said[-1])
                if again:
                    leaps.append(Uncounted(first, -more, leap=Leap.AGAIN))
                elif not scanned:
                    leaps.append(Uncounted(at, -more, leap=Leap.ON))
                off += more
            alone = (n, printed.bar) if more else None
            since = (n, printed.bar)
    if alone and leaps:
        for line in lines[alone[0] :]:
            line.confidence = min(line.confidence, ALONE)
            line.doubt = line.doubt or said[-1]
    return Parted(said, leaps)


def _begins_again(lines: Sequence[MusicLine], since: tuple[int, int], first: int) -> MusicLine | None:
    """The line on which bar `first` of the count is 1 by the printed numbers: a section begins there, behind the last
    printed number, at `since` (line, bar in it), and a few bars on."""
    before: Barline | None = None
    for n, line in enumerate(lines):
        for at, (bar, part) in enumerate(zip(line.bars, line.parts, strict=True)):
            start = part.before or before
            if bar.number == first and first > FEW_BARS and (n, at) > since and start and start.kind in STRONG:
                return line
            before = part.after
    return None


def off_numbers(lines: Sequence[MusicLine], uncounted: Sequence[Uncounted]) -> set[int]:
    """The bars, by number, of lines on which the printed numbers part from the count, or have not come back to it."""
    off, out = False, set[int]()
    for line in lines:
        was = off
        for printed in line.numbers if line.bars else ():
            off = printed.number != called(uncounted, line.bars[printed.bar].number)
        if was or off:
            out |= {bar.number + n for bar in line.bars for n in range(bar.count)}
    return out


def _sentence(
    lines: Sequence[MusicLine],
    since: tuple[int, int],
    line: MusicLine,
    printed: Printed,
    counted: int,
    uncounted: Sequence[Uncounted],
    scanned: bool,
) -> str:
    first = next((other.bars[since[1]].number for other in lines[since[0] :] if len(other.bars) > since[1]), 1)
    first = called(uncounted, first)
    difference = abs(printed.number - counted)
    bars = "bar" if difference == 1 else "bars"
    more = "more" if printed.number > counted else "fewer"
    return (
        f"The bar on page {line.page + 1} that is numbered {printed.number} would be {counted} by the count: "
        f"between bar {first} and there the printed numbers have {difference} {bars} {more}"
        f"{'' if scanned else ', and from there on bars are called by them'}."
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
