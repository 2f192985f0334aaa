"""The demo band on paper: sheets, staves and systems as printed, and the engraver's numbers, agree."""

import json
from itertools import pairwise
from pathlib import Path
from typing import Any

import pymupdf
import pytest

from collaparte.demo import BAND, TRUTH

MM = 72 / 25.4
"""PDF points in a millimetre: a point is 1/72 inch (ISO 32000), an inch 25.4 mm."""

# ISO 216: A4 is 210 x 297 mm. ANSI/ASME Y14.1: size A (Letter) is 8.5 x 11 inches.
SHEETS = {"A4": (210.0, 297.0), "Letter": (8.5 * 25.4, 11 * 25.4)}
PAPER = {
    "half-past-the-ferry": "A4",
    "two-left-gloves": "Letter",
    "the-lamp-you-left-on": "A4",
    "ninepenny-waltz": "Letter",
}

Part = dict[str, Any]


def parts(tune: str) -> list[Part]:
    found: list[Part] = json.loads((TRUTH / f"{tune}.json").read_text(encoding="utf-8"))["parts"]
    return found


def with_staves(tune: str) -> list[Part]:
    return [part for part in parts(tune) if part["staves"]]


def pages(part: Part) -> list[pymupdf.Page]:
    document = pymupdf.open(BAND / part["file"])
    return [document[part["first_page"] + i] for i in range(len(part["pages"]))]


def staves(page: pymupdf.Page) -> list[tuple[float, float, float]]:
    """(left, top, bottom) in points of every stave: five equally spaced long level lines, centre to centre."""
    lines: dict[float, set[float]] = {}
    for shape in page.get_drawings():
        box = shape["rect"]
        if box.width > 0.5 * page.rect.width and box.height < 0.1:
            lines.setdefault(round(box.x0, 1), set()).add(round(box.y0, 2))
    found = []
    for left, heights in lines.items():
        if len(heights) < 5:  # a long bracket of an ending begins elsewhere than any stave
            continue
        ys = sorted(heights)
        for five in (ys[i : i + 5] for i in range(0, len(ys), 5)):
            gaps = [below - above for above, below in pairwise(five)]
            assert len(gaps) == 4 and max(gaps) - min(gaps) < 0.1, f"not a stave: {five}"
            found.append((left, five[0], five[4]))
    return found


@pytest.mark.parametrize("tune", PAPER)
def test_sheets_are_standard_sizes(tune: str) -> None:
    sheet = SHEETS[PAPER[tune]]
    for part in parts(tune):
        assert part["paper_mm"] == pytest.approx(sheet, abs=0.5)
        for page in pages(part):
            assert (page.rect.width / MM, page.rect.height / MM) == pytest.approx(sheet, abs=0.5)


@pytest.mark.parametrize("tune", PAPER)
def test_staves_are_of_a_players_size(tune: str) -> None:
    # MOLA, Guidelines for Music Preparation (2017), p. 5, as quoted among copyists: best 7.5 mm for parts, below
    # 7.0 unacceptable, avoid above 8.5.
    for part in with_staves(tune):
        for page, systems in zip(pages(part), part["pages"], strict=True):
            found = staves(page)
            assert len(found) == len(systems) * part["staves"], part["file"]
            for _, top, bottom in found:
                assert (bottom - top) / MM == pytest.approx(part["stave_mm"], abs=0.1)
                assert 7.0 <= (bottom - top) / MM <= 8.5


@pytest.mark.parametrize("tune", PAPER)
def test_bar_numbers_at_line_heads_are_the_engravers(tune: str) -> None:
    for part in with_staves(tune):
        printed = []
        for page in pages(part):
            lefts = [left for left, _, _ in staves(page)]
            heads = [
                (word[1], int(word[4]))
                for word in page.get_text("words")
                if word[4].isdigit() and word[0] < max(lefts) and word[2] < min(lefts) + 4 * MM
            ]
            printed += [number for _, number in sorted(heads)]
        counted = [first for page in part["pages"] for first in page]
        assert printed == counted[1:], part["file"]


@pytest.mark.parametrize("tune", PAPER)
def test_all_parts_have_the_same_bars_and_marks(tune: str) -> None:
    # Broadway copyists' guidelines, as quoted among copyists: all parts must have the same information.
    first, *others = with_staves(tune)
    assert 32 <= first["bars"] <= 110
    for other in others:
        for fact in ("bars", "pickup", "times", "tempi", "marks", "signs", "endings", "barlines"):
            assert other[fact] == first[fact], (other["file"], fact)


