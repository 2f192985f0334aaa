"""How long a player has to turn at a bar: the rests before and behind it and the note that is held up to it, in seconds
at the tempo that holds there.

A turn by foot or hand wants about three seconds (common practice). Tempi of words are from memory.
"""

import re
from bisect import bisect_right
from collections.abc import Sequence

from collaparte.music.beats import bar_quarters, counted
from collaparte.paper.cutting.table import BarCut, PieceTable
from collaparte.paper.pages.shown import Shown
from collaparte.paper.reading import TempoWord

ENOUGH = 3.0
"""Seconds."""
UNKNOWN = 120.0
"""Beats a minute where the part says nothing that is known here."""
BY_FOOT = 2.0
"""Seconds that are enough by foot."""
AS_REST, AS_MOST = 0.5, 0.75
"""A second since the last note began is worth so much of one of rest, all of them no more than so many: while a note
is held there is nothing to read, but no hand is free."""
HASTY = 0.75
"""With fewer seconds nobody turns in good time."""
QUICK = 0.5
"""Notes that follow each other in fewer seconds are a run."""
TURN_COST = 300.0
"""What a turn costs that leaves no time; it falls by the square of what is missing of `ENOUGH`,"""
RUN_COST = 1500.0
"""and this by the square of what is missing of `BY_FOOT`; together as much as a page that is seven tenths empty."""
IN_A_RUN = 3000.0
"""And this, less what there is of `QUICK`: a page rather stays a third full than that the turn is among eighths."""
PACES = {
    "grave": 44, "largo": 50, "lento": 54, "larghetto": 62, "adagio": 68, "slow": 68, "slowly": 68, "ballad": 70,
    "andante": 84, "andantino": 90, "moderato": 108, "moderate": 108, "medium": 126, "med": 126, "allegretto": 112,
    "allegro": 136, "vivace": 160, "vivo": 160, "presto": 184, "prestissimo": 200, "fast": 200, "bright": 176,
    "up": 208, "lively": 144, "swing": 140, "waltz": 144, "bossa": 132, "samba": 200, "march": 116, "tango": 116,
    "funk": 100, "reggae": 80, "gospel": 80, "shuffle": 126,
}  # fmt: skip
"""Beats a minute; of several words the first counts, and slower or faster ones before it do not matter here."""


def turn_cost(rest: float, held: float = 0.0) -> float:
    """What turning costs where there are so many seconds of rest, and the last note is held for so many."""
    seconds = in_all(rest, held)
    missing, by_foot = max(0.0, 1 - seconds / ENOUGH), max(0.0, 1 - seconds / BY_FOOT)
    run = max(0.0, 1 - (rest + held) / QUICK)
    return TURN_COST * missing * missing + RUN_COST * by_foot * by_foot + IN_A_RUN * run


def in_all(rest: float, held: float) -> float:
    """The seconds of rest, or what they and the held note are worth."""
    return max(rest, min(AS_REST * (rest + held), AS_MOST))


class Turning:
    """The time at each turn of `shown`; `tempos` are those of its reading."""

    def __init__(self, table: PieceTable, shown: Sequence[Shown], tempos: Sequence[TempoWord]) -> None:
        paces = [(float("-inf"), UNKNOWN, None), *_paces(tempos)]
        begin = [pace[0] for pace in paces]
        lengths = [*(bar_quarters(meter.name) for meter in table.meters), bar_quarters("")]
        before, starts, self._held = [0.0], [(0.0, False)], [0.0]
        for one in shown:
            quarters, beat = lengths[one.bar.meter_here]  # of -1 the last
            _, bpm, note = paces[bisect_right(begin, one.bar.number) - 1]
            count, second = max(1, one.count), 60.0 / bpm / (note or beat)
            start, end = _rests(one.bar, quarters)
            before.append(count * end * second + (before[-1] if end == quarters else 0.0))
            self._held.append(one.held * second)
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

    def cost(self, j: int) -> float:
        """What turning before bar j costs."""
        return turn_cost(self._seconds[j], self._held[j])

    def hasty(self, j: int) -> bool:
        """Whether nobody turns there in good time."""
        return in_all(self._seconds[j], self._held[j]) < HASTY


def _rests(bar: BarCut, quarters: float) -> tuple[float, float]:
    """How many quarters of rest the bar begins with and ends in; all of them where nothing is played in it."""
    if bar.count > 1 and bar.whole < 0:
        return quarters, quarters
    start, end = bar.silence
    return min(start or float(bar.starts_in_rest), quarters), min(end or float(bar.ends_in_rest), quarters)


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
