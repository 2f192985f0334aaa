"""The one correction that would make a part agree with the others where it differs; a person takes it or not. Pure."""

from collections.abc import Iterator
from typing import Literal, NamedTuple

import msgspec

from collaparte.music.agree import AFTER, Disagreement, named
from collaparte.music.words import count
from collaparte.paper.reading import SURE, BarBox, Barline, BarlineKind, Box, Reading, System
from collaparte.wire.corrections import (
    BarlineHere,
    MarkHere,
    NoBarline,
    NoEnding,
    NoMark,
    NoSign,
    NumberHere,
    Place,
    RestHere,
    Said,
    SignHere,
)

ABOVE = 3.0
"""Staff spaces over its stave where what is put in is taken to be printed."""
AT_EDGE = 1.0
"""Staff spaces within which a barline is the one at a bar's edge."""
Side = Literal["start", "end"]
WITH_START = {BarlineKind.REPEAT_END: BarlineKind.REPEAT_BOTH}
WITH_END = {BarlineKind.REPEAT_START: BarlineKind.REPEAT_BOTH}
WITHOUT_START = {BarlineKind.REPEAT_BOTH: BarlineKind.REPEAT_END}
WITHOUT_END = {BarlineKind.REPEAT_BOTH: BarlineKind.REPEAT_START}


class Suggestion(msgspec.Struct, frozen=True):
    """A correction, and what it does in a few words."""

    words: str
    said: Said


class _Bar(NamedTuple):
    """A bar where it is drawn."""

    page: int
    system: System
    box: BarBox

    @property
    def middle(self) -> Place:
        return Place(self.page, (self.box.x0 + self.box.x1) / 2, self._y)

    def edge(self, side: Side) -> Place:
        return Place(self.page, self.box.x0 if side == "start" else self.box.x1, self._y)

    def over(self, side: Side) -> Place:
        return msgspec.structs.replace(self.edge(side), y=self.system.bbox[1] - ABOVE * self.system.space)

    def barline(self, side: Side) -> Barline | None:
        x = self.edge(side).x
        near = [b for b in self.system.barlines if b.x0 - x <= AT_EDGE * self.system.space >= x - b.x1]
        return min(near, key=lambda b: abs(b.x - x), default=None)

    @property
    def _y(self) -> float:
        return (self.system.bbox[1] + self.system.bbox[3]) / 2


def suggested(reading: Reading, found: Disagreement) -> Suggestion | None:
    """What would make this part have what the others have; None where that is not one thing or not known."""
    if found.kind in ("fewer", "more"):
        return _count(reading, found)
    if found.kind in ("pickup", "no-pickup"):
        first = next(_bars(reading), None)
        number = 1 if found.kind == "pickup" else 0
        words = "The first bar is bar 1" if number else "The first bar is a pickup"
        return Suggestion(words, NumberHere(first.middle, number)) if first else None
    if not found.what or (found.kind == "named" and found.bars):
        return None
    if not found.sign:
        return _mark(reading, found)
    if found.what.startswith("repeat "):
        return _repeat(reading, found)
    return _ending(reading, found) if found.what.startswith("ending") else _sign(reading, found)


def shown(reading: Reading, found: Disagreement) -> Place | None:
    """Where on this part's pages to look."""
    at = found.at if found.at is not None else found.right
    bar = _bar(reading, found, at)
    return bar.middle if bar else None


def _count(reading: Reading, found: Disagreement) -> Suggestion | None:
    """The only rest of several bars in the stretch, or the only one in doubt; or its only doubtful barline."""
    if found.at is None:
        return None
    first = found.at + (not reading.pickup)
    more = found.bars if found.kind == "more" else -found.bars
    stretch = [bar for bar in _bars(reading) if first <= bar.box.number < first + found.wide + more]
    rests = [bar for bar in stretch if bar.box.count > 1]
    rests = [bar for bar in rests if bar.box.confidence < SURE] or rests
    if len(rests) == 1:
        box = rests[0].box
        wanted = box.count - more
        words = f"The rest at bar {reading.called(box.number)} is {count(wanted, 'bar')}, not {box.count}"
        return Suggestion(words, RestHere(rests[0].middle, wanted)) if wanted > 0 else None
    weak = [(bar, line) for bar in stretch[1:] if (line := bar.barline("start")) and line.confidence < SURE]
    if more != 1 or len(weak) != 1:
        return None
    bar, line = weak[0]
    words = f"There is no barline before bar {reading.called(bar.box.number)}"
    return Suggestion(words, NoBarline(msgspec.structs.replace(bar.middle, x=line.x)))


