"""Cut a part into pieces: the ink of each bar and stave, of the line heads and of the title, once."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from collaparte.paper import columns
from collaparte.paper.headcut import HeadFinder
from collaparte.paper.ink import Fonts, Glyph, Page, flatten, open_pdf
from collaparte.paper.objects import Item, Role, union
from collaparte.paper.ownership import own
from collaparte.paper.reading import SURE, BarBox, Barline, Box, Reading, System
from collaparte.paper.rows import Found, in_rows, spread
from collaparte.paper.table import VERSION, BarCut, Bracket, Extent, Head, PieceTable, SystemCut, TitleWord, Word

PAGE_SPACES = 84.0
"""A page shown as printed counts as this many staff spaces wide: about what a page of 148 mm holds at 7 mm staves."""


@dataclass(slots=True)
class Part:
    """A mark of a piece: its index in the page's ink, the x range (points) it is cut to, whether it stays rigid."""

    mark: int
    clip: tuple[float, float] | None = None
    rigid: bool = True
    pull: tuple[float | None, float | None] | None = None
    """Where the ends of a level rule are moved to (points), so that an ending's bracket reaches the barlines."""


@dataclass(slots=True)
class PieceInk:
    """Where a piece's ink is: page, origin and staff space in points, and its marks in painting order."""

    page: int
    x: float
    y: float
    space: float
    parts: list[Part] = field(default_factory=list)


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
    fonts = Fonts()
    numbers = list(pages or range(len(document)))
    flat = [flatten(document, n, fonts) for n in numbers[: len(reading.pages)]]
    return _Cutter(reading, flat).run()


