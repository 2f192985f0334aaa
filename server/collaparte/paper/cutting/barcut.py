"""Cut one bar of a system: its rigid and its stretching ink a stave, its words, its endings' brackets."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from msgspec.structs import replace

from collaparte.music.jumpwords import times_of
from collaparte.paper.cutting import columns
from collaparte.paper.cutting.arriving import Over
from collaparte.paper.cutting.diagrams import DIAGRAM
from collaparte.paper.cutting.edges import BEAM_OVER, Edges, Heads, Where
from collaparte.paper.cutting.ink import Glyph, Page
from collaparte.paper.cutting.items import Item, Role
from collaparte.paper.cutting.rows import Found
from collaparte.paper.cutting.spans import is_line, over_bar
from collaparte.paper.cutting.stock import Part, PieceInk, Stock
from collaparte.paper.cutting.table import BarCut, Bracket, Extent, Line, Open, Word
from collaparte.paper.cutting.torn import TornCutter
from collaparte.paper.reading import BarBox, Box, Ending, Reading, SignKind

BARLINE = 2.5
"""A repeat's end is no wider, in spaces, its dots included."""
AFTER = 0.4
"""The least white behind the last note where a clef behind it is not shown, in spaces."""
BEAM_AS_SLURS = 5
"""To break a beam at a line's end is as bad as so many slurs: engravers rather do not (common practice)."""
SQUEEZE = 0.55
"""What gaps may be squeezed to where no words stand."""


