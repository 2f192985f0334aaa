"""A chair's book: what is on its pages, read and measured by a second library."""

from collections import Counter
from collections.abc import Sequence

import pymupdf
import pypdfium2
import pytest

import second_engraving
from collaparte.paper.pages.book import Chapter, bind, card, part_pages
from collaparte.paper.pages.lay import printed_order
from collaparte.paper.pages.laying import Step
from collaparte.paper.pages.papers import PAPERS
from collaparte.paper.read import read_part
from hub import sheets_of_music as sheets
from paper.laid import ALTO, DRUMS, GUITAR, KEYS, VOCAL, part

POINTS = 72 / 25.4
A4, TABLET = PAPERS["A4"], PAPERS["tablet"]
TITLES = {ALTO: "Half Past the Ferry", GUITAR: "The Lamp You Left On", VOCAL: "The Lamp You Left On"}


def printed(name: str, told: Sequence[str] = (), paper: str = "A4", steps: Sequence[Step] | None = None) -> bytes:
    the = part(name)
    order = printed_order(the.reading) if steps is None else steps
    return part_pages(the.pdf, the.reading, None, order, PAPERS[paper], 7.0, "", told)


def texts(pdf: bytes) -> list[str]:
    return [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf)]


def letters(pdf: bytes) -> Counter[str]:
    return Counter(c for c in "".join(texts(pdf)) if c.isascii() and c.isalpha())


@pytest.fixture(scope="module")
def book() -> bytes:
    chapters = [Chapter(title, printed(name)) for name, title in TITLES.items()]
    chapters.insert(1, Chapter("Żółty Walc", card("Żółty Walc", ("tacet",), A4, "")))
    return bind(chapters, "Night Owls", "Alto 1")


def test_every_letter_of_the_parts_is_in_the_book_once(book: bytes) -> None:
    """pdfium's letters of the sources and of the book; the card's are ours."""
    own = Counter(c for c in "Żółty Walc tacet" if c.isascii() and c.isalpha())
    source = sum((letters(part(name).pdf) for name in TITLES), Counter())
    extra = letters(book) - own - source
    gone = source - letters(book)
    running = Counter(
        "".join("".join(h.text for h in part(n).reading.head) * len(part(n).reading.pages) for n in TITLES)
    )
    assert not extra
    assert not gone - running - Counter("Page" * 9)


@pytest.mark.parametrize("paper", list(PAPERS))
def test_the_book_is_not_much_larger_than_its_sources(paper: str) -> None:
    """At most 1.5 times, each bar once as in print."""
    names = (ALTO, GUITAR, VOCAL, KEYS)
    made = bind([Chapter(name, printed(name, paper=paper)) for name in names], "Night Owls", "Alto 1")
    assert len(made) <= 1.5 * sum(len(part(name).pdf) for name in names)


def test_a_part_all_in_outlines_is_not_much_larger_than_its_source() -> None:
    """At most 1.5 times; it was 1.7 while every head was written anew."""
    pdf, _, _ = second_engraving.chart(92716030)
    reading = read_part(pdf)
    assert len(part_pages(pdf, reading, None, printed_order(reading), TABLET, 7.0, "")) <= 1.5 * len(pdf)


def test_each_tune_has_a_bookmark_and_its_own_page_numbers(book: bytes) -> None:
    document = pypdfium2.PdfDocument(book)
    marks = [(mark.get_title(), mark.get_dest().get_index()) for mark in document.get_toc()]
    assert [title for title, _ in marks] == [TITLES[ALTO], "Żółty Walc", TITLES[GUITAR], TITLES[VOCAL]]
    for title, page in marks:
        assert document.get_page_label(page) == f"{title} 1"
    assert document.get_page_label(1) == f"{TITLES[ALTO]} 2"
    assert document.get_metadata_value("Title") == "Night Owls, Alto 1"


def test_a_bookmark_leads_to_its_tune(book: bytes) -> None:
    pages = texts(book)
    for mark in pypdfium2.PdfDocument(book).get_toc():
        assert mark.get_title() in pages[mark.get_dest().get_index()]


@pytest.mark.parametrize("name", [ALTO, DRUMS])
@pytest.mark.parametrize("paper", list(PAPERS))
def test_staves_are_as_tall_as_asked(name: str, paper: str) -> None:
    """7.00 mm within 0.05 on any paper: dark rows of the drawn page, far apart enough to be a stave's outer lines."""
    image = pypdfium2.PdfDocument(printed(name, paper=paper))[0].render(scale=8, grayscale=True).to_numpy()
    dark = (image < 128).mean(axis=1) > 0.5
    rows = [y for y in range(1, len(dark)) if dark[y] and not dark[y - 1]]
    a_mm = 8 * POINTS
    lines = rows[-5:]
    assert (lines[4] - lines[0]) / a_mm == pytest.approx(7.0, abs=0.06)


