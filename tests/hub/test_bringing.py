"""Bringing parts in, for real: files on a disk, worker processes, the band's log in SQLite."""

import asyncio
import secrets
from collections.abc import AsyncIterator, Mapping
from pathlib import Path

import msgspec
import pymupdf
import pytest
import pytest_asyncio

import scanning
from collaparte.band.agreement import disagreeing
from collaparte.band.apply import fold
from collaparte.band.decide import decide
from collaparte.band.parts import part_order
from collaparte.band.roles import EVERY_ROLE, Refusal
from collaparte.band.state import Part, State, Tune
from collaparte.demo import BAND
from collaparte.hub.bringing import understand
from collaparte.hub.gathering import gather
from collaparte.hub.incoming import Became, Incoming, Told
from collaparte.hub.jobs import Kept
from collaparte.hub.keeping import CommitError, commit, keep
from collaparte.hub.mending import reading_of
from collaparte.hub.workers import Pool
from collaparte.paper.pages.laying import Pieces
from collaparte.paper.reading import SURE, Reading
from collaparte.store.files import Files, FilesError
from collaparte.store.log import Log
from collaparte.wire.commands import AddTune, RemoveChair, RenameChair
from hub import sheets_of_music as sheets

TITLE = "Blue Harbour"
MARKS = {1: "A", 9: "B", 17: "C", 25: "D"}
SHORT = {1: "A", 9: "B", 17: "C", 24: "D"}
"""The marks of a copy that has lost a bar between C and D."""
FLAT = scanning.Damage(200, 0.0, 0.0, 0.0, 0.03, 1.0, 0, "plain", 0, "png")
CHAIRS = ("1st Alto", "2nd Alto", "Tenor", "Tpt 1")


pytestmark = pytest.mark.asyncio(loop_scope="module")


class Band:
    """A band folder with its log, and a pool of workers."""

    def __init__(self, path: Path, log: Log, pool: Pool) -> None:
        self.inbox = path / "inbox"
        self.inbox.mkdir()
        self.files = Files(path / "files")
        self.log = log
        self.pool = pool

    def put(self, files: Mapping[str, bytes]) -> None:
        for name, data in files.items():
            path = self.inbox / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)

    async def bring(self, *names: str, told: Told | None = None) -> dict[str, Incoming]:
        """Bring these in (default: the whole inbox); what became of each part, by its file and chair."""
        came = await asyncio.to_thread(gather, [self.inbox / name for name in names] or [self.inbox])
        state = await self.log.state()
        found = await understand(came, state, self.files, self.pool, told or Told())
        commands = await keep(found, state, self.files, self.pool)
        await commit(commands, state, self.log)
        return {f"{part.file} {part.name}".strip(): part for part in found.incoming}

    async def get(self, hash_: str) -> bytes:
        return await asyncio.to_thread(self.files.get, hash_)

    async def tune(self, title: str = TITLE) -> Tune:
        return next(tune for tune in (await self.log.state()).tunes.values() if tune.title == title)

    async def part(self, name: str, title: str = TITLE) -> Part:
        return next(part for part in (await self.tune(title)).parts.values() if part.name == name)


@pytest_asyncio.fixture(scope="module", loop_scope="module")
async def pool() -> AsyncIterator[Pool]:
    """Workers for all these tests, as a hub's serve all its files."""
    async with Pool(2, keep_one_free=False) as pool:
        yield pool


@pytest_asyncio.fixture(loop_scope="module")
async def band(tmp_path: Path, pool: Pool) -> AsyncIterator[Band]:
    log = await Log.open(tmp_path / "log.sqlite", epoch=secrets.token_hex(4))
    yield Band(tmp_path, log, pool)
    await log.close()


def part(chair: str, bars: int = 32, marks: Mapping[int, str] = MARKS) -> bytes:
    return sheets.part(TITLE, chair, bars, marks)


def parts(*chairs: str) -> dict[str, bytes]:
    return {f"{TITLE}/{chair}.pdf": part(chair) for chair in chairs}


