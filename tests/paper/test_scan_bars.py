"""Sure lines of a scan, cut into bars: no ink lost, none twice; keys, endings and bars as the engraver was told.

Charts are engraved here, and damaged as `scanning` says; `COLLAPARTE_SEED=n` repeats a run.
"""

import dataclasses
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pymupdf
import pytest
from msgspec.structs import replace

import engraving
import scanning
from collaparte.paper.confirmed import all_sure
from collaparte.paper.cutting import scan_clean
from collaparte.paper.cutting.ink import Picture, Shape
from collaparte.paper.cutting.items import grown
from collaparte.paper.cutting.pieces import Cut, cut_ink
from collaparte.paper.cutting.scan_clean import Clean, cleaned
from collaparte.paper.cutting.scan_dust import DUST
from collaparte.paper.cutting.scan_straight import _box, straight
from collaparte.paper.cutting.scan_systems import INK
from collaparte.paper.pages.draw_pdf import draw_cut
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.read import read_part
from collaparte.paper.reading import Box, Reading, System
from collaparte.paper.scans.page import Bent, Grey
from collaparte.paper.scans.parts import connected
from paper.laid import engraved
from seeded import SEED

FLAT = scanning.Damage(300, 0.0, 0.0, 0.0, 0.03, 1.0, 0, "plain", 0, "png")
BENT = FLAT._replace(tilt=1.2, warp=1.0, noise=2.0, file="jpeg")

CHART = r"""
\version "2.24.0"
#(set-global-staff-size 18)
\header { title = "Lanterns" instrument = "Alto" tagline = ##f }
\paper { ragged-last = ##f }
\score { <<
  \new ChordNames \chordmode { d1 a:7 d a:7 d g a:7 d aes ees:7 aes ees:7 aes des ees:7 aes }
  \new Staff \relative c'' { \set Score.rehearsalMarkFormatter = #format-mark-box-alphabet
    \override Score.BarNumber.break-visibility = ##(#f #f #t) \set Score.barNumberVisibility = #all-bar-numbers-visible
    \key d \major \tempo "Medium swing" 4 = 132
    d4( e fis g | a2) a\f | b8( a g fis e4 d~ | d1) | \break
    gis4 a b a | g2\< b | a8 b cis d e4 fis\! | d1 | \break
    \mark \default \key aes \major
    \repeat volta 2 { aes4 bes c des | ees2 c | }
    \alternative { { aes1 | } { c4-> bes aes g | } }
    aes2 \mark \default c | \break des4 c bes aes | g2 bes | aes1 \bar "|."
  }
>> }
"""
"""Sixteen bars: slurs and a tie over barlines, an accidental that opens a line, a change of key, endings, marks."""


PIANO = r"""
\version "2.24.0"
#(set-global-staff-size 16)
\header { title = "Under the Pier" instrument = "Piano" tagline = ##f }
\paper { ragged-last = ##f }
\score { \new PianoStaff <<
  \new Staff = "up" \relative c'' { \set Score.rehearsalMarkFormatter = #format-mark-box-alphabet
    \key d \major \tempo "Medium swing" 4 = 132
    d4(\mf e fis g | a2) a\< | b8( a g fis e4 d~ | d1)\! | \break
    gis4 a b a | <e g b>2 <d fis a> | a'8 b cis d e4 fis | d1 | \break
    \mark \default \key aes \major
    \repeat volta 2 { aes4 bes c des | ees2 c | }
    \alternative { { aes1 | } { c4-> bes aes g | } }
    aes2 \mark \default c | \break des4 c bes aes | g2 bes | aes1 \bar "|."
  }
  \new Staff = "down" \relative c { \clef bass \key d \major
    d8 a' \change Staff = "up" fis' a \change Staff = "down" d,, a' d fis | d,2 a | g4 b a cis | d1 |
    e,4 a d e | a2 d, | g8 a b cis d4 \clef treble d' | fis1 |
    \clef bass \key aes \major aes,,2 ees' | aes1 | aes,4 c ees aes | ees1\p | aes,2 aes' | des,2 f | ees2 ees' | aes,1
  }
>> }
"""
"""The same for two staves: a beam from one to the other, marks between them, a clef in mid-line."""