@dataclass(slots=True)
class BarCutter:
    """Cuts bars of one part; what it finds of words is gathered for `rows`."""

    reading: Reading
    pages: Sequence[Page]
    stock: Stock
    words: list[Found] = field(default_factory=list)
    torn: TornCutter = field(init=False)

    def __post_init__(self) -> None:
        self.torn = TornCutter(self.pages, self.stock)

    def cut(self, where: Where, bar: BarBox, mine: Sequence[Item], edges: Edges, heads: Heads) -> BarCut:
        """The bar whose own objects are `mine`; slurs and the like are taken from the whole system."""
        sp = where.space
        strips = [(0.0, w) for w in (heads.change_width, heads.meter_width) if w]
        mains: list[int] = []
        brackets: list[Bracket] = []
        halves: list[Open] = []
        ties: list[tuple[int, float]] = []
        lines: list[Line] = []
        over: tuple[Extent, ...] = ()
        crossing = 0
        for stave, middle in enumerate(where.middles):
            ink = PieceInk(where.page, edges.x0, middle, sp)
            for item in mine:
                if item.stave == stave and item.role in (Role.SOLID, Role.BEAM):
                    ink.add(item, part=Part(0, rigid=item.role is Role.SOLID))
                    if item.role is Role.SOLID:
                        strips.append(((item.box[0] - edges.x0) / sp, (item.box[2] - edges.x0) / sp))
            through = [i for i in where.items if i.role is Role.THROUGH and i.stave == stave]
            torn = self.torn.cut(through, where, edges, mine)
            over_it = Over(self.pages[where.page], mine, stave, middle, edges, sp)
            halves += [self._landed(half, through[n], where, bar, edges, over_it) for n, half in torn.items()]
            spans = [i for n, i in enumerate(through) if n not in torn and i.style != BRACKET and not is_line(i)]
            arriving = over_it.arriving(spans)
            arrived: list[Open] = []
            for item in arriving:
                piece, more = self._span(item, where, bar, edges)
                crossing += more
                if piece >= 0:
                    half = Open(piece, stave, round((item.box[2] - edges.x0) / sp, 3), right=False)
                    arrived.append(self._landed(half, item, where, bar, edges, over_it))
            halves += arrived
            spans = [i for i in spans if i not in arriving]
            ties += over_it.ties(through)
            crossing += self._spans(ink, spans, where, bar, edges)
            drawn = [i for i in through if is_line(i)]
            found = [line for i in drawn if (line := over_bar(i, where, edges, self.pages[where.page], self.stock))]
            lines += found
            crossing += sum(line.goes for line in found) if not edges.last else 0
            mains.append(self.stock.keep(ink))
            if stave == 0:
                apart = [self.stock.extents[one.piece] for one in found] + [
                    self.stock.extents[one.piece] for one in arrived
                ]
                over = _over(ink) + tuple(e for e in apart if e.top < -2.2)
            bracket = PieceInk(where.page, edges.x0, middle, sp)
            self._spans(bracket, [i for i in through if i.style == BRACKET], where, bar, edges)
            if bracket.boxes:
                base = round((min(b[1] for b in bracket.boxes) - middle) / sp, 3)
                brackets.append(Bracket(self.stock.keep(bracket), stave, base, -1))
        under = next((_said(e) for e in self.reading.endings if e.bar <= bar.number <= e.last_bar), (0, ""))
        gone_on = 0 < under[0] < bar.number
        words = [self._word(item, where, edges, gone_on) for item in mine if item.role is Role.WORDS]
        width = (edges.x1 - edges.x0) / sp
        if bar.count > 1:  # the signs of one long rest stay together
            lead = max(heads.change_width, heads.meter_width)
            rest = [s for s in strips if s[0] >= lead]
            strips = [s for s in strips if s[0] < lead]
            strips += [(min(a for a, _ in rest), max(b for _, b in rest))] if rest else []
        closing = heads.courtesy_at[0]
        if heads.courtesy:  # another stave's notes may stand over the clef
            closing = max([closing, *(b + AFTER for _, b in strips)])
            strips.append(heads.courtesy_at)
        merged = columns.merge(strips, width)
        left, right = edges.margins(sp)
        own = not bar.continued
        self.torn.bars += not edges.inner
        return BarCut(
            index=bar.index,
            number=bar.number,
            count=bar.count,
            system=where.number,
            width=round(width, 3),
            columns=merged,
            main=tuple(mains),
            words=tuple(words),
            brackets=tuple(brackets),
            open=tuple(halves),
            head=heads.before,
            head_here=heads.here,
            change=heads.change,
            change_width=round(heads.change_width, 3),
            meter=heads.meter,
            meter_width=round(heads.meter_width, 3),
            meter_here=heads.meter_here,
            left=edges.left.kind.value if edges.left else "",
            right=edges.right.kind.value if edges.right else "",
            margins=(round(left / sp, 3), round(right / sp, 3)),
            squeeze=columns.squeeze([self._floating(w) for w in words], merged),
            crossing=crossing,
            starts_in_rest=bar.starts_in_rest,
            ends_in_rest=bar.ends_in_rest,
            silence=bar.silence,
            mark=own and any(m.bar == bar.number for m in self.reading.marks),
            under=under,
            continued=bar.continued,
            over=over,
            lines=tuple(lines),
            ties=tuple(ties),
            courtesy=heads.courtesy,
            courtesy_at=round(min(closing, width), 3),
            head_after=heads.after,
        )

    def _span(self, item: Item, where: Where, bar: BarBox, edges: Edges, begin: float = -1e9) -> tuple[int, int]:
        """A piece of what of a span lies over this bar, from `begin` on, or -1; whether it goes over its right end."""
        ink = PieceInk(where.page, edges.x0, where.middles[item.stave], where.space)
        crossing = self._spans(ink, [item], where, bar, edges, begin)
        return self.stock.keep(ink), crossing

    def _landed(self, half: Open, item: Item, where: Where, bar: BarBox, edges: Edges, over: Over) -> Open:
        """With what is drawn instead where a cut lands in the bar."""
        if half.right or (item.style[:1] != ("curve",) and not over.at_first(item)):
            return half
        if over.at_first(item):
            return replace(half, landed=-1, tie=over.tie(item))
        return replace(half, landed=self._span(item, where, bar, edges, over.first()[0])[0])

    def _spans(
        self, ink: PieceInk, spans: Sequence[Item], where: Where, bar: BarBox, edges: Edges, begin: float = -1e9
    ) -> int:
        """Take what of each span lies over this bar, from `begin` on; how many go on over its right barline."""
        sp = where.space
        left, right = edges.margins(sp)
        # A hair over the barline's middle, so that no seam shows where two bars' parts of a slur meet.
        lo, hi = edges.x0 - left - 0.04 * sp, edges.x1 + right + 0.04 * sp
        crossing = 0
        for item in spans:
            if item.style == BRACKET and item.box[2] - item.box[0] < 0.5 * sp:  # a hook
                here = lo < (item.box[0] + item.box[2]) / 2 < hi if edges.inner else where.system.bars[item.bar] is bar
                if here:
                    ink.add(item, part=Part(0, None, False))
                continue
            a = max(-1e9 if edges.first else lo, item.box[0], begin)
            b = min(1e9 if edges.last else hi, item.box[2])
            short = b - a < min(0.3 * sp, 0.9 * (item.box[2] - item.box[0]))
            if short or (b <= a and where.system.bars[item.bar] is not bar):
                continue
            pull = None
            if item.style == BRACKET:  # in print it ends at its line's edge; here it goes on to the barline
                pull = _pull(item, spans, lo if edges.first else None, hi if edges.last else None, sp)
                closed = edges.last and item.box[2] < hi + BARLINE * sp  # over its last barline, where its hook hangs
                a, b = max(a, lo), b if closed else min(b, hi)
                if pull:
                    a, b = (lo if pull[0] is not None else a), (hi if pull[1] is not None else b)
            clip = None if a <= item.box[0] and b >= item.box[2] and not pull else (a, b)
            ink.add(item, (a, item.box[1], b, item.box[3]), Part(0, clip, False, pull))
            if item.box[2] > hi + 0.3 * sp and not edges.last:
                crossing += BEAM_AS_SLURS if item.style == BEAM_OVER else 1
        return crossing

    def _word(self, item: Item, where: Where, edges: Edges, under: bool) -> Word:
        sp = where.space
        start = edges.x0 - (edges.spare if item.anchor == "start" else 0.0)
        x, y = item.origin or (start, where.middles[item.stave])
        piece = self.stock.whole([item], where.page, x, y, sp)
        kept = {
            "left": item.box[0] + 0.3 * sp,
            "centre": (item.box[0] + item.box[2]) / 2,
            "start": edges.x0,
            "end": edges.x1,
        }[item.anchor]
        ink = self.pages[where.page].ink
        first = ink[min(item.marks, key=lambda m: ink[m].box[0])]
        base = item.base or (first.m[5] if isinstance(first, Glyph) else item.box[3])
        hyphen = item.base is not None and item.style != DIAGRAM
        style = ("lyric",) if hyphen else item.style  # it moves with the syllables
        self.words.append(Found(piece, style, item.above, where.number, item.stave, round((base - y) / sp, 3)))
        at = min(max(kept - edges.x0, 0.0), edges.x1 - edges.x0) / sp
        jump = any(s.page == where.page and _within(item.box, s.box) for s in self.reading.signs if s.kind != CODA)
        said = (i for i in self.reading.instructions if i.page == where.page and _within(item.box, i.box))
        count = any(times_of(i.text) for i in said)
        again = under and edges.first and bool(IN_BRACKETS.fullmatch(item.letters.replace(" ", "")))
        return Word(piece, item.stave, item.anchor, round(at, 3), item.above, jump=jump, count=count, again=again)

    def _floating(self, word: Word) -> tuple[Box, float]:
        """A word's box, those of other staves far away, and the point that it keeps to."""
        e = self.stock.extents[word.piece]
        return (e.left, e.top + 100 * word.stave, e.right, e.bottom + 100 * word.stave), word.at


