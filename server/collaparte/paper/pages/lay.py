"""Lay a part: pieces, in an order, on pages of one shape at one stave height."""

from collections.abc import Sequence
from itertools import accumulate

from msgspec.structs import replace

from collaparte.paper.cutting.table import PieceTable, TitleWord
from collaparte.paper.pages.across import Across, Sheet
from collaparte.paper.pages.breaks import Choice, choose
from collaparte.paper.pages.compose import LINES_KEPT, Frame, LineComposer
from collaparte.paper.pages.laying import LaidPage, Laying, Placed, Slice, Step
from collaparte.paper.pages.linefit import LineFitter
from collaparte.paper.pages.meeting import Line, PageShape
from collaparte.paper.pages.names import before_line
from collaparte.paper.pages.shown import Shown
from collaparte.paper.pages.skyline import STRIP
from collaparte.paper.pages.turning import Turning
from collaparte.paper.pages.whole import whole_place
from collaparte.paper.pages.workings import Workings
from collaparte.paper.reading import Reading, TempoWord

VERSION = 1
FIRST_STAVE = 50.0
"""mm from the top margin to the first stave of a first page (common practice)."""
LATER_STAVE = 5.0
"""The same on later pages."""
SPLIT = "Bar {} is wider than the page and goes on on the next line."
PAGE_COST = 100.0
EMPTY_COST = 1500.0
"""Against what a turn costs: a beat's rest is worth a fifth of a page left empty; a third looks unfinished."""
FOOTLESS = 90.0
"""No page is added for what stands at the foot of the printed ones."""
UNDER_TITLE = 1.0
"""The least white between the title and the first line's ink, in spaces: high stacks over tall staves need all."""
BETWEEN_TYPE = 0.3
"""The least white between two lines of type, in spaces."""
FOOT_LINE = 0.5
"""The most white between two lines of what stands at the foot, in spaces: strokes of pencil may be far apart."""
FOOT_GAP = 1.2
"""Between the music and that, in spaces."""


def printed_order(reading: Reading) -> tuple[Step, ...]:
    """Each bar once, as it stands."""
    steps: list[Step] = []
    for page in reading.pages:
        for system in page.systems:
            for bar in system.bars:
                if not bar.continued:
                    steps += [Step(bar.index + n, reading.called(bar.number + n)) for n in range(max(1, bar.count))]
    return tuple(steps)


AGAIN = 4
"""So often breaks are chosen again where words that were raised on a line do not leave a page enough room."""
SLIGHT = 0.05
"""So much beyond the bottom margin, in spaces, is nothing."""
SHORTER = 0.9
"""Where a line is taller than the page its staves are made lower by this, again and again,"""
SHORTEST = 4.0
"""but not below so many mm: nobody reads those (common practice)."""
SCORE = 3
"""Lines of so many staves are tall: where most pages would hold one of them,"""
LOWER = 0.95, 0.9, 0.85
"""the staves are made so much lower that all hold two"""
FEW = 0.25
"""but such a share,"""
LOWEST = 6.0
"""and not below so many mm, the least that a player may choose."""


class CannotLay(ValueError):
    """The part cannot be laid on such pages; the message is one sentence."""


def lay(
    reading: Reading, table: PieceTable, order: Sequence[Step], page: tuple[float, float] = (148.0, 197.0),
    stave: float = 7.0, side: float = 0.5, top: float = 10.0, bottom: float = 10.0, first_page: bool = True,
    workings: Workings | None = None,
) -> Laying:  # fmt: skip
    """Pages for `order`; `first_page` asks for the title and its room (not for a tail). Lengths in mm.

    Raises CannotLay. `workings` are those of the same table, and spare what an earlier laying has worked out.
    """
    if page[0] <= 2 * side or page[1] <= top + bottom:
        raise CannotLay(f"a page of {page[0]:g} x {page[1]:g} mm has no room between its margins; choose a larger one.")
    workings = workings or Workings(table)
    sheet = (page, side, top, bottom)
    low = workings.heights.get((sheet, stave), stave)
    if table.staves >= SCORE and not table.page_pieces and (sheet, stave) not in workings.heights:
        low = workings.heights[sheet, stave] = _for_two(reading, table, page, stave, side, top, bottom, workings)
    laying = _at(reading, table, order, page, low, side, top, bottom, first_page, workings)
    if laying.stave == low < stave:
        note = f"Staves are {low:.1f} mm high, so that two lines of them stand on a page."
        return replace(laying, notes=(note, *laying.notes))
    return laying


