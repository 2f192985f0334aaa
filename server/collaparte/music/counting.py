"""Counting bars in a chart as musicians do: back from a place, on from it, to the end of a stretch, to a sign."""

from collections.abc import Mapping

from collaparte.music.ruler import bar_in_words, indices
from collaparte.music.words import count
from collaparte.wire.chart import BarId, Chart


class PlaceError(ValueError):
    """The place is not there, or cannot be understood: one sentence with what is nearest."""


class Counting:
    """Places in one chart, counted; `words`: what was said, for the sentence where it is not there. All raise
    `PlaceError`."""

    def __init__(self, words: str, chart: Chart) -> None:
        self.words = words
        self.chart = chart
        self.at: Mapping[BarId, int] = indices(chart)

    def end_of(self, anchor: BarId) -> int:
        """The place behind the last bar of the stretch that a mark or an ending begins: a coda is no part of what
        stands before it."""
        marks = {self.at[mark.bar] for mark in self.chart.marks}
        own = [self.at[ending.last] + 1 for ending in self.chart.endings if ending.bar == anchor]
        if own and self.at[anchor] not in marks:
            return own[0]
        codas = {self.at[sign.bar] + (sign.at == "end") for sign in self.chart.signs if sign.kind == "coda"}
        return min((at for at in marks | codas if at > self.at[anchor]), default=len(self.chart.bars))

    def sign_edge(self, said: str) -> int:
        """The edge (the place of the bar behind it) at which the one sign of this kind stands."""
        kind = "to-coda" if said == "to coda" else said
        edges = sorted(
            {self.at[s.bar] + 1 for s in self.chart.signs if s.kind == kind or s.kind.startswith(f"{kind}-")}
            if kind != "repeat"
            else {self.at[repeat.bar] + 1 for repeat in self.chart.repeats if repeat.side == "end"}
        )
        name = {"fine": "Fine", "to-coda": "To Coda", "ds": "D.S.", "dc": "D.C.", "repeat": "repeat"}[kind]
        if not edges:
            raise PlaceError(f"This tune has no {name}.")
        self.only_one([self.chart.bars[edge - 1].id for edge in edges], f"The {name} stands")
        return edges[0]

    def only_one(self, bars: list[BarId], what: str) -> BarId:
        places = sorted({self.at[bar] for bar in bars})
        if len(places) > 1:
            numbers = [str(self.chart.bars[place].number) for place in places]
            where = f"{', '.join(numbers[:-1])} and {numbers[-1]}"
            raise PlaceError(f"{what} at bars {where}; say which by its number.")
        return self.chart.bars[places[0]].id

    def back(self, number: int, place: int, *, of_the_repeat: bool = False) -> BarId:
        """So many printed bars before a place; from behind endings one counts back through the last of them only, but
        from a repeat's end through the one that it closes."""
        opens = {self.at[ending.bar]: ending for ending in self.chart.endings}
        closes = {self.at[ending.last]: self.at[ending.bar] for ending in self.chart.endings}
        for done in range(number):
            while (
                not (of_the_repeat and not done)
                and place in opens
                and 1 not in opens[place].passes
                and place - 1 in closes
            ):
                place = closes[place - 1]
            if place == 0:
                there = count(done, "bar") if done else "no bar"
                first = bar_in_words(self.chart.bars[0])
                raise PlaceError(f'There is no "{self.words}", only {there} before that; the nearest is {first}.')
            place -= 1
            while place > 0 and not self.chart.bars[place].counted:
                place -= 1
        return self.chart.bars[place].id

    def on(self, number: int, bar: BarId) -> BarId:
        counted = [place for place in range(self.at[bar] + 1, len(self.chart.bars)) if self.chart.bars[place].counted]
        if number > len(counted):
            last = bar_in_words(self.chart.bars[-1])
            raise PlaceError(f'There is no "{self.words}"; the nearest is the last bar, {last}.')
        return self.chart.bars[counted[number - 1]].id if number else bar