IN_BRACKETS = re.compile(r"\([0-9][0-9,.]*\)")
"""The number of an ending that goes on."""
BRACKET = ("bracket",)
CODA = SignKind.CODA


def _over(ink: PieceInk) -> tuple[Extent, ...]:
    """Its objects that reach above a stave of five lines."""
    boxes = [[round((v - o) / ink.space, 2) for v, o in zip(b, (ink.x, ink.y) * 2, strict=True)] for b in ink.boxes]
    return tuple(Extent(*b) for b in boxes if b[1] < -2.2)


def _said(ending: Ending) -> tuple[int, str]:
    """Its first bar's number, and its passes as a bracket says them (common practice)."""
    return ending.bar, ", ".join(str(number) for number in ending.passes) + "."


def _within(box: Box, sign: Box) -> bool:
    """Most of the first is inside the second."""
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    return sign[0] - 1 <= x <= sign[2] + 1 and sign[1] - 1 <= y <= sign[3] + 1


def _pull(
    rule: Item, brackets: Sequence[Item], left: float | None, right: float | None, sp: float
) -> tuple[float | None, float | None] | None:
    """Where a bracket's level rule should reach at its line's edges when it goes on beyond: it has no hook there."""
    if rule.box[3] - rule.box[1] > 0.4 * sp or rule.box[2] - rule.box[0] < 0.65 * sp:
        return None
    hooks = [u for u in brackets if u.box[2] - u.box[0] < 0.4 * sp and u.box[3] - u.box[1] > 0.65 * sp]

    def end(edge: float | None, at: float) -> float | None:
        if edge is None or abs(at - edge) > 2.5 * sp or any(abs(u.box[0] - at) < 0.6 * sp for u in hooks):
            return None
        return edge

    found = (end(left, rule.box[0]), end(right, rule.box[2]))
    return found if found != (None, None) else None
