"""Edits: what the musical director decides about the order of the bars. Data, never a change to the chart."""

import msgspec

from collaparte.wire.chart import BarId


class Cut(msgspec.Struct, frozen=True, tag="cut"):
    """Leave out from the first bar up to, not including, `until` (None: to the end of the tune)."""

    first: BarId
    until: BarId | None
    passes: tuple[int, ...] = ()
    """Only these times through; empty: every time."""


EditWhat = Cut
"""The union of all kinds of edit; more kinds join it with later versions."""


class Edit(msgspec.Struct, frozen=True):
    """One decision on one tune. `id` comes from the client that made it; ties in time are broken by it."""

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
    """Only these chairs; empty: everyone."""
