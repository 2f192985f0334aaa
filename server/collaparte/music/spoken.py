"""What musicians say, understood as a place in a chart: the grammar behind `places`."""

import difflib
import re
import unicodedata
from collections.abc import Callable, Sequence

import msgspec

from collaparte.music.form import Step
from collaparte.music.ruler import bar_in_words, indices
from collaparte.music.words import count, number_of, ordinal, ordinal_of
from collaparte.wire.chart import BarId, Chart

LAST_TIME = -1
"""A pass said as "last time"."""


class PlaceError(ValueError):
    """The place is not there, or cannot be understood: one sentence with what is nearest."""


class Place(msgspec.Struct, frozen=True):
    """A bar as it was said. `anchor`: the bar it was counted from ("4 before C": C). `pass_`: the time said, of the
    anchor if there is one; None if none was said."""

    bar: BarId
    anchor: BarId | None = None
    pass_: int | None = None


def find(words: str, chart: Chart, order: Sequence[Step]) -> Place:
    """The place that these words name in a chart with this (written) order; raises `PlaceError`."""
    return _Speech(words.strip(), chart, order).place()


def is_end(words: str) -> bool:
    """Whether these words mean the end of the tune."""
    return plain(words).removeprefix("to ").removeprefix("the ") in ("end", "end of the tune")


def marked(said: str, chart: Chart) -> list[BarId]:
    """The bars where a mark with this text (as `plain` gives it) stands; "verse two" is "Verse 2"."""
    texts = [(plain(mark.text), mark.bar) for mark in chart.marks]
    found = [bar for text, bar in texts if text == said] or [
        bar for text, bar in texts if _digits(text) == _digits(said)
    ]
    return list(dict.fromkeys(found))


def _digits(said: str) -> str:
    """Words with numbers as figures, where there is more than a number."""
    words = said.split()
    if len(words) < 2:
        return said
    numbers = (number_of(word) for word in words)
    return " ".join(word if number is None else str(number) for word, number in zip(words, numbers, strict=True))


