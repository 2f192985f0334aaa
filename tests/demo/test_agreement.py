"""The demo band's parts agree; and whatever is changed in one of them, at a place drawn by lot, is found there."""

import json
import random
from bisect import bisect_right
from functools import cache
from itertools import pairwise

import pytest

from collaparte.demo import BAND, TRUTH
from collaparte.music.agree import Disagreement, disagreements
from collaparte.paper.read import read_part
from collaparte.paper.ruler import outline
from collaparte.wire.outline import Outline
from seeded import SEED

TUNES = [file.stem for file in sorted(TRUTH.glob("*.json"))]
STRAIGHT = "the-lamp-you-left-on"
"""The tune without repeats and jumps."""
Parts = list[tuple[str, Outline]]


@cache
def parts(tune: str) -> Parts:
    found = []
    for part in json.loads((TRUTH / f"{tune}.json").read_text("utf-8"))["parts"]:
        pages = range(part["first_page"], part["first_page"] + max(1, len(part.get("pages", [0]))))
        found.append((part["chair"], outline(read_part((BAND / part["file"]).read_bytes(), pages))))
    return [(name, part) for name, part in found if part.bars]


@pytest.fixture
def lot() -> random.Random:
    return random.Random(SEED)


def told(tune: str, who: int, part: Outline) -> tuple[Disagreement, ...]:
    changed = [(name, part if n == who else other) for n, (name, other) in enumerate(parts(tune))]
    return disagreements(changed)


def lengthened(part: Outline, position: int, by: int) -> Outline:
    """A bar more after `position`, or that bar left out."""
    moved = [(text, at + by if at > position else at) for text, at in part.marks]
    signs = [(kind, at + by if at > position else at) for kind, at in part.signs]
    return part._replace(bars=part.bars + by, marks=tuple(moved), signs=tuple(signs))


def around(part: Outline, position: int) -> tuple[str, str]:
    names = ["", *(text for text, _ in part.marks), ""]
    n = bisect_right([at for _, at in part.marks], position)
    return names[n], names[n + 1]


@pytest.mark.parametrize("tune", TUNES)
def test_the_parts_agree(tune: str) -> None:
    assert len(parts(tune)) > 5
    assert disagreements(parts(tune)) == ()


@pytest.mark.parametrize("tune", TUNES)
@pytest.mark.parametrize("by", [-1, 1])
def test_a_bar_too_few_or_too_many_is_found_between_its_marks(tune: str, by: int, lot: random.Random) -> None:
    for _ in range(25):
        who = lot.randrange(len(parts(tune)))
        name, part = parts(tune)[who]
        # In a stretch of one bar a bar left out takes the mark with it.
        bounds = [0, *(at for _, at in part.marks), part.bars]
        wide = [p for start, end in pairwise(bounds) if end - start > 1 for p in range(start, end)]
        position = lot.choice([p for p in wide if p >= part.pickup])
        found = told(tune, who, lengthened(part, position, by))
        after, before = around(part, position)
        bars = [(d.part, d.kind, d.bars, d.after, d.before) for d in found if not d.what]
        assert bars == [(name, "fewer" if by < 0 else "more", 1, after, before)], (position, found)
        assert all(d.part == name for d in found)
        assert f"{len(parts(tune)) - 1} of {len(parts(tune))} parts have" in found[0].suggestion


@pytest.mark.parametrize("tune", TUNES)
def test_a_mark_dropped_moved_or_renamed_is_found(tune: str, lot: random.Random) -> None:
    for _ in range(25):
        who = lot.randrange(len(parts(tune)))
        name, part = parts(tune)[who]
        n = lot.randrange(len(part.marks))
        mark, at = part.marks[n]
        dropped = part._replace(marks=(*part.marks[:n], *part.marks[n + 1 :]))
        expected = (name, "missing", mark, None, at)
        assert [(d.part, d.kind, d.what, d.at, d.right) for d in told(tune, who, dropped)] == [expected]
        renamed = part._replace(marks=(*part.marks[:n], ("Q", at), *part.marks[n + 1 :]))
        found = told(tune, who, renamed)
        assert [(d.part, d.kind, d.what, d.wanted, d.at) for d in found] == [(name, "named", "Q", mark, at)]
        free = [p for p in range(part.bars) if p not in {at for _, at in part.marks}]
        to = lot.choice(free)
        moved = tuple(sorted((*part.marks[:n], (mark, to), *part.marks[n + 1 :]), key=lambda m: m[1]))
        found = told(tune, who, part._replace(marks=moved))
        kind = "later" if to > at else "earlier"
        assert [(d.part, d.kind, d.what, d.bars, d.at, d.right) for d in found] == [
            (name, kind, mark, abs(to - at), to, at)
        ]


@pytest.mark.parametrize("tune", [tune for tune in TUNES if tune != STRAIGHT])
def test_a_sign_dropped_or_moved_is_found(tune: str, lot: random.Random) -> None:
    for _ in range(25):
        who = lot.randrange(len(parts(tune)))
        name, part = parts(tune)[who]
        signs = [sign for sign in part.signs if sign[0] != "double bar"]
        kind, at = lot.choice(signs)
        rest = tuple(sign for sign in part.signs if sign != (kind, at))
        found = told(tune, who, part._replace(signs=rest))
        assert [(d.part, d.kind, d.what, d.right) for d in found] == [(name, "missing", kind, at)]
        to = lot.choice([p for p in range(1, part.bars) if (kind, p) not in signs and p != at])
        found = told(tune, who, part._replace(signs=(*rest, (kind, to))))
        assert [(d.part, d.kind, d.what, d.at, d.right) for d in found] == [
            (name, "later" if to > at else "earlier", kind, to, at)
        ]
