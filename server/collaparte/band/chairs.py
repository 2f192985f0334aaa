"""The band as it sits: its name, chairs and sections."""

from typing import assert_never

import msgspec

from collaparte.band import texts
from collaparte.band.roles import LIBRARIAN, Refusal, Who
from collaparte.band.state import Chair, Section, State
from collaparte.wire.commands import AddChair, MoveChair, NameBand, RemoveChair, RenameChair
from collaparte.wire.events import BandNamed, ChairAdded, ChairMoved, ChairRemoved, ChairRenamed, Event

Command = NameBand | AddChair | RenameChair | MoveChair | RemoveChair


def decide(state: State, command: Command, who: Who) -> tuple[Event, ...] | Refusal:
    """What comes of a command about the band itself."""
    if not who.may(LIBRARIAN):
        return Refusal("Only the librarian may change the band's name, chairs and sections.")
    match command:
        case NameBand(name):
            wrong = texts.fault(name, "The band")
            return (
                Refusal(wrong) if wrong else _unless(state.name == texts.tidy(name), BandNamed(name=texts.tidy(name)))
            )
        case AddChair(id, name, section, place):
            return _add(state, id, name, section, place)
        case RenameChair(chair, name):
            wrong = _missing(state, chair) or texts.fault(name, "A chair") or _taken(state, name, chair)
            name = texts.tidy(name)
            return (
                Refusal(wrong)
                if wrong
                else _unless(state.chairs[chair].name == name, ChairRenamed(chair=chair, name=name))
            )
        case MoveChair(chair, section, place):
            wrong = _missing(state, chair) or texts.fault(section, "A section") or _place_fault(place)
            moved = ChairMoved(chair=chair, section=texts.tidy(section), place=place)
            return Refusal(wrong) if wrong else _unless(apply(state, moved).sections == state.sections, moved)
        case RemoveChair(chair):
            wrong = _missing(state, chair)
            return Refusal(wrong) if wrong else (ChairRemoved(chair=chair),)
        case _:
            assert_never(command)


def _add(state: State, id: str, name: str, section: str, place: int | None) -> tuple[Event, ...] | Refusal:
    wrong = texts.fault(name, "A chair") or texts.fault(section, "A section") or _place_fault(place)
    if not wrong and not id:
        wrong = "A chair needs an id."
    if not wrong and id in state.chairs:
        wrong = f"{state.chairs[id].name} is in the band already."
    wrong = wrong or _taken(state, name, id)
    if wrong:
        return Refusal(wrong)
    section = texts.tidy(section)
    sitting = next((len(there.chairs) for there in state.sections if there.name == section), 0)
    place = sitting if place is None else min(place, sitting)
    return (ChairAdded(chair=id, name=texts.tidy(name), section=section, place=place),)


def apply(state: State, event: BandNamed | ChairAdded | ChairRenamed | ChairMoved | ChairRemoved) -> State:
    """The state after one event about the band itself."""
    replace = msgspec.structs.replace
    if isinstance(event, BandNamed):
        return replace(state, name=event.name)
    if isinstance(event, ChairAdded):
        return _put(state, Chair(event.chair, event.name, event.section, state.seq), event.place)
    chair = state.chairs.get(event.chair)
    if chair is None:
        return state
    match event:
        case ChairRenamed():
            return replace(state, chairs={**state.chairs, chair.id: replace(chair, name=event.name)})
        case ChairMoved():
            if chair.section != event.section:
                chair = replace(chair, section=event.section, since=state.seq)
            return _put(state, chair, event.place)
        case ChairRemoved():
            chairs = {id: other for id, other in state.chairs.items() if id != chair.id}
            return replace(state, sections=_filled(_unseat(state.sections, chair.id)), chairs=chairs)
        case _:
            assert_never(event)


def _put(state: State, chair: Chair, place: int) -> State:
    sections = _seat(_unseat(state.sections, chair.id), chair.id, chair.section, place)
    return msgspec.structs.replace(state, sections=_filled(sections), chairs={**state.chairs, chair.id: chair})


def _unseat(sections: tuple[Section, ...], chair: str) -> tuple[Section, ...]:
    return tuple(Section(there.name, tuple(id for id in there.chairs if id != chair)) for there in sections)


def _seat(sections: tuple[Section, ...], chair: str, section: str, place: int) -> tuple[Section, ...]:
    if all(there.name != section for there in sections):
        return (*sections, Section(section, (chair,)))
    return tuple(
        Section(there.name, (*there.chairs[:place], chair, *there.chairs[place:])) if there.name == section else there
        for there in sections
    )


def _filled(sections: tuple[Section, ...]) -> tuple[Section, ...]:
    """A section whose last chair has gone is gone."""
    return tuple(there for there in sections if there.chairs)


def _missing(state: State, chair: str) -> str:
    return "" if chair in state.chairs else f'There is no chair "{chair}" in this band.'


def _taken(state: State, name: str, chair: str) -> str:
    """Two chairs of one name could not be told apart at the door."""
    name = texts.tidy(name).casefold()
    twin = next((other for other in state.chairs.values() if other.id != chair and other.name.casefold() == name), None)
    return (
        f"There is a chair called {twin.name} already, in {twin.section}; give this one another name." if twin else ""
    )


def _place_fault(place: int | None) -> str:
    return "A chair's place in its section counts from 0." if place is not None and place < 0 else ""


def _unless(done: bool, event: Event) -> tuple[Event, ...]:
    """Nothing, when it is so already."""
    return () if done else (event,)
