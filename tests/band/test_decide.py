"""Every command has someone who decides it, and whoever may not, or comes too late, is told in one sentence."""

from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from band import bands
from band.bands import ALTO2, LEADER, MD, RULER, Band, part, small_band, stroke
from collaparte.band import views
from collaparte.band.apply import apply, fold
from collaparte.band.decide import decide
from collaparte.band.roles import Refusal, Who
from collaparte.band.state import State
from collaparte.wire import commands as c
from collaparte.wire.codec import decode_event, encode
from collaparte.wire.corrections import Correction, Place, RestHere
from collaparte.wire.edits import Cut, Edit
from collaparte.wire.events import Event, Unknown
from collaparte.wire.markings import Marking
from collaparte.wire.setlist import SetItem

SAMPLES: list[c.Command] = [
    c.Next("bus"),
    c.Call("bus"),
    c.TakeBackCall(0),
    c.From("C"),
    c.MakeCut("e", "bus", "C", "D"),
    c.MakeEdit(Edit("e", "bus", Cut("b1", "b2"))),
    c.SayEdit("e", "bus", "open", "C", "D"),
    c.TakeBackEdit("e"),
    c.Cue("e"),
    c.NamePlayer("e", "alto1"),
    c.MakeMarking(stroke("m", "alto1", "mine")),
    c.EraseMarking("m"),
    c.NameBand("X"),
    c.AddChair("x", "X", "Y"),
    c.RenameChair("alto1", "X"),
    c.MoveChair("alto1", "Y", 0),
    c.RemoveChair("alto1"),
    c.AddTune("x", "X"),
    c.MintRuler("ember", RULER),
    part("bus", "p", "P", ()),
    c.SeatParts("bus", "alto1", ()),
    c.SetTheSet((SetItem("ember"), SetItem("bus"))),
    c.OpenDate("d", "Tuesday", "rehearsal"),
    c.CloseDate("d"),
    c.KeepEdit("e", True),
    c.TakeOver("t", "d"),
    c.GiveRole("alto1", "leader"),
    c.TakeRole("alto1", "leader"),
    c.TakeRepeats("bus", True),
    c.Correct("bus", "p-alto2", Correction("r", "v1", RestHere(Place(0, 1, 1), 2))),
    c.TakeBackCorrection("bus", "p-alto2", "r"),
    c.MendRuler("ember", RULER),
]


def test_every_kind_of_command_is_decided_and_what_comes_of_it_is_kept() -> None:
    assert {type(command) for command in SAMPLES} == set(get_args(c.Command))
    for command in SAMPLES:
        band = small_band()
        decided = decide(band.state, command, ALTO2, 0)
        assert isinstance(decided, Refusal), command


@pytest.mark.parametrize(
    ("command", "who", "why"),
    [
        (c.Next("bus"), MD, "Only the leader may name the next tune."),
        (c.Call("bus"), MD, "Only the leader may call a tune."),
        (c.TakeBackCall(0), MD, "Only the leader may take back a call."),
        (c.From("C"), ALTO2, "Only the leader or the MD may say where to start."),
        (
            c.MakeCut("e", "bus", "C", "D"),
            LEADER,
            "Only the MD may change the order of the bars, or take a change back.",
        ),
        (c.Cue("e"), ALTO2, "Only the MD or the leader may cue."),
        (c.AddChair("x", "X", "Y"), LEADER, "Only the librarian may change the band's name, chairs and sections."),
        (c.AddTune("x", "X"), MD, "Only the librarian may bring in tunes and parts and say who plays them."),
        (c.SetTheSet(()), MD, "Only the leader or the librarian may put the set in order."),
        (
            c.OpenDate("d", "Tuesday", "gig"),
            ALTO2,
            "Only the leader, the MD or the librarian may open and close a date.",
        ),
        (c.GiveRole("alto2", "md"), LEADER, "Only the MD may hand that on."),
        (c.Call("bus"), Who((), "alto1"), "You do not sit at Alto 1, so you cannot speak for it."),
        (
            c.Call("bus"),
            Who(("tuba",), "tuba", frozenset({"leader"})),
            'There is no chair "tuba" in this band; choose a chair at the door.',
        ),
    ],
)
def test_whoever_may_not_is_told(command: c.Command, who: Who, why: str) -> None:
    assert small_band().refused(command, who) == why


@pytest.mark.parametrize(
    "command",
    [
        *(c.Next("bus"), c.Call("bus"), c.From("C"), c.MakeCut("e", "bus", "C", "D"), c.TakeBackEdit("e")),
        *(c.SayEdit("e", "bus", "open", "C", "D"), c.Cue("e"), c.NamePlayer("e", "alto1")),
    ],
)
def test_what_was_asked_under_a_call_that_has_passed_does_nothing(command: c.Command) -> None:
    band = small_band()
    band.do(c.Call("ember"))
    band.do(c.Call("bus"))
    assert 'came too late: "Night Bus" has been called by the leader since it was asked.' in band.refused(
        command, call=1
    )
    decided = decide(band.state, command, bands.EVERY_ROLE)
    assert isinstance(decided, Refusal) and "under which call" in decided.why


