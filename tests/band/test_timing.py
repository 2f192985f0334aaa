"""How long a tune takes whose form comes from its MusicXML, held against what music21 10.5.1 plays of the same file."""

import msgspec
import pytest

from collaparte.band import timing
from collaparte.band.library import worked_out
from collaparte.band.state import Tune
from collaparte.music.musicxml import read_score
from music.corpus import CORPUS
from music.musicxml import END, START, score

music21 = pytest.importorskip("music21")

FILES = {
    # Figures of bars written -> played as music21 expands them; a tempo is put in, where the file has none.
    "leadSheet/berlinAlexandersRagtime.mxl": 260.0,
    "leadSheet/fosterBrownHair.mxl": 260.0,
    "bach/bwv8.6.mxl": 80.0,
    "handel/rinaldo/Lascia_chio_pianga.mxl": 264.0,  # changes from 4/4 to 3/4, D.S. al Fine
    "mozart/k155/movement2.mxl": 300.0,
}


def lasts(data: bytes, tempo: str = "") -> int | None:
    chart = read_score(data).chart
    chart = msgspec.structs.replace(chart, tempo=tempo or chart.tempo)
    return timing.seconds(worked_out(Tune("t", "T", chart)))


@pytest.mark.parametrize(("file", "quarters"), FILES.items(), ids=FILES)
def test_a_score_takes_as_long_as_a_library_plays_it(file: str, quarters: float) -> None:
    assert lasts((CORPUS / file).read_bytes(), "♩ = 60") == quarters


def test_pickups_and_bars_that_a_repeat_splits_are_about_right() -> None:
    rag = CORPUS / "joplin/maple_leaf_rag.mxl"
    played = music21.converter.parse(rag).parts[0].expandRepeats()
    quarters = sum(float(bar.duration.quarterLength) for bar in played.getElementsByClass("Measure"))
    # The file's own tempo: a quarter is 100.
    assert lasts(rag.read_bytes()) == pytest.approx(quarters * 60 / 100, abs=1.5)
    # Bars 4 and 4a are one; 72 quarters if each were whole.
    chorale = (CORPUS / "bach/bwv2.6.mxl").read_bytes()
    assert lasts(chorale, "♩ = 60") == pytest.approx(60, abs=3)


METRONOME = (
    "<direction><direction-type><metronome><beat-unit>{}</beat-unit>{}<per-minute>{}</per-minute></metronome>"
    '</direction-type><sound tempo="{}"/></direction>'
)


@pytest.mark.parametrize(
    ("beats", "unit", "note", "dot", "figure", "quarters_a_minute"),
    [
        ("4", "4", "quarter", "", 120, 120),
        ("2", "2", "quarter", "", 200, 200),
        ("2", "2", "half", "", 100, 200),
        ("6", "8", "quarter", "<beat-unit-dot/>", 60, 90),
        ("6", "8", "eighth", "", 180, 90),
        ("3+2", "8", "quarter", "", 90, 90),
    ],
)
def test_the_figure_counts_the_note_before_it(
    beats: str, unit: str, note: str, dot: str, figure: int, quarters_a_minute: int
) -> None:
    direction = METRONOME.format(note, dot, figure, quarters_a_minute)
    plain = score(40, {1: direction, 5: START}, {20: END}).decode()
    data = plain.replace(
        "<beats>4</beats><beat-type>4</beat-type>", f"<beats>{beats}</beats><beat-type>{unit}</beat-type>"
    )
    bar = 4 * sum(map(int, beats.split("+"))) / int(unit)
    mark = music21.converter.parseData(data, format="musicxml").flatten().getElementsByClass("MetronomeMark")[0]
    assert mark.getQuarterBPM() == quarters_a_minute
    assert lasts(data.encode()) == round((40 + 16) * bar * 60 / quarters_a_minute)
