"""Short repeats on the page: they stand once, between their signs, as printed; longer ones are written out."""

from collections.abc import Sequence
from itertools import pairwise

import msgspec

from collaparte.music.form import Written
from collaparte.music.stretches import Span, repeats

SHORT = 8
"""Bars that are repeated: so many or fewer stand between their signs."""


class Fold(msgspec.Struct, frozen=True):
    """Positions `first` to `last` of the written order are shown by those from `by` on, between the same signs.

    `round_last`: the last position of the round that shows them, with its ending.
    """

    first: int
    last: int
    by: int
    round_last: int


def folds(written: Written, out: set[int], again: Sequence[Span], short: int) -> tuple[Fold, ...]:
    """The later rounds of short repeats; `out`: positions left out; `again`: what is played more times than written.

    A repeat stands between its signs when all its rounds are played alike, the same bars left out of each.
    """
    found: list[Fold] = []
    for begins in repeats(written):
        first_round = Span(begins[0], begins[1] - 1)
        if first_round.length > short:
            continue
        shown = [_same(written, first_round, begin) for begin in begins[1:]]
        block = Span(begins[0], max(span.last for span in shown))
        last_repeated = Span(begins[-2], begins[-1] - 1)
        alike = all(
            (first_round.first + n in out) == (span.first + n in out) for span in shown for n in range(span.length)
        )
        body = min(span.length for span in shown)
        endings = (p for begin, after in pairwise(begins) for p in range(begin + body, after))
        whole = not any(position in out for position in endings)
        if alike and whole and all(span == last_repeated for span in again if span.meets(block)):
            found += [Fold(*span, first_round.first, begins[n + 1] - 1) for n, span in enumerate(shown)]
    return tuple(found)


def _same(written: Written, first_round: Span, begin: int) -> Span:
    """The bars from a later round's beginning that are those of the first round."""
    steps, n = written.steps, 0
    while (
        n < first_round.length and begin + n < len(steps) and steps[begin + n].bar == steps[first_round.first + n].bar
    ):
        n += 1
    return Span(begin, begin + n - 1)
