"""A key or a meter that stands between a repeat's end and the next one's start is no bar: it begins the next bar.

Some engravers set what is valid from there on between the two barlines, others behind both (common practice).
"""

from functools import cache

import pytest

from collaparte.paper.pages.draw_pdf import draw_cut
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.read import read_part
from collaparte.paper.reading import SURE, Reading
from paper.laid import Part, with_reading

pytest.importorskip("verovio")
import second_engraving

BARS, AT = 8, 4
FIRST = "<divisions>1</divisions><key><fifths>-2</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time>"
SIGNS = {
    "a flat": ("<key><fifths>-1</fifths></key>", (-1, "")),
    "three flats": ("<key><fifths>-3</fifths></key>", (-3, "")),
    "five sharps": ("<key><fifths>5</fifths></key>", (5, "")),
    "a meter": ("<time><beats>3</beats><beat-type>4</beat-type></time>", (None, "3/4")),
    "both": (
        "<key><fifths>4</fifths></key><time><beats>12</beats><beat-type>8</beat-type></time>",
        (4, "12/8"),
    ),
}


@cache
def _part(signs: str) -> Part:
    bars = []
    for n in range(1, BARS + 1):
        left = '<barline location="left"><repeat direction="forward"/></barline>' if n == AT else ""
        right = '<barline location="right"><repeat direction="backward"/></barline>' if n in (AT - 1, BARS) else ""
        clef = "<clef><sign>G</sign><line>2</line></clef>"
        attributes = {1: f"{FIRST}{clef}", AT: signs}.get(n, "")
        notes = "".join(
            f"<note><pitch><step>{step}</step><octave>4</octave></pitch><duration>1</duration><type>quarter</type></note>"
            for step in "GABG"
        )
        bars.append(f'<measure number="{n}">{left}<attributes>{attributes}</attributes>{notes}{right}</measure>')
    score = (
        '<?xml version="1.0"?><score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part>'
        f'</part-list><part id="P1">{"".join(bars)}</part></score-partwise>'
    )
    pdf = second_engraving.engraved(score, "Leland", "auto", 27, (595, 842))
    return with_reading(pdf, read_part(pdf))


def _repeats(reading: Reading) -> list[str]:
    """Ends and starts in order, those of one barline each for itself."""
    return [
        half
        for page in reading.pages
        for system in page.systems
        for line in system.barlines
        for half in {"repeat-both": ("repeat-end", "repeat-start")}.get(line.kind.value, (line.kind.value,))
        if "repeat" in half
    ]


@pytest.mark.parametrize("what", SIGNS)
def test_signs_between_two_repeats_begin_the_next_bar(what: str) -> None:
    signs, change = SIGNS[what]
    reading = _part(signs).reading
    assert (reading.bars, reading.pickup) == (BARS, False)
    assert all(system.confidence >= SURE for page in reading.pages for system in page.systems)
    assert [(c.bar, c.fifths, c.meter) for c in reading.changes] == [(1, -2, "4/4"), (AT, *change)]
    assert _repeats(reading) == ["repeat-end", "repeat-start", "repeat-end"]


@pytest.mark.parametrize("stave", [7.0, 10.0])
@pytest.mark.parametrize("what", SIGNS)
def test_they_are_laid_once_with_both_repeats(what: str, stave: float) -> None:
    """In mid-line behind both barlines, at a line's start (most at 10 mm) in its head, before the second."""
    signs, change = SIGNS[what]
    part = _part(signs)
    laying = lay(part.reading, part.cut.table, printed_order(part.reading), stave=stave)
    again = read_part(draw_cut(part.cut, laying))
    assert (again.bars, again.pickup) == (BARS, False)
    assert [(c.bar, c.fifths, c.meter) for c in again.changes] == [(1, -2, "4/4"), (AT, *change)]
    assert _repeats(again) == ["repeat-end", "repeat-start", "repeat-end"]
