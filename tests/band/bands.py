"""A small invented band to decide with, and commands drawn at random for it."""

from collections.abc import Iterable

from hypothesis import strategies as st

from collaparte.band.apply import apply
from collaparte.band.decide import decide
from collaparte.band.roles import EVERY_ROLE, Refusal, Who
from collaparte.band.state import State
from collaparte.wire import commands as c
from collaparte.wire.chart import Chart, ChartBar, ChartMark, ChartRepeat
from collaparte.wire.corrections import BarlineHere, Correction, MarkHere, NumberHere, Place, RestHere
from collaparte.wire.edits import Cut, Edit, GoTo, Open, Pickup, PlayTimes, Signs, Tacet
from collaparte.wire.events import Event
from collaparte.wire.markings import Ink, Marking, Note, PageInk, PagePoint, Point
from collaparte.wire.setlist import SetItem

LEADER = Who(("alto1",), "alto1", frozenset({"leader"}))
MD = Who(("keys",), "keys", frozenset({"md"}))
ALTO2 = Who(("alto2",), "alto2")
TRUMPET = Who(("trumpet1",), "trumpet1")

RULER = Chart(
    bars=tuple(ChartBar(f"b{number}", number) for number in range(1, 41)),
    marks=tuple(ChartMark(text, f"b{bar}") for text, bar in (("A", 1), ("B", 9), ("C", 20), ("D", 29))),
    repeats=(ChartRepeat("start", "b9"), ChartRepeat("end", "b12")),
)
"""40 bars, of which 9 to 12 are repeated."""


class Band:
    """A band that decides and keeps its log."""

    def __init__(self) -> None:
        self.state = State()
        self.log: list[Event] = []

    def do(self, command: c.Command, who: Who = EVERY_ROLE, *, call: int | None = None) -> tuple[Event, ...]:
        """Decide, and keep what comes of it; it must not be refused. `call`: the band's own unless given."""
        decided = decide(self.state, command, who, self.state.position.call if call is None else call)
        assert not isinstance(decided, Refusal), decided.why
        for event in decided:
            self.state = apply(self.state, event)
        self.log.extend(decided)
        return decided

    def refused(self, command: c.Command, who: Who = EVERY_ROLE, *, call: int | None = None) -> str:
        """The sentence that a command is refused with."""
        decided = decide(self.state, command, who, self.state.position.call if call is None else call)
        assert isinstance(decided, Refusal), decided
        assert decided.why.endswith(".") and "\n" not in decided.why
        return decided.why


def small_band() -> Band:
    """Five chairs in three sections, two tunes; "bus" has bars and a part for the second alto, "ember" none."""
    band = Band()
    band.do(c.NameBand("The Late Tram"))
    for id, name, section in (
        ("alto1", "Alto 1", "Saxes"),
        ("alto2", "Alto 2", "Saxes"),
        ("trumpet1", "Trumpet 1", "Trumpets"),
        ("keys", "Keys", "Rhythm"),
        ("drums", "Drums", "Rhythm"),
    ):
        band.do(c.AddChair(id, name, section))
    band.do(c.AddTune("bus", "Night Bus"))
    band.do(c.AddTune("ember", "Ember"))
    band.do(c.MintRuler("bus", RULER))
    band.do(part("bus", "p-alto2", "2nd Alto", (bar.id for bar in RULER.bars)))
    band.do(c.SeatParts("bus", "alto2", ("p-alto2",)))
    return band


def part(tune: str, id: str, name: str, bars: Iterable[str | None], version: str = "v1") -> c.BringPart:
    """A part as `bring` would offer it."""
    return c.BringPart(tune, id, name, "original", None, version, "reading", "table", "pieces", tuple(bars))


def stroke(id: str, chair: str, layer: str, bar: str = "b3", tune: str = "bus") -> Marking:
    """One stroke at a bar."""
    return Marking(id, tune, chair, layer, Ink((Point(bar, 0.25, 0, 1.0, 0.5), Point(bar, 0.5, 0, 1.5, 0.6))))


_CHAIRS = st.sampled_from(["alto1", "alto2", "trumpet1", "keys", "drums", "new", "ghost"])
_TUNES = st.sampled_from(["bus", "ember", "waltz", "ghost"])
_BARS = st.sampled_from(["b1", "b9", "b12", "b20", "b29", "b40", "x"])
_IDS = st.sampled_from(["1", "2", "3", "4", ""])
_NAMES = st.sampled_from(["Alto 2", "Horn", "  Lead  ", "", "Saxes", "Brass"]) | st.text(max_size=8)
_PLACES = st.sampled_from(["", "C", "D", "top", "4 before C", "B second time", "end", "bar 12", "K", "last 8"])
_POINTS = st.builds(Point, _BARS, st.floats(-1, 2), st.integers(-1, 2), st.floats(-9, 9), st.floats(0, 1))
_PAGE_POINTS = st.builds(PagePoint, st.integers(-1, 2), st.floats(0, 1), st.floats(0, 1))
_MARKINGS = st.builds(
    Marking,
    id=_IDS,
    tune=_TUNES,
    chair=_CHAIRS,
    layer=st.sampled_from(["mine", "section", "band"]),
    what=st.builds(Ink, st.lists(_POINTS, max_size=3).map(tuple))
    | st.builds(Note, _POINTS, st.text(max_size=5))
    | st.builds(
        PageInk, st.lists(st.builds(PagePoint, st.integers(-1, 2), st.floats(0, 1), st.floats(0, 1))).map(tuple)
    ),
)
_PASSES = st.lists(st.integers(1, 3), max_size=2).map(tuple)
_KINDS = st.sampled_from(["cut", "times", "open", "tacet", "go-to", "no-repeats", "no-jumps", "pickup"])
_EDITS = st.builds(
    Edit,
    id=_IDS,
    tune=_TUNES,
    what=st.builds(Cut, _BARS, st.none() | _BARS, _PASSES)
    | st.builds(PlayTimes, _BARS, st.none() | _BARS, _PASSES, times=st.integers(-1, 5) | st.just(100))
    | st.builds(Open, _BARS, st.none() | _BARS, _PASSES)
    | st.builds(Tacet, _BARS, st.none() | _BARS, _PASSES)
    | st.builds(GoTo, _BARS, _BARS, _PASSES)
    | st.builds(Signs, st.sampled_from(["repeats", "jumps"]))
    | st.builds(Pickup, _BARS),
    chairs=st.sampled_from([(), (), ("alto1",), ("ghost",)]),
    sections=st.sampled_from([(), (), ("Saxes",), ("Strings",)]),
)
_ITEMS = st.builds(
    SetItem,
    tune=_TUNES | st.just(""),
    instead=st.booleans(),
    then=st.sampled_from(["", "on", "segue"]),
    key=st.sampled_from(["", "Eb"]),
    notes=st.sampled_from(["", "  Watch  ", "\u0007"]),
    seconds=st.none() | st.integers(-1, 20000),
    id=st.sampled_from(["", "", "2", "x"]),
)
_ROWS = st.sampled_from([None, "", "2", "x"])