def chairs_of(state: State) -> dict[str, list[str]]:
    return {section.name: [state.chairs[id].name for id in section.chairs] for section in state.sections}


async def test_a_folder_becomes_a_tune_with_chairs_sections_and_a_ruler(band: Band) -> None:
    band.put(parts("Tenor", "1st Alto", "Trumpet 1", "Drums", "2nd Alto"))
    came = await band.bring()
    assert {part.became for part in came.values()} == {Became.NEW}
    state = await band.log.state()
    assert chairs_of(state) == {"Reeds": ["Alto 1", "Alto 2", "Tenor"], "Brass": ["Trumpet 1"], "Rhythm": ["Drums"]}
    tune = await band.tune()
    assert tune.chart is not None
    assert [bar.number for bar in tune.chart.bars] == list(range(1, 33))
    ids = tuple(bar.id for bar in tune.chart.bars)
    assert len(set(ids)) == 32
    assert all(part.current.bars == ids for part in tune.parts.values())
    for id, chair in state.chairs.items():
        assert [part.name for part in tune.seated(id)] == [chair.name]
    assert state.set_order == (tune.id,)


async def test_everything_that_stands_need_is_stored_and_the_original_is_unchanged(band: Band) -> None:
    band.put(parts("1st Alto"))
    await band.bring()
    version = (await band.part("Alto 1")).current
    assert version.version == version.original
    original = await asyncio.to_thread((band.inbox / TITLE / "1st Alto.pdf").read_bytes)
    assert await band.get(version.original) == original
    assert await band.get(version.reading)
    assert await band.get(version.table)
    pieces = msgspec.json.decode(await band.get(version.pieces), type=Pieces)
    assert pieces.pieces
    for sheet in [sheet for rung in pieces.sheets for sheet in rung]:
        assert (await band.get(sheet)).startswith(b"\x89PNG")


async def test_the_same_files_again_change_nothing(band: Band) -> None:
    band.put(parts("1st Alto", "Tenor"))
    await band.bring()
    before = band.log.seq
    (band.inbox / TITLE / "Tenor.pdf").rename(band.inbox / "scan 7.pdf")
    came = await band.bring()
    assert {part.became for part in came.values()} == {Became.AGAIN}
    assert band.log.seq == before


async def test_the_same_file_twice_in_one_go_is_one_part(band: Band) -> None:
    band.put({f"{TITLE}/Tenor.pdf": part("Tenor"), f"{TITLE}/Tenor (1).pdf": part("Tenor")})
    one = (band.inbox / TITLE / "Tenor.pdf").read_bytes()
    (band.inbox / TITLE / "Tenor (1).pdf").write_bytes(one)
    came = await band.bring()
    assert sorted(part.became for part in came.values()) == [Became.AGAIN, Became.NEW]
    assert len((await band.tune()).parts) == 1


async def test_one_file_with_all_parts_is_taken_apart(band: Band) -> None:
    band.put({"all parts.pdf": sheets.book(TITLE, CHAIRS, 60, MARKS)})
    came = await band.bring()
    assert [part.pages for part in came.values()] == [(0, 1), (2, 3), (4, 5), (6, 7)]
    assert [part.why for part in came.values()] == [""] * 4
    tune = await band.tune()
    assert [part.name for part in tune.parts.values()] == ["Alto 1", "Alto 2", "Tenor", "Trumpet 1"]
    versions = [part.current for part in tune.parts.values()]
    assert len({version.original for version in versions}) == 1
    assert len({version.version for version in versions}) == 4
    before = band.log.seq
    assert {part.became for part in (await band.bring()).values()} == {Became.AGAIN}
    assert band.log.seq == before