@pytest.mark.parametrize("tune", PAPER)
def test_transposing_parts_stand_in_their_own_keys(tune: str) -> None:
    # Sharps added to the concert key: B flat instruments 2, E flat instruments 3 (the circle of fifths); six or more
    # would be written enharmonically, and none here is.
    added = {"Alto": 3, "Bari": 3, "Tenor": 2, "Trumpet": 2}
    concert = next(part["keys"] for part in with_staves(tune) if part["chair"] == "Bass")
    for part in with_staves(tune):
        if part["chair"] == "Drums":
            assert part["keys"] == []
            continue
        sharps = next((added[name] for name in added if name in part["chair"]), 0)
        assert part["keys"] == [{"bar": key["bar"], "sharps": key["sharps"] + sharps} for key in concert]


@pytest.mark.parametrize("tune", PAPER)
def test_multibar_rests_are_divided_where_a_player_looks(tune: str) -> None:
    # Gardner Read, Music Notation (1969), as cited in general references: divided at double bars and rehearsal marks.
    for part in with_staves(tune):
        edges = [mark["bar"] for mark in part["marks"]] + [ending["bar"] for ending in part["endings"]]
        edges += [line["before"] for line in part["barlines"]]
        for rest in part["multirests"]:
            inside = range(rest["bar"] + 1, rest["bar"] + rest["count"])
            assert not [edge for edge in edges if edge in inside], (part["file"], rest)


def test_the_band_holds_what_a_band_meets() -> None:
    everything = [(tune, part) for tune in PAPER for part in parts(tune)]
    staved = [part for _, part in everything if part["staves"]]
    assert any(part["pickup"] for part in staved)
    assert any(len(part["keys"]) > 1 for part in staved)
    assert any(part["staves"] == 2 for part in staved)
    assert any(len(part["pages"]) == 3 for part in staved)
    assert any([ending["number"] for ending in part["endings"]] == [1, 2] for part in staved)
    signs = {sign["kind"] for part in staved for sign in part["signs"]}
    assert signs == {"segno", "to-coda", "ds-al-coda", "coda"}
    assert [part["chair"] for _, part in everything if not part["staves"]] == ["Vocal"]
    chairs = {tune: len(with_staves(tune)) for tune in PAPER}
    assert sorted(set(chairs.values())) == [10, 11], "one chair is tacet in one tune"


def test_every_pdf_of_the_library_is_told_and_no_other_file_lies_in_it() -> None:
    told = {part["file"] for tune in PAPER for part in parts(tune)}
    assert {path.relative_to(BAND).as_posix() for path in BAND.rglob("*") if path.is_file()} == told
    for file in told:
        mine = [part for tune in PAPER for part in parts(tune) if part["file"] == file]
        with pymupdf.open(BAND / file) as document:
            assert document.page_count == sum(len(part["pages"]) for part in mine)
    assert sum(path.stat().st_size for path in BAND.rglob("*.pdf")) < 6_000_000


def test_the_singers_sheet_has_words_and_chords() -> None:
    sheet = next(part for part in parts("the-lamp-you-left-on") if not part["staves"])
    (page,) = pages(sheet)
    assert not staves(page)
    words = page.get_text("words")
    chord = next(word for word in words if word[4] == "Cm7")
    below = next(word for word in words if word[4] == "hall,")
    assert 0 < below[1] - chord[1] < 8 * MM


def test_part_names_and_titles_stand_where_they_are_looked_for() -> None:
    # Common practice: part top left, title in the middle, composer top right.
    for tune in PAPER:
        title = json.loads((TRUTH / f"{tune}.json").read_text(encoding="utf-8"))["tune"]
        for part in parts(tune):
            page = pages(part)[0]
            (box,) = page.search_for(title)
            assert (box.x0 + box.x1) / 2 == pytest.approx(page.rect.width / 2, abs=2 * MM)
            name = page.search_for(part["chair"].split()[0])[0]
            assert name.x0 < 20 * MM and name.y1 < 35 * MM


def test_no_source_is_left_without_parts() -> None:
    sources = {path.stem for path in (BAND.parent / "sources").glob("*.ly")}
    assert sources == {path.stem for path in Path(TRUTH).glob("*.json")} == set(PAPER)