_ON_PAGE = st.builds(Place, st.integers(-1, 2), st.floats(-9, 700), st.floats(0, 900))
_CORRECTIONS = st.builds(
    Correction,
    _IDS,
    st.sampled_from(["v1", "v1", "v2"]),
    st.builds(RestHere, _ON_PAGE, st.integers(-1, 2000))
    | st.builds(NumberHere, _ON_PAGE, st.integers(-1, 40))
    | st.builds(MarkHere, _ON_PAGE, _NAMES)
    | st.builds(BarlineHere, _ON_PAGE, st.sampled_from(["", "double", "wavy"]), st.none() | st.floats()),
)

COMMANDS: st.SearchStrategy[c.Command] = st.one_of(
    st.builds(c.Next, st.none() | _TUNES, _ROWS),
    st.builds(c.Call, _TUNES, _PLACES, _ROWS),
    st.builds(c.TakeBackCall, st.integers(0, 12)),
    st.builds(c.From, _PLACES),
    st.builds(c.MakeCut, _IDS, _TUNES | st.just(""), _PLACES, _PLACES, st.booleans()),
    st.builds(
        c.SayEdit,
        *(_IDS, _TUNES | st.just(""), _KINDS, _PLACES, _PLACES, st.integers(-1, 5)),
        st.sampled_from([(), ("alto1",), ("ghost",)]),
        st.sampled_from([(), ("Saxes",)]),
        st.booleans(),
    ),
    st.builds(c.MakeEdit, _EDITS),
    st.builds(c.Cue, _IDS, st.booleans()),
    st.builds(c.NamePlayer, _IDS, _CHAIRS | st.text(max_size=70)),
    st.builds(c.TakeBackEdit, _IDS),
    st.builds(c.MakeMarking, _MARKINGS),
    st.builds(c.EraseMarking, _IDS),
    st.builds(c.NameBand, _NAMES),
    st.builds(c.AddChair, _CHAIRS, _NAMES, _NAMES, st.none() | st.integers(-1, 4)),
    st.builds(c.RenameChair, _CHAIRS, _NAMES),
    st.builds(c.MoveChair, _CHAIRS, _NAMES, st.integers(-1, 4)),
    st.builds(c.RemoveChair, _CHAIRS),
    st.builds(c.AddTune, _TUNES, _NAMES),
    st.builds(c.MintRuler, _TUNES, st.just(RULER) | st.just(Chart())),
    st.builds(part, _TUNES, st.sampled_from(["p-alto2", "p-keys"]), _NAMES, st.lists(st.none() | _BARS, max_size=4)),
    st.builds(c.SeatParts, _TUNES, _CHAIRS, st.lists(st.sampled_from(["p-alto2", "p-keys"]), max_size=2).map(tuple)),
    st.builds(c.SetTheSet, st.lists(_ITEMS, max_size=3).map(tuple), st.none() | st.integers(0, 9)),
    st.builds(
        c.OpenDate, _IDS, _NAMES, st.sampled_from(["rehearsal", "gig"]), st.sampled_from(["", "2026-11-25", "x"])
    ),
    st.builds(c.CloseDate, _IDS, st.booleans()),
    st.builds(c.KeepEdit, _IDS, st.booleans()),
    st.builds(c.TakeOver, _IDS, _IDS, _TUNES | st.just("")),
    st.builds(c.GiveRole, _CHAIRS, st.sampled_from(["leader", "md"])),
    st.builds(c.TakeRole, _CHAIRS, st.sampled_from(["leader", "md"])),
    st.builds(c.TakeRepeats, _TUNES, st.none() | st.booleans()),
    st.builds(c.Correct, _TUNES, st.sampled_from(["p-alto2", "ghost"]), _CORRECTIONS),
    st.builds(c.TakeBackCorrection, _TUNES, st.just("p-alto2"), _IDS),
    st.builds(c.MendRuler, _TUNES, st.sampled_from([RULER, Chart(), Chart(RULER.bars[:30]), Chart(RULER.bars[5:])])),
)
"""Any command, sensible or not."""

ASKERS = st.sampled_from([EVERY_ROLE, LEADER, MD, ALTO2, TRUMPET, Who(("alto1", "drums"), "drums"), Who()])
CALLS = st.sampled_from([None, 0, 1, 2, 3, 4, 5, -1])
"""Numbers of calls to ask under; -1 stands for the band's own."""
