"""Pages painted through clips (ISO 32000-1, 8.5.4: what is outside is not seen): bars that are hidden do not count.

`COLLAPARTE_SEED=n pytest tests/paper/test_clipped.py` engraves the same charts again.
"""

from pathlib import Path

import pymupdf
import pytest

import engraving
from against import differences
from collaparte.paper.read import read_part
from seeded import SEED

pytestmark = pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")


def through(pdf: bytes, windows: list[tuple[float, float, float, float]]) -> bytes:
    """All of each page painted once for every window (shares of the page), seen only through that."""
    source, out = pymupdf.open(stream=pdf), pymupdf.open()
    for number, page in enumerate(source):
        w, h = page.rect.width, page.rect.height
        sheet = out.new_page(width=w, height=h)
        for x0, y0, x1, y1 in windows:
            room = pymupdf.Rect(x0 * w, y0 * h, x1 * w, y1 * h)
            sheet.show_pdf_page(room, source, number, clip=room)
    data: bytes = out.tobytes()
    return data


@pytest.mark.parametrize(("across", "down"), [(1, 3), (2, 1), (3, 4), (7, 1)])
def test_a_page_painted_tile_by_tile_is_read_like_a_whole_one(tmp_path: Path, across: int, down: int) -> None:
    chart = engraving.chart(SEED)
    pdf, truth = engraving.engrave(chart, tmp_path)
    if differences(read_part(pdf), truth):
        pytest.skip("read otherwise as a whole, which other tests look at")
    tiles = [(n / across, m / down, (n + 1) / across, (m + 1) / down) for n in range(across) for m in range(down)]
    assert not differences(read_part(through(pdf, tiles)), truth), f"COLLAPARTE_SEED={SEED}: {chart.notes}"


def test_lines_outside_the_clip_are_not_counted(tmp_path: Path) -> None:
    music = r"""\version "2.24.0" \header { title = "Paper Lanterns" tagline = ##f } \score { \new Staff {
        \time 4/4 \repeat unfold 6 { c''1 d'' e''2 f'' g''4 a'' g'' f'' \break } \bar "|." } }"""
    (tmp_path / "barlines.jsonl").write_text("", encoding="utf-8")
    pdf, _ = engraving.engrave(engraving.Chart(0, music, engraving.Truth(), music), tmp_path)
    whole = read_part(pdf)
    assert whole.bars == 24
    third, fourth = whole.pages[0].systems[2:4]
    edge = (third.bbox[3] + fourth.bbox[1]) / 2 / whole.pages[0].height
    upper, lower = read_part(through(pdf, [(0, 0, 1, edge)])), read_part(through(pdf, [(0, edge, 1, 1)]))
    assert (upper.bars, len(upper.pages[0].systems)) == (12, 3)
    assert (lower.bars, len(lower.pages[0].systems)) == (12, 3)
    assert lower.pages[0].systems[0].printed_number == 13
