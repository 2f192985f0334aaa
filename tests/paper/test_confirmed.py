"""A scan of the demo band's tenor part, borne out by its first alto: what other ink of one tune says."""

from functools import cache

import pymupdf
from msgspec.structs import replace

import scanning
from collaparte.demo import BAND
from collaparte.paper.confirmed import PROVEN, confirmed
from collaparte.paper.cutting.pieces import cut_ink
from collaparte.paper.read import read_part
from collaparte.paper.reading import SURE, BarBox, Reading
from collaparte.paper.ruler import outline
from collaparte.paper.scans.count import UNSURE
from collaparte.wire.outline import Outline
from paper.test_scan_systems import unsure

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


def doubted() -> Reading:
    """The scan as if no printed number had borne a line out."""
    pages = tuple(
        replace(page, systems=tuple(replace(line, confidence=UNSURE) for line in page.systems))
        for page in scanned().pages
    )
    return replace(scanned(), pages=pages, confidence=UNSURE)


def bars(reading: Reading) -> list[tuple[int, int]]:
    return [(bar.number, bar.count) for page in reading.pages for line in page.systems for bar in line.bars]


def test_a_whole_scan_is_borne_out_by_another_part() -> None:
    seen = confirmed(doubted(), alto())
    assert doubted().confidence < SURE <= seen.confidence
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
        for page, new in zip(doubted().pages, confirmed(doubted(), longer).pages, strict=True)
        for line, now in zip(page.systems, new.systems, strict=True)
    ]
    assert any(better for _, better in lines)
    assert not any(better for first, better in lines if first >= third)


def test_lines_whose_bars_the_tune_has_elsewhere_are_in_doubt_unless_numbers_bear_them_out() -> None:
    third = alto().marks[2][1]
    longer = alto()._replace(
        bars=alto().bars + 1, marks=tuple((text, at + (at > third)) for text, at in alto().marks), signs=()
    )
    for was, stays in ((0.95, False), (PROVEN, True)):
        pages = [replace(p, systems=tuple(replace(s, confidence=was) for s in p.systems)) for p in doubted().pages]
        seen = confirmed(replace(doubted(), pages=tuple(pages), confidence=min(was, UNSURE)), longer)
        behind = [line for page in seen.pages for line in page.systems if line.bars[0].index - 1 >= third]
        assert len(behind) > 3
        assert all((line.confidence >= SURE) is stays and (line.doubt in seen.doubts) is not stays for line in behind)
        assert seen.pages[0].systems[0].confidence >= SURE


def test_the_tune_says_whether_the_first_bar_is_a_pickup() -> None:
    seen = confirmed(doubted(), alto()._replace(pickup=True))
    assert seen.pickup and seen.positions == scanned().positions
    assert bars(seen) == [(number - 1, count) for number, count in bars(scanned())]
    assert [mark.bar for mark in seen.marks] == [mark.bar - 1 for mark in scanned().marks]


def test_a_later_pages_running_head_is_no_lines_own() -> None:
    """It is drawn at the very top of the sheet; the staves' own ink begins lower."""
    cut = cut_ink(scan(), unsure(scanned()))
    page = pymupdf.open(stream=pdf_of("Tenor"))[1]
    heads = [word[3] for word in page.get_text("words") if word[3] < 0.08 * page.rect.height]
    assert heads
    second = [bar for bar in cut.table.bars if bar.whole >= 0 and cut.inks[bar.whole].page == 1]
    assert min(cut.inks[bar.whole].boxes[0][1] for bar in second) > max(heads) - 1


def test_a_rest_that_was_mended_for_another_misread_bears_nothing_out() -> None:
    """The total is right and the bars between the two are not: seen on scans whose first rest was not read."""
    lines = [line for page in doubted().pages for line in page.systems]
    rest, last = lines[0], lines[-1]
    assert rest.bars[0].count == 6
    one = replace(rest, bars=(replace(rest.bars[0], count=1), *(_earlier(bar, 5) for bar in rest.bars[1:])))
    between = [replace(line, bars=tuple(_earlier(bar, 5) for bar in line.bars)) for line in lines[1:-1]]
    mended = replace(_earlier(last.bars[0], 5), count=6, confidence=0.7)
    moved = [one, *between, replace(last, bars=(mended, *last.bars[1:]))]
    places = iter(moved)
    pages = tuple(replace(page, systems=tuple(next(places) for _ in page.systems)) for page in doubted().pages)
    seen = confirmed(replace(doubted(), pages=pages, marks=()), alto())
    assert not any(line.confidence >= SURE for page in seen.pages for line in page.systems)


def _earlier(bar: BarBox, by: int) -> BarBox:
    return replace(bar, index=bar.index - by, number=bar.number - by)


def weakened(reading: Reading, barline: float, bar: float) -> Reading:
    """The reading with its second line's second barline and third bar no surer than so."""
    line = reading.pages[0].systems[1]
    strokes = [replace(b, confidence=barline) if n == 1 else b for n, b in enumerate(line.barlines)]
    boxes = [replace(b, confidence=bar) if n == 2 else b for n, b in enumerate(line.bars)]
    systems = list(reading.pages[0].systems)
    systems[1] = replace(line, barlines=tuple(strokes), bars=tuple(boxes))
    return replace(reading, pages=(replace(reading.pages[0], systems=tuple(systems)), *reading.pages[1:]))


def test_doubts_of_one_sort_are_settled_by_the_total_and_of_two_are_not() -> None:
    """A barline that is none makes a bar too many, a rest that was not told some too few: together they may fit."""
    many, few, both = weakened(doubted(), 0.6, 1.0), weakened(doubted(), 1.0, 0.85), weakened(doubted(), 0.6, 0.85)
    assert confirmed(many, alto()).pages[0].systems[1].confidence >= SURE
    assert confirmed(few, alto()).pages[0].systems[1].confidence >= SURE
    assert confirmed(both, alto()).pages[0].systems[1].confidence < SURE


def test_a_mark_that_the_tune_does_not_have_was_misread_and_one_elsewhere_speaks_against_the_count() -> None:
    text, at = alto().marks[1]
    marks = doubted().marks
    odd = replace(doubted(), marks=(*marks[:1], replace(marks[1], text="Q9"), *marks[2:]))
    assert confirmed(odd, alto()).confidence >= SURE
    off = replace(doubted(), marks=(*marks[:1], replace(marks[1], bar=marks[1].bar + 1), *marks[2:]))
    line = next(s for p in confirmed(off, alto()).pages for s in p.systems if s.bars[-1].index > at)
    assert text == marks[1].text and line.confidence < SURE


def test_a_pickup_that_was_not_seen_leaves_its_line_unsure() -> None:
    """The tune has a bar more at its beginning; the bars that follow are called what the tune calls them."""
    longer = alto()._replace(bars=alto().bars + 1, pickup=True, marks=tuple((t, at + 1) for t, at in alto().marks))
    lines = [line for page in confirmed(doubted(), longer).pages for line in page.systems]
    assert lines[0].confidence < SURE <= lines[-1].confidence
