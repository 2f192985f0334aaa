"""What stands over a bar's left edge: marks, signs, the number where a join lands, "2nd time".

In print these stand clear of their neighbours. In another order, or at the head of another line, they meet others: the
bracket of the bar before, a bar number. As an engraver does, each is then raised until it is clear, lowest first.
Lengths are staff spaces; x from the bar's left edge, heights up from the first stave's middle line.
"""

from collections.abc import Iterable, Mapping, Sequence

import msgspec
from msgspec.structs import replace

from collaparte.paper.cutting.table import BarCut, Bracket, Extent, Line, PieceTable, Word
from collaparte.paper.pages.blocks import CLEAR, Block, over_or_under, rise

TOUCH = 0.3
"""Printed boxes of things one over the other may overlap by so much: no ink fills its box."""
EDGE = 1.0
"""Words that begin before this belong to the bar's left edge."""
TIGHT, LOOSE = 0.8, 1.25
"""How far gaps shrink or grow in most lines: ink is kept clear of wherever it comes to stand."""
NUMBER, NUMBER_HEIGHT = 2.0, 1.45
"""The type size of bar numbers, and how high their figures are."""
FIGURE = 0.6
"""The width of a figure or letter, in ems: a generous one, as stands differ in their type."""
JOIN_FOOT, JOIN_SIGN = 2.4, 1.2
"""The least height of the number over a join, and the room of the sign behind it."""
BESIDE = 2.0
"""So much lower it must stand to be set over the bar's own notes instead of before its barline."""
HEAD_FOOT = 3.9
"""The height of the bar number over the clef."""
LABEL, LABEL_HEIGHT = 2.2, 1.7
"""The type size of "2nd time", and its height."""
LABEL_FOOT = 2.8
REST_LEAD, COUNT, COUNT_FOOT, COUNT_TOP = 1.2, 3.0, 2.7, 4.4
"""A long rest that is drawn anew: the white before it, where its count begins at least, its foot and its top."""
LABEL_ROOM = 0.35
"""A label's letters need so much more white under them than signs do."""


class Stack(msgspec.Struct):
    """Where things over the left edge stand."""

    moved: dict[int, tuple[float, float]] = {}
    """By piece: how far to the right and up of its printed place."""
    number: tuple[float, float] = (0.0, JOIN_FOOT)
    """Within a line: the join sign's right edge and its foot, the number stands left of it. At a line's head: the
    number's left edge and foot."""
    number_row: int = -1
    """The row that the number stands on and moves with."""
    label: tuple[float, float] = (0.0, LABEL_FOOT)
    """The label's left edge and foot."""
    label_row: int = -1
    """The row that the label stands on and moves with."""


AGAIN, AGAIN_HEIGHT = 1.8, 1.25
"""The type size of what is said again ("(8va)"), and its height."""
OVER_KEY = 3.8
"""The highest sharp of a key reaches 3.4 spaces over its stave's middle, a bracket below its letters' feet."""
OFF_LINE = 0.5
"""Within a line it stands so far off its dashed line, at a line's head before it."""


def again(one: Line, room: float | None) -> Block:
    """Where "(8va)" stands that is said again, seen from its bar's left edge and the middle of its stave: before the
    first notes of a line that leaves so much room behind its clef, or within a line."""
    wide = (len(one.text) + 2) * 0.5 * AGAIN
    if room is not None:
        right = max(-0.3, wide + 0.2 - room)
        low = max(-one.y - 0.4, OVER_KEY) if one.y < 0 else -one.y - 0.4
        return Block(right - wide, right, low, low + AGAIN_HEIGHT)
    low = -one.y + (OFF_LINE if one.y < 0 else -OFF_LINE - AGAIN_HEIGHT)
    return Block(0.2, wide + 0.2, low, low + AGAIN_HEIGHT)


def figures(number: int) -> float:
    """The width of a bar number."""
    return len(str(number)) * FIGURE * NUMBER


def label_width(label: str) -> float:
    return len(label) * 0.5 * LABEL


Reach = Mapping[int, tuple[float, float]]
"""The highest and the lowest place (y, spaces) of each row: a line may move it from one to the other."""


def rows_reach(table: PieceTable) -> Reach:
    """Of all rows of a part."""
    out: dict[int, tuple[float, float]] = {}
    for bar in table.bars:
        for row, base in [(w.row, w.base) for w in bar.words] + [(b.row, b.base) for b in bar.brackets]:
            high, low = out.get(row, (base, base))
            out[row] = min(base, high), max(base, low)
    return out


