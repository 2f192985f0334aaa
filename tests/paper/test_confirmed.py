"""A scan of the demo band's tenor part, borne out by its first alto: what other ink of one tune says."""

from functools import cache

import pymupdf

import scanning
from collaparte.demo import BAND
from collaparte.paper.confirmed import confirmed
from collaparte.paper.cutting.pieces import cut_ink
from collaparte.paper.read import read_part
from collaparte.paper.reading import SURE, Reading
from collaparte.paper.ruler import outline
from collaparte.wire.outline import Outline

FLAT = scanning.Damage(200, 0.0, 0.0, 0.0, 0.03, 1.0, 0, "plain", 0, "png")


def pdf_of(chair: str) -> bytes:
    return next(path for path in BAND.rglob("*.pdf") if "Half Past" in path.name and chair in path.name).read_bytes()


@cache
def scan() -> bytes:
    return scanning.scanned(pdf_of("Tenor"), FLAT, 1)[0]


@cache
def scanned() -> Reading:
    return read_part(scan(), scans=True)


@cache
def alto() -> Outline:
    return outline(read_part(pdf_of("1st Alto")))


def bars(reading: Reading) -> list[tuple[int, int]]:
    return [(bar.number, bar.count) for page in reading.pages for line in page.systems for bar in line.bars]


def test_a_whole_scan_is_borne_out_by_another_part() -> None:
    seen = confirmed(scanned(), alto())
    assert scanned().confidence < SURE <= seen.confidence
    assert seen.doubts == ()
    # the second, engraved reading of the same part is the truth here
    assert bars(seen) == bars(read_part(pdf_of("Tenor")))


def test_chord_figures_are_no_bar_numbers() -> None:
    assert not any("numbered" in words for words in scanned().doubts)


def test_from_where_the_tune_has_another_bar_nothing_is_borne_out() -> None:
    third = alto().marks[2][1]
    longer = alto()._replace(
        bars=alto().bars + 1, marks=tuple((text, at + (at > third)) for text, at in alto().marks), signs=()
    )
    lines = [
        (line.bars[0].index - 1, now.confidence > line.confidence)
        for page, new in zip(scanned().pages, confirmed(scanned(), longer).pages, strict=True)
        for line, now in zip(page.systems, new.systems, strict=True)
        if line.confidence < SURE
    ]
    assert any(better for _, better in lines)
    assert not any(better for first, better in lines if first >= third)


def test_the_tune_says_whether_the_first_bar_is_a_pickup() -> None:
    seen = confirmed(scanned(), alto()._replace(pickup=True))
    assert seen.pickup and seen.positions == scanned().positions
    assert bars(seen) == [(number - 1, count) for number, count in bars(scanned())]
    assert [mark.bar for mark in seen.marks] == [mark.bar - 1 for mark in scanned().marks]


def test_a_later_pages_running_head_is_no_lines_own() -> None:
    """It is drawn at the very top of the sheet; the staves' own ink begins lower."""
    cut = cut_ink(scan(), scanned())
    page = pymupdf.open(stream=pdf_of("Tenor"))[1]
    heads = [word[3] for word in page.get_text("words") if word[3] < 0.08 * page.rect.height]
    assert heads
    second = [bar for bar in cut.table.bars if bar.whole >= 0 and cut.inks[bar.whole].page == 1]
    assert min(cut.inks[bar.whole].boxes[0][1] for bar in second) > max(heads) - 1