def _mark(reading: Reading, found: Disagreement) -> Suggestion | None:
    right, text = _bar(reading, found, found.right), found.what
    if found.kind == "missing":
        if not right:
            return None
        words = f"Put in mark {text} {_at(reading, right, 'start')}"
        return Suggestion(words, MarkHere(right.over("start"), text))
    number = _number(reading, found, found.at)
    own = next((one for one in reading.marks if (one.text, one.bar) == (text, number)), None)
    if own is None:
        return None
    at = _centre(own.page, own.box)
    if found.kind == "extra":
        return Suggestion(f"Take mark {text} out", NoMark(at))
    if found.kind == "named":
        return Suggestion(f"Call it {found.wanted}", MarkHere(at, found.wanted))
    words = f"Move mark {text} to bar"
    return (
        Suggestion(f"{words} {reading.called(right.box.number)}", MarkHere(at, text, right.edge("start")))
        if right
        else None
    )


def _sign(reading: Reading, found: Disagreement) -> Suggestion | None:
    kind, name = found.wanted or found.what, named(found.wanted or found.what)
    side = _side(found.what)
    right = _bar(reading, found, found.right)
    if found.kind == "missing":
        if not right:
            return None
        words = f"Put in {name} {_at(reading, right, side)}"
        return Suggestion(words, SignHere(right.over(side), kind, side, right.edge(side)))
    number = _number(reading, found, found.at)
    own = next((one for one in reading.signs if (one.kind, one.bar) == (found.what, number)), None)
    if own is None:
        return None
    at = _centre(own.page, own.box)
    if found.kind == "extra":
        return Suggestion(f"Take {name} out", NoSign(at))
    if found.kind == "named":
        return Suggestion(f"Call it {name}", SignHere(at, kind, own.at))
    if not right:
        return None
    return Suggestion(f"Move {name} {_at(reading, right, side)}", SignHere(at, kind, side, right.edge(side)))


def _repeat(reading: Reading, found: Disagreement) -> Suggestion | None:
    side = _side(found.what)
    name = named(found.what)
    if found.kind == "missing" and (bar := _bar(reading, found, found.right)):
        line = bar.barline(side)
        alone = BarlineKind.REPEAT_START if side == "start" else BarlineKind.REPEAT_END
        kind = (WITH_START if side == "start" else WITH_END).get(line.kind, alone) if line else alone
        place = bar.edge(side) if line is None else msgspec.structs.replace(bar.middle, x=line.x)
        return Suggestion(f"Put in the {name} {_at(reading, bar, side)}", BarlineHere(place, kind))
    if found.kind == "extra" and (bar := _bar(reading, found, found.at)) and (line := bar.barline(side)):
        place = msgspec.structs.replace(bar.middle, x=line.x)
        kind = (WITHOUT_START if side == "start" else WITHOUT_END).get(line.kind, BarlineKind.SINGLE)
        said = NoBarline(place) if line.line_start else BarlineHere(place, kind)
        return Suggestion(f"Take the {name} {_at(reading, bar, side)} out", said)
    return None


def _ending(reading: Reading, found: Disagreement) -> Suggestion | None:
    bar = _bar(reading, found, found.at)
    return (
        Suggestion(f"Take the {named(found.what)} out", NoEnding(bar.middle)) if found.kind == "extra" and bar else None
    )


def _side(sign: str) -> Side:
    return "end" if sign in AFTER else "start"


def _number(reading: Reading, found: Disagreement, position: int | None) -> int | None:
    """The number of the bar that a position is about: of what stands at a bar's end, the one before."""
    if position is None:
        return None
    return position + (not reading.pickup) - (found.sign and _side(found.what) == "end")


def _bar(reading: Reading, found: Disagreement, position: int | None) -> _Bar | None:
    """The bar that begins, or ends, as drawn where the position says; None in the middle of a rest."""
    number = _number(reading, found, position)
    if number is None:
        return None
    end = found.sign and _side(found.what) == "end"
    drawn = [bar for bar in _bars(reading) if bar.box.number + (bar.box.count - 1 if end else 0) == number]
    return drawn[-1 if end else 0] if drawn else None


def _bars(reading: Reading) -> Iterator[_Bar]:
    for page, one in enumerate(reading.pages):
        for system in one.systems:
            yield from (_Bar(page, system, box) for box in system.bars if not box.continued)


def _centre(page: int, box: Box) -> Place:
    return Place(page, (box[0] + box[2]) / 2, (box[1] + box[3]) / 2)


def _at(reading: Reading, bar: _Bar, side: Side) -> str:
    last = bar.box.number + (bar.box.count - 1 if side == "end" else 0)
    return f"{'at the end of' if side == 'end' else 'at'} bar {reading.called(last)}"
