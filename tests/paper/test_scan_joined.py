"""Short scores on scans: the line at the left joins a system's staves, whatever runs through between them.

How systems are joined is common practice: a line at the left end of all staves; a bracket round a choir or a section
and a brace round a keyboard's staves, outside it; barlines run through within a section and a keyboard's staves, not
between voices, whose words stand there.
"""

import random

import numpy as np
import pytest

import scanning
from collaparte.paper.read import read_part
from collaparte.paper.reading import SURE
from collaparte.paper.scans.bits import Bitmap, packed
from collaparte.paper.scans.joined import agreed, joined
from collaparte.paper.scans.staves import ScannedStave
from collaparte.paper.scans.strokes import Stroke
from second_engraving import engraved
from seeded import SEED

CHOIR = ("bracket", False, 4)
KEYBOARD = ("brace", True, 2)
VOICE = ("", False, 1)
SECTION = ("bracket", True, 3)
BARS = 20


def short_score(groups: tuple[tuple[str, bool, int], ...], dice: random.Random) -> bytes:
    """A score of so many bars, every voice that no barline runs through with a word at each note."""
    sung = [not through for _, through, many in groups for _ in range(many)]
    bars = ""
    for number in range(1, BARS + 1):
        staves = ""
        for n, words in enumerate(sung, 1):
            word = f'<verse n="1"><syl>{dice.choice(("la", "song", "day", "me"))}</syl></verse>' if words else ""
            notes = "".join(
                f'<note pname="{dice.choice("cdefgab")}" oct="{dice.choice((4, 5))}" dur="4">{word}</note>'
                for _ in range(3)
            )
            staves += f'<staff n="{n}"><layer n="1">{notes}</layer></staff>'
        ends = ' right="end"' if number == BARS else ' right="dbl"' if number == 8 else ""
        bars += f'<measure n="{number}"{ends}>{staves}</measure>'
    setting, at = "", 0
    for symbol, through, many in groups:
        inner = "".join(
            f'<staffDef n="{n}" lines="5" clef.shape="G" clef.line="2"/>' for n in range(at + 1, at + many + 1)
        )
        at += many
        sign = f' symbol="{symbol}" bar.thru="{str(through).lower()}"'
        setting += f"<staffGrp{sign}>{inner}</staffGrp>" if symbol else inner
    return engraved(
        '<?xml version="1.0"?><mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead><fileDesc>'
        "<titleStmt><title>Score</title></titleStmt><pubStmt/></fileDesc></meiHead><music><body><mdiv><score>"
        f'<scoreDef key.sig="1s" meter.count="3" meter.unit="4"><staffGrp>{setting}</staffGrp></scoreDef>'
        f"<section>{bars}</section></score></mdiv></body></music></mei>",
        dice.choice(("Bravura", "Leland", "Leipzig")), "auto", dice.choice((32, 36)), (794, 1123),
    )  # fmt: skip


@pytest.mark.parametrize("groups", [(CHOIR,), (VOICE, KEYBOARD), (SECTION, SECTION)])
def test_staves_of_a_short_score_are_one_system(groups: tuple[tuple[str, bool, int], ...]) -> None:
    seed = SEED + len(groups) + groups[0][2]
    dice = random.Random(seed)
    damage = scanning.Damage(200, dice.uniform(-1.5, 1.5), 0.3, 0.15, 0.05, 4.0, 30, "plain", 0, "jpeg")
    scan, _ = scanning.scanned(short_score(groups, dice), damage, seed)
    reading = read_part(scan, scans=True)
    systems = [system for page in reading.pages for system in page.systems]
    assert {len(system.staves) for system in systems} == {sum(many for _, _, many in groups)}, f"seed {seed}"
    sure = {bar.number for system in systems for bar in system.bars if bar.confidence >= SURE}
    assert reading.bars == BARS or len(sure) < BARS, f"seed {seed}: {reading.bars} bars, all sure"
    assert abs(reading.bars - BARS) <= 1, f"seed {seed}"


def page(*boxes: tuple[int, int, int, int]) -> Bitmap:
    """A page of black boxes: left, top, right, bottom."""
    dark = np.zeros((600, 400), dtype=np.bool_)
    for x0, y0, x1, y1 in boxes:
        dark[y0:y1, x0:x1] = True
    return Bitmap(packed(dark), 400)


def stave(top: int, x0: float = 60.0) -> ScannedStave:
    """A stave with lines ten pixels apart."""
    return ScannedStave(tuple(float(top + 10 * n) for n in range(5)), x0, 380.0, 10.0, 1.0)


STAVES = [stave(100, 50.0), stave(200), stave(300)]


def test_staves_begin_at_the_line_that_joins_them_and_not_at_their_bracket() -> None:
    staves, (system,) = joined(page((60, 100, 63, 341), (48, 90, 54, 351)), STAVES)
    assert [round(s.x0) for s in staves] == [61, 61, 61]
    assert (system.line.y0, system.line.y1) == (100.0, 340.0)


def test_what_joins_no_staves() -> None:
    for what, ink in {
        "a line at two of three staves": (60, 100, 63, 241),
        "a border that runs on": (60, 10, 63, 590),
        "a shadow": (40, 100, 60, 341),
        "nothing": (300, 10, 303, 20),
    }.items():
        _, systems = joined(page(ink), STAVES)
        assert sum(len(system.staves) for system in systems) == (2 if what.startswith("a line") else 0), what


def test_a_barline_that_most_staves_show_is_one_on_all() -> None:
    staves, systems = joined(page((60, 100, 63, 341)), STAVES)
    x0 = round(staves[0].x0)

    def on(number: int, x: int, chance: float) -> Stroke:
        return Stroke(x0 + x, x0 + x + 3, round(staves[number].top), round(staves[number].bottom), chance)

    weak = agreed([on(0, 100, 1.0), on(1, 101, 0.9), on(2, 100, 0.2)], systems)
    assert len(weak) == 3 and min(one.chance for one in weak) >= 0.5 and len({one.x0 for one in weak}) == 1
    stem = agreed([on(0, 100, 1.0), on(1, 140, 0.9), on(2, 100, 0.2)], systems)
    assert sorted(one.chance for one in stem) == [0.2, 0.9, 1.0]
    assert agreed([on(n, -1, 0.9) for n in range(3)], systems) == [], "the line at the left is no barline"
