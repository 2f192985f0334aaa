"""From the order's steps to the bars as they will be shown."""

import itertools
from collections import Counter
from collections.abc import Collection, Mapping, Sequence

from msgspec.structs import replace

from collaparte.paper.cutting.table import BarCut, PieceTable
from collaparte.paper.pages.heads import LineHeads
from collaparte.paper.pages.laying import Step
from collaparte.paper.pages.measured import measure
from collaparte.paper.pages.shown import Shown, inset
from collaparte.paper.pages.stacking import TIGHT, label_width, rows_reach

ENDS, STARTS = ("repeat-end", "repeat-both"), ("repeat-start", "repeat-both")
SIDES = {
    (True, True): "repeat-both",
    (True, False): "repeat-end",
    (False, True): "repeat-start",
    (False, False): "double",
}
"""What stands where a repeat sign is printed: whether a repeat that ends there, and one that starts, stays a sign."""
OPEN = ("", "single", "double")
"""A barline that the music does not end at, unless it stops there tonight: at "Fine", before bars cut from the end."""
MARKED = 4.0
"""A mark before a label takes so much room, in spaces."""
MOST_KNOWN = 1000
"""The measures of so many bars are kept, some 2 KB each: a long part in a few orders."""


class Showing:
    """A part's bars, to be shown in any order; what was once measured of them is known from then on."""

    def __init__(self, table: PieceTable) -> None:
        self.table = table
        self._reach = rows_reach(table)
        self._heads = LineHeads(table, inset(table))
        self._cuts: dict[int, BarCut] = {}
        self._parts: dict[int, list[BarCut]] = {}
        for bar in table.bars:
            self._parts.setdefault(bar.index, []).append(bar)
            if not bar.continued:
                for index in range(bar.index, bar.index + max(1, bar.count)):
                    self._cuts[index] = bar
        whole_or_not = [one for bar in table.bars for one in (bar, *bar.parts)]
        self._jumps = {id(bar) for bar in whole_or_not if any(word.jump for word in bar.words)}
        self._counts = {id(bar) for bar in whole_or_not if any(word.count for word in bar.words)}
        self._known: dict[tuple[object, ...], Shown] = {}
        self._ids = itertools.count(1)

    def show(self, order: Sequence[Step], opening: bool = True, width: float = float("inf")) -> list[Shown]:
        """The bars to be laid for `order`; steps that name no bar of the part are left out.

        `opening`: the music begins here, and is no tail behind a page that already shows the meter. `width`: bars that
        cannot be made so narrow are shown in parts, if they can be split.
        """
        out = self._measured(self._bars(order), order, opening)
        wide = {id(one.bar) for one in out if one.bar.parts and one.least > width}
        return self._measured(self._in_parts(out, wide), order, opening) if wide else out

    def _measured(self, out: list[Shown], order: Sequence[Step], opening: bool) -> list[Shown]:
        times = Counter(step.bar for step in order)
        followed = next((step.followed for step in order if step.followed is not None), None)
        idle = any(step.join or step.pass_ > 1 for step in order) if followed is None else followed
        if len(self._known) > MOST_KNOWN:
            self._known.clear()
        for place, shown in enumerate(out):
            shown.idle = idle
            following = out[place + 1] if place + 1 < len(out) else None
            shown.parted = bool(shown.bar.courtesy) and (following is None or following.step.join)
            _sides(shown, following, times)
        if out and out[-1].bar.index != self.table.bars[-1].index and out[-1].right in OPEN:
            out[-1].right = "final"
        _tonights_signs(out, order)
        inside = printed = False
        for shown in reversed(out):
            if shown.right in ENDS:
                inside, printed = True, not order[shown.last].ends
            shown.between_signs = inside and printed and not _is_written_out(shown.step, times)
            inside = inside and shown.left not in STARTS
        key: tuple[object, ...] = ("opening",) if opening else ()
        for place, shown in enumerate(out):
            jumps = idle and id(shown.bar) in self._jumps
            counts = shown.between_signs and id(shown.bar) in self._counts
            after = out[place + 1].bar if place + 1 < len(out) and _is_long(shown) else None
            step = shown.step  # which time through it is says no more than this
            own = (
                id(shown.bar),
                step.bar,
                step.number,
                step.join,
                step.label,
                shown.count,
                shown.left,
                shown.right,
                jumps,
                counts,
                shown.parted,
                id(after),
            )
            known = self._known.get((*key, *own))
            if known is not None:
                shown.take(known)
            else:
                before = out[place - 1] if place else None
                measure(self.table, shown, before, after, self._reach, self._heads, opening)
                shown.id = next(self._ids)
                self._known[(*key, *own)] = shown
            key = own
        return out

    def _in_parts(self, shown: Sequence[Shown], wide: Collection[int]) -> list[Shown]:
        """The bars anew, the wide ones in their parts."""
        out: list[Shown] = []
        for one in shown:
            for piece in one.bar.parts if id(one.bar) in wide else (one.bar,):
                later = piece is not one.bar and piece is not one.bar.parts[0]
                step = replace(one.step, join=False, label="", starts=False) if later else one.step
                out.append(Shown(piece, one.first, one.last, 0 if later else one.count, step, False, False))
        return out

    def _bars(self, order: Sequence[Step]) -> list[Shown]:
        out: list[Shown] = []
        for n, step in enumerate(order):
            found = self._cuts.get(step.bar)
            if found is None:
                continue
            before = out[-1] if out else None
            if (
                before is not None and before.bar is found and found.whole >= 0
            ):  # fmt: skip
                before.last = n
                before.played.append((n, step.bar))
                continue
            if (
                before is not None and before.bar is found and found.count > 1 and not step.join
                and step.bar == order[before.last].bar + 1 and step.pass_ == order[before.last].pass_ and not step.label
                and not step.starts and not order[before.last].ends
            ):  # fmt: skip
                before.last = n
                before.count += 1
                continue
            for piece in self._parts[found.index]:
                count = 0 if piece.continued else 1
                own = replace(step, join=False, label="", starts=False) if piece.continued else step
                out.append(Shown(piece, n, n, count, own, False, False, played=[(n, step.bar)]))
        return out


