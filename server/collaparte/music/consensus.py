"""What most parts of a tune say: its marks, the bars between them and its signs, voted part by part. Pure.

Each part may have its own mistake, so no part need be right throughout: marks are voted first, then the bars of each
stretch between two marks, then the signs within them. Positions are 0-based in document order.
"""

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from collaparte.music.align import Anchor, agreeing, align, key
from collaparte.wire.outline import Outline

UNTOLD = ("double bar",)
"""Signs that change nothing that is played, and that copyists set as they like."""


STEADY = 1.5
"""Marks that keep their distance count so much more than one that is in both: a mark that alone stands elsewhere does
not tell where the bars are, a bar left out before it does."""


class Placing(NamedTuple):
    """One part beside a reference: the bars that both know, from the beginning to the end."""

    anchors: list[Anchor]

    def there(self, position: int) -> int | None:
        """The reference's position of one of the part's; None within a stretch whose lengths differ."""
        return _across([(a.part, a.ruler) for a in self.anchors], position)

    def here(self, position: int) -> int | None:
        """The part's position of one of the reference's; None within a stretch whose lengths differ."""
        return _across([(a.ruler, a.part) for a in self.anchors], position)


def beside(part: Outline, reference: Outline) -> Placing:
    """A part beside a reference: of the ways to pair their marks the one that leaves most bars where they are."""
    pairs = [
        (n, m, Anchor(at, there, theirs))
        for m, (theirs, there) in enumerate(reference.marks)
        for n, (text, at) in enumerate(part.marks)
        if key(text) == key(theirs)
    ]
    starts = [(-1, -1, Anchor(0, 0, ""))]
    if part.pickup != reference.pickup:
        starts.append((-1, -1, Anchor(int(part.pickup), int(reference.pickup), "")))
    nodes = [*starts, *pairs, (len(part.marks), len(reference.marks), Anchor(part.bars, reference.bars, ""))]
    best: list[tuple[float, int]] = []
    for n, (mark, theirs, anchor) in enumerate(nodes):
        score, before = 0.0, -1
        for b, (mark_before, theirs_before, previous) in enumerate(nodes[:n]):
            if mark_before < mark and theirs_before < theirs and previous.ruler <= anchor.ruler:
                steady = previous.part - previous.ruler == anchor.part - anchor.ruler
                if best[b][0] + 1 + STEADY * steady > score:
                    score, before = best[b][0] + 1 + STEADY * steady, b
        best.append((score, before))
    way, at = [], len(nodes) - 1
    while at >= 0:
        way.append(nodes[at][2])
        at = best[at][1]
    return Placing(way[::-1])


def consensus(parts: Sequence[Outline]) -> Outline:
    """The outline that most of the parts have, stretch by stretch; the best part decides where they are even.

    Raises ValueError without parts.
    """
    best = _best(parts)
    reference = _voted_marks(best, parts)
    reference = _voted_lengths(reference, parts)
    return _voted_signs(reference, best, parts)


def _best(parts: Sequence[Outline]) -> Outline:
    """The part to begin with: of the largest group that agree, or the one that the others are nearest to."""
    if not parts:
        raise ValueError("without parts there is nothing that they agree on")
    same, count = Counter(parts).most_common(1)[0]
    if 2 * count > len(parts):
        return same
    group = agreeing(parts)
    if len(group) > 1:
        return parts[group[0]]
    pickups = Counter(part.pickup for part in parts)
    likely = [part for part in parts if 2 * pickups[part.pickup] >= len(parts)]
    return max(likely, key=lambda one: sum(align(other, one).agreement for other in parts))


def _voted_marks(best: Outline, parts: Sequence[Outline]) -> Outline:
    marked = [part for part in parts if part.marks]
    names: defaultdict[int, Counter[str]] = defaultdict(Counter)
    own = {at: text for text, at in best.marks}
    for part in marked:
        placing = beside(part, best)
        for text, at in part.marks:
            there = placing.there(at)
            if there is not None:
                names[there][text] += 1
    held = []
    for at, votes in sorted(names.items()):
        # Where the parts are even, what the best part has is kept.
        if 2 * votes.total() > len(marked) or (2 * votes.total() == len(marked) and at in own):
            most = max(votes.values())
            likely = [text for text, count in votes.items() if count == most]
            held.append((own[at] if own.get(at) in likely else likely[0], at))
    return best._replace(marks=tuple(held))


def _voted_lengths(reference: Outline, parts: Sequence[Outline]) -> Outline:
    bounds = [0, *(at for _, at in reference.marks), reference.bars]
    votes: list[Counter[int]] = [Counter() for _ in bounds[1:]]
    for part in parts:
        at = {anchor.ruler: anchor.part for anchor in beside(part, reference).anchors}
        for stretch, (start, end) in zip(votes, pairwise(bounds), strict=True):
            if start in at and end in at:
                stretch[at[end] - at[start]] += 1
    lengths = []
    for stretch, (start, end) in zip(votes, pairwise(bounds), strict=True):
        most = max(stretch.values(), default=0)
        length = end - start
        lengths.append(length if stretch[length] == most else stretch.most_common(1)[0][0])
    ends = [sum(lengths[: n + 1]) for n in range(len(lengths))]
    marks = tuple((text, at) for (text, _), at in zip(reference.marks, ends, strict=False))
    return reference._replace(bars=ends[-1], marks=marks)


def _voted_signs(reference: Outline, best: Outline, parts: Sequence[Outline]) -> Outline:
    placings = [beside(part, reference) for part in parts]
    votes: Counter[tuple[str, int]] = Counter()
    own: set[tuple[str, int]] = set()
    for part, placing in zip(parts, placings, strict=True):
        found = {(kind, there) for kind, at in told(part) if (there := placing.there(at)) is not None}
        votes.update(found)
        if part is best:
            own = found
    held = []
    for sign, count in votes.items():
        witnesses = sum(placing.here(sign[1]) is not None for placing in placings)
        if 2 * count > witnesses or (2 * count == witnesses and sign in own):
            held.append(sign)
    return reference._replace(signs=tuple(sorted(held, key=lambda sign: (sign[1], sign[0]))))


def told(part: Outline) -> list[tuple[str, int]]:
    """The signs that parts must agree on."""
    return [sign for sign in part.signs if sign[0] not in UNTOLD]


def _across(pairs: list[tuple[int, int]], position: int) -> int | None:
    exact = next((there for here, there in pairs if here == position), None)
    if exact is not None:
        return exact
    after = bisect_right([here for here, _ in pairs], position)
    if after in (0, len(pairs)):
        return None
    (here, there), (here_end, there_end) = pairs[after - 1], pairs[after]
    return there + position - here if here_end - here == there_end - there else None
