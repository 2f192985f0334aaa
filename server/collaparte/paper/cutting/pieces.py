"""Cut a part into pieces: the ink of each bar and stave, of the line heads and of the title, once."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from msgspec.structs import replace

from collaparte.paper.cutting import groups, scan_clean, scan_systems
from collaparte.paper.cutting.areas import within
from collaparte.paper.cutting.barcut import SQUEEZE, BarCutter
from collaparte.paper.cutting.carried import carried
from collaparte.paper.cutting.evened import evened
from collaparte.paper.cutting.flattened import Fonts, flatten, open_pdf
from collaparte.paper.cutting.headcut import HeadFinder
from collaparte.paper.cutting.ink import Glyph, Mark, Page, Picture
from collaparte.paper.cutting.items import Item, union
from collaparte.paper.cutting.levelled import level, level_lines
from collaparte.paper.cutting.names import names
from collaparte.paper.cutting.ownership import Owned, own
from collaparte.paper.cutting.rows import Found, in_rows, spread
from collaparte.paper.cutting.scan_heads import KnownHeads
from collaparte.paper.cutting.stamped import without_sides, without_stamps
from collaparte.paper.cutting.stock import Part, PieceInk, Stock
from collaparte.paper.cutting.systemcut import SystemCutter
from collaparte.paper.cutting.table import VERSION, BarCut, Extent, PieceTable, TitleWord
from collaparte.paper.cutting.ties import Mender
from collaparte.paper.reading import Box, Reading, System
from collaparte.paper.sight import lying

PAGE_SPACES = 84.0
"""A page shown as printed counts as this many staff spaces wide: about what a page of 148 mm holds at 7 mm staves."""
ROOM = 3.0
"""Points left round the ink of pages as printed; the rest of their margins goes."""
WORD_SPACE = 8.0
"""Words of one line of type stand no farther apart, in staff spaces."""

COVER = 400
"""A page of more letters than this is no title page."""


@dataclass(slots=True)
class Cut:
    """A part cut up: the table that laying needs, and the ink that drawing needs beside it."""

    table: PieceTable
    inks: list[PieceInk]
    pages: list[Page]

    def check(self, table: PieceTable) -> None:
        """Raises `ValueError` when `table` was not made from this part with this reading."""
        if self.table != table:
            raise ValueError("This laying belongs to another reading of the part; lay it again.")


def cut(pdf: bytes, reading: Reading, pages: range | None = None) -> PieceTable:
    """The pieces of one part; `pages` are its pages in the file (all by default). Raises `CannotOpen`."""
    return cut_ink(pdf, reading, pages).table


def cut_ink(pdf: bytes, reading: Reading, pages: range | None = None) -> Cut:
    """As `cut`, with the ink of every piece, for drawing."""
    document = open_pdf(pdf)
    fonts, known = Fonts(), KnownHeads()
    numbers = list(pages or range(len(document)))[: len(reading.pages)]
    for n, page in zip(numbers, reading.pages, strict=False):
        lying.turn(document[n], page.turned)
    reading = _without_unread(reading)
    flat: list[Page] = []
    owned: list[Owned] = []
    stamped: list[int] = []
    sides: list[int] = []
    joined: list[tuple[System, groups.Joined]] = []
    for place, (n, page) in enumerate(zip(numbers, reading.pages, strict=False)):
        if page.scanned and page.systems:
            apart = scan_systems.apart(document[n], reading, place, fonts, known)
            flat.append(apart.page)
            owned.append(apart.owned)
            reading = apart.reading
            systems = reading.pages[place].systems
            joined += [(system, apart.joined[s]) for s, system in enumerate(systems) if s in apart.joined]
        elif not page.systems and scan_clean.is_scan(document[n]):
            flat.append(scan_clean.whole_page(document[n], fonts))
            owned.append(Owned())
        else:
            plain, is_stamped = without_stamps(within(flatten(document, n, fonts), page.area), page.systems)
            plain, has_sides = without_sides(plain, page.systems)
            flat.append(plain)
            stamped += [n] if is_stamped else []
            sides += [n] if has_sides else []
            owned.append(own(flat[-1], reading, place) if page.systems else Owned())
            joined += [(system, groups.of_system(flat[-1], system)) for system in page.systems]
    stock = Stock()
    named = names(stock, flat, [o.items for o in owned], reading, joined)
    for n, item in named.changed:
        owned[n].items.append(item)
    level(flat, [o.items for o in owned], reading)
    level_lines(flat, [o.items for o in owned], reading)
    read = [p for p in reading.pages if p.systems]
    without = [n for n, p in enumerate(reading.pages) if not p.systems]
    covers = [n for n in without if read and _is_cover(flat[n])]
    printed = () if without == covers else _as_printed(stock, flat)
    title, height = _lines(stock, flat, reading, [o.head if n == 0 else [] for n, o in enumerate(owned)])
    foot, _ = _lines(stock, flat, reading, [o.foot for o in owned])
    bar_cutter = BarCutter(reading, flat, stock)
    cutter = SystemCutter(stock, bar_cutter, HeadFinder(reading, [o.items for o in owned]))
    for n, page in enumerate(reading.pages):
        for s, system in enumerate(page.systems):
            cutter.cut(n, s, system, [i for i in owned[n].items if i.system == s])
    bars = Mender(stock, flat).mend(cutter.bars, bar_cutter.torn.broken)
    fullest = max((s for p in read for s in p.systems), key=lambda s: len(s.staves), default=None)
    table = PieceTable(
        version=VERSION,
        staves=len(fullest.staves) if fullest else 1,
        lines=tuple(len(stave.lines) for stave in fullest.staves) if fullest else (5,),
        apart=groups.apart(fullest) if fullest else (),
        extents=tuple(stock.extents),
        heads=tuple(cutter.heads),
        bars=tuple(evened(carried(_in_rows(bars, bar_cutter.words, stock.extents), stock.extents), SQUEEZE)),
        systems=tuple(cutter.systems),
        title=(*title, *named.title),
        names=named.first,
        title_height=height,
        foot=foot,
        page_pieces=printed,
        meters=tuple(cutter.meters),
        groups=groups.of_part(joined),
        parted=groups.parted(
            (flat[n], s) for n, page in enumerate(reading.pages) if not page.scanned for s in page.systems
        ),
        notes=(
            *(f"Page {n + 1} has no staves and is left out." for n in covers),
            *(f"The large words over the music of page {n + 1} are left out." for n in stamped),
            *(f"The words up the side of page {n + 1} are left out." for n in sides),
        ),
    )
    return Cut(table, stock.inks, flat)


def _in_rows(bars: Sequence[BarCut], words: Sequence[Found], extents: Sequence[Extent]) -> list[BarCut]:
    """The bars, and the parts of those that may be split, with their words in rows."""
    return [
        replace(bar, parts=tuple(_in_rows(bar.parts, words, extents))) if bar.parts else bar
        for bar in spread(in_rows(bars, words, extents), extents)
    ]


def _without_unread(reading: Reading) -> Reading:
    """Scanned pages with a system that has no bars are shown as printed: such a system would have no place."""
    pages = tuple(
        replace(page, systems=(), as_printed="Not all systems of this scan have bars.")
        if page.scanned and not all(system.bars for system in page.systems)
        else page
        for page in reading.pages
    )
    return replace(reading, pages=pages)


def _is_cover(page: Page) -> bool:
    """A title page: a few words, no picture, no music."""
    letters = sum(isinstance(m, Glyph) for m in page.ink)
    return letters <= COVER and not any(_is_music(m, page) for m in page.ink)


def _is_music(mark: Mark, page: Page) -> bool:
    return isinstance(mark, Picture) or (isinstance(mark, Glyph) and page.fonts[mark.font].music)


def _as_printed(stock: Stock, pages: Sequence[Page]) -> tuple[int, ...]:
    """A piece for every page: what has ink on any of them, so that they all stand at one size."""
    whole = (0.0, 0.0, max(page.width for page in pages), max(page.height for page in pages))
    marks = [mark.box for page in pages for mark in page.ink]
    x0, y0, x1, y1 = union(marks) if marks else whole
    x0, y0, x1, y1 = max(x0 - ROOM, 0.0), max(y0 - ROOM, 0.0), min(x1 + ROOM, whole[2]), min(y1 + ROOM, whole[3])
    pieces = []
    for n, page in enumerate(pages):
        parts = [Part(m) for m in range(len(page.ink))]
        pieces.append(stock.keep(PieceInk(n, x0, y0, (x1 - x0) / PAGE_SPACES, parts, [(x0, y0, x1, y1)])))
    return tuple(pieces)


def _lines(
    stock: Stock, pages: Sequence[Page], reading: Reading, found: Sequence[list[Item]]
) -> tuple[tuple[TitleWord, ...], float]:
    """Objects of pages' heads or feet as lines of type: places below the topmost, and all their height (spaces)."""
    sp = next((s.space for p in reading.pages for s in p.systems), 5.0)
    out: list[TitleWord] = []
    height = 0.0
    for n, items in enumerate(found):
        top = min((i.box[1] for i in items), default=0.0)
        for line in _of_one_line(items, sp):
            box = union(i.box for i in line)
            piece = stock.whole(line, n, box[0], box[1], sp)
            out.append(TitleWord(piece, round((box[1] - top) / sp, 3), _aligned(box, _measure(pages[n], reading, n))))
            height = max(height, (box[3] - top) / sp)
    return tuple(out), round(height, 3)


