"""A part's bars onto the tune's ruler: by counting from mark to mark, and saying in words where the two part.

Copyists leave a bar out, write a repeat twice, forget a mark. Between two marks that both sides have, equal counts are
taken one to one; unequal ones are a difference, placed as near as the signs between them allow. All positions are
0-based places in document order, the pickup included.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal, NamedTuple

from collaparte.wire.outline import Outline

AGREES = 0.8
"""At or above this agreement two outlines are taken for the same part of the same tune."""
PLACEABLE = 0.5
"""Below this the bars cannot be told one from another: none is placed."""


class Difference(NamedTuple):
    """Where a part and the ruler differ: between which marks ("" for the beginning or the end), and by how much.

    `bars` is positive: the part has so many more or fewer, or `mark` stands so many bars later or earlier in it; for
    "named", so many marks have other names, `mark` for `after`.
    """

    kind: Literal["more", "fewer", "later", "earlier", "pickup", "no-pickup", "named"]
    bars: int
    after: str = ""
    before: str = ""
    mark: str = ""


class Alignment(NamedTuple):
    """For each of the part's bars its place on the ruler, None for one that the ruler does not have; it may have gaps.

    `agreement`: 0 to 1, how much of counts and marks is the same. Below `PLACEABLE` no bar is placed.
    """

    bars: tuple[int | None, ...]
    differences: tuple[Difference, ...]
    agreement: float

    @property
    def same_count(self) -> bool:
        """No bar is missing or too many anywhere."""
        return not any(d.kind in ("more", "fewer") for d in self.differences)


class Anchor(NamedTuple):
    """A bar that both sides know: the place in the part, on the ruler, and the mark there ("" for begin and end)."""

    part: int
    ruler: int
    mark: str


def align(part: Outline, ruler: Outline) -> Alignment:
    """Place a part's bars on the ruler."""
    anchors = _anchors(part, ruler)
    anchors, moved = _steady(anchors)
    differences = list(moved)
    if part.pickup != ruler.pickup and anchors[0].part != anchors[0].ruler:
        differences.append(Difference("pickup" if part.pickup else "no-pickup", 1))
    places: list[int | None] = [None] * anchors[0].part
    off = 0
    for one, two in pairwise(anchors):
        bars, length = two.part - one.part, two.ruler - one.ruler
        if bars != length:
            kind: Literal["more", "fewer"] = "more" if bars > length else "fewer"
            differences.append(Difference(kind, abs(bars - length), one.mark, two.mark))
            off += abs(bars - length)
        places += _between(one, two, part, ruler)
    agreement = max(0.0, 1 - (off + sum(d.bars for d in moved)) / max(part.bars, ruler.bars, 1))
    if part.marks and ruler.marks:
        named = _otherwise_named(part, ruler)
        differences += named
        same = max(len(anchors) - 2 + len(moved), sum(d.bars for d in named))
        agreement *= same / min(len(part.marks), len(ruler.marks))
    if agreement < PLACEABLE:
        return Alignment((None,) * part.bars, tuple(differences), agreement)
    return Alignment(tuple(places), tuple(differences), agreement)


def agreeing(outlines: Sequence[Outline]) -> list[int]:
    """The largest group of outlines that have the same bars, by their places in the sequence, the best one first.

    Best is the one with the most marks. A group of one out of several means that no two agree.
    """
    groups = []
    for n, one in enumerate(outlines):
        group = [m for m, other in enumerate(outlines) if m != n and _alike(other, one)]
        groups.append([n, *group])
    return max(groups, key=lambda g: (len(g), len(outlines[g[0]].marks), -g[0]), default=[])


def _alike(one: Outline, other: Outline) -> bool:
    alignment = align(one, other)
    return one.bars == other.bars and alignment.same_count and alignment.agreement >= AGREES


