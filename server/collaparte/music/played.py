"""Played order: the written order and a set of edits. The order in which edits arrive never matters.

Precedence: of edits that have a stretch played again (times, open, back to), each looks at the written order by
itself; where two of them meet, the one made later holds and the other waits. Then comes what leaves bars out (cuts, go
to, signs left): its positions add up, and what is left out is left out of every round. So taking one back restores
exactly what it alone had done, and no edit can invent a bar.
"""

from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby
from typing import NamedTuple

import msgspec

from collaparte.music.folding import SHORT, Fold, folds
from collaparte.music.form import Step, Written
from collaparte.music.stretches import Span, as_one, between, beyond_jump, comes_next, repeats, rounds, spans
from collaparte.wire.chart import BarId
from collaparte.wire.edits import Cut, Edit, GoTo, Open, Pickup, PlayTimes, Signs

OPEN = 0
"""The times that an open stretch is played: nobody knows yet."""


class Again(msgspec.Struct, frozen=True):
    """Positions `first` to `last` of the written order are played `more` times more, right after the last of them.

    `times`: in all, as decided; `OPEN`: until cued, and `more` is 0. `signs`: on the page they stand once, between
    repeat signs; else each time is written out.
    """

    edit: str
    first: int
    last: int
    more: int
    times: int
    signs: bool


class HeldOff(msgspec.Struct, frozen=True):
    """An edit that does not hold as long as another does."""

    edit: str
    by: str


class Laid(NamedTuple):
    """One bar as it stands on the page. `position`: in the written order; `nth`: which of the bars written out behind
    that position's round, counted from 1; 0 for the round itself. Laid bars are in the order of (`after`, `nth`)."""

    position: int
    after: int
    nth: int = 0
    time: int = 1
    """Which time round."""
    starts: int | None = None
    """A repeat sign is to stand before it: of a stretch played so many times (`OPEN`: until cued)."""
    ends: bool = False
    """A repeat sign is to stand after it."""
    kept: bool = False
    """The repeat signs printed at it hold as they are."""
    pickup: bool = False
    """It is cut, and some keep its notes as a pickup."""