class Over(msgspec.Struct):
    """One bar's ink over its first stave, and what of it stands at its left edge."""

    table: PieceTable
    bar: BarCut
    kept: Sequence[Word]
    gone: Sequence[Word]
    """Words that are not shown in this order; what stood on them comes down."""
    reach: Reach
    redrawn: bool
    width: float
    """The bar's width as it is shown."""
    left: Sequence[Block] = ()
    """What the bar before has in print over their barline, seen from this bar: where it is not before it, what stood on
    that comes down as well."""

    def extent(self, piece: int) -> Extent:
        return self.table.extents[piece]

    edge: Sequence[Word] = ()
    """The words at the left edge that may be raised, lowest first; an accent stays by its note."""

    def __post_init__(self) -> None:
        above = [w for w in self.kept if w.above and w.stave == 0 and w.row < 0 and w.anchor != "centre"]
        words = [w for w in above if self.extent(w.piece).left < EDGE]
        if words:
            words = [w for w in words if not self._in_bracket(w)]
            words.sort(key=lambda w: -self.extent(w.piece).bottom)
        self.edge = words

    def _above(self, words: Iterable[Word]) -> list[Word]:
        return [w for w in words if w.above and w.stave == 0]

    def _in_bracket(self, word: Word) -> bool:
        """An ending's number: it stays under its bracket."""
        return any(b.row == word.after and self.extent(word.piece).top > b.base for b in self.bar.brackets)

    def _climb(self, thing: Word | Bracket) -> float:
        """How far a line may yet raise a thing with its row, or with the row that it stands beyond."""
        high, low = self.reach.get(thing.after, (0.0, 0.0)) if thing.after >= 0 else (0.0, 0.0)
        return low - high + (thing.base - self.reach[thing.row][0] if thing.row >= 0 else 0.0)

    def box(self, word: Word) -> Block:
        e = self.extent(word.piece)
        return Block(e.left, e.right, -e.bottom, -e.top + self._climb(word), *self._rides(word))

    def _rides(self, thing: Word | Bracket) -> tuple[float, int, float]:
        """How far a thing may climb with the row that it moves with, that row, and its printed height in this bar."""
        if thing.after < 0:
            return self._climb(thing), thing.row, thing.base
        bases = [w.base for w in self.bar.words if w.row == thing.after]
        bases += [b.base for b in self.bar.brackets if b.row == thing.after]
        high, low = self.reach.get(thing.after, (0.0, 0.0))
        return (low - high, thing.after, bases[0]) if bases else (0.0, -1, 0.0)

    def fixed(self, to: float = float("inf")) -> list[Block]:
        """All ink that stays where it is, as printed, of what begins no further right than `to`."""
        edge = {w.piece for w in self.edge}
        out = [self.box(w) for w in self._above(self.kept) if w.piece not in edge and self.extent(w.piece).left <= to]
        if self.redrawn:
            return [*out, Block(COUNT, self.width, COUNT_FOOT, COUNT_TOP)]
        out += [Block(e.left, e.right, -e.bottom, -e.top) for e in self.bar.over if e.left <= to]
        for b in self.bar.brackets:
            e = self.extent(b.piece)
            line = Block(e.left, e.right, -e.top - 0.3, -e.top + self._climb(b), *self._rides(b))
            out.append(line)
            if e.bottom - e.top > 0.6:
                ends = replace(line, low=-e.bottom)
                out += [ends.across(e.left, e.left + 0.3), ends.across(e.right - 0.3, e.right)]
        return out

    def nearest(self, x: float) -> float:
        """How near to the bar's left edge a point of it may come; a bar printed wide comes out much narrower."""
        rigid = 0.0
        for a, b in self.bar.columns:
            if a >= x:
                break
            if b > 1.0:
                rigid += (b if b < x else x) - (a if a > 1.0 else 1.0)
        return min(1 + (x - 1) * TIGHT, 1 + rigid + max(x - 1 - rigid, 0.0) * TIGHT * self.bar.ease)

    def again(self, room: float | None) -> list[Block]:
        """What is said again over the first stave, where a line's clef leaves so much room or within a line."""
        lines = (one for one in self.bar.lines if one.came and one.text)
        return [again(one, room) for one in lines if one.stave == 0 and one.y < 0]

    def all(self) -> list[Block]:
        """The same, and what stands at the left edge as printed."""
        return self.fixed() + [self.box(w) for w in self.edge]


def over_stave(table: PieceTable, bar: BarCut) -> list[Block]:
    """What of a bar's ink, in print, a label may meet that reaches over it from the bar before."""
    words = [table.extents[w.piece] for w in bar.words if w.above and w.stave == 0]
    return [Block(e.left, e.right, -e.bottom, -e.top) for e in (*bar.over, *words)]


