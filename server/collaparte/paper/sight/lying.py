"""Pages that lie on their side or their head: how far to turn them so that their words and clefs stand upright."""

from collections import Counter
from collections.abc import Sequence
from typing import Any

from collaparte.paper.doubts import FEW_LETTERS
from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.strokes import OUTLINE, PageInk

RULED = 10
"""A page of music has at least so many long lines."""


def turn_by_words(page: Any) -> int:
    """Degrees, clockwise, that make most of a page's words upright: 0, 90, 180 or 270."""
    matrix = page.rotation_matrix
    letters: Counter[tuple[int, int]] = Counter()
    for span in page.get_texttrace():
        x, y = span["dir"]
        across, down = matrix.a * x + matrix.c * y, matrix.b * x + matrix.d * y
        letters[round(across), round(down)] += len(span["chars"])
    most, count = next(iter(letters.most_common(1)), ((1, 0), 0))
    return {(0, -1): 90, (-1, 0): 180, (0, 1): 270}.get(most, 0) if 2 * count > letters.total() else 0


def turns_to_try(ink: PageInk, lines: Sequence[MusicLine]) -> tuple[int, ...]:
    """For a page whose signs are all paths: the turns after which its clefs may be told; none if it looks upright."""
    if clefs(lines) or sum(g.kind == "letter" and g.font != OUTLINE for g in ink.glyphs) >= FEW_LETTERS:
        return ()
    if lines:
        return (180,)
    longest = max(ink.width, ink.height) / 4
    ruled = sum(r.y1 - r.y0 > longest and r.x1 - r.x0 < 3 for r in ink.rules)
    return (90, 270) if ruled >= RULED else ()


def clefs(lines: Sequence[MusicLine]) -> int:
    """How many lines begin with a clef that was told."""
    return sum(bool(line.head.clef) for line in lines)


def turn(page: Any, degrees: int) -> None:
    """Turn a page of the open document clockwise, nothing else of the file."""
    if degrees:
        page.set_rotation((page.rotation + degrees) % 360)