class Played(msgspec.Struct, frozen=True):
    """What is played of a written order: `cut` are the first and last positions (0-based) of what is left out.

    `folds`: short repeats that stand once on the page, between their signs. `pickups`: positions that are cut but laid.
    """

    written: tuple[Step, ...]
    cut: tuple[tuple[int, int], ...] = ()
    again: tuple[Again, ...] = ()
    folds: tuple[Fold, ...] = ()
    pickups: tuple[int, ...] = ()
    held_off: tuple[HeldOff, ...] = ()

    def positions(self) -> list[int]:
        """Positions in the written order of the steps that are played, in order, each once."""
        out = self.left_out()
        return [position for position in range(len(self.written)) if position not in out]

    def left_out(self) -> set[int]:
        """Positions in the written order of the steps that are cut."""
        return {position for first, last in self.cut for position in range(first, last + 1)}

    def steps(self) -> tuple[Step, ...]:
        """The steps that are played, in order, every time round; an open stretch once."""
        out = self.left_out()
        behind = {again.last: again for again in self.again}
        steps: list[Step] = []
        for position, step in enumerate(self.written):
            if position not in out:
                steps.append(step)
            if again := behind.get(position):
                inside = [self.written[p] for p in range(again.first, again.last + 1) if p not in out]
                steps += inside * again.more
        return tuple(steps)

    def comings(self) -> dict[tuple[int, int, int], int]:
        """Which time tonight a bar comes, by its place on the page (`position`, `after`, `nth` of `Laid`); behind an
        open stretch that has it nobody knows: `OPEN`."""
        out = self.left_out()
        behind = {again.last: again for again in self.again}
        came: dict[BarId, int | None] = {}
        found: dict[tuple[int, int, int], int] = {}

        def comes(position: int, place: tuple[int, int, int]) -> None:
            before = came.get(self.written[position].bar, 0)
            came[self.written[position].bar] = None if before is None else before + 1
            found[place] = OPEN if before is None else before + 1

        for position in range(len(self.written)):
            if position not in out:
                comes(position, (position, position, 0))
            if again := behind.get(position):
                inside = [p for p in range(again.first, again.last + 1) if p not in out]
                if again.times == OPEN:
                    came |= dict.fromkeys((self.written[p].bar for p in inside), None)
                for time in range(again.more):
                    for n, p in enumerate(inside, start=1):
                        comes(p, (p, position, time * len(inside) + n))
        return found

    def plays_again(self, edit: str) -> bool:
        """Whether an edit has something played again."""
        return any(again.edit == edit for again in self.again)

    def laid(self) -> tuple[Laid, ...]:
        """The bars that stand on the page, in order; a part without one of them leaves its place empty."""
        out = self.left_out()
        gone = out | {position for fold in self.folds for position in range(fold.first, fold.last + 1)}
        pickups = set(self.pickups)
        kept = {p for fold in self.folds for p in range(fold.by, fold.round_last + 1)}
        starts, ends = self._signs(gone)
        behind = {again.last: again for again in self.again if not again.signs}
        laid: list[Laid] = []
        for position in range(len(self.written)):
            if position not in gone or position in pickups:
                start, end = starts.get(position), position in ends
                pickup = position in pickups
                laid.append(Laid(position, position, 0, 1, start, end, position in kept, pickup))
            if again := behind.get(position):
                inside = [p for p in range(again.first, again.last + 1) if p not in out]
                for time in range(again.more):
                    laid += [Laid(p, position, time * len(inside) + n, time + 2) for n, p in enumerate(inside, start=1)]
        return tuple(laid)

    def _signs(self, gone: set[int]) -> tuple[dict[int, int], set[int]]:
        """Where repeat signs start that are not printed there (with how many times in all), and where they end:
        tonight's, and those of short repeats whose first or last bars are cut."""
        starts: dict[int, int] = {}
        ends: set[int] = set()
        shown = {fold.first + n: fold.by + n for fold in self.folds for n in range(fold.last - fold.first + 1)}
        for again in self.again:
            there = (shown.get(position, position) for position in range(again.first, again.last + 1))
            inside = [position for position in there if position not in gone]
            if again.signs and inside:
                first = min(inside)
                # The rounds that stand between these signs; others may be written out in front of them or behind.
                shown_here = sum(fold.by <= first <= fold.by + fold.last - fold.first for fold in self.folds)
                starts[first] = OPEN if again.times == OPEN else 1 + again.more + shown_here
                ends.add(max(inside))
        for by, later in groupby(self.folds, lambda fold: fold.by):
            rounds = list(later)
            first_round = range(by, rounds[0].first)
            inside = [position for position in first_round if position not in gone]
            torn = first_round[0] in gone or first_round[-1] in gone
            if torn and inside and not any(position in starts for position in inside):
                starts[inside[0]] = 1 + len(rounds)
                ends.add(inside[-1])
        return starts, ends


def evaluate(written: Written, bars: Iterable[BarId], edits: Iterable[Edit], *, short: int = SHORT) -> Played:
    """What is played of an order over `bars` (the chart's, in document order) under these edits.

    `short`: repeats of so many bars or fewer stand on the page between their signs; 0: all are written out.
    """
    place = {bar: index for index, bar in enumerate(bars)}
    newest = sorted({edit.id: edit for edit in edits}.values(), key=lambda edit: (edit.made, edit.id), reverse=True)
    loops, held_off = _loops(written, place, newest)
    while True:
        # What waits leaves nothing out either.
        waiting = {one.edit for one in held_off}
        holding = [edit for edit in newest if edit.id not in waiting]
        blocks = tuple(loop.block for loop in loops)
        by = {p: edit.id for edit in holding for p in left_out_by(written, place, edit, blocks)}
        left = [loop for loop in loops if any(p not in by for p in range(loop.span.first, loop.span.last + 1))]
        if len(left) == len(loops):
            break
        still = {loop.edit for loop in left}
        gone = {loop.edit: by[loop.span.first] for loop in loops if loop.edit not in still}
        held_off += [HeldOff(edit, cut) for edit, cut in gone.items()]
        loops = left
    dropped = (span for loop in loops for span in loop.dropped)
    out = set(by) | {position for span in dropped for position in range(span.first, span.last + 1)}
    again = []
    for loop in loops:
        if loop.more or loop.times == OPEN:
            length = sum(position not in out for position in range(loop.span.first, loop.span.last + 1))
            again.append(Again(loop.edit, *loop.span, loop.more, loop.times, loop.times == OPEN or length <= short))
    again.sort(key=lambda one: one.first)
    return Played(
        written.steps,
        tuple((span.first, span.last) for span in spans(out)),
        tuple(again),
        folds(written, out, [Span(one.first, one.last) for one in again], short),
        tuple(sorted(_pickups(written, out, newest))),
        tuple(sorted(held_off, key=lambda one: (one.edit, one.by))),
    )


