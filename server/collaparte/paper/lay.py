"""Lay a part: pieces, in an order, on pages of one shape at one stave height."""

from collections.abc import Sequence
from itertools import accumulate, pairwise
from math import log

from collaparte.paper import rules
from collaparte.paper.breaks import Choice, Line, PageShape, choose
from collaparte.paper.compose import Frame, LineComposer, Sheet, head_width, join_width, whole_scale
from collaparte.paper.laying import LaidPage, Laying, Placed, Slice, Step
from collaparte.paper.reading import Reading
from collaparte.paper.rows import shifts
from collaparte.paper.shown import Shown, show
from collaparte.paper.table import PieceTable, TitleWord

VERSION = 1
FIRST_STAVE = 50.0
"""mm from the top margin to the first stave of a first page (common practice)."""
LATER_STAVE = 5.0
"""The same on later pages."""
LOOSEST = 1.8
"""Lines looser than this are made only where nothing else fits."""
RAGGED = 1.12
"""A short last line keeps near its printed spacing."""
FULL = 0.8
"""From this share of the page's width on, a last line is filled like the others."""
STRIP = 4.0
"""Width of the strips, in spaces, in which lines are set close to each other."""
NUMBER_ROOM = 3.4
"""What the bar number over the clef reaches above the stave, in spaces."""
PAGE_COST = 60.0
EMPTY_COST = 300.0
TURN_COST = 300.0


def printed_order(reading: Reading) -> tuple[Step, ...]:
    """Each bar once, as it stands."""
    steps: list[Step] = []
    for page in reading.pages:
        for system in page.systems:
            for bar in system.bars:
                if not bar.continued:
                    steps += [Step(bar.index + n, bar.number + n) for n in range(max(1, bar.count))]
    return tuple(steps)


