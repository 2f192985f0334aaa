"""Clef, key and meter in any order of a chart's bars: what holds at a bar is what print says there, and a sign stands
where it differs from what held before it, and nowhere else.

The charts change clef, key and meter at any bar; what holds where is known from their making. The orders are cuts,
jumps, repeats written out and endings left out. The rules are an engraver's (common practice): a line begins with its
clef and key; a meter stands where it changes and at the beginning; where a key is taken back by one without signs,
naturals say so, in the clef that holds then.
"""

import random
from functools import cache
from itertools import pairwise

import pytest

import engraving
from collaparte.paper.pages.draw_pdf import draw_cut
from collaparte.paper.pages.lay import lay
from collaparte.paper.pages.laying import LaidLine, LaidPage, Laying, Step
from collaparte.paper.read import read_part
from paper.laid import Part, engraved
from seeded import SEED

pytestmark = pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")

CLEFS = {"treble": ("g", "b'"), "bass": ("f", "d"), "alto": ("c", "c'")}
KEYS = {r"c \major": 0, r"d \major": 2, r"e \major": 4, r"f \major": -1, r"ees \major": -3, r"a \minor": 0}
METERS = {"4/4": 4, "3/4": 3, "2/4": 2, "5/4": 5}
BARS = 20
HEAD = r"""\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Signs" subtitle = "in any order" composer = "N. Body" tagline = ##f }
\layout { indent = 0 }
"""
Valid = tuple[str, int, str]
"""Clef, key (sharps count up, flats down) and meter."""


@cache
def chart(seed: int, plain: bool = True) -> tuple[Part, tuple[Valid, ...]]:
    """A chart, and what holds at each of its bars; unless `plain` its keys all have signs. Its notes have none: a
    reader may take a natural behind a barline for a key's that is taken back."""
    chance = random.Random(seed)
    keys = [key for key in KEYS if plain or KEYS[key]]
    clef, key, meter = chance.choice(list(CLEFS)), chance.choice(keys), chance.choice(list(METERS))
    music, valid = [rf"\numericTimeSignature \clef {clef} \key {key} \time {meter}"], []
    for n in range(BARS):
        if n and chance.random() < 0.25:
            clef = chance.choice([other for other in CLEFS if other != clef])
            music.append(rf"\clef {clef}")
        if n and chance.random() < 0.25:
            other = chance.choice(keys)
            if KEYS[other] != KEYS[key]:
                key = other
                music.append(rf"\key {key}")
        if n and chance.random() < 0.25:
            meter = chance.choice([other for other in METERS if other != meter])
            music.append(rf"\time {meter}")
        music.append(" ".join([f"{CLEFS[clef][1]}4"] * METERS[meter]) + (r" \break" if chance.random() < 0.2 else ""))
        valid.append((CLEFS[clef][0], KEYS[key], meter))
    return engraved(HEAD + r"\new Staff { \omit Staff.Accidental " + " ".join(music) + r' \bar "|." }'), tuple(valid)


def order(chance: random.Random) -> list[Step]:
    """Stretches of bars, from anywhere to anywhere; bars are numbered as they come."""
    steps: list[Step] = []
    while len(steps) < 30:
        first = chance.randrange(1, BARS + 1)
        for bar in range(first, min(first + chance.randrange(1, 6), BARS + 1)):
            steps.append(Step(bar, len(steps) + 1, 1, bool(steps) and bar != steps[-1].bar + 1))
    return steps


CASES = [(SEED * 5 + n, n) for n in range(5)]


@pytest.mark.parametrize("width", [70.0, 148.0])
@pytest.mark.parametrize(("seed", "n"), CASES)
def test_what_holds_is_read_from_the_page(seed: int, n: int, width: float) -> None:
    """By the reader, which its own tests hold against engravers' words; the laying is not asked. (It takes no naturals
    drawn by strokes for a key: the other test counts these.)"""
    the, valid = chart(seed, plain=False)
    steps = order(random.Random(seed))
    laying = lay(the.reading, the.cut.table, steps, (width, 197.0))
    again = read_part(draw_cut(the.cut, laying))
    assert again.positions == len(steps), f"COLLAPARTE_SEED={SEED}"
    found: list[Valid] = []
    now: list[object] = ["", 0, ""]
    changes = sorted(again.changes, key=lambda c: c.bar)
    for place in range(1, len(steps) + 1):
        for change in (c for c in changes if c.bar == place):
            now = [change.clef or now[0], now[1] if change.fifths is None else change.fifths, change.meter or now[2]]
        found.append(tuple(now))  # type: ignore[arg-type]
    wanted = [valid[step.bar - 1] for step in steps]
    wrong = [(n + 1, steps[n].bar, w, f) for n, (w, f) in enumerate(zip(wanted, found, strict=True)) if w != f]
    assert wrong == [], f"COLLAPARTE_SEED={SEED}"


@pytest.mark.parametrize("width", [70.0, 148.0])
@pytest.mark.parametrize(("seed", "n"), CASES)
def test_signs_stand_where_they_change_and_nowhere_else(seed: int, n: int, width: float) -> None:
    the, valid = chart(seed)
    steps = order(random.Random(seed))
    laying = lay(the.reading, the.cut.table, steps, (width, 197.0))
    table = the.cut.table
    kinds = {piece: 0 for head in table.heads for piece in head.clef}
    kinds |= {piece: 0 for bar in table.bars for piece in bar.courtesy}
    kinds |= {piece: 1 for head in table.heads for piece in head.key}
    kinds |= {piece: 1 for bar in table.bars for piece in bar.change}
    kinds |= {piece: 2 for meter in table.meters for piece in meter.pieces}
    kinds |= {piece: 2 for bar in table.bars for piece in bar.meter}
    before: Valid | None = None
    for page, line in ((one, line) for one in laying.pages for line in one.lines):
        drawn = [0, naturals(laying, page, line), 0]
        for p in page.placed:
            if p.piece in kinds and line.y0 < p.y < line.y1:
                drawn[kinds[p.piece]] += 1
        played = [valid[steps[bar.steps[0]].bar - 1] for bar in line.bars]
        first = played[0]
        due = [
            1,
            int(first[1] != 0 or (before is not None and before[1] != 0)),
            int(before is None or before[2] != first[2]),
        ]
        for a, b in pairwise(played):
            due = [d + (x != y) for d, x, y in zip(due, a, b, strict=True)]
        last = line.bars[-1].steps[1]
        closing = (
            last + 1 < len(steps) and not steps[last + 1].join and valid[steps[last + 1].bar - 1][0] != played[-1][0]
        )
        told = f"COLLAPARTE_SEED={SEED}, steps {line.bars[0].steps[0] + 1} to {last + 1}: {played}, before {before}"
        assert drawn[0] - due[0] in ((0, 1) if closing else (0,)), told  # a clef may be announced at a line's end
        assert drawn[1:] == due[1:], told
        before = played[-1]


def naturals(laying: Laying, page: LaidPage, line: LaidLine) -> int:
    """In how many places naturals are drawn on a line: a natural has two uprights of one height, 2.05 spaces."""
    u = laying.space
    uprights = [r for r in page.rules if r.x1 - r.x0 < 0.2 * u and abs(r.y1 - r.y0 - 2.05 * u) < 0.05]
    xs = sorted(r.x0 for r in uprights if line.y0 - 2 * u < r.y0 < line.y1)
    return sum(b - a > 2 * u for a, b in pairwise([-100.0, *xs])) if xs else 0
