"""Corrections of what was read of a part, and the ruler mended when they show that its bars were miscounted."""

import math
from collections.abc import Iterator
from typing import assert_never

import msgspec

from collaparte.band import texts
from collaparte.band.library import no_tune, worked_out
from collaparte.band.roles import LIBRARIAN, Refusal, Who
from collaparte.band.state import Part, State, Tune, with_tune
from collaparte.music import ruler
from collaparte.music.form import Written
from collaparte.wire.commands import Correct, MendRuler, TakeBackCorrection
from collaparte.wire.corrections import (
    BARLINES,
    COUNT_MOST,
    PAGES_MOST,
    POINTS_MOST,
    WORDS_MOST,
    BarlineHere,
    EndingHere,
    HalfHere,
    LineIsRight,
    MarkHere,
    NoBarline,
    NoEnding,
    NoMark,
    NoSign,
    NoSystem,
    NumberHere,
    Place,
    RestHere,
    Said,
    SignHere,
    SystemHere,
)
from collaparte.wire.events import CorrectionMade, CorrectionTakenBack, Event, RulerMended

Command = Correct | TakeBackCorrection | MendRuler

MOST = 2000
"""Corrections of one part: more would be a part to be scanned again."""


def decide(state: State, command: Command, who: Who) -> tuple[Event, ...] | Refusal:
    """What comes of a correction."""
    if not who.may(LIBRARIAN):
        return Refusal("Only the librarian may correct what was read of a part.")
    tune = state.tunes.get(command.tune)
    if tune is None:
        return no_tune(command.tune)
    if isinstance(command, MendRuler):
        if tune.chart == command.chart:
            return ()
        wrong = ruler.fault(command.chart)
        return Refusal(wrong) if wrong else (RulerMended(tune=tune.id, chart=command.chart),)
    part = tune.parts.get(command.part)
    if part is None:
        return Refusal(f'"{tune.title}" has no part "{command.part}".')
    match command:
        case Correct():
            return _correct(tune, part, command)
        case TakeBackCorrection(correction=id):
            if id not in part.corrections:
                return Refusal(f"This correction of {part.name} does not hold any more.")
            return (CorrectionTakenBack(tune=tune.id, part=part.id, correction=id),)
        case _:
            assert_never(command)


def _correct(tune: Tune, part: Part, command: Correct) -> tuple[Event, ...] | Refusal:
    correction = command.correction
    if part.corrections.get(correction.id) == correction:
        return ()
    wrong = fault(correction.said)
    if not wrong and not correction.id:
        wrong = "A correction needs an id."
    if not wrong and correction.id in part.corrections:
        wrong = "A correction of this id was made already; give this one another."
    if not wrong and correction.version not in {version.version for version in part.versions}:
        wrong = f"{part.name} of {tune.title} has other pages now: look at them before you correct them."
    if not wrong and len(part.corrections) >= MOST:
        wrong = f"{part.name} of {tune.title} has {MOST} corrections: bring in a better copy."
    return Refusal(wrong) if wrong else (CorrectionMade(tune=tune.id, part=part.id, correction=correction),)


def fault(said: Said) -> str:
    """What makes a correction unusable, in one sentence; "" if nothing does."""
    return next(_faults(said), "")


def _faults(said: Said) -> Iterator[str]:
    if any(not _on_a_page(place) for place in _places(said)):
        yield "A correction must be on a page of the part."
    match said:
        case BarlineHere(kind=kind) if kind and kind not in BARLINES:
            yield f"There is no barline of the kind {kind[:40]!r}: it is one of {', '.join(sorted(BARLINES))}."
        case BarlineHere(to=float(to)) if not math.isfinite(to) or abs(to) > POINTS_MOST:
            yield "A barline cannot be moved off the page."
        case SystemHere(page, staves):
            yield from _drawn(page, staves)
        case MarkHere(text=text):
            if wrong := texts.fault(text, "A rehearsal mark"):
                yield wrong
            elif len(text) > WORDS_MOST:
                yield f"A rehearsal mark has {WORDS_MOST} letters at most."
        case RestHere(count=count) if not 1 <= count <= COUNT_MOST:
            yield f"A rest counts 1 to {COUNT_MOST} bars."
        case NumberHere(number=number) if not 0 <= number <= COUNT_MOST * 10:
            yield f"A bar's number is 0 (the pickup) to {COUNT_MOST * 10}."
        case SignHere(kind=kind, edge=edge):
            if kind not in ruler.SIGNS:
                yield f"There is no sign of the kind {kind[:40]!r}: it is one of {', '.join(sorted(ruler.SIGNS))}."
            if edge not in ("start", "end"):
                yield "A sign stands at the start or the end of its bar."
        case EndingHere(passes=passes):
            if not passes or len(passes) > 20 or not all(1 <= n <= 99 for n in passes):
                yield "An ending needs the times that it is played, from 1 to 99."


