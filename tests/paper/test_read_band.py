"""The demo band's parts against the engraver's own numbers, kept beside them."""

import json
from typing import Any

import pymupdf
import pytest

from collaparte.demo import BAND, TRUTH
from collaparte.paper.read import page_heads, read_part
from collaparte.paper.reading import SURE

PARTS = [part for file in sorted(TRUTH.glob("*.json")) for part in json.loads(file.read_text("utf-8"))["parts"]]


def _named(part: dict[str, Any]) -> str:
    return f"{part['file'].rpartition('/')[2]}:{part['first_page']}"


@pytest.mark.parametrize("part", PARTS, ids=_named)
def test_a_part_is_read_as_it_was_engraved(part: dict[str, Any]) -> None:
    first = part["first_page"]
    reading = read_part((BAND / part["file"]).read_bytes(), range(first, first + max(1, len(part.get("pages", [0])))))
    if not part.get("staves"):
        assert all("no staves" in page.as_printed for page in reading.pages)
        return
    assert (reading.bars, reading.pickup) == (part["bars"], part["pickup"])
    assert [(m.bar, m.text) for m in reading.marks] == [(m["bar"], m["text"]) for m in part["marks"]]
    assert [(r.bar, r.count) for r in reading.multirests] == [(r["bar"], r["count"]) for r in part["multirests"]]
    assert {(s.bar, s.kind.value) for s in reading.signs} == {(s["bar"], s["kind"]) for s in part["signs"]}
    assert [(e.bar, e.number) for e in reading.endings] == [(e["bar"], e["number"]) for e in part["endings"]]
    systems = [system for page in reading.pages for system in page.systems]
    assert all(len(system.staves) == part["staves"] for system in systems)
    stave = systems[0].staves[0]
    assert (stave.bottom - stave.top) * 25.4 / 72 == pytest.approx(part["stave_mm"], abs=0.05)
    # where lines break, by the number of their first bar; the engraver calls a line that opens with the pickup bar 1
    drawn = [[0 if part["pickup"] and first == 1 else first for first in page] for page in part["pages"]]
    assert [[system.bars[0].number for system in page.systems] for page in reading.pages] == drawn
    keys = [(max(c.bar, 1), c.fifths) for c in reading.changes if c.stave == 0 and c.fifths is not None]
    assert keys == [(k["bar"], k["sharps"]) for n, k in enumerate(part["keys"]) if n or k["sharps"]]
    meters = [(max(c.bar, 1), c.meter) for c in reading.changes if c.stave == 0 and c.meter]
    assert meters == [(t["bar"], f"{t['beats']}/{t['unit']}") for t in part["times"]]
    assert reading.confidence >= SURE and not reading.doubts


def test_a_last_line_that_runs_off_its_page_is_in_doubt() -> None:
    with pymupdf.open(next(BAND.rglob("*Trombone.pdf"))) as document:
        page = document[-1]
        page.set_mediabox(pymupdf.Rect(0, 0, 0.7 * page.rect.width, page.rect.height))
        reading = read_part(document.tobytes())
    assert any("runs off the page, where bars may be missing" in said for said in reading.doubts)
    assert reading.pages[-1].systems[-1].confidence < SURE


def test_parts_one_after_the_other_are_told_apart() -> None:
    file = next(BAND.rglob("*all parts.pdf"))
    heads = page_heads(file.read_bytes())
    here = [part for part in PARTS if (BAND / part["file"]) == file]
    assert [n for n, head in enumerate(heads) if head.starts_part] == [part["first_page"] for part in here]
    for part in here:
        words = [word.text for word in heads[part["first_page"]].words]
        assert part["chair"] in words and "Ninepenny Waltz" in words
