"""Edits: what the musical director decides about the order of the bars. Data, never a change to the chart."""

from typing import Literal

import msgspec

from collaparte.wire.chart import BarId


class _Stretch(msgspec.Struct, frozen=True):
    """A stretch from the first bar up to, not including, `until` (None: to the end of the tune)."""

    first: BarId
    until: BarId | None
    passes: tuple[int, ...] = ()
    """Only these times through its first bar; empty: every time."""


class Cut(_Stretch, frozen=True, tag="cut"):
    """Leave a stretch out."""


class PlayTimes(_Stretch, frozen=True, kw_only=True, tag="times"):
    """Play a stretch so many times in all, whatever its own repeat says; 1: once only, by its last ending."""

    times: int


class Open(_Stretch, frozen=True, tag="open"):
    """Play a stretch over and over until it is cued; then its last ending, and on."""


class Tacet(_Stretch, frozen=True, tag="tacet"):
    """The edit's chairs and sections do not play a stretch; the order stays as it is."""


class GoTo(msgspec.Struct, frozen=True, tag="go-to"):
    """When the order comes to `first`, go to `to` instead: on to where that next comes, else back, once."""

    first: BarId
    to: BarId
    passes: tuple[int, ...] = ()
    """Only these times that the order comes to `first`; empty: every time."""


class Signs(msgspec.Struct, frozen=True, tag="signs"):
    """How the signs of the whole tune are taken: without the repeats, or without the D.S. and D.C."""

    leave: Literal["repeats", "jumps"]


class Pickup(msgspec.Struct, frozen=True, tag="pickup"):
    """The edit's chairs and sections keep the notes of `bar`, the last one of a cut, as a pickup into what follows."""

    bar: BarId


EditWhat = Cut | PlayTimes | Open | Tacet | GoTo | Signs | Pickup
"""The union of all kinds of edit; more kinds may join it with later versions."""

MOST_TIMES = 99
"""More times than this are no order to play but a slip of the finger."""


class Edit(msgspec.Struct, frozen=True):
    """One decision on one tune. `id` comes from the client that made it.

    Of two that contradict each other, the one made later holds (`made`); of two made at once, that of the greater id.
    """

    id: str
    tune: str
    what: EditWhat
    author: str = ""
    """The chair that decided."""
    date: str = ""
    """The date (rehearsal or gig) that it was made on."""
    kept: bool = False
    """Kept for later dates; else it goes with this date."""
    chairs: tuple[str, ...] = ()
    """Only these chairs; empty, with no sections either: everyone."""
    sections: tuple[str, ...] = ()
    """Only these sections."""
    at: str = ""
    """The hub's day and time when it was made, as "2026-11-25T21:34"."""
    made: int = 0
    """The sequence of the log at which it was made first."""
