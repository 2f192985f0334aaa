"""How long a player has to turn at a bar: the rests before and behind it, in seconds at the tempo that holds there.

A turn by foot or hand wants about three seconds (common practice). Tempi of words are from memory.
"""

import re
from bisect import bisect_right
from collections.abc import Sequence

from collaparte.music.beats import counted
from collaparte.paper.cutting.table import BarCut, PieceTable
from collaparte.paper.pages.shown import Shown
from collaparte.paper.reading import TempoWord

ENOUGH = 3.0
"""Seconds."""
UNKNOWN = 120.0
"""Beats a minute where the part says nothing that is known here."""
BY_FOOT = 2.0
"""Seconds that are enough by foot; an eighth's rest is hardly more than a run."""
HASTY = 1.0
"""With fewer seconds nobody turns in good time."""
TURN_COST = 300.0
"""What a turn costs that leaves no time; it falls by the square of what is missing of `ENOUGH`,"""
RUN_COST = 1500.0
"""and this by the square of what is missing of `BY_FOOT`; together as much as a page that is seven tenths empty."""
PACES = {
    "grave": 44, "largo": 50, "lento": 54, "larghetto": 62, "adagio": 68, "slow": 68, "slowly": 68, "ballad": 70,
    "andante": 84, "andantino": 90, "moderato": 108, "moderate": 108, "medium": 126, "med": 126, "allegretto": 112,
    "allegro": 136, "vivace": 160, "vivo": 160, "presto": 184, "prestissimo": 200, "fast": 200, "bright": 176,
    "up": 208, "lively": 144, "swing": 140, "waltz": 144, "bossa": 132, "samba": 200, "march": 116, "tango": 116,
    "funk": 100, "reggae": 80, "gospel": 80, "shuffle": 126,
}  # fmt: skip
"""Beats a minute; of several words the first counts, and slower or faster ones before it do not matter here."""


def turn_cost(seconds: float) -> float:
    """What turning costs where there are so many seconds for it."""
    missing, by_foot = max(0.0, 1 - seconds / ENOUGH), max(0.0, 1 - seconds / BY_FOOT)
    return TURN_COST * missing * missing + RUN_COST * by_foot * by_foot


class Turning:
    """The time at each turn of `shown`; `tempos` are those of its reading."""

    def __init__(self, table: PieceTable, shown: Sequence[Shown], tempos: Sequence[TempoWord]) -> None:
        paces = [(float("-inf"), UNKNOWN, None), *_paces(tempos)]
        begin = [pace[0] for pace in paces]
        lengths = [*(bar_quarters(meter.name) for meter in table.meters), bar_quarters("")]
        before, starts = [0.0], [(0.0, False)]
        for one in shown:
            quarters, beat = lengths[one.bar.meter_here]  # of -1 the last
            _, bpm, note = paces[bisect_right(begin, one.bar.number) - 1]
            count, second = max(1, one.count), 60.0 / bpm / (note or beat)
            start, end = _rests(one.bar, quarters)
            before.append(count * end * second + (before[-1] if end == quarters else 0.0))
            starts.append((count * start * second, start == quarters))
        behind = 0.0
        self._seconds = before[:-1]
        for j in range(len(shown) - 1, 0, -1):
            rest, throughout = starts[j + 1]
            behind = rest + (behind if throughout else 0.0)
            self._seconds[j] += behind

    def seconds(self, j: int) -> float:
        """The rest before bar j and that from it on, together."""
        return self._seconds[j]


def _rests(bar: BarCut, quarters: float) -> tuple[float, float]:
    """How many quarters of rest the bar begins with and ends in; all of them where nothing is played in it."""
    if bar.count > 1 and bar.whole < 0:
        return quarters, quarters
    start, end = bar.silence
    return min(start or float(bar.starts_in_rest), quarters), min(end or float(bar.ends_in_rest), quarters)


def bar_quarters(meter: str) -> tuple[float, float]:
    """The length of a bar of this meter ("6/8"), and of the beat that its tempo counts, in quarter notes."""
    found = re.fullmatch(r"(\d{1,2})/(\d{1,2})", meter)
    if not found or not int(found[2]):
        return 4.0, 1.0
    over, under = int(found[1]), int(found[2])
    beat = 3 if under >= 8 and over % 3 == 0 else 1
    return 4 * over / under, 4 * beat / under


def _paces(tempos: Sequence[TempoWord]) -> list[tuple[int, float, float | None]]:
    """From which bar on the beat goes how fast, and the note that is counted (quarters) where it was read: figures, and
    words that are known; others change nothing."""
    out: list[tuple[int, float, float | None]] = []
    for tempo in sorted(tempos, key=lambda t: t.bar):
        words = re.findall(r"[a-z]+", tempo.text.lower())
        pace = tempo.bpm or next((float(PACES[w]) for w in words if w in PACES), None)
        if pace:
            out.append((tempo.bar, pace, counted(tempo.text) if tempo.bpm else None))
        elif "tempo" in words and len(out) > 1:  # a tempo, tempo primo
            out.append((tempo.bar, *out[0][1:]))
    return out
