"""Cut one system: its line head, then bar by bar, with changes of key on the way."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from msgspec.structs import replace

from collaparte.paper.cutting.barcut import BarCutter
from collaparte.paper.cutting.clefs import NewClef, alike, first_sharp, key_signs, new_clefs
from collaparte.paper.cutting.edges import Edges, Heads, Where, beams_over, spare
from collaparte.paper.cutting.headcut import SIGN, FoundHead, HeadFinder, sign_name
from collaparte.paper.cutting.items import Item, Role, union
from collaparte.paper.cutting.splitting import split
from collaparte.paper.cutting.stock import Stock
from collaparte.paper.cutting.table import BarCut, Head, Meter, SystemCut, Within
from collaparte.paper.reading import SURE, Barline, BarlineKind, Change, System

SMALL_LEAD = 0.8
"""The white before a clef that stands at a line's head as small as in mid-line, in spaces."""


@dataclass(slots=True)
class SystemCutter:
    """Cuts the systems of one part in order."""

    stock: Stock
    bar_cutter: BarCutter
    finder: HeadFinder
    heads: list[Head] = field(default_factory=list)
    _known: dict[tuple[object, ...], int] = field(default_factory=dict)
    """Heads by what they look like, so that one piece serves all lines that begin alike."""
    bars: list[BarCut] = field(default_factory=list)
    systems: list[SystemCut] = field(default_factory=list)
    meters: list[Meter] = field(default_factory=list)
    _meter: int = -1
    """The meter that holds where the cutter has come to."""

    def cut(self, page: int, place: int, system: System, items: list[Item]) -> None:
        """Cut the system that is `place` on its page; `items` are its objects."""
        middles = [(v.top + v.bottom) / 2 for v in system.staves]
        items = beams_over(items, system)
        where = Where(page, len(self.systems), system, items, middles)
        self.systems.append(SystemCut(tuple(round((m - middles[0]) / system.space, 3) for m in middles)))
        found = self.finder.heads[(page, place)]
        head = self._head(where, found, place)
        if system.confidence < SURE:
            if any(found.meter):
                self._meter = self._named_meter(where, found.meter)
            self._unsure(where, head)
            return
        taken = _ids((*found.clef, *found.key))
        clefs = new_clefs(self.bar_cutter.reading, self.finder, page, place, items)
        for n, edges in enumerate(_edges(system, found)):
            mine = [i for i in items if _in_bar(i, n, system) and i.role is not Role.DROPPED and id(i) not in taken]
            if edges.last:  # courtesies after the last barline are drawn with the next line's head
                right = edges.x1 + 0.6 * system.space
                mine = [i for i in mine if i.box[0] < right or i.role in (Role.WORDS, Role.THROUGH)]
            heads = Heads(head, head)
            inside: list[list[Item]] = []
            if edges.first and any(found.meter):
                mine = _without(mine, found.meter)
                if edges.left is None:  # before a barline that opens the line it is the line's, not the bar's
                    heads.meter, heads.meter_width = self._in_bar(where, found.meter, edges.x0)
                self._meter = self._named_meter(where, found.meter)
            elif inside := self._meter_inside(where, place, mine, edges):
                heads.meter, heads.meter_width = self._in_bar(where, inside, edges.x0)
                self._meter = self._named_meter(where, inside)
            heads.meter_here = self._meter
            change = self.finder.change(page, place, n, mine, edges.x0)
            if change:
                mine = _without(mine, change)
                heads.change, heads.change_width = self._in_bar(where, change, edges.x0)
            mine = _without(mine, inside)
            if change:
                again = any(self.finder.keys_at(page, bar.number) for bar in system.bars[n + 1 :])
                again |= any(clef.bar >= n for clef in clefs)
                following = None if again or self._changes_after(where, place) else self._next_head(where, place)
                heads.here = self._with_key(where, head, change, n) if following is None else following
            following, whole = heads.here, mine
            here = [clef for clef in clefs if clef.bar == n]
            for clef in here:
                following = self._with_clef(where, place, following, clef)
                heads.after = heads.after if clef.closes else following
            if edges.first and edges.left is None and not heads.change and not heads.meter:
                edges.spare = spare(edges, system.bars[n], mine, items, system.space)
                edges.x0 += edges.spare
            closing = [clef.ink for clef in here if clef.closes]
            if closing:
                mine = _without(mine, closing)
                self._courtesy(where, [i for ink in closing for i in ink], edges, heads)
            cut = self.bar_cutter.cut(where, system.bars[n], mine, edges, heads)
            heads.courtesy = ()
            self.bars.append(replace(cut, parts=split(self.bar_cutter, where, system.bars[n], whole, edges, heads)))
            head = following

    def _in_bar(self, where: Where, staves: Sequence[Sequence[Item]], x: float) -> tuple[tuple[int, ...], float]:
        """The pieces of a meter or a change in a bar that begins at x, and how far they reach in it (spaces)."""
        right = max(i.box[2] for stave in staves for i in stave)
        return self.stock.a_stave(staves, where.page, x, where.middles, where.space), (right - x) / where.space

    def _meter_inside(self, where: Where, place: int, mine: list[Item], edges: Edges) -> list[list[Item]]:
        """The meter that changes in mid-line at the start of a bar; `mine` is the bar's ink."""
        sp = where.space
        near = [c for c in self._meters_printed(where) if edges.x0 - sp < c.box[0] < edges.x0 + 8 * sp]
        if not near:
            return []
        return self.finder.meter_in(where.page, place, mine, near[0].box[0] - 0.3 * sp, near[0].box[2] + 0.3 * sp)

    def _named_meter(self, where: Where, staves: Sequence[Sequence[Item]]) -> int:
        """The place in `meters` of a meter as printed; the reading's name for it, else that of the one that holds."""
        sp = where.space
        left = min(i.box[0] for stave in staves for i in stave)
        right = max(i.box[2] for stave in staves for i in stave)
        named = [c.meter for c in self._meters_printed(where) if c.box[0] - sp < left and right < c.box[2] + sp]
        if not named and self._meter >= 0:
            return self._meter
        name = named[0] if named else f"of system {where.number}"
        for n, meter in enumerate(self.meters):
            if meter.name == name:
                return n
        pieces = self.stock.a_stave(staves, where.page, left, where.middles, sp)
        self.meters.append(Meter(pieces, round((right - left) / sp, 3), name))
        return len(self.meters) - 1

    def _meters_printed(self, where: Where) -> list[Change]:
        """Changes of meter that the reading found in this system, the first among them."""
        top, bottom = where.system.staves[0].top, where.system.staves[-1].bottom
        return [
            c for c in self.bar_cutter.reading.changes
            if c.meter and c.page == where.page and top - 1 < c.box[3] and c.box[1] < bottom + 1
        ]  # fmt: skip

    def _head(self, where: Where, found: FoundHead, place: int) -> int:
        """A head as found, clef and key apart; a key's origin is the right edge of the clef."""
        sp, page = where.space, where.page
        left = min(v.x0 for v in where.system.staves)
        clef_right = max((i.box[2] for stave in found.clef for i in stave), default=left)
        key_right = max((i.box[2] for stave in found.key for i in stave), default=clef_right)
        clef_width, key_width = round((clef_right - left) / sp, 3), round((key_right - clef_right) / sp, 3)
        look = (found.clef_name, found.key_name, round(clef_width, 1), round(key_width, 1))
        if look in self._known:
            return self._known[look]
        read = (self.finder.clef_read((page, place), k) for k in range(len(found.clef)))
        made = Head(
            clef=self.stock.a_stave(found.clef, page, left, where.middles, sp),
            key=self.stock.a_stave(found.key, page, clef_right, where.middles, sp),
            clef_width=clef_width,
            key_width=key_width,
            key_name=found.key_name,
            clef_name=found.clef_name,
            sharps=tuple([first_sharp(name, found.clef[k], where.system, k) for k, name in enumerate(read)]),
        )
        return self._kept(made)

    def _kept(self, made: Head) -> int:
        """A head's number, of one that looks alike if there is one."""
        look = (made.clef_name, made.key_name, round(made.clef_width, 1), round(made.key_width, 1))
        if look not in self._known:
            self._known[look] = self._add(made)
        return self._known[look]

    def _changes_after(self, where: Where, place: int) -> bool:
        """The key changes between this system and the next one."""
        following = self.finder.next_head.get((where.page, place))
        bars = self.finder.systems[following].bars if following else ()
        return bool(following and bars and self.finder.keys_at(following[0], bars[0].number))

    def _next_head(self, where: Where, place: int) -> int | None:
        """The next system's head, which holds from a system's last change on; None where there is none."""
        following = self.finder.next_head.get((where.page, place))
        return None if following is None else self._head_of(following)

    def _head_of(self, line: tuple[int, int]) -> int:
        """The head of another system, by page and place."""
        system = self.finder.systems[line]
        middles = [(v.top + v.bottom) / 2 for v in system.staves]
        return self._head(Where(line[0], -1, system, [], middles), self.finder.heads[line], line[1])

    def _with_key(self, where: Where, head: int, change: Sequence[Sequence[Item]], place: int) -> int:
        """The head's clef with the key printed in mid-line at the bar of this place, without the naturals before it."""
        before, sp = self.heads[head], where.space
        for key in self.finder.keys_at(where.page, where.system.bars[place].number):
            signs = sorted(change[key.stave], key=lambda i: i.box[0])
            own = [i for i in signs if i.style[:1] == SIGN != i.style] or signs[
                max(0, len(signs) - abs(key.fifths or 0)) :
            ]
            change = [*change[: key.stave], own, *change[key.stave + 1 :]]
        pieces = [i for stave in change for i in stave]
        left = min((i.box[0] for i in pieces), default=0.0) - 0.8 * sp
        right = max((i.box[2] for i in pieces), default=left)
        keys = self.stock.a_stave(change, where.page, left, where.middles, sp)
        name = "|".join(sign_name(stave, y, sp) for stave, y in zip(change, where.middles, strict=True))
        return self._add(replace(before, key=keys, key_width=round((right - left) / sp, 3), key_name=name))

    def _courtesy(self, where: Where, ink: Sequence[Item], edges: Edges, heads: Heads) -> None:
        """A clef at the bar's end that is the next bar's, apart."""
        staves = [[i for i in ink if i.stave == k] for k in range(len(where.middles))]
        heads.courtesy = self.stock.a_stave(staves, where.page, edges.x0, where.middles, where.space)
        x0, _, x1, _ = union(i.box for i in ink)
        heads.courtesy_at = (x0 - edges.x0) / where.space, (x1 - edges.x0) / where.space

    def _with_clef(self, where: Where, place: int, head: int, new: NewClef) -> int:
        """The head with this clef on its stave: as a line's head has it, else small as it is printed."""
        before, sp, k = self.heads[head], where.space, new.stave
        clefs, keys = list(before.clef), list(before.key)
        clef_names, key_names = before.clef_name.split("|"), before.key_name.split("|")
        sharps = [*before.sharps, *[None] * (len(clefs) - len(before.sharps))]
        sharps[k] = first_sharp(new.name, new.ink, where.system, k)
        found = alike(self.finder, where.page, place, new, key_signs(before.key_name, k))
        if found is None:
            x0, _, x1, _ = union(i.box for i in new.ink)
            width = (x1 - x0) / sp + SMALL_LEAD
            clefs[k] = self.stock.whole(new.ink, where.page, x0 - SMALL_LEAD * sp, where.middles[k], sp)
            clef_names[k] = f"small {sign_name(new.ink, where.middles[k], sp)}"
        else:
            other = self.heads[self._head_of(found)]
            clefs[k], clef_names[k], width = other.clef[k], other.clef_name.split("|")[k], other.clef_width
        if found is not None and key_signs(other.key_name, k) == key_signs(before.key_name, k):
            keys[k], key_names[k] = other.key[k], other.key_name.split("|")[k]
        elif keys[k] >= 0 and new.lower:
            keys[k] = self.stock.moved(keys[k], new.lower)
        width = width if len(clefs) == 1 else max(width, before.clef_width)
        made = Head(
            tuple(clefs), tuple(keys), round(width, 3), before.key_width, "|".join(key_names), "|".join(clef_names),
            tuple(sharps),
        )  # fmt: skip
        return self._kept(made)

    def _add(self, head: Head) -> int:
        self.heads.append(head)
        return len(self.heads) - 1

    def _unsure(self, where: Where, head: int) -> None:
        """The whole system as one piece, staff lines and barlines and all."""
        system, bars = where.system, where.system.bars
        if not bars:
            return
        left = system.bbox[0]
        first, last = bars[0], bars[-1]
        self.bars.append(
            BarCut(
                index=first.index,
                number=first.number,
                count=last.index + max(1, last.count) - first.index,
                system=where.number,
                width=round((system.bbox[2] - left) / where.space, 3),
                columns=(),
                main=(-1,) * len(system.staves),
                words=(),
                brackets=(),
                open=(),
                head=head,
                head_here=head,
                meter_here=self._meter,
                starts_in_rest=first.starts_in_rest,
                ends_in_rest=last.ends_in_rest,
                silence=(first.silence[0], last.silence[1]),
                mark=any(m.bar == first.number for m in self.bar_cutter.reading.marks),
                whole=self.stock.whole(where.items, where.page, left, where.middles[0], where.space),
                within=self._within(where, left),
            )
        )

    def _within(self, where: Where, left: float) -> tuple[Within, ...]:
        """The bars of a scanned system, which are sure or looked at where a scan is laid; of others none is."""
        if not self.bar_cutter.reading.pages[where.page].scanned:
            return ()
        return tuple(
            Within(
                bar.index, bar.count, round((bar.x0 - left) / where.space, 3), round((bar.x1 - left) / where.space, 3)
            )
            for bar in where.system.bars
            if not bar.continued
        )


