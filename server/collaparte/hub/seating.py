"""Chairs for the parts that come in: those that the band has, and the new ones that it needs, in score order. Pure."""

from collections.abc import Callable, Collection, Sequence

from collaparte.band.hearing import ChairName
from collaparte.band.names import chair_of, sections_for
from collaparte.band.proposals import Proposal, chair_named, match_chair
from collaparte.band.state import State
from collaparte.wire.commands import AddChair, SeatParts

KIN = (frozenset(("Piano", "Keyboard", "Organ")),)
"""Instruments that one player plays, a tune this and a tune that, where a tune has only one of them."""
ELSEWHERE = "Others"
"""The section of a chair that is no instrument of the trade."""


class Seating:
    """Finds chairs, and collects the new ones. `mint` gives a new chair's id."""

    def __init__(self, state: State, mint: Callable[[], str]) -> None:
        self._state = state
        self._mint = mint
        # A chair called "Ms Ferreira" is known by what she plays.
        self._names = {
            id: [chair.name]
            if chair_of(chair.name)
            else [part.name for tune in state.tunes.values() for part in tune.seated(id)]
            for id, chair in state.chairs.items()
        }
        self._new: dict[str, tuple[str, ChairName | None]] = {}

    def chairs(self, proposal: Proposal, beside: Collection[str] = ()) -> tuple[str, ...]:
        """The chairs that a part is for, by id; a chair that is not there yet is made.

        `beside`: the instruments of the tune's other parts.
        """
        if proposal.chair is None or proposal.chair_name:
            return (self._named(proposal.chair_name),)
        one_each = [ChairName(proposal.chair.instrument, (n,)) for n in proposal.chair.numbers] or [proposal.chair]
        return tuple(self._chair(chair, beside) for chair in one_each)

    def name(self, chair: str) -> str:
        """What a chair is called."""
        return self._new[chair][0] if chair in self._new else self._state.chairs[chair].name

    @property
    def new(self) -> tuple[str, ...]:
        """The ids of the chairs that have to be added."""
        return tuple(self._new)

    def commands(self, wanted: Sequence[str]) -> list[AddChair]:
        """The commands that add those of the new chairs that are wanted, in score order."""
        new = self._numbered({id: self._new[id] for id in self._new if id in wanted})
        heard = {id: chair_of(chair.name) for id, chair in self._state.chairs.items()}
        sections = sections_for([c for c in heard.values() if c] + [chair for _, chair in new.values() if chair])
        rows = {there.name: [heard[id] for id in there.chairs] for there in self._state.sections}
        homes = (
            {chair.section: self._state.chairs[id].section for id, chair in heard.items() if chair}
            if self._state.chairs
            else {}
        )
        out = []
        for id, (name, chair) in sorted(new.items(), key=lambda item: _order(item[1][1])):
            section = self._section(chair, heard, sections, homes)
            row = rows.setdefault(section, [])
            place = sum(1 for sitting in row if _order(sitting) <= _order(chair))
            row.insert(place, chair)
            out.append(AddChair(id, name, section, place))
        return out

    def _numbered(self, new: dict[str, tuple[str, ChairName | None]]) -> dict[str, tuple[str, ChairName | None]]:
        """A new "Trumpet" beside a "Trumpet 2" is "Trumpet 1"."""
        there = [chair_of(chair.name) for chair in self._state.chairs.values()]
        counted = {c.instrument for c in (*there, *(chair for _, chair in new.values())) if c and c.numbers}
        for id, (_, chair) in new.items():
            if chair and not chair.numbers and chair.instrument in counted:
                first = ChairName(chair.instrument, (1,))
                new[id] = self._new[id] = (first.labels[0], first)
        return new

    def _section(
        self,
        chair: ChairName | None,
        heard: dict[str, ChairName | None],
        sections: dict[ChairName, str],
        homes: dict[str, str],
    ) -> str:
        if chair is None:
            return ELSEWHERE
        # With one's own kind first, then with the family, else as proposed.
        for id, other in heard.items():
            if other and other.instrument == chair.instrument:
                return self._state.chairs[id].section
        proposed = sections[chair]
        return proposed if any(s.name == proposed for s in self._state.sections) else homes.get(chair.section, proposed)

    def _named(self, name: str) -> str:
        names = {id: chair.name for id, chair in self._state.chairs.items()}
        known = chair_named(name, names | {id: new for id, (new, _) in self._new.items()})
        return known or self._add(name, None)

    def _chair(self, chair: ChairName, beside: Collection[str]) -> str:
        everyone = self._names | {id: [name] for id, (name, _) in self._new.items()}
        kin = next((kin - {chair.instrument} for kin in KIN if chair.instrument in kin), frozenset())
        wanted = [chair, *(ChairName(other, chair.numbers) for other in sorted(kin) if kin.isdisjoint(beside))]
        known = (match_chair(one, everyone) for one in wanted)
        return next(filter(None, known), None) or self._add(chair.labels[0], chair)

    def _add(self, name: str, chair: ChairName | None) -> str:
        id = self._mint()
        self._new[id] = (name, chair)
        return id


def orphans(state: State, id: str, name: str) -> list[SeatParts]:
    """What a new chair plays of the parts that nobody sits at: those that say its name."""
    wanted = chair_of(name)
    out = []
    for tune in state.tunes.values():
        played = {part for chair, parts in tune.seats.items() if chair in state.chairs for part in parts}
        idle = [part for part in tune.parts.values() if part.id not in played]
        own = tuple(part.id for part in idle if wanted is not None and chair_of(part.name) == wanted)
        if own:
            out.append(SeatParts(tune.id, id, own))
    return out


def _order(chair: ChairName | None) -> tuple[int, tuple[int, ...]]:
    return chair.order if chair else (10_000, ())
