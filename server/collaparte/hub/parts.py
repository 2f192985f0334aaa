"""What each stand has of each tune: layings planned, made ready by urgency, and told when they are there."""

import asyncio
from collections import defaultdict
from collections.abc import Awaitable, Callable, Coroutine, Iterable

import msgspec

from collaparte.band.parts import kept_pickups, part_order
from collaparte.band.state import Part, State, Tune
from collaparte.hub.layings import AHEAD, Layings, Wanted, order_digest
from collaparte.hub.stand import Stand
from collaparte.hub.tails import NO_BAR, first_step_after, laying_steps
from collaparte.hub.workers import Pool
from collaparte.music.played import Played
from collaparte.paper.pages.laying import Step
from collaparte.wire.views import PartView

NOW, SOON, NEXT, LATER = 0, 1, 2, 3
"""Urgency: what the tune that is on is played from, the same from the top, the next tune, the set in order."""

Slot = tuple[str, str, str, bool, float]
"""Tune, chair, part, whether it is a tail, and the stave height: a stand may have the tail behind the visible page
until the next call, the whole for that call, and the whole at the heights that the player may change to."""


class _Order(msgspec.Struct, frozen=True):
    """The order of parts that have the same bars, in the form that they are laid in."""

    revision: int
    steps: tuple[Step, ...]
    digest: str
    told: tuple[str, ...]