async def test_a_cover_goes_with_the_part_behind_it(band: Band) -> None:
    cover = pymupdf.open(stream=sheets.words("Night Ferry", "for eleven players", ()), filetype="pdf")
    cover.new_page()
    cover.insert_pdf(pymupdf.open(stream=sheets.book(TITLE, CHAIRS[:2], 60, MARKS), filetype="pdf"))
    band.put({"all parts.pdf": cover.tobytes()})
    came = await band.bring()
    assert [(part.name, part.pages, part.why) for part in came.values()] == [
        ("Alto 1", (0, 3), ""),
        ("Alto 2", (4, 5), ""),
    ]
    assert not [doubt for part in came.values() for doubt in part.doubts if "New parts" in doubt]


def two_up(*pdfs: bytes) -> bytes:
    """The first pages of files beside each other on a sheet that lies on its side."""
    out = pymupdf.open()
    sheet = out.new_page(width=1190.6, height=841.9)
    for n, pdf in enumerate(pdfs):
        room = pymupdf.Rect(595.3 * n, 0, 595.3 * (n + 1), 841.9)
        sheet.show_pdf_page(room, pymupdf.open(stream=pdf, filetype="pdf"), 0)
    return bytes(out.tobytes())


ENGRAVED = BAND / "The Lamp You Left On"
"""Parts of 52 bars and one page each (the engraver's own numbers)."""


async def test_a_sheet_that_two_parts_share_is_cut_between_them(band: Band) -> None:
    two = [(ENGRAVED / name).read_bytes() for name in ("Alto Sax 1.pdf", "Trombone.pdf")]
    band.put({"sheet.pdf": two_up(*two)})
    came = await band.bring()
    assert [(part.name, part.pages, part.why) for part in came.values()] == [
        ("Alto 1", (0, 0), ""),
        ("Trombone", (1, 1), ""),
    ]
    readings = [part.reading for part in came.values()]
    assert [(one.bars, one.confidence >= SURE) for one in readings if one] == [(52, True)] * 2
    before = band.log.seq
    assert {part.became for part in (await band.bring()).values()} == {Became.AGAIN}
    assert band.log.seq == before


async def test_a_part_that_a_sheet_has_twice_is_taken_once(band: Band) -> None:
    """Two copies beside each other, to be cut apart with scissors (common practice)."""
    alto = (ENGRAVED / "Alto Sax 1.pdf").read_bytes()
    band.put({"sheet.pdf": two_up(alto, alto)})
    (copy,) = (await band.bring()).values()
    assert (copy.became, copy.pages) == (Became.AGAIN, (1, 1))
    assert copy.why == "sheet.pdf has Alto 1 twice, with the same bars: one is taken."
    tune = await band.tune(copy.proposal.title)
    (kept,) = tune.parts.values()
    assert tune.chart and len(tune.chart.bars) == 52 and kept.current.pages == (0, 0)
    before = band.log.seq
    assert {part.became for part in (await band.bring()).values()} == {Became.AGAIN}
    assert band.log.seq == before


async def test_a_sheet_whose_parts_name_no_chair_stays_whole_and_is_said(band: Band) -> None:
    pdf = pymupdf.open(ENGRAVED / "Trombone.pdf")
    pdf[0].draw_rect(pymupdf.Rect(30, 50, 125, 75), color=None, fill=(1, 1, 1))  # over the name of its chair
    band.put({"Lamp - Trombone.pdf": two_up((ENGRAVED / "Trombone.pdf").read_bytes(), pdf.tobytes())})
    (came,) = (await band.bring()).values()
    assert came.pages is None and any("on pages of its own" in doubt for doubt in came.doubts)