def _measure(page: Page, reading: Reading, number: int) -> tuple[float, float]:
    """What lines of type are set to: the page's width; where the music leaves much of it white, the first stave's."""
    systems, area = reading.pages[number].systems, reading.pages[number].area
    left, right = (area[0], area[2]) if area else (0.0, page.width)
    x0 = min((v.x0 for system in systems for v in system.staves), default=left)
    x1 = systems[0].bbox[2] if systems else right
    return (x0, x1) if right - x1 > x0 - left + 0.15 * (right - left) else (left, right)


def _aligned(box: Box, measure: tuple[float, float]) -> Literal["left", "centre", "right"]:
    middle = ((box[0] + box[2]) / 2 - measure[0]) / (measure[1] - measure[0])
    return "centre" if abs(middle - 0.5) < 0.06 else "right" if middle > 0.5 else "left"


def _of_one_line(items: Sequence[Item], sp: float) -> list[list[Item]]:
    """Words that overlap in height and stand near each other, together."""
    lines: list[list[Item]] = []
    for item in sorted(items, key=lambda i: i.box[0]):
        line = next((r for r in lines if _beside(r[-1].box, item.box, sp)), None)
        if line is None:
            lines.append([item])
        else:
            line.append(item)
    return lines


def _beside(a: Box, b: Box, sp: float) -> bool:
    """On a scan a title and the line under it are one thing, taller than their letters."""
    low, high = sorted((a[3] - a[1], b[3] - b[1]))
    return min(a[3], b[3]) - max(a[1], b[1]) > 0.4 * low and b[0] - a[2] < min(1.5 * high, WORD_SPACE * sp)
