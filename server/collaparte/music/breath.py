"""Stretches said in one breath ("C to D", "bars 33-40", "last 4 of C"), as the two places that they lie between.

Common practice: of bars by number the last one is meant too; a mark is where the next stretch begins.
"""

import re
from collections.abc import Sequence

from collaparte.music.form import Step
from collaparte.music.places import PlaceError, find, say
from collaparte.music.ruler import indices
from collaparte.music.wording import plain, tidied
from collaparte.wire.chart import BarId, Chart

_LEAD = r"(?:(?:from|the|bar) )*"
_TO = r"(?: ?[-–] ?| (?:up )?(?:to|till|until|through|thru) )"
_NUMBERED = re.compile(rf"{_LEAD}(?P<first>\d+[a-z]?){_TO}(?:bar )?(?P<last>\d+[a-z]?)")
_LAST = re.compile(rf"{_LEAD}(?P<first>last \w+(?: bar)?(?: (?:of|in) (?P<of>.+))?)")
_FIRST = re.compile(rf"{_LEAD}first (?P<n>\w+)(?: bar)? (?:of|in) (?P<of>(?!bar$).+)")
_ALL = re.compile(rf"{_LEAD}(?:all|whole|entire)(?: of)? (?:the )?(?P<of>.+)")
_BOTH = re.compile(rf"(?:from )?(?P<first>.+?){_TO}(?P<until>.+)")


def in_one_breath(words: str) -> bool:
    """Whether these words say a stretch and not one place."""
    said = tidied(plain(words))
    return any(pattern.fullmatch(said) for pattern in (_NUMBERED, _LAST, _FIRST, _ALL, _BOTH))


def ends_of(words: str, chart: Chart, order: Sequence[Step]) -> tuple[str, str]:
    """From where and up to, not including, where: words that find the two places. Raises `PlaceError`."""
    said = tidied(plain(words))
    if found := _NUMBERED.fullmatch(said):
        # A figure alone is a mark where there is one, as it is for a single place.
        if "bar" not in said.split() and {found["first"], found["last"]} <= {plain(mark.text) for mark in chart.marks}:
            return found["first"], found["last"]
        last = indices(chart)[find(f"bar {found['last']}", chart, order).bar]
        return f"bar {found['first']}", _begins(chart, last + 1)
    if found := _LAST.fullmatch(said):
        return found["first"], _next_mark(found["of"], chart, order) if found["of"] else "end"
    if found := _FIRST.fullmatch(said):
        return found["of"], f"{found['n']} after {found['of']}"
    if found := _ALL.fullmatch(said):
        return found["of"], _next_mark(found["of"], chart, order)
    if found := _BOTH.fullmatch(said):
        return found["first"], found["until"]
    raise PlaceError(f'Say up to where as well, as "{words.strip()} to the end".')


def _next_mark(words: str, chart: Chart, order: Sequence[Step]) -> str:
    at = indices(chart)
    begins = at[find(words, chart, order).bar]
    return _begins(chart, min((at[mark.bar] for mark in chart.marks if at[mark.bar] > begins), default=len(chart.bars)))


def _begins(chart: Chart, place: int) -> str:
    """A place in document order, in words; behind the last bar it is the end."""
    bar: BarId | None = chart.bars[place].id if place < len(chart.bars) else None
    return "end" if bar is None else say(chart, bar)
