"""What a chart is made of, in bar ids: the ruler that every part, edit and marking refers to."""

from typing import Literal

import msgspec

BarId = str
"""Minted once a tune, never reused; it says nothing about the bar's place."""


class ChartBar(msgspec.Struct, frozen=True):
    """One bar of the ruler: its id and the number musicians call it by (0 for a pickup)."""

    id: BarId
    number: int


class ChartMark(msgspec.Struct, frozen=True):
    """A rehearsal mark at the start of a bar."""

    text: str
    bar: BarId


class ChartSign(msgspec.Struct, frozen=True):
    """A jump sign or word; `kind` as in a reading (`segno`, `to-coda`, `ds-al-coda`, ...)."""

    kind: str
    bar: BarId
    at: Literal["start", "end"]


class ChartRepeat(msgspec.Struct, frozen=True):
    """A repeat sign: a start before `bar`, or an end after it, played `times` in all."""

    side: Literal["start", "end"]
    bar: BarId
    times: int = 2


class ChartEnding(msgspec.Struct, frozen=True):
    """A bracketed ending from `bar` to `last`, played on these passes."""

    passes: tuple[int, ...]
    bar: BarId
    last: BarId


class Chart(msgspec.Struct, frozen=True):
    """A tune's ruler: its bars in document order, with marks and the signs that make its form."""

    bars: tuple[ChartBar, ...] = ()
    marks: tuple[ChartMark, ...] = ()
    signs: tuple[ChartSign, ...] = ()
    repeats: tuple[ChartRepeat, ...] = ()
    endings: tuple[ChartEnding, ...] = ()
    tempo: str = ""
    """Tempo words as printed at the head, if any."""