def _anchors(part: Outline, ruler: Outline) -> list[Anchor]:
    pairs = _common([mark for mark, _ in part.marks], [mark for mark, _ in ruler.marks])
    marks = [Anchor(part.marks[p][1], ruler.marks[r][1], ruler.marks[r][0]) for p, r in pairs]
    last = Anchor(part.bars, ruler.bars, "")
    start = _start(part, ruler, (marks or [last])[0])
    # A mark before the start that was found (one in the pickup) adds nothing.
    inside = [a for a in marks if a.part >= start.part and a.ruler >= start.ruler]
    return [start, *inside, last]


def _start(part: Outline, ruler: Outline, next_: Anchor) -> Anchor:
    """Where counting begins: at the first bars drawn, or at bar 1 of both when only one side knows of a pickup."""
    drawn, numbered = Anchor(0, 0, ""), Anchor(int(part.pickup), int(ruler.pickup), "")
    if part.pickup == ruler.pickup or next_.part == next_.ruler:
        return drawn
    return numbered


def _steady(anchors: list[Anchor]) -> tuple[list[Anchor], list[Difference]]:
    """Leave out marks that alone stand elsewhere: what one side has more before them it has less after them."""
    kept, moved = [anchors[0]], []
    at = 1
    while at < len(anchors) - 1:
        before, here, after = kept[-1], anchors[at], anchors[at + 1]
        shift = (here.part - before.part) - (here.ruler - before.ruler)
        back = (after.part - here.part) - (after.ruler - here.ruler)
        if shift and shift == -back:
            moved.append(Difference("later" if shift > 0 else "earlier", abs(shift), mark=here.mark))
        else:
            kept.append(here)
        at += 1
    return [*kept, anchors[-1]], moved


def _otherwise_named(part: Outline, ruler: Outline) -> list[Difference]:
    """Marks at the same bars under other names throughout: one copyist letters them, the other numbers them."""
    theirs = {at: text for text, at in ruler.marks}
    pairs = [(text, theirs[at]) for text, at in part.marks if at in theirs]
    if part.bars != ruler.bars or any(key(one) == key(other) for one, other in pairs):
        return []
    return [Difference("named", len(pairs), after=pairs[0][1], mark=pairs[0][0])] if pairs else []


def _between(one: Anchor, two: Anchor, part: Outline, ruler: Outline) -> list[int | None]:
    """The ruler's places of the part's bars between two anchors."""
    if two.part - one.part == two.ruler - one.ruler:
        return [*range(one.ruler, two.ruler)]
    inside = [(k, p) for k, p in part.signs if one.part < p < two.part]
    theirs = [(k, p) for k, p in ruler.signs if one.ruler < p < two.ruler]
    pairs = _common([k for k, _ in inside], [k for k, _ in theirs])
    stops = [one, *(Anchor(inside[p][1], theirs[r][1], "") for p, r in pairs), two]
    places: list[int | None] = []
    for left, right in pairwise(stops):
        # Bars that the part has too many, or lacks, are taken to be the last ones before the next stop.
        bars, length = right.part - left.part, right.ruler - left.ruler
        places += [left.ruler + step if step < length else None for step in range(bars)]
    return places


def _common(one: Sequence[str], other: Sequence[str]) -> list[tuple[int, int]]:
    """The longest common subsequence of two rows of words, as pairs of places."""
    keys, others = [key(text) for text in one], [key(text) for text in other]
    best = [[0] * (len(others) + 1) for _ in range(len(keys) + 1)]
    for i in range(len(keys) - 1, -1, -1):
        for j in range(len(others) - 1, -1, -1):
            best[i][j] = best[i + 1][j + 1] + 1 if keys[i] == others[j] else max(best[i + 1][j], best[i][j + 1])
    pairs, i, j = [], 0, 0
    while i < len(keys) and j < len(others):
        if keys[i] == others[j]:
            pairs.append((i, j))
            i, j = i + 1, j + 1
        elif best[i + 1][j] >= best[i][j + 1]:
            i += 1
        else:
            j += 1
    return pairs


def key(mark: str) -> str:
    """What of a mark's name counts when two are compared."""
    return "".join(c for c in mark.casefold() if c.isalnum()) or mark
