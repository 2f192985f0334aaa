"""Charts with endings, laid as decided, drawn, and read again as a player's eye does: the order that the page says is
the order that is played, in the bars that are played. Nothing of the laying is asked."""

from collections.abc import Sequence
from functools import cache

import pytest
from msgspec.structs import replace

import engraving
from band.bands import Band, part
from collaparte.band.parts import part_order
from collaparte.band.roles import EVERY_ROLE
from collaparte.hub.tails import laying_steps
from collaparte.music.form import written_order
from collaparte.paper.pages.draw_pdf import draw_cut
from collaparte.paper.pages.lay import lay
from collaparte.paper.read import read_part
from collaparte.paper.ruler import chart
from collaparte.wire import commands as c
from collaparte.wire.chart import Chart, ChartEnding
from paper.laid import Part, engraved

pytestmark = pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")

HEAD = r"""\version "2.24.0"
#(set-global-staff-size 20)
#(set-default-paper-size "a4")
\header { title = "Read Again" instrument = "Alto 1" tagline = ##f }
\layout { \context { \Score rehearsalMarkFormatter = #format-mark-box-alphabet } }
"""
CELLS = ("c''4 d'' e'' f''", "g''2 e''2", "r4 g'8 a' b'4 c''", "c''2. r4", "b'4 g' a' b'")


def bars(count: int) -> str:
    return " | ".join(CELLS[n % len(CELLS)] for n in range(count)) + " | "


def turns(body: int, *endings: tuple[str, int]) -> str:
    """A repeat of so many bars with endings: the times on each, and how long it is."""
    times = max(int(number) for passes, _ in endings for number in passes.split(","))
    each = " ".join(rf"\volta {passes} {{ {bars(length)} }}" for passes, length in endings)
    return rf"\repeat volta {times} {{ {bars(body)} \alternative {{ {each} }} }} "


MARK = r"\mark \default "
SEGNO = r"\segnoMark 1 "
LEAVE = r"\tweak self-alignment-X #RIGHT \textEndMark \markup { To Coda \musicglyph "  # and the sign's name
CHARTS = {
    "short": bars(2) + MARK + turns(3, ("1", 1), ("2", 1)) + MARK + bars(4),
    "three": bars(2) + MARK + turns(3, ("1", 1), ("2", 2), ("3", 1)) + MARK + bars(4),
    "1,2 and 3": bars(2) + MARK + turns(4, ("1,2", 2), ("3", 2)) + MARK + bars(4),
    "long": bars(2) + MARK + turns(9, ("1", 2), ("2", 2)) + MARK + bars(4),
    "two in a row": MARK + turns(3, ("1", 1), ("2", 1)) + MARK + turns(4, ("1", 2), ("2", 2)) + MARK + bars(3),
    "D.C. al Fine": MARK
    + turns(3, ("1", 1), ("2", 1))
    + bars(2)
    + r'\textEndMark "Fine" \bar "||" '
    + MARK
    + bars(4)
    + r'\textEndMark "D.C. al Fine" \bar "|."',
    "D.S. al Coda": bars(2)
    + MARK
    + SEGNO
    + turns(4, ("1", 1), ("2", 1))
    + bars(2)
    + LEAVE
    + r'"scripts.coda" } '
    + MARK
    + bars(4)
    + r'\textEndMark "D.S. al Coda" \bar "||" \break '
    + MARK
    + r"\codaMark 1 "
    + bars(3),
}
DECIDED: dict[str, list[tuple[str, str, str, int]]] = {
    "as written": [],
    "cut into the endings": [("cut", "third bar of A", "fifth bar of A", 2)],
    "four times": [("times", "A", "B", 4)],
    "once only": [("times", "A", "B", 1)],
    "no repeats": [("no-repeats", "", "", 2)],
    "cut behind": [("cut", "second bar of B", "third bar of B", 2)],
}


@cache
def the(name: str) -> Part:
    return engraved(HEAD + rf"\new Staff {{ \time 4/4 {CHARTS[name]} }}")


def decided(of: Part, edits: Sequence[tuple[str, str, str, int]]) -> tuple[Band, list[str]]:
    """A band with this tune and these decisions, and the bars that are then played; an open end is once more."""
    ids = [f"b{n}" for n in range(1, of.reading.positions + 1)]
    band = Band()
    band.do(c.AddTune("tune", "Read Again"))
    band.do(c.MintRuler("tune", chart([of.reading], ids)))
    band.do(part("tune", "p", "Alto 1", ids))
    for n, (kind, first, until, times) in enumerate(edits):
        band.do(c.SayEdit(f"e{n}", "tune", kind, first, until, times=times), EVERY_ROLE)  # type: ignore[arg-type]
    return band, [step.bar for step in band.state.tunes["tune"].played.steps()]


def seen(laid: Chart) -> Chart:
    """The chart as a player takes it: endings that are written out one after the other, with no repeat sign behind the
    first, stay on the page to say which they are, and send nobody anywhere (common practice)."""
    groups: list[list[ChartEnding]] = []
    for ending in sorted(laid.endings, key=lambda one: int(one.bar)):
        if groups and int(ending.bar) == int(groups[-1][-1].last) + 1 and 1 not in ending.passes:
            groups[-1].append(ending)
        else:
            groups.append([ending])
    sent = {repeat.bar for repeat in laid.repeats if repeat.side == "end"}
    kept = (one for group in groups if any(ending.last in sent for ending in group) for one in group)
    return replace(laid, endings=tuple(kept))


@pytest.mark.parametrize("edits", DECIDED.values(), ids=DECIDED.keys())
@pytest.mark.parametrize("name", CHARTS)
def test_the_laid_pages_say_what_is_played(name: str, edits: list[tuple[str, str, str, int]]) -> None:
    of = the(name)
    band, played = decided(of, edits)
    tune = band.state.tunes["tune"]
    order = part_order(tune, tune.parts["p"].current)
    laid = tune.played.laid()
    again = read_part(draw_cut(of.cut, lay(of.reading, of.cut.table, laying_steps(order, len(laid)))))
    assert again.positions == len(order.steps)
    read = written_order(seen(chart([again], [str(n) for n in range(again.positions)])))
    bars_of = [tune.written.steps[laid[step.position].position].bar for step in order.steps]
    assert [bars_of[int(step.bar)] for step in read.steps] == played
    assert "printed order" not in read.diagnosis