def test_markings_never_come_too_late() -> None:
    band = small_band()
    band.do(c.Call("bus"))
    band.do(c.MakeMarking(stroke("m", "alto2", "mine")), ALTO2, call=0)
    band.do(c.EraseMarking("m"), ALTO2, call=0)


@settings(max_examples=150)
@given(st.lists(st.tuples(bands.COMMANDS, bands.ASKERS, bands.CALLS), max_size=30), st.integers(0, 100))
def test_any_commands(asked: list[tuple[c.Command, Who, int | None]], tear: int) -> None:
    """Each is decided or refused in a sentence; state is the fold of the log, through the wire, from anywhere."""
    band, seen = small_band(), Folded(("alto2",))
    for command, who, call in asked:
        before = band.state
        decided = decide(before, command, who, before.position.call if call == -1 else call)
        if isinstance(decided, Refusal):
            assert decided.why.endswith(".") and "\n" not in decided.why
            continue
        for event in decided:
            band.state = apply(band.state, event)
        band.log.extend(decided)
        assert decide(before, command, who, before.position.call if call == -1 else call) == decided
        sound(before, band.state)
        seen.look(band.state)
    assert fold(band.log) == band.state and band.state.seq == len(band.log)
    tear = tear % (len(band.log) + 1)
    assert fold(band.log[tear:], fold(band.log[:tear])) == band.state
    assert fold(decode_event(encode(event)) for event in band.log) == band.state


def sound(before: State, state: State) -> None:
    """What holds after any event."""
    assert state.position.call - before.position.call in (0, 1)
    sitting = [chair for section in state.sections for chair in section.chairs]
    assert sorted(sitting) == sorted(state.chairs)
    assert all(section.chairs for section in state.sections)
    assert all(state.chairs[chair].section == section.name for section in state.sections for chair in section.chairs)
    assert state.date in ("", *(date.id for date in state.dates.values() if date.last is None))
    assert sum(date.last is None for date in state.dates.values()) == (state.date != "")
    assert set(state.set_order) <= state.tunes.keys() and len(set(state.set_order)) == len(state.set_order)
    for tune in state.tunes.values():
        assert not tune.edits.keys() & tune.taken_back and not tune.markings.keys() & tune.erased.keys()
        if tune.chart:
            assert {step.bar for step in tune.written.steps} <= {bar.id for bar in tune.chart.bars}
            assert len(tune.played.left_out()) < len(tune.written.steps)


class Folded:
    """A stand that is shown only what is new since it last looked."""

    def __init__(self, chairs: tuple[str, ...]) -> None:
        self.chairs, self.seq = chairs, 0
        self.standing: dict[str, Marking] = {}

    def look(self, state: State) -> None:
        view = views.markings_view(state, self.chairs, self.seq)
        if view.whole:
            self.standing.clear()
        self.standing |= {marking.id: marking for marking in view.made}
        for id in view.erased:
            self.standing.pop(id, None)
        self.seq = view.seq
        whole = views.markings_view(state, self.chairs).made
        assert self.standing == {marking.id: marking for marking in whole}


def test_what_this_release_has_never_heard_of_advances_the_sequence_and_does_nothing() -> None:
    band = small_band()
    strange: list[Event] = [
        decode_event(b'{"type":"set-on-fire","v":1,"tune":"bus"}'),
        decode_event(b'{"type":"called","v":2,"call":9,"where":["bus",3]}'),
    ]
    assert all(isinstance(event, Unknown) for event in strange)
    after = fold(strange, band.state)
    assert (after.seq, after.position, after.tunes) == (band.state.seq + 2, band.state.position, band.state.tunes)


def test_events_about_what_an_unknown_event_brought_do_nothing() -> None:
    known = small_band()
    known.do(c.MakeCut("e", "bus", "C", "D"))
    known.do(c.MakeMarking(stroke("m", "alto2", "mine")), ALTO2)
    known.do(c.MoveChair("alto2", "Brass", 0))
    known.do(c.RenameChair("alto2", "Horn"))
    known.do(c.TakeBackEdit("e"))
    known.do(c.EraseMarking("m"), ALTO2)
    known.do(c.RemoveChair("alto2"))
    lost = [e for e in known.log if getattr(e, "tune", "") == "bus" and e.__struct_config__.tag == "tune-added"]
    lost += [e for e in known.log if getattr(e, "chair", "") == "alto2" and e.__struct_config__.tag == "chair-added"]
    state = fold(Unknown(raw="{}") if event in lost else event for event in known.log)
    assert state.seq == known.state.seq and "bus" not in state.tunes


def test_an_empty_band_refuses_and_does_not_fall() -> None:
    for command in SAMPLES:
        decided = decide(Band().state, command, bands.EVERY_ROLE, 0)
        assert isinstance(decided, Refusal | tuple)