class Parts:
    """All stands' parts. `started` ends when the pool's workers have started; `state` gives the band's state now."""

    def __init__(
        self,
        pool: Pool,
        started: asyncio.Task[None],
        state: Callable[[], State],
        fetch: Callable[[str], Awaitable[bytes]],
        keep: Callable[[bytes], Awaitable[str]],
    ) -> None:
        self._state = state
        self._layings = Layings(pool, started, fetch, keep, self._needed, self._made)
        self._slots: dict[Stand, dict[Slot, tuple[Wanted, PartView]]] = {}
        """What each stand should have."""
        self._sent: dict[Stand, dict[Slot, PartView]] = {}
        self._waiting: defaultdict[Wanted, set[tuple[Stand, Slot]]] = defaultdict(set)
        self._orders: dict[tuple[object, ...], _Order] = {}
        self._played: dict[tuple[str, int], Played] = {}
        """Every order since the hub started, by tune and revision: a stand may still show an old one."""
        self._remember(state().tunes)
        self._planning: dict[Stand, asyncio.Task[None]] = {}
        self._tasks: set[asyncio.Task[None]] = set()

    def joined(self, stand: Stand) -> None:
        """Make everything ready for a stand: the tune that is on first, then the next, then the set in order."""
        self.left(stand)
        if stand.hello.chairs and min(stand.hello.page) > 0:
            self._slots[stand], self._sent[stand] = {}, {}
            self._planning[stand] = self._start(self._plan_all(stand))

    def left(self, stand: Stand) -> None:
        """Forget a stand."""
        if planning := self._planning.pop(stand, None):
            planning.cancel()
        for slot, (wanted, _) in self._slots.pop(stand, {}).items():
            self._stop_waiting(stand, slot, wanted)
        self._sent.pop(stand, None)

    def changed(self, tunes: Iterable[str]) -> None:
        """Lay these tunes anew for every stand; a page that is in front of a player stays."""
        tunes = tuple(tunes)
        self._remember(tunes)
        self._start(self._plan_for_all(tunes))

    def called(self, tune: str) -> None:
        """A tune was called: its tails have served, and what is still to be laid of it from the top comes first."""
        for stand, slots in self._slots.items():
            for slot in [slot for slot in slots if slot[0] == tune and slot[3]]:
                self._drop(stand, slot)
            stand.shown = {chair: shown for chair, shown in stand.shown.items() if shown.tune != tune}
        self.changed([tune])

    def shown(self, stand: Stand, tune: str, revision: int) -> None:
        """A stand shows another page of an order that has changed since: what follows it has moved on, too."""
        now = self._state().tunes.get(tune)
        if stand in self._slots and now is not None and revision < now.revision:
            self._plan(stand, tune)

    async def stop(self) -> None:
        """Stop planning and laying."""
        for stand in list(self._slots):
            self.left(stand)
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)
        await self._layings.stop()

    def _remember(self, tunes: Iterable[str]) -> None:
        for id in tunes:
            if tune := self._state().tunes.get(id):
                self._played[id, tune.revision] = tune.played

    def _start(self, work: Coroutine[None, None, None]) -> asyncio.Task[None]:
        task = asyncio.create_task(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)
        return task

    async def _plan_for_all(self, tunes: tuple[str, ...]) -> None:
        # After the answer to whoever asked, and a stand at a time: nothing else waits for a full room.
        for tune in tunes:
            for stand in list(self._slots):
                await asyncio.sleep(0)
                if stand in self._slots:
                    self._plan(stand, tune)

    async def _plan_all(self, stand: Stand) -> None:
        for tune in self._by_urgency():
            self._plan(stand, tune)
            # Other messages go between: a set of forty tunes takes a moment.
            await asyncio.sleep(0)

    def _by_urgency(self) -> list[str]:
        state = self._state()
        here = state.position
        first = [tune for tune in (here.tune, here.next) if tune is not None]
        return [tune for tune in dict.fromkeys((*first, *state.set_order, *state.tunes)) if tune in state.tunes]

    def _urgency(self, tune: str, *, soon: bool, ahead: bool) -> int:
        state = self._state()
        if ahead:
            return AHEAD + self._urgency(tune, soon=False, ahead=False)
        if tune == state.position.tune:
            return SOON if soon else NOW
        if tune == state.position.next:
            return NEXT
        return LATER + (state.set_order.index(tune) if tune in state.set_order else len(state.set_order))

    def _plan(self, stand: Stand, tune_id: str) -> None:
        tune = self._state().tunes.get(tune_id)
        if tune is None:
            return
        for chair in stand.hello.chairs:
            parts = tune.seated(chair)
            self._clear(stand, tune, chair, parts)
            first = self._first(stand, tune, chair)
            for part in parts:
                if first:
                    self._want_tail(stand, tune, chair, part, first)
                self._want(stand, tune, chair, part, 0, soon=first > 0)
                for stave in stand.hello.ahead:
                    self._want(stand, tune, chair, part, 0, ahead=stave)

    def _clear(self, stand: Stand, tune: Tune, chair: str, parts: tuple[Part, ...]) -> None:
        """Take away what the chair does not play any more, and show the tacet card if it plays nothing."""
        keep = {part.id for part in parts}
        gone = [slot for slot in self._slots[stand] if slot[:2] == (tune.id, chair) and slot[2] not in keep]
        for slot in gone:
            self._drop(stand, slot)
        if gone or not parts:
            self._sent[stand] = {slot: view for slot, view in self._sent[stand].items() if slot[:2] != (tune.id, chair)}
            self._tell(stand, (tune.id, chair, "", False, 0.0), PartView(tune.id, chair, tune.revision, tune.title, ""))

    def _drop(self, stand: Stand, slot: Slot) -> None:
        wanted, _ = self._slots[stand].pop(slot)
        self._stop_waiting(stand, slot, wanted)
        self._sent[stand].pop(slot, None)

    def _want_tail(self, stand: Stand, tune: Tune, chair: str, part: Part, first: int) -> None:
        # Where nothing is left to play behind the page, there is nothing to lay either.
        if any(step.bar != NO_BAR for step in self._order(tune, part).steps[first:]):
            self._want(stand, tune, chair, part, first)
        elif (slot := (tune.id, chair, part.id, True, stand.hello.stave)) in self._slots[stand]:
            self._drop(stand, slot)

    def _want(
        self, stand: Stand, tune: Tune, chair: str, part: Part, first: int, *, soon: bool = False, ahead: float = 0.0
    ) -> None:
        order = self._order(tune, part)
        version, hello = part.current, stand.hello
        if ahead and (ahead == hello.stave or not order.steps):
            return  # what is shown as printed has no stave height
        stave = ahead or hello.stave
        view = PartView(
            tune=tune.id,
            chair=chair,
            revision=tune.revision,
            title=tune.title,
            part=part.name,
            pieces=version.pieces,
            version=version.version,
            first_step=first,
            as_printed=not order.steps,
            told=order.told,
            stave=stave,
        )
        wanted = Wanted(version.table, order.digest, hello.page, stave, first)
        slot = (tune.id, chair, part.id, first > 0, stave)
        if old := self._slots[stand].get(slot):
            self._stop_waiting(stand, slot, old[0])
        self._slots[stand][slot] = (wanted, view)
        if not version.table:
            self._tell(stand, slot, view)
        elif self._layings.made(wanted) is not None:
            self._show(stand, slot)
        else:
            self._waiting[wanted].add((stand, slot))
            urgency = self._urgency(tune.id, soon=soon, ahead=ahead > 0)
            self._layings.ask(wanted, order.steps, f"{tune.title}, {part.name}", urgency)

    def _first(self, stand: Stand, tune: Tune, chair: str) -> int:
        """Where a laying has to start so that the page on this stand's glass stays as it is."""
        shown = stand.shown.get(chair)
        if shown is None or shown.tune != tune.id or shown.revision == tune.revision:
            return 0
        played = self._played.get((tune.id, shown.revision))
        return first_step_after(played, shown.next_step, tune.played) if played is not None else 0

    def _order(self, tune: Tune, part: Part) -> _Order:
        version = part.current
        keeping = kept_pickups(tune, part)
        # What still holds behind a cut is set at the join, and is the part's own.
        said = version.asides.instructions if version.asides and tune.played.cut else ()
        alike = tune.id, version.bars, version.as_printed, keeping, said
        known = self._orders.get(alike)
        if known is None or known.revision != tune.revision:
            order = part_order(tune, version, keeping)
            steps = laying_steps(order, len(tune.played.laid()))
            known = self._orders[alike] = _Order(tune.revision, steps, order_digest(steps), order.told)
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
