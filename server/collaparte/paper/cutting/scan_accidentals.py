"""Sharps and flats that stand behind a scanned line's clef in a key's order: told by their looks and by where they are.

Common practice: a key's sharps are F C G D A E B, its flats B E A D G C F, each in its octave for the clef.
"""

from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from collaparte.paper.scans.page import Dark

CELLS = 8
"""Ink is looked at in squares, so many a space,"""
UP, WIDE, BEFORE = 5.5, 14.0, 0.3
"""so many spaces up and down from the stave's middle, so far behind the clef's end and so far before it."""
FIRST, NATURALS = 2.5, 7.0
"""The first sign begins so near behind that, in spaces, or where naturals stand before it behind a barline;"""
PITCH = {"sharp": (0.8, 1.35), "flat": (0.7, 1.3)}
"""the others so far behind the one before, at least and at most;"""
WIDER = {"sharp": (1.35, 1.65), "flat": (1.3, 1.5)}
"""in a handwritten font (sharps: 1.6)."""
WIDTH = {"sharp": 1.0, "flat": 0.9}
NATURAL = 0.7
"""Their width, in spaces, and a natural's (SMuFL fonts)."""
ASIDE = 2
"""So many squares over and under its place a sign may stand."""
LOOKS = {("sharp", 1): 0.7, ("flat", 1): 0.7, ("sharp", 2): 0.48, ("flat", 2): 0.57}
MANY = 0.42
"""How like its picture each sign is at least (correlation): one and two, which accidentals may look like, and two flats
a note with its flag; and more;"""
EXPECTED = 0.33
"""those of a key that the next line has;"""
DOUBT = 0.32
"""where one sign more looks so much like one, how many there are is in doubt (636 lines: 0.3 where there was none)."""
IN_G = {"sharp": (-4, -1, -5, -2, 1, -3, 0), "flat": (0, -3, 1, -2, 2, -1, 3)}
"""Half spaces under the stave's middle at which signs stand in a G clef;"""
LOWER = {"g": 0, "f": 2, "alto": 1, "tenor": -1}
"""so many more in each other clef,"""
TENOR_SHARPS = (2, -2, 1, -3, 0, -4, -1)
"""but for sharps in a C clef on the fourth line."""
CLEFS = {"g": (-3.8, 3.7), "f": (-2.1, 1.2), "alto": (-2.0, 2.0), "tenor": (-3.0, 1.0)}
"""From where to where clefs are high, in spaces under the stave's middle (SMuFL fonts),"""
ABOUT = 0.45
"""give or take so much."""
HIGH = {"sharp": (6, 0), "flat": (5, -1)}
"""How a key's name has them (`headcut.sign_name`): height, and how far under their line, in half spaces."""

Sort = Literal["sharp", "flat"]
SORTS: tuple[Sort, ...] = ("sharp", "flat")
Squares = npt.NDArray[np.float64]


def _picture(rows: str) -> Squares:
    return np.array([[int(figure) / 9 for figure in row] for row in rows.split()])


LOOK: dict[Sort | Literal["natural"], Squares] = {
    "sharp": _picture(
        """000000121 000102673 014732885 015862864 016864876 005864877 005876778 026898878
        377898878 588898877 477787764 577874776 567885777 467885778 126874878 016888878
        146787777 377888777 488898876 587897876 477885775 377885775 115762665 006880563
        004860000 000320000"""
    ),
    "flat": _picture(
        """2440000 3740000 6860000 6850000 6960000 5850000 6861000
        5872112 5872112 5861000 5861211 4866765 4899878 4895678
        3870368 4884778 4884778 3875876 3888852 3898400 3884000
        1550000 0000000 0000000"""
    ),
    "natural": _picture(
        """4431001 5641111 7751000 7852110 7763332 7763342 7875563 6876674 7887885
        6876785 7864696 6853585 5853586 6753696 6864686 5865785 5776674 6888886
        4766685 3555675 2434575 1223585 0111475 0000485 0000254 0000133"""
    ),
}
"""How dark each of a sign's squares is, in ninths: the mean of some hundred scans of two engravers' fonts (naturals:
of twenty)."""


class InOrder(NamedTuple):
    """Signs of a key that may stand in a stave: how like signs they all look, where the last one ends (spaces behind
    the clef), and in which clef they are."""

    likeness: float
    right: float
    clef: str


class KeySigns(NamedTuple):
    """So many sharps or flats."""

    sort: Sort
    many: int

    @property
    def fifths(self) -> int:
        return self.many if self.sort == "sharp" else -self.many


def signs_in_order(
    ink: Dark, middle: float, clef: tuple[float, float], space: float, first: float, *, wide: bool = False
) -> dict[KeySigns, InOrder]:
    """The keys that may stand in `ink`, whose columns begin `BEFORE` a clef's end: pixels as `space` and `middle`.

    `clef`: its first and last row under the stave's middle, in spaces, which says what clef it is. The first sign
    begins so near, in spaces; the others stand close, or `wide` apart.
    """
    squares = _squares(ink, middle, space)
    out: dict[KeySigns, InOrder] = {}
    for sort in SORTS:
        look = LOOK[sort]
        alike = _alike(squares, look)
        for which in _clefs(*clef):
            rows = _rows(alike, sort, which, len(look))
            for many, (likeness, right) in enumerate(
                _chains(rows, first, (WIDER if wide else PITCH)[sort], WIDTH[sort]), 1
            ):
                key, found = KeySigns(sort, many), InOrder(likeness, right, which)
                out[key] = max(out.get(key, found), found)
    return out