def left_out_by(written: Written, place: Mapping[BarId, int], edit: Edit, again: tuple[Span, ...] = ()) -> set[int]:
    """The positions that one edit leaves out; `again`: blocks whose repeats another edit decides."""
    steps, what = written.steps, edit.what
    if edit.chairs or edit.sections:
        return set()
    if isinstance(what, Cut):
        return between(steps, place, what.first, what.until, what.passes)
    if isinstance(what, GoTo):
        return {p for span in _onward(written, what) for p in range(span.first, span.last + 1)}
    if isinstance(what, Signs) and what.leave == "jumps":
        found = (beyond_jump(written, place, landed) for landed in written.jumped)
        return {p for span in found if span for p in range(span.first, span.last + 1)}
    if isinstance(what, Signs):
        earlier = (Span(begins[0], begins[-1] - 1) for begins in repeats(written))
        return {
            p for span in earlier if not any(span.meets(one) for one in again) for p in range(span.first, span.last + 1)
        }
    return set()


class _Loop(NamedTuple):
    """What an edit has played again: `span`, `more` times; `block` is all that it decides on, `dropped` left out."""

    edit: str
    block: Span
    span: Span
    more: int
    times: int
    dropped: tuple[Span, ...] = ()


def _loops(written: Written, place: Mapping[BarId, int], newest: list[Edit]) -> tuple[list[_Loop], list[HeldOff]]:
    """The loops that hold, and the edits whose loops do not; `newest`: those made later first."""
    holding: list[_Loop] = []
    held_off: list[HeldOff] = []
    for edit in newest:
        loops = list(loops_of(written, place, edit))
        against = [one for one in holding for loop in loops if one.block.meets(loop.block)]
        if against:
            held_off.append(HeldOff(edit.id, against[0].edit))
        else:
            holding += loops
    return holding, held_off


def loops_of(written: Written, place: Mapping[BarId, int], edit: Edit) -> Iterator[_Loop]:
    """What one edit has played again, or fewer times than written."""
    what = edit.what
    if edit.chairs or edit.sections:
        return
    if isinstance(what, PlayTimes | Open):
        for together in rounds(written.steps, place, what.first, what.until, what.passes):
            # Once only, what is repeated within goes as well.
            once = isinstance(what, PlayTimes) and what.times == 1
            turns = together if once else as_one(written, together)
            block = Span(turns[0].first, turns[-1].last)
            again = turns[-2] if len(turns) > 1 else turns[0]
            if isinstance(what, Open):
                yield _Loop(edit.id, block, again, 0, OPEN)
            elif what.times >= len(turns):
                if what.times > len(turns):
                    yield _Loop(edit.id, block, again, what.times - len(turns), what.times)
            else:
                dropped = Span(turns[what.times - 1].first, turns[-2].last)
                yield _Loop(edit.id, block, turns[-1], 0, what.times, (dropped,))
    if isinstance(what, GoTo):
        for position in _comings(written, what):
            back = [p for p in range(position) if written.steps[p].bar == what.to]
            if back and comes_next(written.steps, what.to, position) is None:
                span = Span(back[-1], position - 1)
                yield _Loop(edit.id, span, span, 1, 2)


def _comings(written: Written, what: GoTo) -> Iterator[int]:
    for position, step in enumerate(written.steps):
        if step.bar == what.first and (not what.passes or step.pass_ in what.passes):
            yield position


def _onward(written: Written, what: GoTo) -> Iterator[Span]:
    for position in _comings(written, what):
        to = comes_next(written.steps, what.to, position)
        if to is not None and to > position:
            yield Span(position, to - 1)


def _pickups(written: Written, out: set[int], edits: Iterable[Edit]) -> Iterator[int]:
    """The last positions of what is left out whose bar somebody keeps as a pickup."""
    bars = {edit.what.bar for edit in edits if isinstance(edit.what, Pickup)}
    for span in spans(out):
        if written.steps[span.last].bar in bars and span.last + 1 < len(written.steps):
            yield span.last
