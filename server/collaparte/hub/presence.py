"""Who is where, and how far: kept in memory only, told to those who lead."""

from collections import OrderedDict

from collaparte.hub.stand import Stand
from collaparte.wire.messages import Faring, Shown
from collaparte.wire.views import PresenceView, StandView

MOST_GONE = 200
"""Stands that are remembered after they left."""


class _Seen:
    """One client, however often it came."""

    def __init__(self) -> None:
        self.stands: set[Stand] = set()
        self.chairs: tuple[str, ...] = ()
        self.roles: tuple[str, ...] = ()
        self.call = 0
        self.revisions: dict[str, int] = {}
        """By tune: the last revision whose laying it has stored."""
        self.faring: Faring | None = None
        self.left = 0.0
        """The loop's time at which its last connection ended."""
        self.received: dict[str, int] = {}
        self.glass: dict[str, int] = {}
        """By tune: the last revision that came, and the one that is seen."""


class Presence:
    """All clients that came since the hub started."""

    def __init__(self) -> None:
        self._seen: OrderedDict[str, _Seen] = OrderedDict()

    def here(self, stand: Stand) -> None:
        """A client joined, or joined again with other chairs."""
        seen = self._seen.setdefault(stand.hello.client, _Seen())
        seen.stands.add(stand)
        seen.chairs, seen.roles = stand.hello.chairs, stand.roles
        self._seen.move_to_end(stand.hello.client)

    def gone(self, stand: Stand, now: float) -> None:
        """A client's connection ended; `now`: the loop's time."""
        if seen := self._seen.get(stand.hello.client):
            seen.stands.discard(stand)
            seen.left = now
        away = [client for client, seen in self._seen.items() if not seen.stands]
        for client in away[: max(0, len(away) - MOST_GONE)]:
            del self._seen[client]

    def shown(self, stand: Stand, shown: Shown) -> None:
        """A client told how far it got. What it shows, it has stored."""
        seen = self._seen[stand.hello.client]
        if shown.stage == "glass":
            seen.call = max(seen.call, shown.call)
            seen.glass[shown.tune] = shown.revision
        seen.received[shown.tune] = max(shown.revision, seen.received.get(shown.tune, 0))
        if shown.stage in ("laid", "glass"):
            seen.revisions[shown.tune] = max(shown.revision, seen.revisions.get(shown.tune, 0))

    def fares(self, stand: Stand, faring: Faring) -> None:
        """A client told how it fares."""
        self._seen[stand.hello.client].faring = faring

    def stands_at(self) -> dict[str, int]:
        """How many stands sit at each chair now."""
        count: dict[str, int] = {}
        for seen in self._seen.values():
            if seen.stands:
                for chair in seen.chairs:
                    count[chair] = count.get(chair, 0) + 1
        return count

    def view(self, tune: str | None, now: float) -> PresenceView:
        """Every stand that sits at a chair, with its revision of the tune that is on; `now`: the loop's time."""
        return PresenceView(
            tuple(_view(client, seen, tune or "", now) for client, seen in self._seen.items() if seen.chairs)
        )


def _view(client: str, seen: _Seen, tune: str, now: float) -> StandView:
    faring = seen.faring
    trips = [stand.round_trip for stand in seen.stands if stand.round_trip is not None]
    return StandView(
        client=client,
        chairs=seen.chairs,
        here=bool(seen.stands),
        call=seen.call,
        revision=seen.revisions.get(tune, 0),
        roles=seen.roles,
        received=seen.received.get(tune, 0),
        glass=seen.glass.get(tune, 0),
        missing=faring.missing if faring else None,
        tunes=faring.tunes if faring else 0,
        battery=faring.battery if faring else None,
        charging=faring.charging if faring else None,
        awake=faring.awake if faring else None,
        upright=faring.upright if faring else None,
        round_trip=max(trips, default=None),
        away=0 if seen.stands else round(now - seen.left),
    )
