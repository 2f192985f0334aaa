"""Lines whose bars may not be those that were seen: they leave their page, or their staves' barlines stand apart."""

from collections.abc import Mapping, Sequence

from collaparte.paper.doubts import doubt_all
from collaparte.paper.sight.lines import MusicLine

BESIDE = 0.5
"""A stave's end may stand so far off its page, in spaces."""


def check(lines: Sequence[MusicLine], widths: Mapping[int, float]) -> list[str]:
    """What of these is told, in sentences; `widths`: those of the pages that are engraved, in points."""
    return _check_edges(lines, widths) + _check_apart([line for line in lines if line.page in widths])


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


def _which(lines: Sequence[MusicLine], n: int) -> str:
    line = lines[n]
    return f"Line {1 + sum(other.page == line.page for other in lines[:n])} on page {line.page + 1}"
