"""The room: every stand that joined, what each is shown, and what it may ask."""

import asyncio
import datetime
import hmac
import math
from collections.abc import Callable, Mapping

import msgspec

from collaparte import __version__
from collaparte.band import views
from collaparte.band.roles import LEADER, LIBRARIAN, MD, Who
from collaparte.band.state import Chair, State, Tune
from collaparte.hub.looking_back import looked_back
from collaparte.hub.parts import Parts
from collaparte.hub.patience import Patience
from collaparte.hub.presence import Presence
from collaparte.hub.stand import Stand
from collaparte.hub.tries import Tries
from collaparte.hub.writer import Writer
from collaparte.store.log import LogError
from collaparte.store.settings import Codes, plain_code
from collaparte.wire.codec import encode
from collaparte.wire.events import Called, ChairMoved, ChairRemoved, Event
from collaparte.wire.markings import Marking
from collaparte.wire.messages import (
    CLOSE_UNKNOWN_CHAIR,
    CLOSE_WRONG_CODE,
    CLOSE_WRONG_MESSAGE,
    CLOSE_WRONG_PROTOCOL,
    PROTOCOL,
    Do,
    Done,
    Faring,
    FromHub,
    Hello,
    LookBack,
    Refused,
    Shown,
    Sorry,
    Welcome,
    key_of,
)
from collaparte.wire.views import DeskView, HistoryView, MarkingsView, Slip, StatusView

PAGE_MOST = 2000.0
"""mm that a page may measure either way."""
STAVE_LEAST, STAVE_MOST = 2.0, 40.0
"""mm; common practice is 7, and nobody reads below 4."""
AHEAD_MOST = 8
"""Stave heights that one client may have laid ahead."""
CHAIRS_MOST = 16
"""Chairs that one client may hold."""
MARKINGS_BYTES = 64 * 1024
"""Of markings a message, about."""


class NotLetIn(Exception):
    """A hello that is not accepted: one sentence, and the code to close with."""

    def __init__(self, why: str, code: int) -> None:
        super().__init__(why)
        self.code = code