class _Cutter:
    def __init__(self, reading: Reading, pages: list[Page]) -> None:
        self.reading = reading
        self.pages = pages
        self.extents: list[Extent] = []
        self.inks: list[PieceInk] = []
        self.bars: list[BarCut] = []
        self.systems: list[SystemCut] = []
        self.heads: list[Head] = []
        self.words: list[Found] = []

    def run(self) -> Cut:
        owned = [
            own(page, self.reading, n) if self.reading.pages[n].systems else ([], [])
            for n, page in enumerate(self.pages)
        ]
        everything = [items for items, _ in owned]
        printed = self._as_printed()
        finder = HeadFinder(self.reading, everything)
        title, height = self._title(owned[0][1] if owned else [])
        for n, items in enumerate(everything):
            read = self.reading.pages[n]
            for s, system in enumerate(read.systems):
                mine = [i for i in items if i.system == s]
                self._system(n, s, system, mine, finder)
        staves = max((len(s.staves) for p in self.reading.pages for s in p.systems), default=1)
        lines = next(
            (
                tuple(len(v.lines) for v in s.staves)
                for p in self.reading.pages
                for s in p.systems
                if len(s.staves) == staves
            ),
            (5,),
        )
        bars = spread(in_rows(self.bars, self.words, self.extents), self.extents)
        table = PieceTable(
            VERSION, staves, lines, tuple(self.extents), tuple(self.heads), tuple(bars), tuple(self.systems),
            title, height, printed, self.reading.doubts,
        )  # fmt: skip
        return Cut(table, self.inks, self.pages)

    def _piece(self, ink: PieceInk, boxes: Sequence[Box]) -> int:
        x0, y0, x1, y1 = union(boxes)
        sp = ink.space
        self.extents.append(
            Extent(
                round((x0 - ink.x) / sp, 3), round((y0 - ink.y) / sp, 3),
                round((x1 - ink.x) / sp, 3), round((y1 - ink.y) / sp, 3),
            )
        )  # fmt: skip
        ink.parts.sort(key=lambda p: p.mark)
        self.inks.append(ink)
        return len(self.inks) - 1

    def _whole(self, items: Sequence[Item], page: int, x: float, y: float, sp: float) -> int:
        if not items:
            return -1
        ink = PieceInk(page, x, y, sp, [Part(m) for i in items for m in i.marks])
        return self._piece(ink, [i.box for i in items])

    def _as_printed(self) -> tuple[int, ...]:
        """A piece for every page, when some page's music could not be read."""
        if all(p.systems for p in self.reading.pages):
            return ()
        pieces = []
        for n, page in enumerate(self.pages):
            ink = PieceInk(n, 0.0, 0.0, page.width / PAGE_SPACES, [Part(m) for m in range(len(page.ink))])
            pieces.append(self._piece(ink, [(0.0, 0.0, page.width, page.height)]))
        return tuple(pieces)

    # -- a system -----------------------------------------------------------------------------------------------------

    def _system(self, n: int, s: int, system: System, items: list[Item], finder: HeadFinder) -> None:
        sp = system.space
        middles = [(v.top + v.bottom) / 2 for v in system.staves]
        number = len(self.systems)
        self.systems.append(SystemCut(tuple(round((m - middles[0]) / sp, 3) for m in middles)))
        found = finder.heads[(n, s)]
        head = self._head(n, system, found.clef, found.key, found.key_name, found.clef_name)
        taken = {id(i) for stave in (*found.clef, *found.key) for i in stave}
        lefts, rights = _edges(system)
        following = finder.next_head.get((n, s))
        current = head
        if system.confidence < SURE and system.bars:
            self._unsure(n, number, system, items, head)
            return
        for place, bar in enumerate(system.bars):
            mine = [i for i in items if i.bar == place and i.role is not Role.DROPPED and id(i) not in taken]
            if place == 0:
                mine += [
                    i
                    for i in items
                    if i.bar < 0
                    and id(i) not in taken
                    and i.role is not Role.DROPPED
                    and i.box[2] > system.staves[0].x0
                ]
            x0 = bar.x0
            left, right = lefts[place], rights[place]
            if left is not None:
                x0 = left.x1
            elif place == 0 and found.meter_x is not None:
                x0 = min(x0, found.meter_x - 0.5 * sp)
            x1 = right.x0 if right is not None else bar.x1
            if place == len(system.bars) - 1:
                mine = [i for i in mine if i.box[0] < x1 + 0.6 * sp or i.role in (Role.WORDS, Role.THROUGH)]
            change = finder.change(n, s, place, mine, x0)
            here = current
            pieces: tuple[int, ...] = ()
            width = 0.0
            if change:
                gone = {id(i) for stave in change for i in stave}
                mine = [i for i in mine if id(i) not in gone]
                y = middles
                pieces = tuple(self._whole(stave, n, x0, y[k], sp) for k, stave in enumerate(change))
                width = (max(i.box[2] for stave in change for i in stave) - x0) / sp
                here = len(self.heads) if following else current
                if following:
                    nn, ss = following
                    nf = finder.heads[following]
                    self._head(nn, self.reading.pages[nn].systems[ss], nf.clef, nf.key, nf.key_name, nf.clef_name)
                else:
                    here = self._changed_head(current, n, system, change, x0)
            self._bar(
                n, number, system, bar, place, mine, items, x0, x1, left, right, middles, current, here, pieces, width
            )
            current = here

    def _unsure(self, n: int, number: int, system: System, items: list[Item], head: int) -> None:
        """The whole system as one piece, staff lines and barlines and all."""
        left, middle = system.bbox[0], (system.staves[0].top + system.staves[0].bottom) / 2
        whole = self._whole(items, n, left, middle, system.space)
        first, last = system.bars[0], system.bars[-1]
        self.bars.append(
            BarCut(
                index=first.index, number=first.number, count=last.index + max(1, last.count) - first.index,
                system=number, width=round((system.bbox[2] - left) / system.space, 3), columns=(),
                main=(-1,) * len(system.staves), words=(), brackets=(), head=head, head_here=head,
                starts_in_rest=first.starts_in_rest, ends_in_rest=last.ends_in_rest,
                mark=any(m.bar == first.number for m in self.reading.marks), whole=whole,
            )
        )  # fmt: skip

    def _head(
        self, n: int, system: System, clef: list[list[Item]], key: list[list[Item]], key_name: str, clef_name: str
    ) -> int:
        sp = system.space
        middles = [(v.top + v.bottom) / 2 for v in system.staves]
        left = min(v.x0 for v in system.staves)
        clef_right = max((i.box[2] for stave in clef for i in stave), default=left)
        key_left = min((i.box[0] for stave in key for i in stave), default=clef_right)
        key_right = max((i.box[2] for stave in key for i in stave), default=clef_right)
        origin = clef_right
        clefs = tuple(self._whole(stave, n, left, middles[k], sp) for k, stave in enumerate(clef))
        keys = tuple(self._whole(stave, n, origin, middles[k], sp) for k, stave in enumerate(key))
        width = (key_right - origin) / sp if any(key) else 0.0
        del key_left
        self.heads.append(Head(clefs, keys, round((clef_right - left) / sp, 3), round(width, 3), key_name, clef_name))
        return len(self.heads) - 1

    def _changed_head(self, current: int, n: int, system: System, change: list[list[Item]], x0: float) -> int:
        """The clef of before with the key printed in the change (its naturals left out when they come first)."""
        sp = system.space
        middles = [(v.top + v.bottom) / 2 for v in system.staves]
        before = self.heads[current]
        kept = change
        origin = min((i.box[0] for stave in kept for i in stave), default=x0) - 0.8 * sp
        keys = tuple(self._whole(stave, n, origin, middles[k], sp) for k, stave in enumerate(kept))
        right = max((i.box[2] for stave in kept for i in stave), default=origin)
        self.heads.append(
            Head(
                before.clef,
                keys,
                before.clef_width,
                round((right - origin) / sp, 3),
                f"changed {n} {x0:.0f}",
                before.clef_name,
            )
        )
        return len(self.heads) - 1

    # -- a bar --------------------------------------------------------------------------------------------------------

    def _bar(
        self, n: int, number: int, system: System, bar: BarBox, place: int, mine: list[Item], items: list[Item],
        x0: float, x1: float, left: Barline | None, right: Barline | None, middles: list[float],
        head: int, here: int, change: tuple[int, ...], change_width: float,
    ) -> None:  # fmt: skip
        sp = system.space
        width = (x1 - x0) / sp
        margin_left = (left.x1 - left.x0) / 2 if left else 0.5 * sp
        margin_right = (right.x1 - right.x0) / 2 if right else 0.1 * sp
        # A hair over the barline's middle, so that no seam shows where two bars' parts of a slur meet.
        lo, hi = x0 - margin_left - 0.04 * sp, x1 + margin_right + 0.04 * sp
        first, last = place == 0, place == len(system.bars) - 1
        strips: list[tuple[float, float]] = []
        mains: list[int] = []
        brackets: list[Bracket] = []
        crossing = 0
        if change_width:
            strips.append((0.0, change_width))
        for k in range(len(system.staves)):
            ink = PieceInk(n, x0, middles[k], sp)
            boxes: list[Box] = []
            over = PieceInk(n, x0, middles[k], sp)
            over_boxes: list[Box] = []
            for item in mine:
                if item.stave != k or item.role not in (Role.SOLID, Role.BEAM):
                    continue
                rigid = item.role is Role.SOLID
                ink.parts += [Part(m, None, rigid) for m in item.marks]
                boxes.append(item.box)
                if rigid:
                    strips.append(((item.box[0] - x0) / sp, (item.box[2] - x0) / sp))
            through = [i for i in items if i.role is Role.THROUGH and i.stave == k]
            for item in through:
                a, b = max(-1e9 if first else lo, item.box[0]), min(1e9 if last else hi, item.box[2])
                if b - a < min(0.3 * sp, 0.9 * (item.box[2] - item.box[0])) or (b <= a and item.bar != place):
                    continue
                bracket = item.style == ("bracket",)
                pull = _pull(item, through, lo if first else None, hi if last else None, sp) if bracket else None
                if bracket:  # in print it ends at its line's edge; here it goes on to the barline
                    a, b = max(a, lo), min(b, hi)
                    if pull:
                        a, b = (lo if pull[0] is not None else a), (hi if pull[1] is not None else b)
                clip = None if a <= item.box[0] and b >= item.box[2] and not pull else (a, b)
                (over if bracket else ink).parts += [Part(m, clip, False, pull) for m in item.marks]
                (over_boxes if bracket else boxes).append((a, item.box[1], b, item.box[3]))
                crossing += item.box[2] > hi + 0.3 * sp and not last
            mains.append(self._piece(ink, boxes) if boxes else -1)
            if over_boxes:
                base = round((min(b[1] for b in over_boxes) - middles[k]) / sp, 3)
                brackets.append(Bracket(self._piece(over, over_boxes), k, base, -1))
        words = [
            self._word(item, n, number, x0, x1, middles[item.stave], sp) for item in mine if item.role is Role.WORDS
        ]
        floating = []
        for word in words:
            e = self.extents[word.piece]
            floating.append(((e.left, e.top + 100 * word.stave, e.right, e.bottom + 100 * word.stave), word.at))
        merged = columns.merge(strips, width)
        ending = next((e.number for e in self.reading.endings if e.bar == bar.number and not bar.continued), 0)
        self.bars.append(
            BarCut(
                index=bar.index, number=bar.number, count=bar.count, system=number, width=round(width, 3),
                columns=merged, main=tuple(mains), words=tuple(words), brackets=tuple(brackets),
                head=head, head_here=here, change=change,
                change_width=round(change_width, 3), left=left.kind.value if left else "",
                right=right.kind.value if right else "",
                margins=(round(margin_left / sp, 3), round(margin_right / sp, 3)),
                squeeze=columns.squeeze(floating, merged, 0.55), crossing=crossing,
                starts_in_rest=bar.starts_in_rest, ends_in_rest=bar.ends_in_rest,
                mark=any(m.bar == bar.number for m in self.reading.marks) and not bar.continued,
                ending=ending, continued=bar.continued,
            )
        )  # fmt: skip

    def _word(self, item: Item, n: int, system: int, x0: float, x1: float, middle: float, sp: float) -> Word:
        ox, oy = item.origin or (x0, middle)
        piece = self._whole([item], n, ox, oy, sp)
        at = {"left": item.box[0] + 0.3 * sp, "centre": (item.box[0] + item.box[2]) / 2, "start": x0, "end": x1}[
            item.anchor
        ]
        first = self.pages[n].ink[min(item.marks, key=lambda m: self.pages[n].ink[m].box[0])]
        base = first.m[5] if isinstance(first, Glyph) else item.box[3]
        self.words.append(Found(piece, item.style, item.above, system, item.stave, round((base - oy) / sp, 3)))
        return Word(piece, item.stave, item.anchor, round(min(max((at - x0) / sp, 0.0), (x1 - x0) / sp), 3), item.above)  # type: ignore[arg-type]

    # -- the title ----------------------------------------------------------------------------------------------------

    def _title(self, items: list[Item]) -> tuple[tuple[TitleWord, ...], float]:
        """The words at the head of the first page, line by line."""
        first = next((s for p in self.reading.pages for s in p.systems), None)
        if not items or first is None:
            return (), 0.0
        sp, page = first.space, self.pages[0]
        lines: list[list[Item]] = []
        for item in sorted(items, key=lambda i: i.box[0]):
            row = next((r for r in lines if _one_line(r[-1].box, item.box)), None)
            if row is None:
                lines.append([item])
            else:
                row.append(item)
        top = min(i.box[1] for i in items)
        out: list[TitleWord] = []
        for row in lines:
            box = union(i.box for i in row)
            middle = (box[0] + box[2]) / 2 / page.width
            align = "centre" if abs(middle - 0.5) < 0.06 else "right" if middle > 0.5 else "left"
            piece = self._piece(PieceInk(0, box[0], box[1], sp, [Part(m) for i in row for m in i.marks]), [box])
            out.append(TitleWord(piece, round((box[1] - top) / sp, 3), align))  # type: ignore[arg-type]
        return tuple(out), round((max(i.box[3] for i in items) - top) / sp, 3)


