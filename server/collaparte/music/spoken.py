"""What musicians say, understood as a place in a chart: the grammar behind `places`."""

import difflib
import re
from collections.abc import Callable, Sequence

import msgspec

from collaparte.music.counting import Counting, PlaceError
from collaparte.music.deciding import answer
from collaparte.music.form import Step
from collaparte.music.marks import marked
from collaparte.music.ruler import bar_in_words
from collaparte.music.stretches import landings_of
from collaparte.music.wording import LONGEST, plain, tidied, without_lead
from collaparte.music.words import CARDINALS, ORDINALS, count, number_of, ordinal, ordinal_of
from collaparte.wire.chart import BarId, Chart

LAST_TIME = -1
"""A pass said as "last time"."""
ON_JUMP = -2
"""A pass said as "on the D.S."."""


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
    said = plain(words).removeprefix("to ").removeprefix("the ").removeprefix("very ")
    return said in ("end", "end of the tune")


_NTH_TIME = r"(?P<n>\w+) time(?: through| around| round| only)?"
_COUNT = rf"(?:\d+|{'|'.join(CARDINALS)})"
_TIMED = tuple(
    re.compile(pattern)
    for pattern in (
        rf"(?P<place>.+?) (?:on |of )?(?:the )?{_NTH_TIME}",
        rf"(?:the )?{_NTH_TIME}(?: at| of| from)? (?:the )?(?P<place>(?!bar\b).+)",
        r"(?P<place>.+?) on (?:the )?(?P<jump>ds|dc)(?: al (?:coda|fine))?",
        rf"(?P<place>(?!{_COUNT}(?: bar)? after).+?) after (?:the )?(?P<after>ds|dc)(?: al (?:coda|fine))?",
        r"(?P<place>.+?) (?P<again>on the repeat)|(?:on )?(?:the )?(?P<repeat>repeat) of (?P<repeated>.+)",
    )
)