def _for_two(
    reading: Reading, table: PieceTable, page: tuple[float, float], stave: float, side: float, top: float,
    bottom: float, workings: Workings,
) -> float:  # fmt: skip
    """The stave height at which most pages hold two lines, best all but a quarter, if it is little lower than `stave`;
    else that.

    Of the printed order, so that it is the same for all orders, and for the rest of one."""
    order, best, fewest = printed_order(reading), stave, 0.5
    for share in (1.0, *LOWER):
        height = round(max(stave * share, min(stave, LOWEST)), 2)
        shown = workings.showing.show(order, True, (page[0] - 2 * side) / (height / 4))
        layer = _Layer(table, shown, page, height, side, top, bottom, True, workings, reading.tempos)
        choice = layer.choose() if shown else None
        if choice is None:
            return stave
        alone = sum(len(lines) == 1 for lines in choice.pages) / len(choice.pages) if len(choice.pages) > 1 else 0.0
        if alone <= (0.5 if share == 1 else FEW):
            return height
        if alone < fewest:
            best, fewest = height, alone
    return best


def _at(
    reading: Reading, table: PieceTable, order: Sequence[Step], page: tuple[float, float], stave: float,
    side: float, top: float, bottom: float, first_page: bool, workings: Workings,
) -> Laying:  # fmt: skip
    """Pages of staves so high, or of lower ones where a line is taller than the page."""
    shown = workings.showing.show(order, first_page, (page[0] - 2 * side) / (stave / 4))
    if not shown or table.page_pieces:
        return as_printed(reading, table, page, stave, side, top, bottom)
    layer = _Layer(table, shown, page, stave, side, top, bottom, first_page, workings, reading.tempos)
    laying = layer.run()
    within = all(line.y1 <= page[1] - bottom + 0.01 for sheet in laying.pages for line in sheet.lines)
    if within and (layer.fits or stave * SHORTER < SHORTEST):
        return laying
    if stave * SHORTER < SHORTEST:
        raise CannotLay(f"its lines are taller than a page of {page[0]:g} x {page[1]:g} mm; choose a larger one.")
    lower = _at(reading, table, order, page, stave * SHORTER, side, top, bottom, first_page, workings)
    note = f"Staves are {lower.stave:.1f} mm high, as lines of higher ones are taller than the page."
    return replace(lower, notes=(note, *(n for n in lower.notes if not n.startswith("Staves are "))))


def as_printed(
    reading: Reading, table: PieceTable, page: tuple[float, float] = (148.0, 197.0), stave: float = 7.0,
    side: float = 0.5, top: float = 10.0, bottom: float = 10.0,
) -> Laying:  # fmt: skip
    """The source's own pages, each fitted to the page."""
    pages: list[LaidPage] = []
    for piece in table.page_pieces:
        e = table.extents[piece]
        w, h = e.right - e.left, e.bottom - e.top
        space = min((page[0] - 2 * side) / w, (page[1] - top - bottom) / h)
        x = (page[0] - w * space) / 2
        cut = Slice(e.left, e.right, round(x, 3), round(x + w * space, 3))
        pages.append(LaidPage((Placed(piece, round(top - e.top * space, 3), round(space, 5), (cut,)),), (), (), (), ()))
    reasons = tuple(dict.fromkeys(p.as_printed for p in reading.pages if p.as_printed))
    return Laying(VERSION, page, stave, stave / 4, tuple(pages), True, reasons or ("Shown as printed.",))