TOUCHED = 1
"""The place of a line whose key is joined to its first notes."""


@cache
def scan(how: scanning.Damage, chart: str = CHART) -> tuple[bytes, Reading, Cut]:
    pdf, _ = scanning.scanned(engraved(chart).pdf, how, 7)
    reading = all_sure(read_part(pdf, scans=True))
    return pdf, reading, cut_ink(pdf, reading)


def _without(clean: Clean, systems: tuple[System, ...]) -> npt.NDArray[np.bool_]:
    """Where ink need not be kept: staff lines, barlines, what joins staves and bar numbers, which are drawn anew."""
    out = np.zeros(clean.grey.shape, np.bool_)

    def box(x0: float, y0: float, x1: float, y1: float) -> None:
        x0, y0, x1, y1 = (v / clean.unit for v in (x0, y0, x1, y1))
        out[max(int(y0), 0) : int(y1) + 1, max(int(x0), 0) : int(x1) + 1] = True

    for system in systems:
        sp, (_, top, _, bottom) = system.space, system.bbox
        for y in (y for stave in system.staves for y in stave.lines):
            box(0.0, y - 0.35 * sp, clean.grey.shape[1] * clean.unit, y + 0.35 * sp)
        for line in system.barlines:
            box(line.x0 - 0.6 * sp, top - 0.5 * sp, line.x1 + 0.6 * sp, bottom + 0.5 * sp)
        if len(system.staves) > 1:
            box(0.0, top - 1.5 * sp, min(v.x0 for v in system.staves) + 2 * sp, bottom + 1.5 * sp)
        if number := system.printed_number_box:
            box(number[0] - 2, number[1] - 2, number[2] + 2, number[3] + 2)
    return out


def _dust(dark: npt.NDArray[np.bool_], space: float) -> npt.NDArray[np.bool_]:
    parts = connected(dark)
    small = np.append(np.maximum(parts.x1 - parts.x0, parts.y1 - parts.y0) <= DUST[1] * space, False)
    return small[parts.labels]


def _shown(cut: Cut, number: int, clean: Clean) -> npt.NDArray[np.int64]:
    """How often each pixel of a page is in a picture; an ending's bracket counts where it was."""
    again = np.zeros(clean.grey.shape, np.int64)
    for mark in cut.pages[number].ink:
        if isinstance(mark, Picture):
            picture = pymupdf.Pixmap(mark.png)
            ink = np.frombuffer(picture.samples, np.uint8).reshape(picture.height, picture.width, 2)[..., 1]
            x, y = round(mark.box[0] / clean.unit), round(mark.box[1] / clean.unit)
            again[y : y + picture.height, x : x + picture.width] += ink > 255 - INK
        elif isinstance(mark, Shape):
            x0, y0, x1, y1 = (round(v / clean.unit) for v in mark.box)
            again[max(y0 - 4, 0) : y1 + 5, max(x0 - 4, 0) : x1 + 5] = 1
    return again


@pytest.mark.skipif(engraving.engraver() is None, reason="the engraver's package is not installed")
@pytest.mark.parametrize("n", range(3))
def test_a_scan_cut_into_bars_has_all_its_ink_once(n: int, tmp_path: Path) -> None:
    seed = 3 * SEED + n
    pdf, _ = engraving.engrave(engraving.chart(seed), tmp_path)
    how = scanning.damage(seed, pencil=n == 1)._replace(file="jpeg", print="plain", dust=0, dpi=(200, 300)[n % 2])
    print(f"COLLAPARTE_SEED={SEED}: chart {seed}, {how}")
    damaged, places = scanning.scanned(pdf, how, seed)
    reading = all_sure(read_part(damaged, scans=True))
    cut = cut_ink(damaged, reading)
    if not cut.table.page_pieces:  # a system without a bar was seen: all stands as printed
        _look_at_the_ink(
            damaged, reading, cut, [_numbers(*page) for page in zip(pymupdf.open(stream=pdf), places, strict=True)]
        )


