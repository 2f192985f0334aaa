"""What a chart is made of, in bar ids: the ruler that every part, edit and marking refers to."""

from typing import Literal

import msgspec

BarId = str
"""Minted once a tune, never reused; it says nothing about the bar's place."""


class ChartBar(msgspec.Struct, frozen=True, omit_defaults=True):
    """One bar of the ruler: its id and the number musicians call it by (0 for a pickup)."""

    id: BarId
    number: int
    label: str = ""
    """What is printed for the number where that is more than digits ("4a"); else empty."""
    counted: bool = True
    """False: it goes by the number of the bar before it (the rest of a bar that a repeat splits, an inner pickup)."""


class ChartMark(msgspec.Struct, frozen=True):
    """A rehearsal mark at the start of a bar."""

    text: str
    bar: BarId


class ChartSign(msgspec.Struct, frozen=True, omit_defaults=True):
    """A jump sign or word; `kind` as in a reading (`segno`, `to-coda`, `ds-al-coda`, ...)."""

    kind: str
    bar: BarId
    at: Literal["start", "end"]
    name: str = ""
    """Which segno (of a segno, a D.S.) or coda (of a coda, a To Coda), where a chart names several; else empty."""
    passes: tuple[int, ...] = ()
    """A jump, To Coda or Fine that holds at these times through its bar only; empty: as is the custom."""
    coda: str = ""
    """Which coda a D.S. or D.C. is on its way to, where the chart says so; else empty."""
    ending: int = 0
    """Which ending a D.S. or D.C. takes where it names one ("al 2nd ending": 2); 0: the last, as is the custom."""


class ChartRepeat(msgspec.Struct, frozen=True, omit_defaults=True):
    """A repeat sign: a start before `bar`, or an end after it, played `times` in all."""

    side: Literal["start", "end"]
    bar: BarId
    times: int = 2
    after_jump: bool | None = None
    """Whether an end is obeyed again after a D.C. or D.S., where the chart says so."""


class ChartEnding(msgspec.Struct, frozen=True):
    """A bracketed ending from `bar` to `last`, played on these passes."""

    passes: tuple[int, ...]
    bar: BarId
    last: BarId


class ChartMeter(msgspec.Struct, frozen=True):
    """A time signature from `bar` on, as it is printed: "4/4"."""

    text: str
    bar: BarId


class Chart(msgspec.Struct, frozen=True):
    """A tune's ruler: its bars in document order, with marks and the signs that make its form."""

    bars: tuple[ChartBar, ...] = ()
    marks: tuple[ChartMark, ...] = ()
    signs: tuple[ChartSign, ...] = ()
    repeats: tuple[ChartRepeat, ...] = ()
    endings: tuple[ChartEnding, ...] = ()
    tempo: str = ""
    """Tempo words as printed at the head, if any."""
    meters: tuple[ChartMeter, ...] = ()
    """Time signatures in document order; none where none was read."""
    source: str = ""
    """The score that all this was taken from, by its file's name; empty: from what was read of the parts."""