class _Layer:
    def __init__(
        self, table: PieceTable, shown: list[Shown], page: tuple[float, float], stave: float,
        side: float, top: float, bottom: float, first_page: bool, workings: Workings, tempos: Sequence[TempoWord],
    ) -> None:  # fmt: skip
        self.table, self.shown = table, shown
        self.page, self.stave, self.u = page, stave, stave / 4
        self.side, self.top, self.bottom, self.first_page = side, top, bottom, first_page
        self.width = (page[0] - 2 * side) / self.u
        self.notes: list[str] = list(table.notes)
        self.turning = Turning(table, shown, tempos)
        self.foot_words = _closed(table)
        self.foot = sum(table.extents[w.piece].bottom - table.extents[w.piece].top + FOOT_LINE for w in table.foot)
        self.parts = {id(part) for bar in table.bars for part in bar.parts[1:]}
        self.fits = True
        """All that was set on pages has room there."""
        self.free = (0.0, 0.0)
        """From where to where (mm) there is nothing between the title and the first line."""
        self.fitter = LineFitter(table, shown, self.width, workings.rows)
        self.found, self.joints = workings.lines, workings.joints
        self.composer = LineComposer(table, Frame(side, page[0] - side, self.u), self.found)
        self.shape = self._shape()

    def _shape(self) -> PageShape:
        later = LATER_STAVE / self.u
        first = (FIRST_STAVE / self.u) if self.first_page else later
        height = (self.page[1] - self.top - self.bottom) / self.u
        foot = self.foot + FOOT_GAP if self.foot else 0.0
        title = self._title_height() + UNDER_TITLE if self.first_page and self.table.title else 0.0
        footless = FOOTLESS if foot else 0.0
        return PageShape(
            height, first, later, gap=1.3, pitch=4.5, empty=EMPTY_COST, foot=foot, footless=footless, title=title
        )

    def choose(self) -> Choice | None:
        """Where lines and pages end; None: nothing fits."""
        return choose(
            len(self.shown), self.fitter.lines, self.shape, self.turning.cost, PAGE_COST,
            end=self.fitter.end, joints=self.joints, in_a_run=self.turning.hasty,
        )  # fmt: skip

    def run(self) -> Laying:
        seconds = self.turning.seconds
        choice = self.choose()
        if choice is None:
            raise CannotLay("nothing of it fits the page; choose a larger one.")
        for _ in range(AGAIN):
            self.notes, self.fits = list(self.table.notes), True
            sheets = [self._page(n, lines, self.shape) for n, lines in enumerate(choice.pages)]
            better = None if self.fits else self.choose()
            if better is None:
                break
            choice = better
        self._foot(sheets)
        turns = [seconds(page[0][0]) > 0 for page in choice.pages[1:]]
        pages = [_frozen(sheet, rest) for sheet, rest in zip(sheets, [*turns, False], strict=True)]
        while len(self.found) > LINES_KEPT:
            self.found.popitem(last=False)
        return Laying(VERSION, self.page, self.stave, self.u, tuple(pages), False, tuple(self.notes))

    def _page(self, n: int, lines: Sequence[tuple[int, int]], shape: PageShape) -> Sheet:
        sheet = Sheet()
        fits = [self.fitter.fit(i, j) for i, j in lines]
        found = [
            self.composer.across(self.shown[i:j], fit) if self.shown[i].bar.whole < 0 else None
            for (i, j), fit in zip(lines, fits, strict=True)
        ]
        made = [self._reaching(i, j, across) for (i, j), across in zip(lines, found, strict=True)]
        foot = shape.foot if lines[-1][1] == len(self.shown) else 0.0
        opens = n == 0 and self.first_page
        tops = _tops(made, shape, max(shape.first, shape.title + made[0].above) if opens else shape.later, foot)
        if tops[-1] + made[-1].staves + made[-1].below > shape.height + SLIGHT:
            self.fits = False
            for (i, j), line in zip(lines, made, strict=True):
                self.fitter.know(i, j, line)
        if n == 0 and self.first_page:
            self._title(sheet, tops[0] - made[0].above)
        for (i, j), y, fit, across in zip(lines, tops, fits, found, strict=True):
            bars = self.shown[i:j]
            apart = (d * self.u for d in self.fitter.inner(i, j))
            middles = list(accumulate(apart, initial=self.top + (y + 2.0) * self.u))
            self._note(bars[0], fit.squash)
            if across:
                across.set_down(sheet, middles, bars, self.composer.scale)
                if bars[0].indent:
                    sheet.placed += before_line(self.table, middles, self.side, self.u)
            else:
                self.composer.whole(sheet, bars[0], middles[0])
        return sheet

    def _reaching(self, i: int, j: int, across: Across | None) -> Line:
        """The line of bars i..j-1, with what was raised over them when their places were found."""
        line = self.fitter.lines(i)[j - i - 1]
        if not across or not across.raised:
            return line
        up = line.up.copy()
        for box in across.raised:
            first = max(int((box.x0 - self.side / self.u) / STRIP), 0)
            last = min(int((box.x1 - self.side / self.u) / STRIP), len(up) - 1)
            up[first : last + 1] = up[first : last + 1].clip(box.high - 2.0)
        return Line(line.cost, line.staves, up, line.down)

    def _note(self, first: Shown, squash: float) -> None:
        """Say what of a line is not as it should be."""
        bar = first.bar
        if bar.whole >= 0:
            scale, last = whole_place(self.table, first, self.width).scale, bar.number + bar.count - 1
            said = f"Bars {bar.number} to {last} were not read for sure and stand as printed, at {scale:.0%}."
            self.notes.append(said)
        elif id(bar) in self.parts and (said := SPLIT.format(bar.number)) not in self.notes:
            self.notes.append(said)
        if squash < 1 and bar.whole < 0:
            self.notes.append(f"Bar {bar.number} is wider than the page and was narrowed to {squash:.0%}.")

    def _title_height(self) -> float:
        """Of the title as it is set on this page, in spaces."""
        sheet = Sheet()
        self._lines_of_type(sheet, self.table.title, 0.0)
        lowest = (p.y + self.table.extents[p.piece].bottom * p.space for p in sheet.placed)
        return max(lowest, default=0.0) / self.u

    def _title(self, sheet: Sheet, first: float) -> None:
        """The title; the music's ink begins `first` spaces below the top margin."""
        self._lines_of_type(sheet, self.table.title, self.top)
        lowest = [p.y + self.table.extents[p.piece].bottom * p.space for p in sheet.placed]
        self.free = max(lowest, default=self.top), self.top + (first - 0.5) * self.u

    def _foot(self, sheets: Sequence[Sheet]) -> None:
        """What stood at the foot of the printed pages, below the end of the music; else on the last page that has room
        for it, or under the title."""
        y = self.page[1] - self.bottom - self.foot * self.u
        for sheet in reversed(sheets if self.foot else ()):
            lowest = [p.y + self.table.extents[p.piece].bottom * p.space for p in sheet.placed]
            lowest += [line.y1 for line in sheet.lines]
            if y > max(lowest) + FOOT_GAP / 2 * self.u:
                self._lines_of_type(sheet, self.foot_words, y)
                return
        under, over = self.free
        if self.foot and over - under > (self.foot + FOOT_GAP) * self.u:
            self._lines_of_type(sheets[0], self.foot_words, under + FOOT_GAP / 2 * self.u)
        elif self.foot:
            self.notes.append("No page has room for what stands at the foot of the printed ones.")

    def _lines_of_type(self, sheet: Sheet, words: Sequence[TitleWord], top: float) -> None:
        """Lines at the left, in the middle and at the right as printed, from the top on; one that would meet another
        moves down, one wider than the page is set smaller."""
        left, right = self.side + 1.0, self.page[0] - self.side - 1.0
        taken: list[tuple[float, float, float, float]] = []
        for word in sorted(words, key=lambda word: word.y):
            e = self.table.extents[word.piece]
            if e.right <= e.left:
                continue  # letters without ink
            u = min(self.u, (right - left) / (e.right - e.left))
            w, h = (e.right - e.left) * u, (e.bottom - e.top) * u
            x = {"left": left, "centre": (self.page[0] - w) / 2, "right": right - w}[word.align]
            y = top + word.y * self.u
            clear = BETWEEN_TYPE * self.u
            while any(x < b[2] + 2 and x + w > b[0] - 2 and y < b[3] + clear and y + h > b[1] - clear for b in taken):
                y += 0.25
            taken.append((x, y, x + w, y + h))
            cut = Slice(e.left, e.right, round(x, 3), round(x + w, 3))
            sheet.placed.append(Placed(word.piece, round(y - e.top * u, 3), round(u, 4), (cut,)))