def _numbers(page: pymupdf.Page, place: scanning.Place) -> list[Box]:
    """Where figures stand on a scanned page, as the engraver wrote them: old bar numbers may be among them."""
    figures = [word[:4] for word in page.get_text("words") if word[4].isdecimal()]
    return [(*place(x0, y0), *place(x1, y1)) for x0, y0, x1, y1 in figures]


def _look_at_the_ink(damaged: bytes, reading: Reading, cut: Cut, numbers: Sequence[Sequence[Box]] = ()) -> None:
    for number, page in enumerate(pymupdf.open(stream=damaged)):
        clean = cleaned(page)
        systems = straight(reading, number, clean.bent).pages[number].systems
        space = systems[0].space / clean.unit if systems else 20.0
        dark = clean.grey < INK
        again = _shown(cut, number, clean)
        assert (again > 1).sum() < 0.001 * dark.sum(), "no ink but soft edges stands in two pictures"
        kept = dark & ~_without(clean, systems)
        for box in numbers[number] if numbers else ():
            x0, y0, x1, y1 = (round(v / clean.unit) for v in grown(_box(box, clean.bent), 3.0, 3.0))
            kept[max(y0, 0) : y1, max(x0, 0) : x1] = False
        assert (again[kept & ~_dust(kept, space)] == 1).mean() > 0.99, "and all but specks is in one"


@pytest.mark.parametrize("chart", [CHART, PIANO])
@pytest.mark.parametrize("how", [FLAT, BENT])
def test_a_laid_scan_reads_as_its_source_was_told(how: scanning.Damage, chart: str) -> None:
    """The laid pages, scanned once more: as many bars, no other marks, the kinds of barlines, staves of 7 mm."""
    _, reading, cut = scan(how, chart)
    laying = lay(reading, cut.table, printed_order(reading))
    assert not laying.notes
    again, _ = scanning.scanned(draw_cut(cut, laying), FLAT, 1)
    read = read_part(again, scans=True)
    assert read.bars == 16
    assert {mark.text for mark in read.marks} <= {"A", "B"}
    kinds = [line.kind.value for page in read.pages for s in page.systems for line in s.barlines]
    kinds = [kind for kind in kinds if kind != "single"]
    assert kinds == ["repeat-start", "repeat-end" if cut.table.staves == 1 else kinds[1], "final"], (
        "the reader takes a repeat's end for a final barline where several staves end a line with it"
    )
    assert [bar.number for bar in cut.table.bars if bar.right == "repeat-end"] == [11]
    assert {len(s.staves) for page in read.pages for s in page.systems} == {cut.table.staves}
    staves = [stave for page in read.pages for s in page.systems for stave in s.staves]
    tall = [(stave.bottom - stave.top) * 25.4 / 72 for stave in staves]
    assert np.mean(tall) == pytest.approx(7.0, abs=0.1), "a scan's lines are measured by whole pixels"


@pytest.mark.parametrize("how", [FLAT, BENT])
def test_lines_of_one_key_begin_alike_and_a_new_key_is_drawn_where_it_comes(how: scanning.Damage) -> None:
    _, _, cut = scan(how)
    bars = {bar.number: bar for bar in cut.table.bars}
    keys = {n: cut.table.heads[bar.head_here].key_name for n, bar in bars.items()}
    assert len(keys[1].split()) == 2 and keys[1] == keys[5], "two sharps, and no accidental is taken for a third"
    assert len(keys[9].split()) == 4 and len({keys[n] for n in range(9, 17)}) == 1, "four flats"
    assert len({cut.table.heads[bar.head_here].clef_name for bar in bars.values()}) == 1