class _Speech:
    """One saying, understood word by word; each method of the grammar gives None when the words are not of its kind."""

    def __init__(self, words: str, chart: Chart, order: Sequence[Step]) -> None:
        self.words = words
        self.chart = chart
        self.order = order
        self.counting = Counting(words, chart)
        self.at = self.counting.at

    def place(self) -> Place:
        said = plain(self.words)
        if not said:
            raise PlaceError('Say a place, as "C", "4 before C" or "bar 33".')
        if marked(said, self.chart):
            return self._understand(said)
        if len(said) > LONGEST:
            raise PlaceError(f'"{self.words[:30]}..." is too long for a place; say it as "4 before C".')
        if found := _ONCE_MORE.fullmatch(said):
            self._no_guess(found)
            said = found["place"]
        said, pass_ = self._timed(tidied(said))
        place = self._understand(said)
        return place if pass_ is None else msgspec.structs.replace(place, pass_=pass_)

    def _no_guess(self, match: re.Match[str]) -> None:
        """Raises for "C again", "C 2x" where that may be C once more or its second time."""
        place = find(match["place"], self.chart, self.order)
        called = next((mark.text.strip() for mark in self.chart.marks if mark.bar == place.bar), match["place"])
        if match["often"]:
            raise PlaceError(f'Say "{called} second time", or "{called}" and choose Times to play it twice.')
        if sum(step.bar == place.bar for step in self.order) > 1:
            raise PlaceError(
                f'"{self.words}" may be its second time or once more; say "{called} second time" or "{called}".'
            )

    def _timed(self, said: str) -> tuple[str, int | None]:
        """The words without the time that they name, and the time."""
        for pattern in () if marked(said, self.chart) else _TIMED:
            if timed := pattern.fullmatch(said):
                found = timed.groupdict()
                if found.get("jump") or found.get("after"):
                    return timed["place"], ON_JUMP
                if found.get("again") or found.get("repeat"):
                    return timed["place"] or timed["repeated"], 2
                time = LAST_TIME if timed["n"] in ("last", "final") else ordinal_of(timed["n"])
                if time:
                    return timed["place"], time
        return said, None

    def _understand(self, said: str) -> Place:
        bars = marked(said, self.chart)
        if bars:
            return Place(self.counting.only_one(bars, f'"{said.upper() if len(said) == 1 else said}" stands'))
        for pattern, kind in _GRAMMAR:
            match = pattern.fullmatch(said)
            place = kind(self, match) if match else None
            if place is not None:
                return place
        bare = without_lead(said)
        if bare != said:
            return self._understand(bare)
        if told := answer(self.words) or answer(said):
            raise PlaceError(told)
        if found := _STRETCH.fullmatch(said):
            self._no_stretch(found)
        raise PlaceError(self._unknown(said))

    def top(self, _: re.Match[str]) -> Place | None:
        return Place(self.order[0].bar, pass_=1) if self.order else None

    def end(self, _: re.Match[str]) -> Place | None:
        raise PlaceError('The end is behind the last bar; say "last bar" or "last 8".')

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

    def nth(self, match: re.Match[str]) -> Place | None:
        """ "second bar": from the top, a pickup not counted."""
        number = ordinal_of(match["n"])
        first = next((bar.id for bar in self.chart.bars if bar.counted and bar.number), None)
        return Place(self.counting.on(number - 1, first)) if number and first else None

    def _no_stretch(self, match: re.Match[str]) -> None:
        """Raises where these are two places ("bars 33-40", "C to D")."""
        try:
            first, last = (self._understand(match[side]) for side in ("first", "last"))
        except PlaceError:
            return
        one, other = self._named(first.bar), self._named(last.bar)
        raise PlaceError(f'"{self.words}" is a stretch, from {one} to {other}; say one place, as "{one}".')

    def counted(self, match: re.Match[str]) -> Place | None:
        """ "4 before C", "two bars after D", "the bar before E", "fourth bar before F", "4 before the end"."""
        said, way = match["n"] or "", match["way"]
        one = said in ("bar", "a", "one") or (way == "before" and said in ("", "just", "right", "last", "final"))
        nth = ordinal_of(said)
        number = 1 if one else number_of(said) if nth is None else nth
        if number is None:
            if not said:
                raise PlaceError(f'Say how many bars, as "2 {way} {self._called(match["place"])}".')
            return None
        if way == "before" and re.fullmatch(r"(?:the )?(?:very )?end(?: of the tune)?", match["place"]):
            return self._from_end(number)
        if way == "before":
            edge, anchor = self._edge(match["place"])
            of_the_repeat = match["place"].startswith("repeat")
            return Place(self.counting.back(number, edge, of_the_repeat=of_the_repeat), anchor)
        place = self._understand(match["place"])
        anchor = place.bar
        if nth is not None:
            of, after = self._named(self.counting.on(nth - 1, anchor)), self._named(self.counting.on(nth, anchor))
            called = self._called(match["place"])
            ways = f'"{ordinal(nth)} bar of {called}" or "{nth} after {called}"'
            raise PlaceError(f'"{self.words}" may be {of} or {after}; say {ways}.')
        return Place(self.counting.on(number, anchor), anchor, place.pass_)

    def added(self, match: re.Match[str]) -> Place | None:
        """ "D plus 2", "C minus 4"."""
        number = number_of(match["n"])
        anchor = self._understand(match["place"]).bar
        if not number:
            return None
        on = match["way"] == "plus"
        return Place(self.counting.on(number, anchor) if on else self.counting.back(number, self.at[anchor]), anchor)

    def into(self, match: re.Match[str]) -> Place | None:
        """ "pickup to C": its notes stand in the bar before C."""
        anchor = self._understand(match["place"]).bar
        return Place(self.counting.back(1, self.at[anchor]), anchor)

    def head(self, match: re.Match[str]) -> Place | None:
        """ "top of C"."""
        return self._understand(match["place"])

    def nth_of(self, match: re.Match[str]) -> Place | None:
        """ "bar 3 of D", "third bar of D", "third of D", "last bar of D", "D bar 3"; also said the other way round."""
        said = match["n"]
        number = number_of(said) if said not in _LAST else None
        if number and number > 1 and re.search(r"\b(?:bars|measures)\b", plain(self.words)):
            of = self._called(match["place"])
            raise PlaceError(
                f'"{self.words}" may be a stretch; say "{ordinal(number)} bar of {of}" or "first {number} of {of}".'
            )
        number = ordinal_of(said) if number is None else number
        if number is None and said not in _LAST:
            return None
        anchor = self._understand(match["place"]).bar
        if said in _LAST:
            end = self.counting.end_of(anchor)
            return Place(self.chart.bars[max(end - _LAST[said], self.at[anchor])].id, anchor)
        return Place(self.counting.on(number - 1, anchor), anchor) if number else None

    def last_of(self, match: re.Match[str]) -> Place | None:
        """ "last two bars of D"."""
        number = number_of(match["n"])
        anchor = self._understand(match["place"]).bar
        end = self.counting.end_of(anchor)
        if not number:
            return None
        if number > end - self.at[anchor]:
            long = count(end - self.at[anchor], "bar")
            raise PlaceError(f'There is no "{self.words}"; {self._named(anchor)} is {long} long.')
        return Place(self.chart.bars[end - number].id, anchor)

    def ending(self, match: re.Match[str]) -> Place | None:
        """ "second ending", "second ending of B"."""
        said, of = match["n"] or match["number"] or match["nth"], match["place"] or match["before"]
        last = max((max(ending.passes, default=0) for ending in self.chart.endings), default=0)
        number = last if said == "last" else ordinal_of(said) or number_of(said)
        bars = [ending.bar for ending in self.chart.endings if number in ending.passes]
        which = said if not number or said == "last" else ordinal(number)
        if of and bars:
            anchor = self.at[self._understand(of).bar]
            bars = [bar for bar in bars if self.at[bar] >= anchor][:1]
        if not bars:
            raise PlaceError(f"This tune has no {which} ending{' there' if of else ''}.")
        return Place(self.counting.only_one(bars, f"The {which} ending stands"))

    def last(self, match: re.Match[str]) -> Place | None:
        """ "last 8": as played, so that a coda counts."""
        said = match["n"] or match["number"] or match["nth"]
        if said in _LAST:
            return self._from_end(_LAST[said])
        number = number_of(said) or ordinal_of(said) if said else 1
        return self._from_end(number) if number else None

    def _from_end(self, number: int) -> Place:
        if not 0 < number <= len(self.order):
            raise PlaceError(f"There is no last {number} in this tune; it has {count(len(self.order), 'bar')}.")
        return Place(self.order[-number].bar, pass_=self.order[-number].pass_)

    def sign(self, match: re.Match[str]) -> Place | None:
        """ "segno", "coda", "coda 2"."""
        kind = "segno" if match["kind"] == "sign" else match["kind"]
        which = match["which"]
        if kind == "coda" and match["glyph"] and any(sign.kind == "to-coda" for sign in self.chart.signs):
            raise PlaceError(
                'There is a coda sign where one leaves and one where one lands; say "coda" for the latter.'
            )
        spots = {
            self.at[sign.bar] + (sign.at == "end")
            for sign in self.chart.signs
            if sign.kind == kind and (not which or sign.name == which)
        }
        bars = [self.chart.bars[spot].id for spot in spots if spot < len(self.chart.bars)]
        if not bars:
            raise PlaceError(f"This tune has no {kind}{f' {which}' if which else ''}.")
        return Place(self.counting.only_one(bars, f"The {kind} stands"))

    def jump(self, match: re.Match[str]) -> Place | None:
        """ "from the D.S.": where it goes back to, then."""
        landings = landings_of(self.chart, self.order)
        kind = match["kind"]
        landed = next((self.order[p] for p, name in landings if name == kind), None)
        if landed is None:
            raise PlaceError(f"No {kind[0].upper()}.{kind[1].upper()}. is played in this tune.")
        return Place(landed.bar, pass_=ON_JUMP)

    def leaving(self, match: re.Match[str]) -> Place | None:
        """ "Fine", "To Coda": between two bars, so one of the two must be said."""
        edge = self.counting.sign_edge("fine" if match["fine"] else "to coda")
        before, *after = (bar_in_words(bar) for bar in self.chart.bars[edge - 1 : edge + 1])
        follows = f', or "{after[0]}" for what follows' if after else ""
        name = "Fine" if match["fine"] else "To Coda"
        raise PlaceError(f'The {name} stands at the end of {before}; say "{before}"{follows}.')

    def beat(self, match: re.Match[str]) -> Place | None:
        """ "beat 3 of bar 12"."""
        bar = self._understand(match["place"] or match["before"]).bar
        raise PlaceError(f'A place is a whole bar; say "{self._named(bar)}".')

    def _edge(self, said: str) -> tuple[int, BarId]:
        """Where one counts back from: in front of a bar, or of what stands at a bar's end; and that bar."""
        if found := _AT_END.fullmatch(said):
            edge = self.counting.sign_edge(found["kind"])
            return edge, self.chart.bars[edge - 1].id
        anchor = self._understand(said).bar
        return self.at[anchor], anchor

    def _called(self, said: str) -> str:
        """A place as it is printed, if it is a mark."""
        return next((mark.text.strip() for mark in self.chart.marks if plain(mark.text) == said), said)

    def _named(self, bar: BarId) -> str:
        return bar_in_words(self.chart.bars[self.at[bar]])

    def _unknown(self, said: str) -> str:
        texts = list(dict.fromkeys(mark.text.strip() for mark in self.chart.marks))
        if not texts:
            return f'There is no "{self.words}" in this tune, which has no rehearsal marks; say a bar, as "bar 33".'

        def distance(text: str) -> tuple[int, float]:
            mark = plain(text)
            if len(said) == len(mark) == 1:
                return 0, abs(ord(mark) - ord(said))
            return 1 + (mark == "a" or mark not in said.split()), -difflib.SequenceMatcher(None, said, mark).ratio()

        nearest = min(texts, key=distance)
        if plain(nearest) in said.split():
            ways = f'say it as "{nearest}", "4 before {nearest}" or "third bar of {nearest}"'
            return f'"{self.words}" is not understood; {ways}.'
        return f'There is no "{self.words}" in this tune; the nearest mark is "{nearest}".'