async def test_one_half_of_a_sheet_is_taken_when_told(band: Band) -> None:
    """The sheet that stays whole above; what is kept beside its reading can be taken back."""
    pdf = pymupdf.open(ENGRAVED / "Trombone.pdf")
    pdf[0].draw_rect(pymupdf.Rect(30, 50, 125, 75), color=None, fill=(1, 1, 1))  # over the name of its chair
    band.put({"Lamp - Trombone.pdf": two_up((ENGRAVED / "Trombone.pdf").read_bytes(), pdf.tobytes())})
    for number in (2, 1):
        (came,) = (await band.bring(told=Told(half=number, take=True))).values()
        assert came.comes_in and came.name == "Trombone" and not came.doubts
        tune = await band.tune(came.proposal.title)
        (kept,) = tune.parts.values()
        assert tune.chart and len(tune.chart.bars) == 52 and len(kept.current.bars) == 52
        now = await asyncio.to_thread(reading_of, kept, band.files)
        assert now.bars == 52 and {system.bbox[0] > 595 for system in now.pages[0].systems} == {number == 2}
    (again,) = (await band.bring()).values()
    assert again.became is Became.AGAIN
    (left,) = (await band.bring(told=Told(half=3))).values()
    assert left.became is Became.LEFT
    assert left.why == "Lamp - Trombone.pdf has 2 parts on a page, and no number 3: name one with --half."


async def test_a_copy_that_has_lost_a_bar_is_laid_and_said(band: Band) -> None:
    band.put(parts(*CHAIRS) | {f"{TITLE}/0 Trombone.pdf": part("Trombone", 31, SHORT)})
    came = await band.bring()
    odd = came[f"{TITLE}/0 Trombone.pdf Trombone"]
    assert odd.doubts == [
        "Trombone has one bar fewer than the others, between C and D. 4 of 5 parts have eight bars there: "
        "look for a bar left out."
    ]
    assert all(not part.doubts for part in came.values() if part is not odd)
    tune = await band.tune()
    assert tune.chart is not None
    bars = [bar.id for bar in tune.chart.bars]
    assert len(bars) == 32
    version = (await band.part("Trombone")).current
    assert version.bars[:17] == tuple(bars[:17])
    assert version.bars[23:] == tuple(bars[24:])
    assert part_order(tune, version).steps[23].bar == 24


async def test_a_part_with_a_bar_too_many_loses_none_of_them(band: Band) -> None:
    long = {1: "A", 9: "B", 18: "C", 26: "D"}
    band.put(parts(*CHAIRS) | {f"{TITLE}/Guitar.pdf": part("Guitar", 33, long)})
    came = await band.bring()
    assert came[f"{TITLE}/Guitar.pdf Guitar"].doubts == [
        "Guitar is shown as printed, since bar 17 has no place in the tune; mend it and bring it again.",
        "Guitar has one bar more than the others, between B and C. 4 of 5 parts have eight bars there: "
        "look for a bar written twice.",
    ]
    version = (await band.part("Guitar")).current
    assert (version.as_printed, version.bars) == (True, ())


async def test_a_part_that_is_in_already_is_told_to_differ_when_others_come(band: Band) -> None:
    band.put({f"{TITLE}/0 Trombone.pdf": part("Trombone", 31, SHORT)})
    await band.bring()
    assert disagreeing(await band.tune()) == ()
    band.put(parts(*CHAIRS))
    await band.bring(*(f"{TITLE}/{chair}.pdf" for chair in CHAIRS))
    found = disagreeing(await band.tune())
    assert [(one.part, one.kind, one.after, one.before) for one in found] == [("Trombone", "fewer", "C", "D")]


async def test_a_newer_version_takes_the_place_of_the_old_one_bar_by_bar(band: Band) -> None:
    band.put(parts(*CHAIRS))
    await band.bring()
    old = await band.part("Tenor")
    band.put({f"{TITLE} - Tenor v2.pdf": sheets.part(TITLE, "Tenor", 32, MARKS | {29: "E"})})
    came = await band.bring(f"{TITLE} - Tenor v2.pdf")
    assert [part.became for part in came.values()] == [Became.VERSION]
    new = await band.part("Tenor")
    assert new.id == old.id
    assert len(new.versions) == 2
    assert new.current.bars == old.current.bars
    assert new.current.version != old.current.version
    tune = await band.tune()
    assert [parts for parts in tune.seats.values() if new.id in parts] == [(new.id,)]