def _frozen(sheet: Sheet, turn_at_rest: bool) -> LaidPage:
    placed, rules, dots = tuple(sheet.placed), tuple(sheet.rules), tuple(sheet.dots)
    return LaidPage(placed, rules, dots, tuple(sheet.words), tuple(sheet.lines), tuple(sheet.braces), turn_at_rest)


def _closed(table: PieceTable) -> list[TitleWord]:
    """What stands at the foot of the printed pages, with no more than `FOOT_LINE` between two lines."""
    out: list[TitleWord] = []
    low = 0.0
    for word in sorted(table.foot, key=lambda word: word.y):
        e, y = table.extents[word.piece], min(word.y, low)
        out.append(replace(word, y=y))
        low = max(low, y + e.bottom - e.top + FOOT_LINE)
    return out


def _tops(lines: Sequence[Line], shape: PageShape, first: float, foot: float) -> list[float]:
    """Each line's top stave line from the top margin, in spaces: as close as they may stand, then opened to fill all
    but the page's `foot`."""
    tops: list[float] = []
    for n, line in enumerate(lines):
        if n == 0:
            tops.append(max(first, line.above))
        else:
            before = lines[n - 1]
            tops.append(tops[-1] + before.staves + shape.distance(before, line))
    if len(lines) > 1:
        room = shape.height - (tops[-1] + lines[-1].staves + lines[-1].below)
        room -= foot if room >= foot else 0.0
        each = max(0.0, min(room / (len(lines) - 1), 2.5))
        tops = [t + n * each for n, t in enumerate(tops)]
    return tops