_LAST = {"last": 1, "final": 1} | dict.fromkeys(
    ("penultimate", "second to last", "2nd to last", "next to last", "second last", "2nd last", "last but one"), 2
)
_NTH_LAST = "|".join(_LAST)
_PLACE = r"(?:the )?(?P<place>.+)"
_OF = r"(?:of|in|at)"
_NTH = rf"\d+(?:st|nd|rd|th)|{'|'.join(ORDINALS[1:])}"
_ONCE_MORE = re.compile(r"(?P<place>.+?) (?:again|(?P<often>2 ?[x×]))")
_AT_END = re.compile(r"(?:the )?(?P<kind>fine|to coda|ds|dc|repeat)(?: sign)?")
_GRAMMAR: tuple[tuple[re.Pattern[str], Callable[[_Speech, re.Match[str]], Place | None]], ...] = tuple(
    (re.compile(pattern), kind)
    for pattern, kind in (
        (r"(?:very )?(?:top|beginning|start|head)(?: of the (?:tune|chart|song|piece))?", _Speech.top),
        (r"(?:very )?end(?: of the tune)?", _Speech.end),
        (rf"(?:the )?(?P<n>{_NTH}) bar", _Speech.nth),
        (r"pickup(?: bar)?", _Speech.pickup),
        (r"(?P<rest>rest of )?(?:bar ?)?(?P<digits>\d+[a-z]?)|bar (?P<word>\w+)", _Speech.numbered),
        (rf"(?:(?P<n>\w+) )?(?:bar )?(?P<way>before|after) {_PLACE}", _Speech.counted),
        (r"(?P<place>.+) (?P<way>plus|minus) (?P<n>\w+)(?: bar)?", _Speech.added),
        (rf"pickup (?:to|after|into|of|for|at|in) {_PLACE}", _Speech.into),
        (rf"(?:top|start|beginning|head|downbeat) of {_PLACE}", _Speech.head),
        (
            r"(?:the )?(?:very )?(?:last|final)(?: (?!bar)(?P<n>\w+))?(?: bar)?"
            r"|(?:bar )?(?P<number>\w+)(?: bar)? from (?:the )?end"
            rf"|(?P<nth>{_NTH_LAST})(?: bar)?",
            _Speech.last,
        ),
        (rf"(?:last|final) (?P<n>\w+)(?: bar)? {_OF} {_PLACE}", _Speech.last_of),
        (rf"beat \w+ {_OF} {_PLACE}|(?P<before>.+) beat \w+", _Speech.beat),
        (rf"(?P<n>{_NTH_LAST}|\w+) (?:bar )?{_OF} {_PLACE}", _Speech.nth_of),
        (
            rf"(?:(?P<n>(?!the\b)\w+) ending|ending (?P<number>\w+))(?: (?:of|in|at|after) {_PLACE})?"
            r"|(?P<before>(?!(?:the|take|to|from|at|play) ).+) (?P<nth>(?!the\b)\w+) ending",
            _Speech.ending,
        ),
        (rf"bar (?P<n>\w+) {_OF} {_PLACE}", _Speech.nth_of),
        (rf"(?P<n>{_NTH}) bar {_PLACE}", _Speech.nth_of),
        (r"(?P<place>.+)(?<!\bfrom)(?<!\bat)(?<!\bto) bar (?P<n>\w+)", _Speech.nth_of),
        (rf"(?P<place>(?!the ).+) (?P<n>{_NTH}) bar", _Speech.nth_of),
        (r"(?P<kind>segno|sign|coda)(?P<glyph> sign)?(?: (?P<which>\d))?", _Speech.sign),
        (r"(?P<kind>ds|dc)(?: al (?:coda|fine))?", _Speech.jump),
        (r"(?:the )?(?P<fine>fine)(?: sign)?|the to coda|to coda sign", _Speech.leaving),
    )
)
_STRETCH = re.compile(r"(?P<first>.+?)(?: ?[-–] ?| (?:to|till|until|through|thru) )(?P<last>.+)")