def _one_line(a: Box, b: Box) -> bool:
    """Words of one line of type: they overlap in height and stand near each other."""
    height = min(a[3] - a[1], b[3] - b[1])
    return min(a[3], b[3]) - max(a[1], b[1]) > 0.4 * height and b[0] - a[2] < 1.5 * max(a[3] - a[1], b[3] - b[1])


def _pull(
    rule: Item, through: Sequence[Item], left: float | None, right: float | None, sp: float
) -> tuple[float | None, float | None] | None:
    """Where a bracket's level rule should reach at its line's edges when it goes on beyond: it has no hook there."""
    if rule.box[3] - rule.box[1] > 0.4 * sp:
        return None
    hooks = [u for u in through if u.box[2] - u.box[0] < 0.4 * sp and u.style == ("bracket",)]

    def end(edge: float | None, at: float) -> float | None:
        if edge is None or abs(at - edge) > 2.5 * sp or any(abs(u.box[0] - at) < 0.6 * sp for u in hooks):
            return None
        return edge

    found = (end(left, rule.box[0]), end(right, rule.box[2]))
    return found if found != (None, None) else None


def _edges(system: System) -> tuple[list[Barline | None], list[Barline | None]]:
    """The barlines at the left and right of each bar; none where a bar begins at the line's head."""
    sp = system.space
    lefts: list[Barline | None] = []
    rights: list[Barline | None] = []
    lines = sorted(system.barlines, key=lambda b: b.x)
    for place, bar in enumerate(system.bars):
        before = [
            b for b in lines if b.x < bar.x0 + 1.6 * sp and b.x > bar.x0 - 2.5 * sp and b.x < (bar.x0 + bar.x1) / 2
        ]
        after = [b for b in lines if bar.x1 - 1.6 * sp < b.x < bar.x1 + 2.5 * sp and b.x > (bar.x0 + bar.x1) / 2]
        left = before[-1] if before else None
        if (
            left is not None
            and place == 0
            and not (left.line_start or "repeat" in left.kind.value or left.x > system.head_x1 - sp)
        ):
            left = None
        lefts.append(left)
        rights.append(after[0] if after else None)
    return lefts, rights


__all__ = ["Cut", "Part", "PieceInk", "cut", "cut_ink"]
