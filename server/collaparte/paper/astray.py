"""Lines whose bars may not be those that were seen: they leave their page, their staves' barlines stand apart, or
they may be staves of one line that nothing joins."""

from collections.abc import Mapping, Sequence
from itertools import pairwise

from collaparte.paper.doubts import doubt_all
from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.unjoined import same_bars

BESIDE = 0.5
"""A stave's end may stand so far off its page, in spaces."""


def check(lines: Sequence[MusicLine], widths: Mapping[int, float]) -> list[str]:
    """What of these is told, in sentences; `widths`: those of the pages that are engraved, in points."""
    engraved = [line for line in lines if line.page in widths]
    return _check_edges(lines, widths) + _check_apart(engraved) + _check_unjoined(engraved)


def _check_edges(lines: Sequence[MusicLine], widths: Mapping[int, float]) -> list[str]:
    """Bars that lie off the page are not seen: a line that runs over its edge is in doubt where no number follows."""
    said = []
    for n, line in enumerate(lines):
        width, slack = widths.get(line.page), BESIDE * line.space
        over = width is not None and (line.system.x1 > width + slack or line.system.x0 < -slack)
        if over and not any(later.numbers for later in lines[n + 1 :]):
            said.append(
                f"{_which(lines, n)} runs off the page, where bars may be missing: "
                "export the part again, smaller or on wider paper."
            )
            doubt_all([line], said[-1])
    return said


def _check_apart(lines: Sequence[MusicLine]) -> list[str]:
    """Where staves have barlines of their own, bars are those of most staves: in doubt where no number follows."""
    said = []
    for n, line in enumerate(lines):
        if line.system.apart and not any(later.numbers for later in lines[n + 1 :]):
            said.append(
                f"{_which(lines, n)} has staves whose barlines stand apart, and the bars of most of them are counted: "
                "look how many there are."
            )
            doubt_all(lines[n:], said[-1])
    return said


def _check_unjoined(lines: Sequence[MusicLine]) -> list[str]:
    """Lines with other clefs and the same bars right under one another may be staves of one: of a score that leaves out
    staves, and whose line at the left end is not drawn. Printed numbers would say otherwise."""
    pairs = [n for n, (one, other) in enumerate(pairwise(lines)) if _may_be_one(one, other)]
    if not pairs or any(line.numbers for line in lines):
        return []
    said = (
        f"{_which(lines, pairs[0])} and the next have other clefs and the same bars, and may be staves of one line; "
        "all lines are counted one after another: put each part on pages of its own and bring those."
    )
    doubt_all(lines, said)
    return [said]


def _may_be_one(one: MusicLine, other: MusicLine) -> bool:
    if one.page != other.page or not one.head.clef or not other.head.clef or one.head.clef == other.head.clef:
        return False
    return same_bars((one.system.staves, one.system.barlines), (other.system.staves, other.system.barlines))


def _which(lines: Sequence[MusicLine], n: int) -> str:
    line = lines[n]
    return f"Line {1 + sum(other.page == line.page for other in lines[:n])} on page {line.page + 1}"
