"""Forms as copyists set them, their orders written down by hand before they were engraved and read (common practice;
the same kinds are held against two libraries as MusicXML in tests/music/test_forms_by_hand.py)."""

import subprocess
from pathlib import Path

import pytest

import engraving
from collaparte.music.form import run_length, written_order
from collaparte.paper.read import read_part
from collaparte.paper.ruler import chart
from paper.test_read_jumps import HEAD, LOOKS

pytestmark = pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")

SEGNO, CODA, LEAVE = r"\segnoMark 1 ", r"\codaMark 1 ", r'\over \markup { "To Coda" \coda } '
DOUBLE, END, FINE = r' \bar "||" \break ', r' \bar "|." ', r'\over "Fine" '

REST = r"\compressMMRests { R1*4 } "


def b(count: int) -> str:
    return rf"\bars {count} "


def back(words: str) -> str:
    return rf'\under "{words}" '


def here(words: str) -> str:
    return rf'\here "{words}" '


def turns(body: str, *endings: str, times: int = 0) -> str:
    """A repeat, so many times or as often as it has endings."""
    each = " ".join(rf"\volta {n} {{ {ending} }}" for n, ending in enumerate(endings, start=1))
    alternative = rf"\alternative {{ {each} }} " if endings else ""
    return rf"\repeat volta {times or len(endings) or 2} {{ {body} {alternative}}} "


FORMS = {
    "a repeat within the bars of a D.S.": (
        f"{b(1)}{SEGNO}{b(1)}{turns(b(2))}{b(1)}{LEAVE}{b(2)}{back('D.S. al Coda')}{DOUBLE}{CODA}{b(2)}{END}",
        "1-4 3-7 2-5 8-9",
    ),
    "a Fine at the coda's end": (
        f"{b(2)}{LEAVE}{b(4)}{back('D.C. al Coda')}{DOUBLE}{CODA}{b(2)}{FINE}{END}",
        "1-6 1-2 7-8",
    ),
    "a coda behind a D.C. al Fine": (
        f"{b(4)}{FINE}{DOUBLE}{b(4)}{back('D.C. al Fine')}{DOUBLE}{CODA}{b(2)}{END}",
        "1-8 1-4",
    ),
    "a segno inside a repeat": (
        f"{turns(b(1) + SEGNO + b(3))}{b(1)}{FINE}{DOUBLE}{b(1)}{back('D.S. al Fine')}{END}",
        "1-4 1-6 2-5",
    ),
    "con rep.": (
        f"{turns(b(2))}{b(1)}{FINE}{DOUBLE}{b(2)}{back('D.C. al Fine con rep.')}{END}",
        "1-2 1-5 1-2 1-3",
    ),
    "To Coda in the first ending": (
        f"{b(1)}{SEGNO}{turns(b(2), b(1) + LEAVE + b(1), b(1))}{b(2)}{back('D.S. al Coda')}{DOUBLE}{CODA}{b(2)}{END}",
        "1-5 2-3 6-8 2-4 9-10",
    ),
    "a Fine inside the second ending": (
        f"{turns(b(2), b(1), b(1) + FINE + b(1))}{b(2)}{back('D.C. al Fine')}{END}",
        "1-3 1-2 4-7 1-2 4",
    ),
    "a coda with endings": (
        f"{b(1)}{SEGNO}{b(3)}{LEAVE}{b(3)}{back('D.S. al Coda')}{DOUBLE}{CODA}{turns(b(2), b(1), b(1))}{b(1)}{END}",
        "1-7 2-4 8-10 8-9 11-12",
    ),
    "two To Coda before one coda": (
        f"{b(1)}{SEGNO}{b(2)}{LEAVE}{b(2)}{LEAVE}{b(2)}{back('D.S. al Coda')}{DOUBLE}{CODA}{b(2)}{END}",
        "1-7 2-3 8-9",
    ),
    "a Fine inside a repeat": (
        f"{turns(b(2) + FINE + b(2))}{b(2)}{back('D.C. al Fine')}{END}",
        "1-4 1-6 1-2",
    ),
    "a D.S. al Coda in the second ending": (
        f"{b(1)}{SEGNO}{turns(b(3) + LEAVE, b(1), b(2) + back('D.S. al Coda'))}{DOUBLE}{CODA}{b(3)}{END}",
        "1-5 2-4 6-7 2-4 8-10",
    ),
    "a Fine in the third ending": (
        f"{b(1)}{turns(b(2), b(1), b(1), b(1) + FINE)}{b(3)}{back('D.C. al Fine')}{END}",
        "1-4 2-3 5 2-3 6-9 1-3 6",
    ),
    "a coda played three times": (
        f"{b(1)}{turns(b(1) + SEGNO + b(2) + LEAVE + b(1))}{b(2)}{back('D.S. al Coda')}{DOUBLE}{CODA}"
        f"{turns(here('Play 3 times') + b(2), times=3)}",
        "1-5 2-7 3-4 8-9 8-9 8-9",
    ),
    "two D.S. al Coda to one segno": (
        f"{b(1)}{SEGNO}{b(2)}{LEAVE}{b(3)}{back('D.S. al Coda')}{DOUBLE}{CODA}{b(3)}{LEAVE}{b(1)}"
        f"{back('D.S. al Coda')}{DOUBLE}{CODA}{b(2)}{END}",
        "1-6 2-3 7-10 2-9 11-12",
    ),
    "a pickup, D.C. al Coda": (
        rf"\partial 4 b'4 {b(3)}{LEAVE}{b(3)}{back('D.C. al Coda')}{DOUBLE}{CODA}{b(2)}{END}",
        "1-7 1-4 8-9",
    ),
    "a rest of four bars in a repeat": (
        f"{b(1)}{turns(REST)}{b(3)}{END}",
        "1-5 2-8",
    ),
    "a trio whose repeats have no starts": (
        rf'{b(2)}\bar ":|." {b(2)}{FINE}\bar ":|." {b(2)}\bar ":|." {b(2)}{back("D.C. al Fine")}\bar ":|."',
        "1-2 1-4 3-6 5-8 7-8 1-4",
    ),
    "a repeat and a D.C. at one bar line": (
        f"{b(2)}{FINE}{turns(b(2) + back('D.C. al Fine'))}",
        "1-4 3-4 1-2",
    ),
    "play 4 times, over two endings": (
        f"{b(1)}{turns(here('4x') + b(2), b(1), b(1))}{b(1)}{END}",
        "1-4 2-4 2-4 2-3 5-6",
    ),
}


@pytest.mark.parametrize("name", FORMS)
def test_order(name: str, tmp_path: Path) -> None:
    music, expected = FORMS[name]
    program = engraving.engraver()
    assert program is not None
    look = LOOKS[len(name) % len(LOOKS)]
    (tmp_path / "chart.ly").write_text(rf"{HEAD % look}\new Staff {{ \time 4/4 {music} }}", encoding="utf-8")
    subprocess.run([program, "-s", "chart.ly"], cwd=tmp_path, check=True, capture_output=True)
    reading = read_part((tmp_path / "chart.pdf").read_bytes())
    order = written_order(chart([reading], [str(n) for n in range(1, reading.positions + 1)]))
    assert run_length(int(step.bar) for step in order.steps) == expected