def _ids(staves: Sequence[Sequence[Item]]) -> set[int]:
    return {id(i) for stave in staves for i in stave}


def _without(items: Sequence[Item], staves: Sequence[Sequence[Item]]) -> list[Item]:
    gone = _ids(staves)
    return [i for i in items if id(i) not in gone]


def _in_bar(item: Item, place: int, system: System) -> bool:
    """An object of the bar; what stands before the first bar, but not left of the staves, counts to it."""
    return item.bar == place or (place == 0 and item.bar < 0 and item.box[2] > system.staves[0].x0)


def _edges(system: System, found: FoundHead) -> list[Edges]:
    """Each bar's edges; a first bar begins at the meter, and at a barline only when one stands after the head."""
    sp = system.space
    lines = _as_one(sorted(system.barlines, key=lambda b: b.x), system)
    out: list[Edges] = []
    for place, bar in enumerate(system.bars):
        middle = (bar.x0 + bar.x1) / 2
        before = [b for b in lines if bar.x0 - 2.5 * sp < b.x < min(bar.x0 + 1.6 * sp, middle)]
        after = [b for b in lines if max(bar.x1 - 1.6 * sp, middle) < b.x < bar.x1 + 2.5 * sp]
        left = before[-1] if before and (place or _opens(before[-1], system)) else None
        right = after[0] if after else None
        x0 = left.x1 if left else bar.x0
        if place == 0 and left is None and found.meter_x is not None:
            x0 = min(x0, found.meter_x - 0.5 * sp)
        if place == 0 and left is None and found.notes_x is not None:
            x0 = min(x0, found.notes_x - 0.5 * sp)
        out.append(Edges(x0, right.x0 if right else bar.x1, left, right, place == 0, place == len(system.bars) - 1))
    return out


def _as_one(lines: Sequence[Barline], system: System) -> list[Barline]:
    """Two barlines with no bar between them as one at the first's place, so that signs there begin the next bar."""
    middles = [(bar.x0 + bar.x1) / 2 for bar in system.bars]
    out: list[Barline] = []
    for line in lines:
        last = out[-1] if out else None
        if last is None or last.x < middles[0] or any(last.x < m < line.x for m in middles):
            out.append(line)
        elif "repeat" in line.kind.value:
            ended = last.kind in (BarlineKind.REPEAT_END, BarlineKind.REPEAT_BOTH)
            out[-1] = replace(last, kind=BarlineKind.REPEAT_BOTH if ended else line.kind)
    return out


def _opens(line: Barline, system: System) -> bool:
    """A barline that opens a line's first bar, not the one at the left of all staves."""
    return line.line_start or "repeat" in line.kind.value or line.x > system.head_x1 - system.space