def naturals_in_order(
    ink: Dark, middle: float, clef: tuple[float, float], space: float, key: KeySigns
) -> InOrder | None:
    """The same of naturals that take all signs of a key back; None where `ink` has none."""
    alike = _alike(_squares(ink, middle, space), LOOK["natural"])
    out: list[InOrder] = []
    for which in _clefs(*clef):
        rows = _rows(alike, key.sort, which, len(LOOK["natural"]), down=0)
        likeness, right = _chains(rows, FIRST, PITCH[key.sort], WIDTH[key.sort])[key.many - 1]
        out.append(InOrder(likeness, right - WIDTH[key.sort] + NATURAL, which))
    return max(out, default=None)


def key_of(staves: Sequence[dict[KeySigns, InOrder]]) -> KeySigns | None:
    """The key that stands in all of a line's staves; None where none does, or how many signs it has is in doubt."""
    alike = {key: min(stave[key].likeness if key in stave else 0.0 for stave in staves) for key in staves[0]}
    told = [key for key in alike if alike[key] > LOOKS.get((key.sort, key.many), MANY)]
    best = max(told, key=lambda key: (key.many, alike[key]), default=None)
    return best if best and alike.get(KeySigns(best.sort, best.many + 1), 0.0) < DOUBT else None


def name_of(key: KeySigns, clef: str) -> str:
    """What a key in a clef is called, as in an engraved part."""
    high, down = HIGH[key.sort]
    return " ".join(f"{high}@{place + down}" for place in _places(key.sort, clef)[: key.many])


def width(key: KeySigns) -> float:
    """How wide a key's signs are, in spaces."""
    return WIDTH[key.sort] + (key.many - 1) * sum(PITCH[key.sort]) / 2


def _clefs(top: float, bottom: float) -> list[str]:
    """The clefs that one so high may be: the nearest, where it is near; all, where it is none."""
    off = {which: abs(top - a) + abs(bottom - b) for which, (a, b) in CLEFS.items()}
    near = min(off, key=lambda which: off[which])
    return [near] if off[near] < 2 * ABOUT or bottom - top > CLEFS["g"][1] - CLEFS["g"][0] - 2 else list(CLEFS)


def _places(sort: Sort, clef: str) -> Sequence[int]:
    return TENOR_SHARPS if (sort, clef) == ("sharp", "tenor") else [at + LOWER[clef] for at in IN_G[sort]]


def _squares(ink: Dark, middle: float, space: float) -> Squares:
    """How dark each square is."""
    out = np.zeros((round(2 * UP * CELLS), round(WIDE * CELLS)))
    rows, columns = np.nonzero(ink)
    y = np.floor(((rows - middle) / space + UP) * CELLS).astype(np.intp)
    x = np.floor(columns / space * CELLS).astype(np.intp)
    there = (y >= 0) & (y < out.shape[0]) & (x < out.shape[1])
    np.add.at(out, (y[there], x[there]), (CELLS / space) ** 2)
    return np.minimum(out, 1.0)


def _alike(squares: Squares, look: Squares) -> Squares:
    """How like a picture the squares from each row and column on are: their correlation."""
    windows = np.lib.stride_tricks.sliding_window_view(squares, look.shape)
    even = look - look.mean()
    spread = _means(squares**2, look.shape) - _means(squares, look.shape) ** 2
    both = np.sqrt((even**2).sum() * np.maximum(spread, 1e-4) * look.size)
    out: Squares = np.einsum("abij,ij->ab", windows, even) / both
    return out


def _means(squares: Squares, window: tuple[int, ...]) -> Squares:
    """The mean of each window, by sums from the first square on: a fifth of the time that windows one by one take."""
    tall, wide = window
    sums = np.pad(squares, ((1, 0), (1, 0))).cumsum(axis=0).cumsum(axis=1)
    out: Squares = sums[tall:, wide:] - sums[:-tall, wide:] - sums[tall:, :-wide] + sums[:-tall, :-wide]
    return out / (tall * wide)


def _rows(alike: Squares, sort: Sort, clef: str, tall: int, down: int | None = None) -> Squares:
    """For each of a key's signs how like one each column's ink is, at its place in a clef; a sign's middle is so many
    half spaces under its line."""
    down = HIGH[sort][1] if down is None else down
    first = [round(((at + down) / 2 + UP) * CELLS) - tall // 2 for at in _places(sort, clef)]
    return np.array([alike[max(row - ASIDE, 0) : row + ASIDE + 1].max(axis=0) for row in first])


def _chains(likeness: Squares, first: float, pitch: tuple[float, float], width: float) -> list[tuple[float, float]]:
    """The best of one sign, of two, and so on, each as far behind the one before as signs of a key are: how like signs
    they all are, and where they end."""
    low = likeness[0].copy()
    low[round(first * CELLS) :] = -1.0
    nearest, farthest = (round(room * CELLS) for room in pitch)
    out = [low]
    for next_one in likeness[1:]:
        before = np.concatenate((np.full(farthest, -1.0), low[: len(low) - nearest]))
        reached = np.lib.stride_tricks.sliding_window_view(before, farthest - nearest + 1).max(axis=1)
        low = np.minimum(reached, next_one)
        out.append(low)
    return [(float(low.max()), int(low.argmax()) / CELLS - BEFORE + width) for low in out]
