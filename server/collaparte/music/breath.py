"""Stretches said in one breath ("C to D", "bars 33-40", "last 4 of C"), as the two places that they lie between.

Common practice: of bars by number the last one is meant too; a mark is where the next stretch begins.
"""

import re
from collections.abc import Sequence

from collaparte.music.counting import Counting
from collaparte.music.form import Step
from collaparte.music.places import PlaceError, find, say
from collaparte.music.ruler import indices
from collaparte.music.wording import plain, tidied
from collaparte.music.words import CARDINALS, number_of
from collaparte.wire.chart import BarId, Chart

_LEAD = r"(?:(?:from|the|bar|just|only) )*"
_TO = r"(?: ?[-–] ?| (?:up )?(?:to|till|until|through|thru) )"
_TIME = r"(?P<time>,? (?:the )?\w+ time(?: through| around| only)?|,? on (?:the )?(?:repeat|ds|dc))?"
_FIGURE = rf"(?:{'|'.join(CARDINALS[1:])}|\d+)"
_IN_WORDS = re.compile(rf"{_LEAD}(?:between )?(?:bar )?{_FIGURE}(?:{_TO}| and )(?:bar )?{_FIGURE}{_TIME}")
_NUMBERED = re.compile(
    rf"{_LEAD}(?P<between>between )?(?:bar )?(?P<first>\d+[a-z]?)(?:{_TO}|(?P<and> and ))(?:bar )?(?P<last>\d+[a-z]?)"
    rf"{_TIME}"
)
_ALONE = re.compile(r"(?:just|only) bar (?P<one>\d+[a-z]?)|bar (?P<other>\d+[a-z]?) (?:only|alone)")
_ITSELF = re.compile(rf"(?:the )?(?P<of>pickup|coda(?: \d)?|\w+ ending|ending \d)(?P<whose> (?:of|in|at) .+?)?{_TIME}")
"""A stretch that has an end of its own."""
_ON = re.compile(r"(?:from )?(?P<first>.+?) (?:on|onwards?)|everything (?:after|from) (?P<after>(?!.* to ).+)")
_LAST = re.compile(rf"{_LEAD}(?P<first>last \w+(?: bar)?(?: (?:of|in) (?P<of>.+))?)")
_FIRST = re.compile(rf"{_LEAD}first (?P<n>\w+)(?: bar)? (?:of|in) (?P<of>(?!bar$).+)")
_TUNE = re.compile(r"(?:the )?(?:whole|entire) (?:tune|chart|song|piece|thing)|everything|all(?: of it)?|top to bottom")
_ALL = re.compile(
    rf"{_LEAD}(?:all|whole|entire)(?: of)? (?:the )?(?P<of>.+)|(?P<only>(?!.*\btime\b|bar \d).+) (?:only|alone)"
)
_BEFORE = re.compile(r"everything (?:before|up to) (?P<until>.+)")
_BETWEEN = re.compile(r"between (?P<first>.+?) and (?P<until>.+)")
_BOTH = re.compile(
    r"(?:everything )?(?:from )?(?P<first>(?!(?:the )?\w+ time through|(?:go )?back to"
    r"|(?:jump|skip|cut|straight|go|up) to|(?:next|second|2nd) to last)"
    rf".+?){_TO}(?P<until>.+)"
)
_WAYS = (_NUMBERED, _ALONE, _TUNE, _LAST, _FIRST, _ALL, _ITSELF, _ON, _BEFORE, _BETWEEN, _BOTH)


def in_one_breath(words: str) -> bool:
    """Whether these words say a stretch and not one place."""
    said = _tidied(words)
    return any(pattern.fullmatch(said) for pattern in _WAYS)


def ends_of(words: str, chart: Chart, order: Sequence[Step]) -> tuple[str, str]:
    """From where and up to, not including, where: words that find the two places. Raises `PlaceError`."""
    said = _tidied(words)
    if found := _NUMBERED.fullmatch(said):
        # A figure alone is a mark where there is one, as it is for a single place.
        if "bar" not in said.split() and {found["first"], found["last"]} <= {plain(mark.text) for mark in chart.marks}:
            return found["first"], found["last"]
        at = indices(chart)
        begins, last = (at[find(f"bar {found[side]}", chart, order).bar] for side in ("first", "last"))
        if found["and"] and not found["between"] and last != begins + 1:
            raise PlaceError(f'"{words.strip()}" may be two bars or all between them; say "bars 33-40", or each alone.')
        return f"bar {found['first']}{found['time'] or ''}", _begins(chart, last + 1)
    if found := _ALONE.fullmatch(said):
        bar = f"bar {found['one'] or found['other']}"
        return bar, _begins(chart, indices(chart)[find(bar, chart, order).bar] + 1)
    if _TUNE.fullmatch(said):
        return "top", "end"
    if found := _LAST.fullmatch(said):
        return found["first"], _next_mark(found["of"], chart, order) if found["of"] else "end"
    if found := _FIRST.fullmatch(said):
        return found["of"], f"{found['n']} after {found['of']}"
    if found := _ALL.fullmatch(said):
        of = found["of"] or found["only"]
        return of, _next_mark(of, chart, order)
    if found := _ITSELF.fullmatch(said):
        of = f"{found['of']}{found['whose'] or ''}{found['time'] or ''}"
        if found["of"] == "pickup":
            return of, _begins(chart, 1)
        return of, _next_mark(of, chart, order)
    if found := _ON.fullmatch(said):
        return found["first"] or found["after"], "end"
    if found := _BEFORE.fullmatch(said):
        return "top", found["until"]
    if found := _BETWEEN.fullmatch(said) or _BOTH.fullmatch(said):
        return found["first"], found["until"]
    find(words, chart, order)  # what is no place at all is told as that
    raise PlaceError(f'Say up to where as well, as "{words.strip()} to the end".')


def _tidied(words: str) -> str:
    """The words in the grammar's wording; "bars five to eight" in figures, since there the last one is meant too."""
    said = tidied(plain(words))
    if not _IN_WORDS.fullmatch(said):
        return said
    return re.sub(r"\w+", lambda word: str(number_of(word[0]) or word[0]), said)


def _next_mark(words: str, chart: Chart, order: Sequence[Step]) -> str:
    return _begins(chart, Counting(words, chart).end_of(find(words, chart, order).bar))


def _begins(chart: Chart, place: int) -> str:
    """A place in document order, in words; behind the last bar it is the end."""
    bar: BarId | None = chart.bars[place].id if place < len(chart.bars) else None
    return "end" if bar is None else say(chart, bar)