def _drawn(page: int, staves: tuple[tuple[float, float, float, float], ...]) -> Iterator[str]:
    if not 1 <= len(staves) <= 40:
        yield "A system has 1 to 40 staves."
    elif not 0 <= page < PAGES_MOST or not all(math.isfinite(n) and abs(n) <= POINTS_MOST for s in staves for n in s):
        yield "A correction must be on a page of the part."
    elif any(x1 - x0 < 20 or bottom - top < 4 for x0, top, x1, bottom in staves):
        yield "A stave is at least 20 points long and 4 high: draw it from its top line to its bottom line."


def _places(said: Said) -> Iterator[Place]:
    for name in said.__struct_fields__:
        value = getattr(said, name)
        if isinstance(value, Place):
            yield value


def _on_a_page(place: Place) -> bool:
    inside = all(math.isfinite(n) and abs(n) <= POINTS_MOST for n in (place.x, place.y))
    return inside and 0 <= place.page < PAGES_MOST


def in_words(said: Said) -> str:
    """A correction as one says it: "Page 1: 8 bars rest"."""
    page = said.page if isinstance(said, SystemHere) else said.at.page
    return f"Page {page + 1}: {_what(said)}"


def _what(said: Said) -> str:
    match said:
        case BarlineHere(kind=kind, to=to):
            what = f"{kind} barline" if kind else "barline"
            return f"{what} moved" if to is not None else what
        case SystemHere(staves=staves):
            return "a system of one stave" if len(staves) == 1 else f"a system of {len(staves)} staves"
        case MarkHere(text=text, to=to):
            return f"mark {text} moved" if to else f"mark {text}"
        case RestHere(count=count):
            return f"{count} bars rest" if count > 1 else "one bar, no long rest"
        case SignHere(kind=kind):
            return kind.replace("-", " ")
        case EndingHere(passes=passes, instead=instead):
            return f"ending {', '.join(map(str, passes))}{' moved' if instead else ''}"
        case NumberHere(number=number):
            return f"this bar is {number}" if number else "this bar is the pickup"
        case HalfHere():
            return "only the part that stands here"
        case NoBarline():
            return "no barline"
        case NoSystem():
            return "no system"
        case LineIsRight():
            return "this line is right"
        case NoMark():
            return "no mark"
        case NoSign():
            return "no sign"
        case NoEnding():
            return "no ending"
        case _:
            assert_never(said)


def apply(state: State, event: CorrectionMade | CorrectionTakenBack | RulerMended) -> State:
    """The state after one event about corrections."""
    replace = msgspec.structs.replace
    tune = state.tunes.get(event.tune)
    if tune is None:
        return state
    if isinstance(event, RulerMended):
        # The written order is worked out anew; a new revision, since every stand's order is another now.
        mended = replace(tune, chart=event.chart, written=Written(()), revision=tune.revision + 1)
        return with_tune(state, worked_out(mended))
    part = tune.parts.get(event.part)
    if part is None:
        return state
    if isinstance(event, CorrectionMade):
        corrections = {**part.corrections, event.correction.id: event.correction}
    else:
        corrections = {id: one for id, one in part.corrections.items() if id != event.correction}
    parts = {**tune.parts, part.id: replace(part, corrections=corrections)}
    return with_tune(state, replace(tune, parts=parts))