async def test_a_part_that_differs_much_is_asked_about(band: Band) -> None:
    band.put(parts(*CHAIRS))
    await band.bring()
    before = band.log.seq
    band.put({f"{TITLE} - Tenor.pdf": sheets.part(TITLE, "Tenor", 60, {1: "A", 33: "B", 41: "C"})})
    (asked,) = (await band.bring(f"{TITLE} - Tenor.pdf")).values()
    assert asked.became is Became.ASKED
    assert asked.why.startswith("Tenor of Blue Harbour is there already and this one differs much")
    assert band.log.seq == before
    (told,) = (await band.bring(f"{TITLE} - Tenor.pdf", told=Told(as_new=True))).values()
    assert told.became is Became.NEW
    seats = (await band.tune()).seats
    assert sorted(len(parts) for parts in seats.values()) == [1, 1, 1, 2]


async def test_what_is_told_by_hand_replaces_without_asking(band: Band) -> None:
    band.put(parts("Tenor", "1st Alto"))
    await band.bring()
    band.put({"scan.pdf": sheets.photograph()})
    (asked,) = (await band.bring("scan.pdf")).values()
    assert asked.became is Became.ASKED
    (told,) = (await band.bring("scan.pdf", told=Told(tune="blue harbour", chair="tenor sax"))).values()
    assert told.became is Became.VERSION
    current = (await band.part("Tenor")).current
    assert (current.as_printed, current.bars) == (True, ())


async def test_two_files_for_one_chair_are_asked_about(band: Band) -> None:
    band.put(parts(*CHAIRS) | {f"{TITLE}/Tenor old.pdf": part("Tenor", 31, SHORT)})
    came = await band.bring()
    assert came[f"{TITLE}/Tenor.pdf Tenor"].became is Became.NEW
    asked = came[f"{TITLE}/Tenor old.pdf Tenor"]
    assert asked.became is Became.ASKED
    assert "came twice" in asked.why


async def test_parts_without_bars_come_in_as_printed(band: Band) -> None:
    band.put(parts("Tenor"))
    band.put({f"{TITLE}/Vocal.pdf": sheets.words(TITLE, "Vocal", ["Am7   D7   Gmaj7", "Down by the blue harbour"])})
    band.put({f"{TITLE}/Bass.pdf": sheets.photograph()})
    came = await band.bring()
    assert {part.became for part in came.values()} == {Became.NEW}
    for name in ("Vocal", "Bass"):
        version = (await band.part(name)).current
        assert version.as_printed
        assert version.pieces
        assert came[f"{TITLE}/{name}.pdf {name}"].doubts[0].startswith(f"{name} is shown as printed: ")


async def test_a_tune_of_scans_gets_its_ruler_when_a_part_can_be_read(band: Band) -> None:
    band.put({f"{TITLE}/Bass.pdf": sheets.photograph()})
    await band.bring()
    assert (await band.tune()).chart is None
    band.put(parts("Tenor"))
    await band.bring(f"{TITLE}/Tenor.pdf")
    chart = (await band.tune()).chart
    assert chart is not None
    assert len(chart.bars) == 32


def scan(pdf: bytes) -> bytes:
    """As a flatbed at 200 dpi gives it."""
    return scanning.scanned(pdf, FLAT, 1)[0]


async def test_a_scan_that_the_other_parts_bear_out_is_laid(band: Band) -> None:
    band.put(parts("Tenor") | {f"{TITLE}/Bass.pdf": scan(part("Bass"))})
    came = await band.bring()
    chart = (await band.tune()).chart
    assert chart is not None
    bass = (await band.part("Bass")).current
    assert not bass.as_printed
    assert bass.bars == tuple(bar.id for bar in chart.bars)
    assert came[f"{TITLE}/Bass.pdf Bass"].doubts == []
    kept = msgspec.msgpack.decode(await band.get(bass.table), type=Kept)
    assert [(cut.index, cut.count) for cut in kept.table.bars] == [(1 + n, 1) for n in range(32)]
    assert all(cut.whole < 0 for cut in kept.table.bars)