class Room:
    """All stands of one hub. Nothing here waits for a client."""

    def __init__(self, writer: Writer, parts: Parts, codes: Codes, epoch: str, patience: Patience) -> None:
        self._writer = writer
        self._parts = parts
        self._codes = codes
        self._epoch = epoch
        self._patience = patience
        self._stands: set[Stand] = set()
        self._presence = Presence()
        self._tries = Tries()
        self._moved = asyncio.Event()
        self.desk: Callable[[], DeskView] | None = None
        """What the librarian is shown of the desk."""
        self._tunes: dict[str, tuple[Tune, Mapping[str, Chair], bytes]] = {}
        """Each tune's last view, encoded once for all."""

    @property
    def state(self) -> State:
        """What is decided and durable."""
        return self._writer.state

    @property
    def clients(self) -> tuple[str, ...]:
        """The ids of those who are in the room."""
        return tuple(stand.hello.client for stand in self._stands)

    # Coming and going

    def join(self, stand: Stand, hello: Hello) -> None:
        """Let a client in and show it everything; again when it takes other chairs. Raises `NotLetIn`."""
        by_code = self._check(stand, hello)
        if stand.hello.client not in ("", hello.client):
            self._presence.gone(stand, asyncio.get_running_loop().time())
        stand.hello, stand.by_code = hello, by_code
        stand.roles = views.roles_view(self.state, by_code, hello.chairs).roles
        stand.shown = {chair: shown for chair, shown in stand.shown.items() if chair in hello.chairs}
        self._stands.add(stand)
        self._presence.here(stand)
        self._moved.set()
        self._show_all(stand)
        if wrong := self._unknown_codes(stand, hello):
            stand.send(Sorry(wrong))
        # The last: by this a client takes it that it has been told all, a wrong code as well.
        stand.send(StatusView(self.state.seq))
        self._parts.joined(stand)

    def leave(self, stand: Stand) -> None:
        """A client's connection ended."""
        if stand in self._stands:
            self._stands.discard(stand)
            self._presence.gone(stand, asyncio.get_running_loop().time())
            self._parts.left(stand)
            self._moved.set()

    def _check(self, stand: Stand, hello: Hello) -> frozenset[str]:
        if hello.proto != PROTOCOL:
            newer = "newer" if hello.proto > PROTOCOL else "older"
            raise NotLetIn(f"This stand is {newer} than the hub: load its page again.", CLOSE_WRONG_PROTOCOL)
        now = asyncio.get_running_loop().time()
        if wait := self._tries.wait(stand.address, now):
            raise NotLetIn(f"Too many wrong codes came from this device: wait {wait} s.", CLOSE_WRONG_CODE)
        if not hmac.compare_digest(plain_code(hello.code).encode(), plain_code(self._codes.join).encode()):
            self._tries.wrong(stand.address, now)
            said = f"{hello.code[:20]!r} is not" if hello.code else "An empty code is not"
            raise NotLetIn(f"{said} this band's join code: read it off the hub's screen again.", CLOSE_WRONG_CODE)
        if not hello.client or len(hello.client) > 100:
            raise NotLetIn("A hello needs the client's own id, of 100 characters at most.", CLOSE_WRONG_MESSAGE)
        if len(hello.chairs) > CHAIRS_MOST:
            raise NotLetIn(f"One stand may hold {CHAIRS_MOST} chairs at most.", CLOSE_WRONG_MESSAGE)
        for chair in hello.chairs:
            if chair not in self.state.chairs:
                raise NotLetIn(f"There is no chair {chair[:40]!r} in this band: choose again.", CLOSE_UNKNOWN_CHAIR)
        if not all(math.isfinite(side) and 0 <= side <= PAGE_MOST for side in hello.page):
            raise NotLetIn(f"A page measures {PAGE_MOST:.0f} mm at most either way.", CLOSE_WRONG_MESSAGE)
        if len(hello.ahead) > AHEAD_MOST:
            raise NotLetIn(f"Ask for {AHEAD_MOST} stave heights ahead at most.", CLOSE_WRONG_MESSAGE)
        if not all(STAVE_LEAST <= stave <= STAVE_MOST for stave in (hello.stave, *hello.ahead)):
            raise NotLetIn(f"A stave is {STAVE_LEAST:.0f} to {STAVE_MOST:.0f} mm high.", CLOSE_WRONG_MESSAGE)
        return self._codes.roles(hello.codes)

    def _unknown_codes(self, stand: Stand, hello: Hello) -> str:
        """A sentence when a role's code is wrong. The player stays in: the music goes on without the role."""
        wrong = [code for code in hello.codes if plain_code(code) and not self._codes.roles((code,))]
        for _ in wrong:
            self._tries.wrong(stand.address, asyncio.get_running_loop().time())
        return f"The code {wrong[0][:20]!r} gives no role in this band: ask the leader for it." if wrong else ""

    # Asking and telling

    async def do(self, stand: Stand, ask: Do) -> Done | Refused:
        """Decide a client's command."""
        now = datetime.datetime.now().astimezone()
        at = now.strftime("%Y-%m-%dT%H:%M")
        client, chairs = stand.hello.client, stand.hello.chairs
        who = Who(chairs, ask.chair, stand.by_code, at=at, now=now.timestamp(), device=client)
        return await self._writer.do(client, ask.id, ask.command, who, ask.call)

    async def look_back(self, ask: LookBack) -> HistoryView | Sorry:
        """What a client asks to see of what was decided."""
        try:
            return await looked_back(self._writer, ask)
        except LogError as error:
            return Sorry(str(error))

    def shown(self, stand: Stand, shown: Shown) -> None:
        """A client told how far it got."""
        self._presence.shown(stand, shown)
        if shown.stage == "glass" and shown.chair in stand.hello.chairs:
            stand.shown[shown.chair] = shown
            self._parts.shown(stand, shown.tune, shown.revision)
        self._moved.set()

    def fares(self, stand: Stand, faring: Faring) -> None:
        """A client told how it fares."""
        self._presence.fares(stand, faring)
        self._moved.set()

    def tell(self, before: State, after: State, events: tuple[Event, ...]) -> None:
        """Show everyone what was just decided; the writer calls this after each commit."""
        touched = views.touched(before, after)
        common: list[FromHub] = []
        if touched.position:
            common.append(views.position_view(after))
        if touched.band:
            common.append(views.band_view(after, self._presence.stands_at()))
        if touched.set:
            common.append(views.set_view(after))
        if touched.date:
            common.append(views.date_view(after))
        encoded = [(encode(view), key_of(view)) for view in common]
        encoded += [(self._tune(after, tune), ("tune", tune)) for tune in sorted(touched.tunes)]
        # A message to all, then the next: the last stand has the call before the first has the rest.
        for data, key in encoded:
            for stand in self._stands:
                stand.push(data, key)
        for slip in views.slips(after, events):
            self._slip(slip)
        if touched.markings:
            for stand in self._stands:
                self._show_markings(stand, before, after, events)
        if touched.roles:
            for stand in self._stands:
                self._show_roles(stand, after)
        status = encode(StatusView(after.seq))
        for stand in self._stands:
            stand.push(status, "status")
        if called := [event.tune for event in events if isinstance(event, Called)]:
            self._parts.called(called[-1])
        self._parts.changed(touched.parts)
        if touched.position:
            self._moved.set()

    def _show_roles(self, stand: Stand, state: State) -> None:
        view = views.roles_view(state, stand.by_code, stand.hello.chairs)
        stand.roles = view.roles
        self._presence.here(stand)
        self._moved.set()
        stand.send(view)

    def _slip(self, slip: Slip) -> None:
        """Send a line of words to those whom it concerns; the MD reads along, as do clients without a chair."""
        if slip.at == views.NOW:
            slip = msgspec.structs.replace(slip, at=round(asyncio.get_running_loop().time(), 3))
        data = encode(slip)
        for stand in self._stands:
            chairs = stand.hello.chairs
            if not slip.chairs or not chairs or MD in stand.roles or not set(chairs).isdisjoint(slip.chairs):
                stand.push(data)

    def _show_all(self, stand: Stand) -> None:
        state = self.state
        stand.send(Welcome(PROTOCOL, self._epoch, state.seq, stand.roles, __version__))
        stand.send(views.band_view(state, self._presence.stands_at()))
        stand.send(views.set_view(state))
        stand.send(views.date_view(state))
        stand.send(views.roles_view(state, stand.by_code, stand.hello.chairs))
        for tune in state.tunes:
            stand.push(self._tune(state, tune), ("tune", tune))
        since = stand.hello.seq if stand.hello.epoch == self._epoch and stand.hello.seq <= state.seq else 0
        for view in _in_pieces(views.markings_view(state, stand.hello.chairs, since)):
            stand.send(view)
        stand.send(views.position_view(state))
        if self.desk is not None and LIBRARIAN in stand.roles:
            stand.send(self.desk())

    def _show_markings(self, stand: Stand, before: State, after: State, events: tuple[Event, ...]) -> None:
        moved = any(isinstance(event, ChairMoved | ChairRemoved) for event in events)
        view = views.markings_view(after, stand.hello.chairs, 0 if moved else before.seq)
        if view.made or view.erased or view.whole:
            for piece in _in_pieces(view):
                stand.send(piece)

    def _tune(self, state: State, tune: str) -> bytes:
        """A tune's view, encoded."""
        known = self._tunes.get(tune)
        # Edits are signed with chairs' names, so a view hangs on these as well.
        if known is None or known[0] is not state.tunes[tune] or known[1] is not state.chairs:
            known = (state.tunes[tune], state.chairs, encode(views.tune_view(state, state.tunes[tune])))
            self._tunes[tune] = known
        return known[2]

    def show_desk(self) -> None:
        """What came in, or is being mended, is another: tell the librarians."""
        if self.desk is not None:
            view = encode(self.desk())
            for stand in self._stands:
                if LIBRARIAN in stand.roles:
                    stand.push(view, "desk")

    # Presence

    async def watch(self) -> None:
        """Tell those who lead who is where, and those at the Door which chairs are taken, at most so often."""
        told = b""
        while True:
            await self._moved.wait()
            self._moved.clear()
            presence = encode(self._presence.view(self.state.position.tune, asyncio.get_running_loop().time()))
            band = encode(views.band_view(self.state, self._presence.stands_at()))
            for stand in self._stands:
                leads = LEADER in stand.roles or MD in stand.roles
                if leads:
                    stand.push(presence, "presence")
                if band != told and (leads or not stand.hello.chairs):
                    stand.push(band, "band")
            told = band
            await asyncio.sleep(self._patience.presence_every)


def _in_pieces(view: MarkingsView) -> list[MarkingsView]:
    """The view as messages of a bounded size; only the first may say that it is the whole, and what is erased."""
    pieces: list[MarkingsView] = []
    made: list[Marking] = []
    size = 0
    for marking in view.made:
        bytes_ = len(msgspec.json.encode(marking))
        if made and size + bytes_ > MARKINGS_BYTES:
            pieces.append(MarkingsView(view.seq, tuple(made)))
            made, size = [], 0
        made.append(marking)
        size += bytes_
    pieces.append(MarkingsView(view.seq, tuple(made)))
    pieces[0] = msgspec.structs.replace(pieces[0], erased=view.erased, whole=view.whole)
    return pieces
