"""What clients are shown: the state as the views of `wire.views`, and which of them an event changes."""

from collections.abc import Iterable, Iterator, Mapping
from itertools import takewhile

import msgspec

from collaparte.band.asides import bind_by_chair, leading_out
from collaparte.band.edits import bars_of, concerned, concerned_chairs
from collaparte.band.markings import sees
from collaparte.band.parts import in_words_only
from collaparte.band.roles import given
from collaparte.band.saying import why_held_off
from collaparte.band.state import Held, Position, State, Tune
from collaparte.band.timing import seconds
from collaparte.music import places
from collaparte.music.stretches import spans
from collaparte.wire.edits import Pickup, Tacet
from collaparte.wire.events import Cued, EditMade, EditTakenBack, Event, PlayerNamed, RepeatsSaid
from collaparte.wire.views import (
    AgainRow,
    BandView,
    ChairView,
    DateView,
    EditRow,
    FoldRow,
    ForSome,
    MarkingsView,
    PositionView,
    RolesView,
    SectionView,
    SetView,
    Slip,
    ThreadStep,
    TuneRow,
    TuneView,
)

NOW = -1.0
"""Stands for the moment at which a slip is sent."""


def band_view(state: State, stands: Mapping[str, int]) -> BandView:
    """The band as it sits; `stands`: how many stands sit at each chair now."""
    return BandView(
        state.name,
        tuple(
            SectionView(
                section.name,
                tuple(ChairView(chair, state.chairs[chair].name, stands.get(chair, 0)) for chair in section.chairs),
            )
            for section in state.sections
        ),
    )


def set_view(state: State) -> SetView:
    """The tunes of the set, then the rest of the library by title."""
    rest = sorted((state.title(tune).casefold(), tune) for tune in state.tunes if tune not in state.set_order)
    rows = [TuneRow(tune, state.title(tune), True) for tune in dict.fromkeys(state.set_order) if tune in state.tunes]
    tunes = (*rows, *(TuneRow(tune, state.title(tune), False) for _, tune in rest))
    return SetView(tunes, state.set.items, state.set.revision, state.called(state.set.by))


def date_view(state: State) -> DateView:
    """The open date."""
    date = state.dates.get(state.date)
    return DateView(date.id, date.name, date.kind, date.day) if date else DateView()


def roles_view(state: State, codes: Iterable[str], chairs: tuple[str, ...]) -> RolesView:
    """The roles of one who has some by codes, and others by its chairs."""
    mine = tuple(sorted(given(state, chairs).union(codes)))
    return RolesView(mine, tuple((chair, tuple(sorted(roles))) for chair, roles in sorted(state.given.items())))


def position_view(state: State) -> PositionView:
    """Where the band is."""
    here = state.position
    before = here.before if here.came_after else None
    return PositionView(
        call=here.call,
        tune=here.tune,
        start=here.start,
        start_pass=here.start_pass,
        by=state.called(here.by),
        words=here.words,
        next=here.next,
        returns_to=here.returns_to,
        previous=here.before.call if here.before else None,
        cued=here.cued,
        players=dict(here.players),
        item=here.item,
        next_item=here.next_item,
        after=_in_words(state, before) if before else "",
        after_by=state.called(before.by) if before else "",
        device=here.device,
        after_device=before.device if before else "",
    )


def _in_words(state: State, here: Position) -> str:
    """Where the band was, as it is said: "Night Bus", "Night Bus from C"."""
    return f"{state.title(here.tune)}{f' from {here.words}' if here.words else ''}"


def tune_view(state: State, tune: Tune) -> TuneView:
    """A tune as decided, with its thread. Without bars the thread is empty."""
    played, why = tune.played, why_held_off(tune)
    return TuneView(
        tune=tune.id,
        title=tune.title,
        revision=tune.revision,
        written=_thread(tune),
        cut=played.cut,
        edits=tuple(_row(state, tune, held, why) for held in tune.edits.values()),
        diagnosis=tune.written.diagnosis,
        seconds=seconds(tune),
        again=tuple(AgainRow(a.first, a.last, a.more, a.times, a.signs, a.edit) for a in played.again),
        folds=tuple(FoldRow(fold.first, fold.last, fold.by) for fold in played.folds),
        tacet=tuple(_for_some(state, tune, Tacet)),
        pickups=tuple(_for_some(state, tune, Pickup)),
        in_words=tuple(sorted(part.name for part in tune.parts.values() if in_words_only(tune, part.current))),
        repeats_after_jump=tune.repeats_after_jump,
    )


def _row(state: State, tune: Tune, held: Held, why: Mapping[str, str]) -> EditRow:
    edit = held.edit
    bars = bars_of(edit.what)
    leading, chairs = leading_out(state, tune, edit)
    return EditRow(
        id=edit.id,
        words=held.words,
        by=state.called(edit.author),
        first=bars[0] if bars else None,
        until=bars[1] if len(bars) > 1 else None,
        kind=str(edit.what.__struct_config__.tag),
        at=edit.at,
        kept=edit.kept,
        why=why.get(edit.id, ""),
        leads=chairs,
        leads_from=places.say(tune.chart, leading) if tune.chart and leading else "",
    )