async def test_a_scan_with_a_bar_less_than_the_others_is_shown_as_printed_with_its_bars_for_the_desk(
    band: Band,
) -> None:
    band.put(parts("Tenor", "1st Alto") | {f"{TITLE}/Bass.pdf": scan(part("Bass", 31, SHORT))})
    came = await band.bring()
    bass = (await band.part("Bass")).current
    assert bass.as_printed
    assert len((await band.tune()).chart.bars) == 32  # type: ignore[union-attr]
    said = came[f"{TITLE}/Bass.pdf Bass"].doubts
    assert any(words.startswith("Bass is shown as printed, a scan of which ") for words in said)
    # no other part is told to differ from it, nor it from them
    assert disagreeing(await band.tune()) == ()
    read = msgspec.json.decode(await band.get(bass.reading), type=Reading)
    assert read.positions == 31


async def test_scans_alone_make_a_ruler_when_they_bear_each_other_out(band: Band) -> None:
    band.put({f"{TITLE}/Bass.pdf": scan(part("Bass"))})
    came = await band.bring()
    assert (await band.tune()).chart is None
    assert "no other part confirms them" in " ".join(came[f"{TITLE}/Bass.pdf Bass"].doubts)
    # the same part, scanned again, says nothing of itself
    band.put({f"{TITLE}/Bass.pdf": scanning.scanned(part("Bass"), FLAT, 2)[0]})
    await band.bring()
    assert (await band.tune()).chart is None
    band.put({f"{TITLE}/Tenor.pdf": scan(part("Tenor"))})
    came = await band.bring(f"{TITLE}/Tenor.pdf")
    assert "read on scans alone" in " ".join(words for one in came.values() for words in one.doubts)
    tune = await band.tune()
    assert tune.chart is not None
    assert [mark.text for mark in tune.chart.marks] == list("ABCD")
    assert not any(one.current.as_printed for one in tune.parts.values())


async def test_an_engraved_part_is_believed_before_scans_that_agree_on_something_else(band: Band) -> None:
    short = {f"{TITLE}/{chair}.pdf": scan(part(chair, 31, SHORT)) for chair in ("Bass", "Tenor")}
    band.put(short | parts("1st Alto"))
    await band.bring()
    assert len((await band.tune()).chart.bars) == 32  # type: ignore[union-attr]
    assert (await band.part("Bass")).current.as_printed
    assert not (await band.part("Alto 1")).current.as_printed


async def test_when_the_disk_takes_no_more_nothing_goes_on_behind_the_failure(band: Band) -> None:
    band.put(parts("1st Alto", "2nd Alto", "Tenor", "Trumpet 1"))
    # A file where the folder of the files should be: nothing can be stored.
    await asyncio.to_thread((band.inbox.parent / "files").write_bytes, b"")
    before = asyncio.all_tasks()
    with pytest.raises(FilesError, match="cannot be written to"):
        await band.bring()
    assert asyncio.all_tasks() <= before
    assert (await band.log.state()).tunes == {}