def plain(text: str) -> str:
    """Words as they are compared: one case, one spacing, ligatures and full-width letters resolved."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


class _Speech:
    """One saying, understood word by word; each `_named` method gives None when the words are not of its kind."""

    def __init__(self, words: str, chart: Chart, order: Sequence[Step]) -> None:
        self.words = words
        self.chart = chart
        self.order = order
        self.at = indices(chart)

    def place(self) -> Place:
        said = plain(self.words)
        if not marked(said, self.chart):
            said = re.sub(r"^(?:(?:from|to|at) )?(?:the )?(?:(?:rehearsal )?(?:mark|letter|figure) )?", "", said)
        if not said:
            raise PlaceError('Say a place, as "C", "4 before C" or "bar 33".')
        pass_ = None
        timed = re.fullmatch(r"(?P<place>.+?),? (?:the )?(?P<n>\w+) time(?: through| only)?", said)
        timed = timed or re.fullmatch(r"(?P<n>\w+) time(?: at| of| through)? (?:the )?(?P<place>(?!bar$).+)", said)
        if timed and not marked(said, self.chart):
            time = LAST_TIME if timed["n"] == "last" else ordinal_of(timed["n"])
            said, pass_ = (timed["place"], time) if time else (said, None)
        place = self._understand(said)
        return msgspec.structs.replace(place, pass_=pass_) if pass_ is not None else place

    def _understand(self, said: str) -> Place:
        bars = marked(said, self.chart)
        if bars:
            return Place(self._only_one(bars, f'"{said.upper() if len(said) == 1 else said}" stands'))
        for pattern, kind in _GRAMMAR:
            match = pattern.fullmatch(said)
            place = kind(self, match) if match else None
            if place is not None:
                return place
        raise PlaceError(self._unknown(said))

    def top(self, _: re.Match[str]) -> Place | None:
        return Place(self.order[0].bar, pass_=1) if self.order else None

    def pickup(self, _: re.Match[str]) -> Place | None:
        first = self.chart.bars[0]
        if first.number != 0:
            raise PlaceError(f"This tune has no pickup; it begins at {bar_in_words(first)}.")
        return Place(first.id)

    def numbered(self, match: re.Match[str]) -> Place | None:
        """ "bar 33", "33", "bar 4a", "rest of bar 4"."""
        said = match["digits"] or match["word"]
        labelled = [bar.id for bar in self.chart.bars if bar.label and plain(bar.label) == said]
        number = number_of(said)
        if number is None and not labelled:
            return None
        whole = not match["rest"]
        bars = labelled or [bar.id for bar in self.chart.bars if bar.number == number and bar.counted == whole]
        if not bars:
            nearest = min(self.chart.bars, key=lambda bar: abs(bar.number - (number or 0)))
            raise PlaceError(
                f"There is no {'' if whole else 'rest of '}bar {number}; the nearest is {bar_in_words(nearest)}."
            )
        if len(bars) > 1:
            raise PlaceError(f"There are {len(bars)} bars numbered {number}; say which from a mark.")
        return Place(bars[0])

    def counted(self, match: re.Match[str]) -> Place | None:
        """ "4 before C", "two bars after D", "the bar before E"."""
        number = 1 if match["n"] == "bar" else number_of(match["n"])
        if number is None:
            return None
        anchor = self._understand(match["place"]).bar
        bar = self._back(number, anchor) if match["way"] == "before" else self._on(number, anchor)
        return Place(bar, anchor)

    def into(self, match: re.Match[str]) -> Place | None:
        """ "pickup to C": its notes stand in the bar before C."""
        anchor = self._understand(match["place"]).bar
        return Place(self._back(1, anchor), anchor)

    def nth_of(self, match: re.Match[str]) -> Place | None:
        """ "bar 3 of D"."""
        number = number_of(match["n"])
        anchor = self._understand(match["place"]).bar
        return Place(self._on(number - 1, anchor), anchor) if number else None

    def last_of(self, match: re.Match[str]) -> Place | None:
        """ "last two bars of D"."""
        number = number_of(match["n"])
        anchor = self._understand(match["place"]).bar
        end = self._end_of(anchor)
        if not number or number > end - self.at[anchor]:
            return None
        return Place(self.chart.bars[end - number].id, anchor)

    def _end_of(self, anchor: BarId) -> int:
        """The place behind the last bar of the stretch that a mark begins."""
        after = [self.at[mark.bar] for mark in self.chart.marks if self.at[mark.bar] > self.at[anchor]]
        return min(after, default=len(self.chart.bars))

    def bar_of(self, match: re.Match[str]) -> Place | None:
        """ "third bar of D", "last bar of D"."""
        anchor = self._understand(match["place"]).bar
        if match["n"] == "last":
            return Place(self.chart.bars[self._end_of(anchor) - 1].id, anchor)
        number = ordinal_of(match["n"])
        return Place(self._on(number - 1, anchor), anchor) if number else None

    def ending(self, match: re.Match[str]) -> Place | None:
        """ "second ending"."""
        number = ordinal_of(match["n"]) if match["n"] else number_of(match["number"])
        bars = [ending.bar for ending in self.chart.endings if number in ending.passes]
        which = match["n"] or (ordinal(number) if number else match["number"])
        if not bars:
            raise PlaceError(f"This tune has no {which} ending.")
        return Place(self._only_one(bars, f"The {which} ending stands"))

    def last(self, match: re.Match[str]) -> Place | None:
        """ "last 8": as played, so that a coda counts."""
        said = match["n"] or match["number"]
        number = number_of(said) if said else 1
        if not number:
            return None
        if number > len(self.order):
            raise PlaceError(f"There is no last {number} in this tune; it has {count(len(self.order), 'bar')}.")
        return Place(self.order[-number].bar, pass_=self.order[-number].pass_)

    def sign(self, match: re.Match[str]) -> Place | None:
        """ "segno", "coda"."""
        kind = "segno" if match["kind"] == "sign" else match["kind"]
        spots = {self.at[sign.bar] + (sign.at == "end") for sign in self.chart.signs if sign.kind == kind}
        bars = [self.chart.bars[spot].id for spot in spots if spot < len(self.chart.bars)]
        if not bars:
            raise PlaceError(f"This tune has no {kind}.")
        return Place(self._only_one(bars, f"The {kind} stands"))

    def _only_one(self, bars: list[BarId], what: str) -> BarId:
        places = sorted({self.at[bar] for bar in bars})
        if len(places) > 1:
            numbers = [str(self.chart.bars[place].number) for place in places]
            where = f"{', '.join(numbers[:-1])} and {numbers[-1]}"
            raise PlaceError(f"{what} at bars {where}; say which by its number.")
        return self.chart.bars[places[0]].id

    def _back(self, number: int, bar: BarId) -> BarId:
        """So many printed bars before; from behind endings one counts back through the last of them only."""
        opens = {self.at[ending.bar]: ending for ending in self.chart.endings}
        closes = {self.at[ending.last]: self.at[ending.bar] for ending in self.chart.endings}
        place = self.at[bar]
        for done in range(number):
            while place in opens and 1 not in opens[place].passes and place - 1 in closes:
                place = closes[place - 1]
            if place == 0:
                there = count(done, "bar") if done else "no bar"
                first = bar_in_words(self.chart.bars[0])
                raise PlaceError(f'There is no "{self.words}", only {there} before that; the nearest is {first}.')
            place -= 1
            while place > 0 and not self.chart.bars[place].counted:
                place -= 1
        return self.chart.bars[place].id

    def _on(self, number: int, bar: BarId) -> BarId:
        counted = [place for place in range(self.at[bar] + 1, len(self.chart.bars)) if self.chart.bars[place].counted]
        if number > len(counted):
            last = bar_in_words(self.chart.bars[-1])
            raise PlaceError(f'There is no "{self.words}"; the nearest is the last bar, {last}.')
        return self.chart.bars[counted[number - 1]].id if number else bar

    def _unknown(self, said: str) -> str:
        texts = list(dict.fromkeys(mark.text.strip() for mark in self.chart.marks))
        if not texts:
            return f'There is no "{self.words}" in this tune, which has no rehearsal marks; say a bar, as "bar 33".'

        def distance(text: str) -> tuple[int, float]:
            mark = plain(text)
            if len(said) == len(mark) == 1:
                return 0, abs(ord(mark) - ord(said))
            return 1 + (mark not in said.split()), -difflib.SequenceMatcher(None, said, mark).ratio()

        return f'There is no "{self.words}" in this tune; the nearest mark is "{min(texts, key=distance)}".'


_GRAMMAR: tuple[tuple[re.Pattern[str], Callable[[_Speech, re.Match[str]], Place | None]], ...] = (
    (re.compile(r"(?:top|beginning|start)"), _Speech.top),
    (re.compile(r"(?:pickup|pick-up|upbeat)"), _Speech.pickup),
    (
        re.compile(
            r"(?P<rest>rest of )?(?:(?:bars?|measures?|mm?\.|b\.) ?)?(?P<digits>\d+[a-z]?)"
            r"|(?:bar|measure) (?P<word>\w+)"
        ),
        _Speech.numbered,
    ),
    (re.compile(r"(?P<n>\w+)(?: bars?)? (?P<way>before|after) (?:the )?(?P<place>.+)"), _Speech.counted),
    (re.compile(r"(?:pickup|pick-up|upbeat)s? (?:in)?to (?:the )?(?P<place>.+)"), _Speech.into),
    (re.compile(r"(?P<n>\w+) bar of (?:the )?(?P<place>.+)"), _Speech.bar_of),
    (re.compile(r"bar (?P<n>\w+) of (?:the )?(?P<place>.+)"), _Speech.nth_of),
    (re.compile(r"last (?P<n>\w+)(?: bars)? of (?:the )?(?P<place>.+)"), _Speech.last_of),
    (re.compile(r"(?P<n>\w+) (?:ending|time bar)|ending (?P<number>\w+)"), _Speech.ending),
    (re.compile(r"last(?: (?!bar)(?P<n>\w+))?(?: bars?)?|(?P<number>\w+)(?: bars?)? from the end"), _Speech.last),
    (re.compile(r"(?P<kind>segno|sign|coda)"), _Speech.sign),
)
