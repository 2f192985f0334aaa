"""Where beats begin in bars so wide that a narrow page may have to split them."""

from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from collaparte.paper.reading import Change
from collaparte.paper.sight.durations import Strokes, steps
from collaparte.paper.sight.lines import MusicLine

WIDE = 40.0
"""Staff spaces: no page is narrower with staves that anybody reads."""
NEAR = 0.02
"""So far from a beat, in quarter notes, sums of printed lengths may be."""


def mark_beats(lines: Sequence[MusicLine], changes: Sequence[Change], inks: Mapping[int, Strokes]) -> None:
    """Note the beats of wide bars in the counted lines."""
    meters = [(change.bar, change.meter) for change in changes if change.meter]
    for line in lines:
        ink = inks.get(line.page)
        for n, (part, bar) in enumerate(zip(line.parts, line.bars, strict=True)):
            if ink is None or bar.count > 1 or part.x1 - part.x0 < WIDE * line.space:
                continue
            meter = next((meter for first, meter in reversed(meters) if first <= bar.number), "")
            stood = steps(line.system.staves[0], part, line, ink)
            line.bars[n] = replace(bar, beats=_beats(stood, _beat(meter)))


def _beat(meter: str) -> float:
    """The length of a beat in quarter notes: a dotted quarter in 6/8 and its like, else the meter's own note."""
    over, _, under = meter.partition("/")
    if not (over.isdecimal() and under.isdecimal() and int(under)):
        return 1.0
    return (3 if int(under) >= 8 and int(over) % 3 == 0 else 1) * 4 / int(under)


def _beats(stood: Sequence[tuple[float, float]], beat: float) -> tuple[float, ...]:
    out: list[float] = []
    at = 0.0
    for x, length in stood:
        if at and abs(at / beat - round(at / beat)) * beat < NEAR:
            out.append(x)
        at += length
    return tuple(out)