@pytest.mark.parametrize("chart", [CHART, PIANO])
def test_a_key_that_was_read_at_no_line_of_a_page_is_drawn(chart: str) -> None:
    """Signs are told by their order (common practice), wherever the reading has their line's first bar begin."""
    pdf, reading, _ = scan(FLAT, chart)
    (page,) = reading.pages
    systems = []
    for system in page.systems:
        first, *others = system.bars
        begins = min(stave.x0 for stave in system.staves) + 3.2 * system.space
        systems.append(replace(system, bars=(replace(first, x0=begins), *others)))
    changes = tuple(change for change in reading.changes if change.fifths is None)
    table = cut_ink(pdf, replace(reading, pages=(replace(page, systems=tuple(systems)),), changes=changes)).table
    keys = {bar.number: table.heads[bar.head_here].key_name.split("|")[0] for bar in table.bars}
    assert all(keys[n] == ("6@-4 6@-1" if n < 9 else "5@-1 5@-4 5@0 5@-3") for n in keys)


def test_a_line_has_the_key_in_force_though_its_last_sign_touches_a_note() -> None:
    """The key is repeated at each line's head (common practice): less of it at one line alone is a misreading."""
    page = pymupdf.open(stream=engraved(PIANO).pdf)
    source = read_part(engraved(PIANO).pdf).pages[0].systems[TOUCHED]
    for stave in source.staves:
        y, x = stave.lines[1] - 0.5 * source.space, source.bars[0].x0
        page[0].draw_line((x - 1.2 * source.space, y), (x + 1.5 * source.space, y), width=0.2 * source.space)
    pdf, _ = scanning.scanned(page.tobytes(), FLAT, 7)
    reading = all_sure(read_part(pdf, scans=True))
    cut = cut_ink(pdf, reading)
    heads = {bar.number: cut.table.heads[bar.head_here] for bar in cut.table.bars}
    assert heads[5].key_name == heads[1].key_name != heads[9].key_name
    assert heads[5].key_width == pytest.approx(heads[1].key_width, abs=0.4), "with all its ink,"
    _look_at_the_ink(pdf, reading, cut)


def test_a_line_has_its_head_whatever_runs_into_it_and_wherever_it_was_read_to_begin() -> None:
    """A player's ring round a key (common practice), a thick line from a clef to a key, a stave read too short."""
    page = pymupdf.open(stream=engraved(CHART).pdf)
    _, ringed, joined, short = read_part(engraved(CHART).pdf).pages[0].systems
    sp, (stave,) = ringed.space, ringed.staves
    ring = pymupdf.Rect(stave.x0 - 2 * sp, stave.top - 2 * sp, stave.x0 + 5 * sp, stave.bottom + 3 * sp)
    page[0].draw_oval(ring, color=(0.4, 0.4, 0.4), width=0.3 * sp)
    (stave,) = joined.staves
    y, x = stave.lines[2], stave.x0
    page[0].draw_line((x + 2 * sp, y), (x + 5 * sp, y), width=0.4 * sp)
    pdf, _ = scanning.scanned(page.tobytes(), FLAT, 7)
    reading = all_sure(read_part(pdf, scans=True))
    (read,) = reading.pages
    last = read.systems[-1]
    staves = tuple(replace(stave, x0=last.bars[0].x0) for stave in last.staves)
    systems = (*read.systems[:-1], replace(last, staves=staves, bbox=(last.bars[0].x0, *last.bbox[1:])))
    table = cut_ink(pdf, replace(reading, pages=(replace(read, systems=systems),))).table
    keys = {bar.number: table.heads[bar.head_here].key_name for bar in table.bars}
    begins = (ringed, joined, short)
    flats = "5@-1 5@-4 5@0 5@-3"
    assert [keys[system.bars[0].number] for system in begins] == ["6@-4 6@-1", flats, flats]
    assert min(table.heads[bar.head_here].clef_width for bar in table.bars) > 2.0