def reaching_over(label: str, width: float, stacks: Sequence[Stack]) -> list[Block]:
    """Where the label of a bar so wide, in one of its stacks, reaches over what is behind, seen from the bar's end."""
    end, wide = TIGHT * width, label_width(label)
    lefts = [stack.label for stack in stacks if label and stack.label[0] + wide > end]
    return [Block(x - end, x + wide - end, foot, foot + LABEL_HEIGHT) for x, foot in lefts]


def in_line(
    over: Over, before: Over | None, between: float, number: int | None, label: str, besides: Sequence[Block] = (),
    start: float = 0.0,
) -> Stack:  # fmt: skip
    """The stack where the bar stands within a line, `between` after the bar before; `number`: a join lands on it;
    `besides`: what else stands there, a clef and a key, the label of the bar before. A key or a meter up to `start` is
    not shown."""
    if not (over.edge or label or number is not None):
        return Stack()
    ink = _moved_up(over, over.fixed(), start)
    others = [*(over.again(None) if number is not None else ()), *besides]
    if before is not None:
        others += [_from_end(b, before.width, between) for b in before.all()]
    stack = Stack()
    if number is not None:
        wide = figures(number) + JOIN_SIGN
        places = [Block(x - wide, x, JOIN_FOOT, JOIN_FOOT + NUMBER_HEIGHT) for x in (0.0, wide + 0.3)]
        left, right = (_raised(over, [*ink, *others], p) for p in places)
        place = right if right.low + BESIDE < left.low else left
        stack.number, stack.number_row = (place.x1, place.low), place.row
        others.append(place)
    blocks = [*_moved_up(over, _as_printed(over), start), *others]
    _pile(over, blocks, stack, (0.0,), over.left if number is not None else ())
    _label(over, [*ink, *blocks], stack, label)
    return stack


def at_head(
    over: Over,
    head: Sequence[Block],
    width: float,
    room: float,
    start: float,
    number: int,
    join: bool,
    label: str,
    clear: float,
    besides: Sequence[Block] = (),
) -> Stack:
    """The stack where the bar begins a line whose head is `width` wide, `room` of it behind the clef, with clef and key
    there, seen from its left edge; a bar number is clear of them at the height `clear`. What of the bar is left of
    `start` is not shown."""
    stack = Stack(number=(-width, HEAD_FOOT))
    end = number_width(number, join) - width
    place = Block(-width, end, clear, clear + NUMBER_HEIGHT)
    if not (over.edge or label):  # nothing of the bar can meet the bar number but what begins before it ends
        if is_numbered(number, join):
            to = min(end + CLEAR, EDGE) + start
            near = _shown(over, over.fixed(to), to, start) + over.again(room)
            near = [b for b in near if over_or_under(b, place)]
            if near:
                near += [b.moved(-width, 0.0) for b in head]
                place = place.moved(0.0, rise(place, near))
            stack.number = place.x0, place.low
        return stack
    ink = _shown(over, over.fixed(over.bar.width), over.bar.width, start)
    others = [*over.again(room), *(b.moved(-width, 0.0) for b in head), *besides]
    shifts = [0.0]
    if is_numbered(number, join):
        place = place.moved(0.0, rise(place, [*ink, *others]))
        stack.number = place.x0, place.low
        others.append(place)
        first = min((over.extent(w.piece).left for w in over.edge), default=end)
        shifts += [end + 0.4 - first] if end + 0.4 > first else []
    blocks = [*_shown(over, _as_printed(over, over.bar.width), over.bar.width, start), *others]
    _pile(over, blocks, stack, shifts, over.left)
    _label(over, [*ink, *blocks], stack, label)
    return stack


def _moved_up(over: Over, ink: Sequence[Block], start: float) -> list[Block]:
    """The bar's ink, what stands behind `start` so much nearer to its left edge."""
    return [_spread(over, b).moved(-start if b.x0 > EDGE else 0.0, 0.0) for b in ink]


def _shown(over: Over, ink: Sequence[Block], to: float, start: float) -> list[Block]:
    """The bar's ink that begins no further right than `to`, where a change of key up to `start` is not shown."""
    return [_spread(over, b.moved(-start, 0.0)) if b.x0 > EDGE else b for b in ink if b.x0 <= to]


def _as_printed(over: Over, to: float = float("inf")) -> list[Block]:
    """The fixed ink, less by what printed words of the edge stand nearer to it than anything need: such words, just
    under a chord's name, do not jump over it for the sake of that."""
    blocks = over.fixed(to)
    if not over.edge:
        return blocks
    words = [over.box(w) for w in over.edge]
    out: list[Block] = []
    for block in blocks:
        for word in words:
            top, high = word.high - word.climb, block.high - block.climb
            if block.low - CLEAR < top < block.low + TOUCH:
                block = replace(block, low=top + CLEAR)
            elif high - TOUCH < word.low < high + CLEAR:
                block = replace(block, high=word.low - CLEAR + block.climb)
        out.append(block)
    return out