def test_a_printer_reaches_all_of_the_music() -> None:
    """Nothing within 5 mm of the sheet's edge (common practice: most printers reach to 4 or 5 mm)."""
    for name in (ALTO, VOCAL, KEYS):
        for page in pypdfium2.PdfDocument(printed(name)):
            image = page.render(scale=2, grayscale=True).to_numpy()
            edge = round(4.5 * 2 * POINTS)
            assert image[:, :edge].min() > 200 and image[:, -edge:].min() > 200
            assert image[:edge].min() > 200 and image[-edge:].min() > 200


def test_a_page_as_printed_is_carried_whole_and_larger() -> None:
    source = pymupdf.open(stream=part(VOCAL).pdf, filetype="pdf")[0]
    made = pymupdf.open(stream=printed(VOCAL), filetype="pdf")[0]
    words = [(w[4], w[2] - w[0]) for w in made.get_text("words")]
    before = {w[4]: w[2] - w[0] for w in source.get_text("words")}
    assert [w[4] for w in source.get_text("words")] == [word for word, _ in words[: len(before) * 3]][
        : len(source.get_text("words"))
    ]
    assert not made.get_images()
    lamp = max(width for word, width in words if word == "Lamp")
    assert lamp > 0.99 * before["Lamp"]


def test_a_wide_page_lies_on_its_side_on_paper_and_is_upright_on_glass() -> None:
    document = pymupdf.open()
    page = document.new_page(width=sheets.A4[1], height=sheets.A4[0])
    page.insert_text((100, 100), "Road map", fontsize=30)
    page.insert_text((600, 500), "and out", fontsize=30)
    wide = document.tobytes()
    on_paper = pymupdf.open(stream=part_pages(wide, None, None, (), A4, 7.0, ""), filetype="pdf")[0]
    on_glass = pymupdf.open(stream=part_pages(wide, None, None, (), TABLET, 7.0, ""), filetype="pdf")[0]
    assert (on_paper.rect.width, on_paper.rect.height) == pytest.approx((297 * POINTS, 210 * POINTS))
    assert (on_glass.rect.width, on_glass.rect.height) == pytest.approx((148 * POINTS, 197 * POINTS))
    for made in (on_paper, on_glass):
        assert made.get_text().split()[:4] == ["Road", "map", "and", "out"]
        for word in made.get_text("words"):
            assert word[0] > 0 and word[2] < made.rect.width


@pytest.mark.parametrize("turned", [90, 180, 270])
def test_a_turned_page_is_upright(turned: int) -> None:
    document = pymupdf.open()
    page = document.new_page(width=sheets.A4[0], height=sheets.A4[1])
    matrix = pymupdf.Matrix(turned)
    for n, word in enumerate(("first", "second")):
        at = pymupdf.Point(200 + 40 * n, 300 + 40 * n)
        page.insert_text(at, word, fontsize=20, morph=(at, matrix))
    page.set_rotation(turned)
    shown = [w[4] for w in document[0].get_text("words", sort=True)]
    made = pymupdf.open(stream=part_pages(document.tobytes(), None, None, (), A4, 7.0, ""), filetype="pdf")[0]
    assert made.rotation == 0
    lines = [line for b in made.get_text("dict")["blocks"] for line in b.get("lines", ())][:2]
    before = [line for b in document[0].get_text("dict")["blocks"] for line in b.get("lines", ())]
    assert len(shown) == 2
    turn = (
        pymupdf.Point(before[0]["dir"]) * document[0].rotation_matrix
        - pymupdf.Point(0, 0) * document[0].rotation_matrix
    )
    assert lines[0]["dir"] == pytest.approx((turn.x, turn.y), abs=1e-3)


def test_what_somebody_wrote_onto_a_page_is_in_the_book() -> None:
    document = pymupdf.open(stream=part(VOCAL).pdf, filetype="pdf")
    document[0].add_freetext_annot(pymupdf.Rect(300, 300, 500, 340), "straight into F", fontsize=14)
    made = texts(part_pages(document.tobytes(), None, None, (), A4, 7.0, ""))
    assert "straight into F" in made[0]


def test_what_the_pages_cannot_show_is_told_at_the_foot() -> None:
    told = ["Cut from D to F.", "Bars 20 to 23 are not in this part."]
    for name in (ALTO, VOCAL):
        pages = texts(printed(name, told))
        for sentence in told:
            assert [sentence in page for page in pages] == [True] + [False] * (len(pages) - 1)


def test_a_cut_is_out_of_the_book() -> None:
    the = part(ALTO)
    order = [step for step in printed_order(the.reading) if not 31 <= step.number <= 54]
    made, whole = "".join(texts(printed(ALTO, steps=order))), "".join(texts(printed(ALTO)))
    assert "Tenor solo" in whole and "Tenor solo" not in made


def test_a_card_says_who_is_tacet_where() -> None:
    made = card("A Tune with a Title That Is Far Too Long for One Line of Large Type", ("tacet", "Vocal"), A4, "")
    page = pymupdf.open(stream=made, filetype="pdf")[0]
    assert "tacet" in page.get_text() and "Vocal" in page.get_text()
    assert all(w[0] > 0 and w[2] < page.rect.width for w in page.get_text("words"))