async def test_what_is_not_understood_is_listed_and_the_rest_comes_in(band: Band) -> None:
    good = part("Tenor")
    band.put({f"{TITLE}/Tenor.pdf": good, f"{TITLE}/Alto 1.pdf": b"Alto plays what the tenor plays."})
    band.put({f"{TITLE}/Alto 2.pdf": good[: len(good) // 2], f"{TITLE}/Bass.pdf": sheets.locked(good)})
    band.put({f"{TITLE}/Drums.pdf": b"", "cover.jpg": b"\xff\xd8\xff\xe0"})
    came = await band.bring()
    left = {part.file: part.why for part in came.values() if part.became is Became.LEFT}
    assert sorted(left) == [f"{TITLE}/{name}.pdf" for name in ("Alto 1", "Alto 2", "Bass", "Drums")] + ["cover.jpg"]
    assert all(why.startswith(file) and why.endswith(".") for file, why in left.items())
    state = await band.log.state()
    assert chairs_of(state) == {"Reeds": ["Tenor"]}


async def test_bad_files_alone_change_nothing(band: Band) -> None:
    band.put({"notes.pdf": b"hello", "empty.pdf": b""})
    await band.bring()
    assert band.log.seq == 0
    assert not (band.inbox.parent / "files").exists()


async def test_a_part_for_two_chairs_sits_at_both(band: Band) -> None:
    band.put({f"{TITLE} - Trumpets 1 & 2.pdf": part("Trumpets 1 & 2")})
    await band.bring()
    state = await band.log.state()
    tune = await band.tune()
    assert chairs_of(state) == {"Brass": ["Trumpet 1", "Trumpet 2"]}
    assert [[part.name for part in tune.seated(id)] for id in state.chairs] == [["Trumpet 1 + Trumpet 2"]] * 2


async def test_a_renamed_chair_gets_its_parts_of_the_next_tune(band: Band) -> None:
    band.put(parts("Tenor"))
    await band.bring()
    state = await band.log.state()
    (chair,) = state.chairs
    await commit([RenameChair(chair, "Ms Ferreira")], state, band.log)
    band.put({"Slow Train/Tenor Sax.pdf": sheets.part("Slow Train", "Tenor Sax", 16)})
    await band.bring("Slow Train")
    assert chairs_of(await band.log.state()) == {"Reeds": ["Ms Ferreira"]}
    assert (await band.tune("Slow Train")).seats[chair]


async def test_a_chair_that_comes_back_finds_its_parts(band: Band) -> None:
    band.put(parts("Tenor", "1st Alto"))
    await band.bring()
    state = await band.log.state()
    tenor = next(id for id, chair in state.chairs.items() if chair.name == "Tenor")
    await commit([RemoveChair(tenor)], state, band.log)
    band.put({"Slow Train/Tenor.pdf": sheets.part("Slow Train", "Tenor", 16)})
    await band.bring("Slow Train")
    state = await band.log.state()
    again = next(id for id, chair in state.chairs.items() if chair.name == "Tenor")
    assert again != tenor
    assert [part.name for part in (await band.tune()).seated(again)] == ["Tenor"]


async def test_a_question_within_a_book_is_asked_again(band: Band) -> None:
    band.put({"all parts.pdf": sheets.book(TITLE, ["1st Alto", "Somebody", "Tenor"], 60, MARKS)})
    for _ in range(2):
        came = await band.bring()
        assert [part.became for part in came.values()].count(Became.ASKED) == 1
    assert [part.became for part in came.values()].count(Became.AGAIN) == 2


async def test_one_keyboard_player_plays_piano_here_and_keyboard_there(band: Band) -> None:
    band.put({f"{TITLE}/Piano.pdf": part("Piano"), "Slow Train/Keys.pdf": sheets.part("Slow Train", "Keys", 16)})
    came = await band.bring()
    assert chairs_of(await band.log.state()) == {"Rhythm": ["Piano"]}
    assert came["Slow Train/Keys.pdf Keyboard"].doubts == ["Keyboard is put on the chair Piano."]
    band.put({"Two Hands/Piano.pdf": sheets.part("Two Hands", "Piano", 16)})
    band.put({"Two Hands/Keys.pdf": sheets.part("Two Hands", "Keys", 16)})
    await band.bring("Two Hands")
    assert chairs_of(await band.log.state()) == {"Rhythm": ["Piano", "Keyboard"]}


async def test_commands_are_done_all_or_none(band: Band) -> None:
    with pytest.raises(CommitError, match="There is no chair"):
        await commit([AddTune("t", "Slow Train"), RemoveChair("nobody")], State(), band.log)
    assert band.log.seq == 0
    assert fold((), State()) == await band.log.state()
    assert isinstance(decide(State(), RemoveChair("nobody"), EVERY_ROLE), Refusal)