def _sides(shown: Shown, after: Shown | None, times: Mapping[int, int]) -> None:
    bar, step = shown.bar, shown.step
    followed = _is_written_out(step, times)
    shown.left = "double" if followed and "repeat" in bar.left else bar.left
    shown.right = bar.right
    if after is not None and after.bar.continued and after.first == shown.first:
        shown.right = after.left = "none"
        return
    if bar.continued:
        shown.left = "none"
    if bar.count > 1 and step.bar + shown.count < bar.index + bar.count and bar.whole < 0:
        shown.right = "single"  # the rest's last bar is not shown
    elif "repeat" in bar.right:
        joins = after is not None and after.step.join
        ends = bar.right in ENDS and not followed and (step.kept or not joins)
        # What starts at its right edge is the next bar's, as that comes.
        starts = bar.right in STARTS and not _is_written_out(step if after is None or joins else after.step, times)
        shown.right = SIDES[ends, starts]
    elif bar.right == "final" and after is not None and after.step.join:
        shown.right = "double"  # the music goes on


def _is_long(shown: Shown) -> bool:
    """Its label may reach over the next bar."""
    return bool(shown.step.label) and MARKED + label_width(shown.step.label) > TIGHT * shown.width


def _is_written_out(step: Step, times: Mapping[int, int]) -> bool:
    """Whether the bar comes in the order as often as it is played, so that no repeat sign is meant for it."""
    return not step.kept and (step.pass_ > 1 or times[step.bar] > 1)


def _tonights_signs(out: Sequence[Shown], order: Sequence[Step]) -> None:
    """Set the repeat signs that the order asks for, whatever is printed there."""
    for place, shown in enumerate(out):
        before = out[place - 1] if place else None
        goes_on = place + 1 < len(out) and out[place + 1].bar.continued
        if shown.step.starts:
            ended = before is not None and before.right in ("repeat-end", "repeat-both")
            shown.left = (
                "repeat-both" if ended and before is not None and before.right == "repeat-both" else "repeat-start"
            )
            if before is not None:
                before.right = "repeat-both" if ended else "repeat-start"
        if order[shown.last].ends and not goes_on:
            shown.right = "repeat-both" if shown.right in ("repeat-start", "repeat-both") else "repeat-end"