@pytest.mark.parametrize("how", [FLAT, BENT])
def test_the_brackets_of_endings_are_strokes_over_their_bars(how: scanning.Damage) -> None:
    _, _, cut = scan(how)
    under = {bar.number for bar in cut.table.bars if bar.brackets}
    assert {11, 12} <= under <= {11, 12, 13}
    assert sum(isinstance(mark, Shape) for page in cut.pages for mark in page.ink) >= 4, "two rules, and hooks"


def test_chord_names_go_each_with_its_bar() -> None:
    _, _, cut = scan(FLAT)
    for bar in cut.table.bars:
        names = [e for w in bar.words if w.above and (e := cut.table.extents[w.piece]).right - e.left < 4.5]
        assert len(names) >= 1, f"bar {bar.number} has its chord"
        assert all(e.bottom < -2 for e in names)


@pytest.mark.parametrize("how", [FLAT, BENT])
def test_staves_of_a_scan_are_cut_together_and_have_all_their_ink_once(how: scanning.Damage) -> None:
    pdf, reading, cut = scan(how, PIANO)
    table = cut.table
    assert [(group.first, group.last, group.brace) for group in table.groups] == [(0, 1, True)]
    assert all(bar.whole < 0 and min(bar.main) >= 0 for bar in table.bars), "each bar has notes in both"
    _look_at_the_ink(pdf, reading, cut)


@pytest.mark.parametrize("how", [FLAT, BENT])
def test_each_stave_of_a_scan_has_its_own_clef_and_key(how: scanning.Damage) -> None:
    table = scan(how, PIANO)[2].table
    heads = {bar.number: table.heads[bar.head_here] for bar in table.bars}
    keys = {n: [len(stave.split()) for stave in head.key_name.split("|")] for n, head in heads.items()}
    assert all(keys[n] == ([2, 2] if n < 9 else [4, 4]) for n in keys)
    clefs = {n: head.clef_name.split("|") for n, head in heads.items()}
    assert all(upper != lower for upper, lower in clefs.values())
    assert how is BENT or clefs[8][1] != clefs[7][1] == clefs[9][1], "behind a clef in mid-line a line begins in it"


def test_a_beam_from_stave_to_stave_leaves_each_note_in_its_own() -> None:
    """Its two notes in the upper stave, and no more of it than its stems and its beam between the two."""
    table = scan(FLAT, PIANO)[2].table
    first = table.bars[0]
    upper, lower = (table.extents[piece] for piece in first.main)
    distance = table.systems[first.system].staves[1]
    assert 2.5 < upper.bottom < distance - 2.0, "the beam does not reach into the lower stave,"
    assert -distance + 2.0 < lower.top, "nor the lower stave's notes into the upper one"


def test_a_line_whose_waves_were_not_followed_to_its_end_is_set_level_by_its_own_lines(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    pdf, reading, cut = scan(BENT)
    found = scan_clean.straightness

    def short(grey: Grey, scale: float) -> Bent:
        bent = found(grey, scale)
        assert bent.warp is not None
        warp, known = bent.warp.copy(), bent.warp.shape[1] // 3
        warp[:, :known] = warp[:, known : known + 1]
        return dataclasses.replace(bent, warp=warp)

    monkeypatch.setattr(scan_clean, "straightness", short)
    again = cut_ink(pdf, reading)
    assert [bar.head_here for bar in again.table.bars] == [bar.head_here for bar in cut.table.bars]
    for one, other in zip(again.table.bars, cut.table.bars, strict=True):
        high = [
            (t.extents[bar.main[0]].top, t.extents[bar.main[0]].bottom)
            for t, bar in ((again.table, one), (cut.table, other))
        ]
        assert np.allclose(*high, atol=0.35)