def lay(
    reading: Reading, table: PieceTable, order: Sequence[Step], page: tuple[float, float] = (148.0, 197.0),
    stave: float = 7.0, side: float = 0.5, top: float = 10.0, bottom: float = 10.0, first_page: bool = True,
) -> Laying:  # fmt: skip
    """Pages for `order`; `first_page` asks for the title and its room (not for a tail). Lengths in mm."""
    shown = show(table, order)
    if not shown or table.page_pieces:
        return as_printed(reading, table, page, stave, side, top, bottom)
    return _Layer(table, shown, page, stave, side, top, bottom, first_page).run()


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
        side: float, top: float, bottom: float, first_page: bool,
    ) -> None:  # fmt: skip
        self.table, self.shown = table, shown
        self.page, self.stave, self.u = page, stave, stave / 4
        self.side, self.top, self.bottom, self.first_page = side, top, bottom, first_page
        self.width = (page[0] - 2 * side) / self.u
        self.notes: list[str] = list(table.notes)
        self._lines: dict[int, list[Line | None]] = {}
        between = [
            rules.KINDS[rules.junction(a.right, b.left, b.adjacent)].width + join_width(b) + self._after(k)
            for k, (a, b) in enumerate(pairwise(shown))
        ]
        self._heads = [head_width(table, s) - s.spare for s in shown]
        self._between = [*between, 0.0]
        columns = (
            [s.rigid for s in shown],
            [s.flex for s in shown],
            [s.flex * s.bar.squeeze for s in shown],
            self._between,
        )
        self._sums = [[0.0, *accumulate(c)] for c in columns]

    def run(self) -> Laying:
        later = LATER_STAVE / self.u
        first = (FIRST_STAVE / self.u) if self.first_page else later
        height = (self.page[1] - self.top - self.bottom) / self.u
        shape = PageShape(height, first, later, gap=1.3, pitch=4.5, empty=EMPTY_COST)
        choice = choose(len(self.shown), self._line, shape, self._turn, PAGE_COST)
        assert choice is not None  # a single bar always makes a line
        pages = [self._page(n, lines, shape, choice) for n, lines in enumerate(choice.pages)]
        return Laying(VERSION, self.page, self.stave, self.u, tuple(pages), False, tuple(self.notes))

    # -- candidates ---------------------------------------------------------------------------------------------------

    def _fit(self, i: int, j: int) -> tuple[float, float, float]:
        """Of the line of bars i..j-1: its rigid width, its flexible width, its least factor."""
        sums, last = self._sums, self.shown[j - 1]
        rigid = self._heads[i] + sums[0][j] - sums[0][i] + sums[3][j - 1] - sums[3][i]
        rigid += rules.KINDS[rules.at_end(last.right)].width + last.bar.overhang
        flex = sums[1][j] - sums[1][i]
        return rigid, flex, (sums[2][j] - sums[2][i]) / flex if flex else 1.0

    def _tails(self, i: int, j: int) -> list[float]:
        """The room after each bar of a line for words that reach beyond it."""
        tails = [self._after(k) for k in range(i, j - 1)]
        return [*tails, self.shown[j - 1].bar.overhang]

    def _after(self, k: int) -> float:
        """The room after bar k in mid-line: none when the same bar follows as in print."""
        a, b = self.shown[k], self.shown[k + 1]
        return 0.0 if b.adjacent else max(0.0, a.bar.overhang - min(b.bar.inset, 1.0) + 0.4) if a.bar.overhang else 0.0

    def _line(self, i: int, j: int) -> Line | None:
        known = self._lines.setdefault(i, [])
        while len(known) < j - i:
            known.append(self._candidate(i, i + len(known) + 1) if not known or known[-1] else None)
        return known[j - i - 1]

    def _candidate(self, i: int, j: int) -> Line | None:
        if any(s.bar.whole >= 0 for s in self.shown[i:j]):
            if j - i > 1:
                return None
            up, down = self._skyline(i, j, 1.0)
            return Line(0.0, self._staves(self.shown[i:j]), up, down)
        rigid, flex, least = self._fit(i, j)
        factor = (self.width - rigid) / flex if flex > 0 else 1.0
        if factor < least - 1e-9 and j - i > 1:
            return None
        bars = self.shown[i:j]
        if factor > LOOSEST and j < len(self.shown):
            rigid, flex, least = self._fit(i, j + 1)
            if flex and (self.width - rigid) / flex >= least:
                return Line(float("inf"), 4.0, (0.0,), (0.0,))
        up, down = self._skyline(i, j, min(factor, RAGGED) if j == len(self.shown) else factor)
        return Line(self._badness(factor, least, j) + self._break_cost(j), self._staves(bars), up, down)

    def _head_foot(self, i: int) -> float:
        """How far the clef that bar i begins a line with reaches below the staves."""
        piece = self.table.heads[self.shown[i].bar.head_here].clef[-1]
        clef = self.table.extents[piece].bottom - 2.0 if piece >= 0 else 0.0
        return max(clef, rules.BRACKET_REACH if self.table.staves > 1 else 0.0)

    def _skyline(self, i: int, j: int, factor: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """The reach of the line's ink above and below its staves, in strips of `STRIP` spaces."""
        count = int(self.width / STRIP) + 1
        up, down = [0.0] * count, [0.0] * count
        up[0], down[0] = NUMBER_ROOM, self._head_foot(i)
        x = head_width(self.table, self.shown[i])
        moved = shifts([s.bar for s in self.shown[i:j]])
        for k in range(i, j):
            shown = self.shown[k]
            width = shown.rigid + shown.flex * factor
            stretch = width / max(shown.rigid + shown.flex, 0.1)
            wide = stretch if stretch > 1 else 1.0
            move = moved[k - i]
            for a, b, top, bottom, row, lift in shown.boxes:
                if lift and k == i:
                    top += lift
                if move and row in move:
                    top, bottom = top - move[row] if top else top, bottom + move[row] if bottom else bottom
                left = x + a * stretch
                first = max(0, min(count - 1, int(left / STRIP)))
                last = max(first, min(count - 1, int((left + (b - a) * wide) / STRIP)))
                for strip in range(first, last + 1):
                    if top > up[strip]:
                        up[strip] = top
                    if bottom > down[strip]:
                        down[strip] = bottom
            x += width + self._between[k]
        return tuple(up), tuple(down)

    def _badness(self, factor: float, least: float, j: int) -> float:
        """What a line costs whose gaps are stretched or squeezed: alike for twice and for half the printed gap."""
        if j == len(self.shown) and factor > RAGGED:
            return 12.0 * max(0.0, min(factor, 6.0) - 2.0)
        if factor < least:  # a single bar that is wider than the page
            return 400.0 + 1000 * (least - factor)
        return 400.0 * log(factor) ** 2

    def _break_cost(self, j: int) -> float:
        """What it costs to end a line before bar j."""
        if j >= len(self.shown):
            return 0.0
        before, after = self.shown[j - 1].bar, self.shown[j].bar
        cost = 14.0 * before.crossing if self.shown[j].adjacent else 0.0
        if after.mark:
            return cost - 0.0
        start = next((s.bar.number for s in reversed(self.shown[:j]) if s.bar.mark or "repeat" in s.left), 1)
        return cost + (5.0 if (after.number - start) % 4 == 0 else 9.0 if (after.number - start) % 2 == 0 else 14.0)

    def _turn(self, j: int) -> float:
        """The cost of turning before bar j: none where a whole bar's rest or more gives time, all in a run."""
        before, after = self.shown[j - 1].bar, self.shown[j].bar
        if before.count > 1 or after.count > 1:
            return 0.0
        if (before.starts_in_rest and before.ends_in_rest) or (after.starts_in_rest and after.ends_in_rest):
            return 0.08 * TURN_COST
        return TURN_COST * (1.0, 0.4, 0.2)[before.ends_in_rest + after.starts_in_rest]

    def _staves(self, bars: Sequence[Shown]) -> float:
        return 4.0 + sum(self._inner(bars))

    def _inner(self, bars: Sequence[Shown]) -> list[float]:
        return [max(b.inner[k] for b in bars) for k in range(self.table.staves - 1)]

    # -- pages --------------------------------------------------------------------------------------------------------

    def _page(self, n: int, lines: Sequence[tuple[int, int]], shape: PageShape, choice: Choice) -> LaidPage:
        sheet = Sheet()
        made = [self._line(i, j) for i, j in lines]
        tops = _tops([m for m in made if m], shape, shape.later if n or not self.first_page else shape.first)
        if n == 0 and self.first_page:
            self._title(sheet)
        frame = Frame(self.side, self.page[0] - self.side, self.u)
        composer = LineComposer(self.table, sheet, frame)
        for (i, j), y in zip(lines, tops, strict=True):
            bars = self.shown[i:j]
            middle = self.top + (y + 2.0) * self.u
            middles = [middle]
            for d in self._inner(bars):
                middles.append(middles[-1] + d * self.u)
            factor, squash = self._factor(i, j)
            composer.line(bars, middles, self._each(i, j, factor), squash, self._tails(i, j))
        if n == len(choice.pages) - 1:
            self._foot(sheet)
        following = choice.pages[n + 1][0][0] if n + 1 < len(choice.pages) else None
        rest = following is not None and self._turn(following) < TURN_COST
        return LaidPage(
            tuple(sheet.placed), tuple(sheet.rules), tuple(sheet.dots), tuple(sheet.words), tuple(sheet.lines), rest
        )

    def _factor(self, i: int, j: int) -> tuple[float, float]:
        """The line's factor for gaps, and how much all of it is narrowed when it is too wide for the page."""
        first = self.shown[i]
        if first.bar.whole >= 0:
            scale, last = whole_scale(self.table, first, self.width), first.bar.number + first.bar.count - 1
            self.notes.append(
                f"Bars {first.bar.number} to {last} were not read for sure and stand as printed, at {scale:.0%}."
            )
            return 1.0, 1.0
        rigid, flex, least = self._fit(i, j)
        factor = (self.width - rigid) / flex if flex > 0 else 1.0
        if j == len(self.shown) and factor > RAGGED and rigid + flex < FULL * self.width:
            return RAGGED, 1.0
        if factor >= least:
            return factor, 1.0
        bar = self.shown[i].bar
        head = self._heads[i]
        body = rigid - head + flex * least
        squash = (self.width - head - 0.3) / body
        self.notes.append(f"Bar {bar.number} is wider than the page and was narrowed to {squash:.0%}.")
        return least, squash

    def _each(self, i: int, j: int, factor: float) -> list[float]:
        """Each bar's own factor: those whose words allow no more squeezing keep theirs, the others give way."""
        bars = self.shown[i:j]
        room = factor * sum(b.flex for b in bars)
        fixed: dict[int, float] = {}
        share = factor
        while True:
            free = sum(b.flex for n, b in enumerate(bars) if n not in fixed)
            share = (room - sum(bars[n].flex * q for n, q in fixed.items())) / free if free > 0 else factor
            more = {n: b.bar.squeeze for n, b in enumerate(bars) if n not in fixed and b.bar.squeeze > share + 1e-9}
            if not more or share >= 1:
                return [fixed.get(n, share) for n in range(len(bars))]
            fixed |= more

    def _title(self, sheet: Sheet) -> None:
        self._lines_of_type(sheet, self.table.title, self.top)

    def _foot(self, sheet: Sheet) -> None:
        """What stood at the foot of the printed pages, below the end of the music where there is room."""
        lowest = max((p.y + self.table.extents[p.piece].bottom * p.space for p in sheet.placed), default=self.top)
        room = sum(
            (self.table.extents[w.piece].bottom - self.table.extents[w.piece].top + 0.5) for w in self.table.foot
        )
        y = self.page[1] - self.bottom - room * self.u
        if self.table.foot and y > lowest + self.u:
            self._lines_of_type(sheet, self.table.foot, y)

    def _lines_of_type(self, sheet: Sheet, words: Sequence[TitleWord], top: float) -> None:
        """Lines at the left, in the middle and at the right as printed; one that would meet another moves down."""
        u = self.u
        left, right = self.side + 1.0, self.page[0] - self.side - 1.0
        taken: list[tuple[float, float, float, float]] = []
        for word in words:
            e = self.table.extents[word.piece]
            w, h = (e.right - e.left) * u, (e.bottom - e.top) * u
            x = {"left": left, "centre": (self.page[0] - w) / 2, "right": right - w}[word.align]
            y = top + word.y * u
            while any(x < b[2] + 2 and x + w > b[0] - 2 and y < b[3] and y + h > b[1] for b in taken):
                y += 0.5
            taken.append((x, y, x + w, y + h))
            cut = Slice(e.left, e.right, round(x, 3), round(x + w, 3))
            sheet.placed.append(Placed(word.piece, round(y - e.top * u, 3), round(u, 4), (cut,)))


def _tops(lines: Sequence[Line], shape: PageShape, first: float) -> list[float]:
    """Each line's top stave line from the top margin, in spaces: as close as they may stand, then opened to fill."""
    tops: list[float] = []
    for n, line in enumerate(lines):
        if n == 0:
            tops.append(max(first, line.above))
        else:
            before = lines[n - 1]
            tops.append(tops[-1] + before.staves + shape.distance(before, line))
    if len(lines) > 1:
        room = shape.height - (tops[-1] + lines[-1].staves + lines[-1].below)
        each = max(0.0, min(room / (len(lines) - 1), 2.5))
        tops = [t + n * each for n, t in enumerate(tops)]
    return tops