def is_numbered(number: int, join: bool) -> bool:
    """Whether a line that begins with this bar has its number: a first bar has one only where a join lands on it."""
    return number > 1 or join


def number_width(number: int, join: bool) -> float:
    """A bar number's at a line's head, with its room."""
    return figures(number) + (JOIN_SIGN if join else 0.1)


def _pile(over: Over, blocks: list[Block], stack: Stack, shifts: Sequence[float], left: Sequence[Block]) -> None:
    """Set the words of the edge, moved right by that one of `shifts` with which they need least raising."""
    edge = over.edge
    if not edge:
        return
    best: tuple[float, dict[int, tuple[float, float]], list[Block]] | None = None
    for right in shifts:
        moved: dict[int, tuple[float, float]] = {}
        stood: list[Block] = []
        for word in edge:
            across = right if word.anchor != "end" else 0.0  # what ends at a barline stays there
            box = over.box(word).moved(across, 0.0)
            fall = max((box.low - foot for foot in _under(over, word, left)), default=0.0)
            up = rise(box.moved(0.0, -fall), blocks + stood) - fall
            moved[word.piece] = (across, round(up, 3))
            stood.append(box.moved(0.0, up))
        needed = sum(up for _, up in moved.values())
        if best is None or needed < best[0] - 0.05:
            best = needed, moved, stood
    assert best is not None
    stack.moved = best[1]
    blocks += best[2]


def _under(over: Over, word: Word, left: Sequence[Block]) -> list[float]:
    """The feet of signs left out that this word was printed above."""
    box = over.box(word)
    out = [b.low for b in left if over_or_under(b, box) and b.high <= box.low + CLEAR]
    for gone in over.gone:
        e = over.extent(gone.piece)
        if gone.above and gone.stave == 0 and e.left < box.x1 and e.right > box.x0 and -e.top <= box.low + CLEAR:
            out.append(-e.bottom)
    return out


def _label(over: Over, blocks: Sequence[Block], stack: Stack, label: str) -> None:
    """The label beside the mark, or over what stands there, when there is room; else above all."""
    if not label:
        return
    wide = label_width(label)
    marks = [over.box(w).moved(*stack.moved[w.piece]) for w in over.edge]
    # Over the last bar of a line it ends with the line, and may begin over the bar before.
    places = [
        Block(min(0.0, over.nearest(over.width) - wide), wide, LABEL_FOOT - LABEL_ROOM, LABEL_FOOT + LABEL_HEIGHT)
    ]
    for mark in [m for m in marks if m.x1 - m.x0 < 6][-1:]:
        low = mark.low + 0.4 - LABEL_ROOM
        beside = Block(mark.x1 + 0.6, mark.x1 + 0.6 + wide, low, low + LABEL_ROOM + LABEL_HEIGHT)
        if beside.x1 < over.nearest(over.width):
            places.insert(0, beside)
    place = min((_raised(over, blocks, p) for p in places), key=lambda p: p.low)
    stack.label, stack.label_row = (max(place.x0, 0.0), place.low + LABEL_ROOM), place.row


def _raised(over: Over, blocks: Sequence[Block], place: Block) -> Block:
    """The place raised until it stands clear, on one of the bar's rows where it needs less raising so."""
    choices = [p.moved(0.0, rise(p, blocks)) for p in (place, *_on_rows(over, blocks, place))]
    return min(choices, key=lambda p: p.low)


def _on_rows(over: Over, blocks: Sequence[Block], place: Block) -> list[Block]:
    """The place as it moves with one of the bar's rows: a line that raises the row raises it too, and no more is kept
    clear for that."""
    own = {w.row: w.base for w in over.kept if w.row >= 0} | {b.row: b.base for b in over.bar.brackets}
    near = [b for b in blocks if b.row in own and b.climb > 0 and over_or_under(b, place)]
    under = {b.row: b.climb for b in near}
    return [
        replace(place, high=place.high + climb, climb=climb, row=row, base=own[row]) for row, climb in under.items()
    ]


def _spread(over: Over, block: Block) -> Block:
    """Wherever it may stand when the bar's gaps shrink or grow; a first space never does."""
    left = block.x0 if block.x0 <= 1 else over.nearest(block.x0)
    right = block.x1 if block.x1 <= 1 else 1 + (block.x1 - 1) * LOOSE
    return block.across(left, right)


def _from_end(block: Block, width: float, between: float) -> Block:
    """A block of the bar before, seen from this bar's left edge."""
    left, right = block.x0 - width, block.x1 - width
    left, right = left * (LOOSE if left < 0 else 1), right * (TIGHT if right < 0 else 1)
    return block.across(left - between, right - between)