def _for_some(state: State, tune: Tune, kind: type[Tacet | Pickup]) -> Iterator[ForSome]:
    """Where edits of a kind hold for some chairs only."""
    for held in tune.edits.values():
        edit = held.edit
        if isinstance(edit.what, kind):
            positions = concerned(tune, edit)
            yield ForSome(edit.id, concerned_chairs(state, edit), tuple((s.first, s.last) for s in spans(positions)))


def _thread(tune: Tune) -> tuple[ThreadStep, ...]:
    if tune.chart is None:
        return ()
    numbers = {bar.id: bar.number for bar in tune.chart.bars}
    marks: dict[str, str] = {}
    for mark in tune.chart.marks:
        marks.setdefault(mark.bar, mark.text.strip())
    return tuple(ThreadStep(bar, numbers[bar], pass_, marks.get(bar, "")) for bar, pass_ in tune.written.steps)


def markings_view(state: State, chairs: tuple[str, ...], since: int = 0) -> MarkingsView:
    """The markings that one who holds these chairs may see, made or erased after sequence `since`.

    Whole, and to replace what was there before, from the start or when a chair has come to another section since.
    """
    whole = since <= 0 or any(state.chairs[chair].since > since for chair in chairs if chair in state.chairs)
    since = 0 if whole else since
    # The newest come last in each tune: a look at what is new does not go through a season's markings.
    drawn = (
        one
        for tune in state.tunes.values()
        for one in takewhile(lambda one: one.seq > since, reversed(tune.markings.values()))
    )
    made = sorted((one for one in drawn if sees(state, chairs, one.marking)), key=lambda one: one.seq)
    gone = [
        (seq, id)
        for tune in state.tunes.values()
        for id, seq in takewhile(lambda one: one[1] > since, reversed(tune.erased.items()))
    ]
    erased = () if whole else tuple(id for _, id in sorted(gone))
    return MarkingsView(state.seq, tuple(one.marking for one in made), erased, whole)


class Touched(msgspec.Struct, frozen=True):
    """Which views are others now. `tunes`: as decided; `parts`: tunes whose order, parts or seats are others."""

    band: bool
    set: bool
    date: bool
    roles: bool
    position: bool
    markings: bool
    tunes: frozenset[str]
    parts: frozenset[str]


def touched(before: State, after: State) -> Touched:
    """What to show anew after the events that lie between two states."""
    was, now = before.tunes, after.tunes
    changed = [id for id, tune in now.items() if was.get(id) is not tune]
    names = before.chairs != after.chairs
    decided = {id for id in changed if id not in was or _decided(was[id]) != _decided(now[id])}
    seated = {id for id in changed if id not in was or was[id].parts != now[id].parts or was[id].seats != now[id].seats}
    kept = {id for id in changed if id in was and was[id].edits is not now[id].edits}
    drawn = any(was[id].markings is not now[id].markings for id in changed if id in was)
    return Touched(
        band=names or before.name != after.name or before.sections != after.sections,
        set=before.set != after.set or was.keys() != now.keys(),
        date=before.date != after.date or before.dates.get(after.date) != after.dates.get(after.date),
        roles=before.given != after.given,
        # Positions and edits are signed with a chair's name, so a new name is on them too.
        position=before.position != after.position or (names and bool(after.position.by)),
        markings=drawn or names,
        tunes=frozenset(decided | kept | {id for id, tune in now.items() if names and tune.edits}),
        parts=frozenset(decided | seated),
    )


def _decided(tune: Tune) -> tuple[int, bool]:
    """What a tune's order hangs on."""
    return tune.revision, tune.chart is not None


def slips(after: State, events: Iterable[Event]) -> list[Slip]:
    """The lines of words that edits bring to the foot of the page; `after`: the state with these events in it."""
    lines = []
    for event in events:
        match event:
            case EditMade(edit=edit, words=words):
                lines.append(Slip(edit.tune, words, edit.id))
                if tune := after.tunes.get(edit.tune):
                    bound = bind_by_chair(after, tune, edit)
                    lines += [Slip(tune.id, f"Still holds: {', '.join(what)}", edit.id, (who,)) for who, what in bound]
            case EditTakenBack(edit=id, words=words):
                tunes = (tune.id for tune in after.tunes.values() if id in tune.taken_back)
                lines.extend(Slip(tune, words, id) for tune in tunes)
            case RepeatsSaid(tune=tune_id, words=words):
                lines.append(Slip(tune_id, words))
            case Cued(edit=id, words=words) | PlayerNamed(edit=id, words=words):
                # The hub's clock comes to it where it is sent.
                lines.append(Slip(after.position.tune or "", words, id, at=NOW))
            case _:
                pass
    return lines
