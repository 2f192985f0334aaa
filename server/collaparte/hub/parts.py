"""What each stand has of each tune: layings planned, made ready by urgency, and told when they are there."""

import asyncio
from collections import defaultdict
from collections.abc import Awaitable, Callable, Iterable

import msgspec

from collaparte.band.parts import part_order
from collaparte.band.state import Part, State, Tune
from collaparte.hub.layings import Layings, Wanted, order_digest
from collaparte.hub.stand import Stand
from collaparte.hub.tails import first_step_after, laying_steps
from collaparte.hub.workers import Pool
from collaparte.music.played import Played
from collaparte.paper.laying import Step
from collaparte.wire.views import PartView

NOW, TAIL, NEXT, LATER = 0, 1, 2, 3
"""Urgency: the called tune from the top, the pages ahead of the tune that is on, the next tune, the set in order."""

Slot = tuple[str, str, str]
"""Tune, chair and part."""


class _Order(msgspec.Struct, frozen=True):
    """A part's order in the form that it is laid in."""

    revision: int
    version: str
    steps: tuple[Step, ...]
    digest: str
    told: tuple[str, ...]


class Parts:
    """All stands' parts. `state` gives the band's state now."""

    def __init__(
        self,
        pool: Pool,
        state: Callable[[], State],
        fetch: Callable[[str], Awaitable[bytes]],
        keep: Callable[[bytes], Awaitable[str]],
    ) -> None:
        self._state = state
        self._layings = Layings(pool, fetch, keep, self._needed, self._made)
        self._slots: dict[Stand, dict[Slot, tuple[Wanted, PartView]]] = {}
        """What each stand should have."""
        self._sent: dict[Stand, dict[Slot, PartView]] = {}
        self._waiting: defaultdict[Wanted, set[tuple[Stand, Slot]]] = defaultdict(set)
        self._orders: dict[tuple[str, str], _Order] = {}
        self._played: dict[tuple[str, int], Played] = {}
        """Every order since the hub started, by tune and revision: a stand may still show an old one."""
        self._planning: dict[Stand, asyncio.Task[None]] = {}

    def joined(self, stand: Stand) -> None:
        """Make everything ready for a stand: the tune that is on first, then the next, then the set in order."""
        self.left(stand)
        if stand.hello.chairs and min(stand.hello.page) > 0:
            self._slots[stand], self._sent[stand] = {}, {}
            self._planning[stand] = asyncio.create_task(self._plan_all(stand))

    def left(self, stand: Stand) -> None:
        """Forget a stand."""
        if planning := self._planning.pop(stand, None):
            planning.cancel()
        for slot, (wanted, _) in self._slots.pop(stand, {}).items():
            self._stop_waiting(stand, slot, wanted)
        self._sent.pop(stand, None)

    def changed(self, tunes: Iterable[str]) -> None:
        """Lay these tunes anew for every stand; a page that is in front of a player stays."""
        for tune in tunes:
            for stand in self._slots:
                self._plan(stand, tune, from_top=False)

    def called(self, tune: str) -> None:
        """A tune was called: whoever has only a tail of it gets it from the top."""
        for stand, slots in self._slots.items():
            tails = any(slot[0] == tune and wanted.first > 0 for slot, (wanted, _) in slots.items())
            if tails or not any(slot[0] == tune for slot in slots):
                self._plan(stand, tune, from_top=True)

    def shown(self, stand: Stand, tune: str, revision: int) -> None:
        """A stand shows another page of an order that has changed since: what follows it has moved on, too."""
        now = self._state().tunes.get(tune)
        if stand in self._slots and now is not None and revision < now.revision:
            self._plan(stand, tune, from_top=False)

    async def stop(self) -> None:
        """Stop planning and laying."""
        for stand in list(self._slots):
            self.left(stand)
        await self._layings.stop()

    async def _plan_all(self, stand: Stand) -> None:
        for tune in self._by_urgency():
            self._plan(stand, tune, from_top=False)
            # Other messages go between: a set of forty tunes takes a moment.
            await asyncio.sleep(0)

    def _by_urgency(self) -> list[str]:
        state = self._state()
        here = state.position
        first = [tune for tune in (here.tune, here.next) if tune is not None]
        return [tune for tune in dict.fromkeys((*first, *state.set_order, *state.tunes)) if tune in state.tunes]

    def _urgency(self, tune: str, first: int) -> int:
        state = self._state()
        if tune == state.position.tune:
            return TAIL if first else NOW
        if tune == state.position.next:
            return NEXT
        return LATER + (state.set_order.index(tune) if tune in state.set_order else len(state.set_order))

    def _plan(self, stand: Stand, tune_id: str, *, from_top: bool) -> None:
        tune = self._state().tunes.get(tune_id)
        if tune is None:
            return
        self._played[tune.id, tune.revision] = tune.played
        for chair in stand.hello.chairs:
            parts = tune.seated(chair)
            self._clear(stand, tune, chair, parts)
            for part in parts:
                self._want(stand, tune, chair, part, 0 if from_top else self._first(stand, tune, chair))

    def _clear(self, stand: Stand, tune: Tune, chair: str, parts: tuple[Part, ...]) -> None:
        """Take away what the chair does not play any more, and show the tacet card if it plays nothing."""
        slots = self._slots[stand]
        keep = {part.id for part in parts}
        gone = [slot for slot in slots if slot[:2] == (tune.id, chair) and slot[2] not in keep]
        for slot in gone:
            self._stop_waiting(stand, slot, slots.pop(slot)[0])
            self._sent[stand].pop(slot, None)
        if gone or not parts:
            self._tell(stand, (tune.id, chair, ""), PartView(tune.id, chair, tune.revision, tune.title, ""))
            for part in parts:
                self._sent[stand].pop((tune.id, chair, part.id), None)
        if parts:
            self._sent[stand].pop((tune.id, chair, ""), None)

    def _want(self, stand: Stand, tune: Tune, chair: str, part: Part, first: int) -> None:
        order = self._order(tune, part)
        version = part.current
        view = PartView(
            tune=tune.id,
            chair=chair,
            revision=tune.revision,
            title=tune.title,
            part=part.name,
            pieces=version.pieces,
            first_step=first if order.steps else 0,
            as_printed=not order.steps,
            told=order.told,
        )
        hello = stand.hello
        wanted = Wanted(version.table, order.digest, hello.page, hello.stave, view.first_step)
        slot = (tune.id, chair, part.id)
        if old := self._slots[stand].get(slot):
            self._stop_waiting(stand, slot, old[0])
        self._slots[stand][slot] = (wanted, view)
        if not version.table:
            self._tell(stand, slot, view)
        elif self._layings.made(wanted) is not None:
            self._show(stand, slot)
        else:
            self._waiting[wanted].add((stand, slot))
            name = f"{tune.title}, {part.name}"
            self._layings.ask(wanted, order.steps, name, self._urgency(tune.id, view.first_step))

    def _first(self, stand: Stand, tune: Tune, chair: str) -> int:
        """Where a laying has to start so that the page on this stand's glass stays as it is."""
        shown = stand.shown.get(chair)
        if shown is None or shown.tune != tune.id:
            return 0
        played = self._played.get((tune.id, shown.revision))
        return first_step_after(played, shown.next_step, tune.played) if played is not None else 0

    def _order(self, tune: Tune, part: Part) -> _Order:
        known = self._orders.get((tune.id, part.id))
        version = part.current
        if known is None or known.revision != tune.revision or known.version != version.version:
            order = part_order(tune, version)
            steps = laying_steps(order, len(tune.played.positions()))
            known = _Order(tune.revision, version.version, steps, order_digest(steps), order.told)
            self._orders[tune.id, part.id] = known
        return known

    def _needed(self, wanted: Wanted) -> bool:
        return wanted in self._waiting

    def _made(self, wanted: Wanted) -> None:
        for stand, slot in self._waiting.pop(wanted, ()):
            self._show(stand, slot)

    def _show(self, stand: Stand, slot: Slot) -> None:
        wanted, view = self._slots[stand][slot]
        made = self._layings.made(wanted)
        assert made is not None
        told = (*view.told, made.failed) if made.failed else view.told
        self._tell(stand, slot, msgspec.structs.replace(view, laying=made.laying, told=told))

    def _tell(self, stand: Stand, slot: Slot, view: PartView) -> None:
        if self._sent[stand].get(slot) != view:
            self._sent[stand][slot] = view
            stand.send(view)

    def _stop_waiting(self, stand: Stand, slot: Slot, wanted: Wanted) -> None:
        if waiting := self._waiting.get(wanted):
            waiting.discard((stand, slot))
            if not waiting:
                del self._waiting[wanted]
