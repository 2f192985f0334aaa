"""The same charts as MusicXML, expanded by an independent library (verovio, from MusicXML to an MEI expansion)."""

import re
from xml.sax.saxutils import quoteattr

import pytest
import verovio
from hypothesis import given, settings
from hypothesis import strategies as st

from collaparte.music.form import written_order
from collaparte.wire.chart import Chart
from music.charts import chart as short
from music.charts import places
from music.test_form import CASES

DIFFERS = {
    # verovio 6.4.1 goes back to the first start; the human encoder's list decides (see test_form).
    "a second end without a start",
    "no repeats after a D.C.",
    # Readings of ours that MusicXML cannot say: bare coda signs, brackets drawn short, a last time without a bracket.
    "a lone first ending: the last time goes on after it (common practice)",
    "D.S. al Coda with two coda signs",
    "a bracket drawn short of its repeat sign",
    # verovio takes no repeat behind a D.S. or D.C., though it was never played; a player would, and it does in a coda.
    "a repeat behind a plain D.S.",
    "endings behind a plain D.C.",
    # verovio goes back to the top of the tune.
    "a repeat in the coda without a start",
    "a repeat in the coda without a start, with endings",
    # verovio stops and leaves after any jump; the jump behind would never be played (it says nothing of that).
    "a plain D.S. before a D.S. al Coda goes past the To Coda",
    "a plain D.S. before another goes past the Fine",
}


@pytest.mark.parametrize("name", sorted(CASES.keys() - DIFFERS))
def test_order_equals_an_independent_expansion(name: str) -> None:
    chart, _ = CASES[name]
    assert places(written_order(chart).steps) == expanded(chart)


@settings(max_examples=100, deadline=None)
@given(st.data())
def test_any_sensible_form_equals_an_independent_expansion(data: st.DataObject) -> None:
    chart = data.draw(sensible_chart())
    order = written_order(chart)
    assert (places(order.steps), order.diagnosis) == (expanded(chart), "")


@st.composite
def sensible_chart(draw: st.DrawFn) -> Chart:
    """Stretches, repeats and endings one after the other, and one jump over them or none."""
    starts: list[int] = []
    ends: dict[int, int] = {}
    endings: list[tuple[tuple[int, ...], int, int]] = []
    blocks: list[tuple[int, int]] = []
    bar = 1
    for kind in draw(st.lists(st.sampled_from(["stretch", "repeat", "endings"]), min_size=1, max_size=4)):
        first, bar = bar, bar + draw(st.integers(1, 3))
        if kind != "stretch":
            starts.append(first)
        if kind == "repeat":
            ends[bar - 1] = draw(st.sampled_from([2, 3]))
        if kind == "endings":
            turns: list[tuple[int, ...]] = draw(st.sampled_from([[(1,), (2,)], [(1, 2), (3,)], [(1,), (2,), (3,)]]))
            for passes in turns:
                length = draw(st.integers(1, 2))
                endings.append((passes, bar, bar + length - 1))
                bar += length
                if passes != turns[-1]:
                    ends[bar - 1] = 2
        blocks.append((first, bar - 1))
    leave = draw(st.integers(0, len(blocks) - 1))
    back, out = blocks[draw(st.integers(0, leave))][0], blocks[leave][1]
    signs, more = draw(
        st.sampled_from(
            [
                ([], 0),
                ([("fine", out), ("dc-al-fine", bar)], 1),
                ([("segno", back), ("fine", out), ("ds-al-fine", bar)], 1),
                ([("segno", back), ("to-coda", out), ("ds-al-coda", bar), ("coda", bar + 1)], 2),
                ([("to-coda", out), ("dc-al-coda", bar), ("coda", bar + 1)], 2),
            ]
        )
    )
    return short(bar - 1 + more, starts=starts, ends=ends, endings=endings, signs=signs)


def expanded(chart: Chart) -> list[int]:
    """1-based positions of the chart's bars as verovio plays them."""
    toolkit = verovio.toolkit()
    toolkit.setOptions({"expandAlways": True})
    assert toolkit.loadData(as_musicxml(chart))
    return [int(number) for number in re.findall(r'<measure [^>]*\bn="(\d+)"', toolkit.getMEI())]


SOUNDS = {
    "segno": ("<segno/>", 'segno="{}"'),
    "coda": ("<coda/>", 'coda="{}"'),
    "to-coda": ("<coda/>", 'tocoda="{}"'),
    "fine": ("<words>Fine</words>", 'fine="yes"'),
    "ds": ("<words>D.S.</words>", 'dalsegno="{}"'),
    "ds-al-coda": ("<words>D.S. al Coda</words>", 'dalsegno="{}"'),
    "ds-al-fine": ("<words>D.S. al Fine</words>", 'dalsegno="{}"'),
    "dc": ("<words>D.C.</words>", 'dacapo="yes"'),
    "dc-al-coda": ("<words>D.C. al Coda</words>", 'dacapo="yes"'),
    "dc-al-fine": ("<words>D.C. al Fine</words>", 'dacapo="yes"'),
}


def as_musicxml(chart: Chart) -> str:
    """A one-part score of whole notes with the chart's signs."""
    named: dict[str, int] = {}
    measures = []
    for bar in chart.bars:
        left, right, before, after = "", "", "", ""
        for sign in chart.signs:
            if sign.bar != bar.id:
                continue
            kind = {"dalsegno": "segno", "tocoda": "coda-left"}.get(SOUNDS[sign.kind][1].split("=")[0], sign.kind)
            # Signs that belong together share a name: a D.S. the segno before it, a coda its own To Coda.
            if sign.kind in ("segno", "to-coda", "coda"):
                named[sign.kind] = named.get(sign.kind, 0) + 1
            token = named.get({"coda-left": "to-coda"}.get(kind, kind), 1)
            shown, sound = SOUNDS[sign.kind]
            direction = (
                f'<direction placement="above"><direction-type>{shown}</direction-type>'
                f"<sound {sound.format(('s' if 'segno' in sound else 'c') + str(token))}/></direction>"
            )
            before, after = (before + direction, after) if sign.at == "start" else (before, after + direction)
        for ending in chart.endings:
            number = quoteattr(",".join(map(str, ending.passes)))
            if ending.bar == bar.id:
                left += f'<ending number={number} type="start"/>'
            if ending.last == bar.id:
                right += f'<ending number={number} type="stop"/>'
        for repeat in chart.repeats:
            if repeat.bar == bar.id and repeat.side == "start":
                left += '<repeat direction="forward"/>'
            elif repeat.bar == bar.id:
                times = f' times="{repeat.times}"' if repeat.times != 2 else ""
                right += f'<repeat direction="backward"{times}/>'
        left = f'<barline location="left">{left}</barline>' if left else ""
        right = f'<barline location="right">{right}</barline>' if right else ""
        note = "<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration><type>whole</type></note>"
        first = ""
        if not measures:
            first = (
                "<attributes><divisions>1</divisions><key><fifths>0</fifths></key>"
                "<time><beats>4</beats><beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>"
            )
        measures.append(f'<measure number="{bar.number}">{left}{first}{before}{note}{after}{right}</measure>')
    return (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>X</part-name></score-part></part-list>'
        f'<part id="P1">{"".join(measures)}</part></score-partwise>'
    )
