"""Sets of decisions against a model of its own: a tune as a list of sections, each played as a bandleader tells it.

The model knows no written order and no positions: it writes down, section by section, the bars that are played. Its
rules are those of docs/how-to/decide-the-form.md and common practice (after a D.C. no repeats, last endings).
"""

from dataclasses import dataclass

from hypothesis import given, settings
from hypothesis import strategies as st

from band.bands import small_band
from collaparte.band.apply import apply
from collaparte.band.decide import decide
from collaparte.band.roles import EVERY_ROLE, Refusal
from collaparte.wire import commands as c
from collaparte.wire.chart import Chart, ChartBar, ChartEnding, ChartMark, ChartRepeat, ChartSign


@dataclass(frozen=True)
class Part:
    """A section under a mark: its bars; how often it is repeated as printed; or its first and second ending."""

    bars: tuple[str, ...]
    times: int = 1
    first: tuple[str, ...] = ()
    second: tuple[str, ...] = ()

    def played(self, times: int | None = None, leave: int = 0) -> list[str]:
        """All that is played of it, `times` in all (as printed if None) but for the time `leave`."""
        rounds = [(*self.bars, *self.first)] * ((times or (2 if self.second else self.times)) - 1)
        rounds.append((*self.bars, *self.second))
        return [bar for n, one in enumerate(rounds, start=1) if n != leave for bar in one]


@st.composite
def tunes(draw: st.DrawFn) -> tuple[list[Part], int | None]:
    """Sections, and behind which one the Fine stands of a D.C. al Fine at the end, if any."""
    parts, number = [], 1

    def bars(count: int) -> tuple[str, ...]:
        nonlocal number
        number += count
        return tuple(f"b{n}" for n in range(number - count, number))

    for kind in draw(st.lists(st.sampled_from(["plain", "repeat", "endings"]), min_size=3, max_size=6)):
        body = bars(draw(st.integers(1, 10)))
        if kind == "endings":
            parts.append(Part(body, 1, bars(draw(st.integers(1, 2))), bars(draw(st.integers(1, 2)))))
        else:
            parts.append(Part(body, draw(st.integers(2, 3)) if kind == "repeat" else 1))
    return parts, draw(st.none() | st.integers(0, len(parts) - 2))


def chart_of(parts: list[Part], fine: int | None) -> Chart:
    bars, marks, repeats, endings = [], [], [], []
    for n, part in enumerate(parts):
        marks.append(ChartMark("ABCDEFG"[n], part.bars[0]))
        bars += [*part.bars, *part.first, *part.second]
        if part.second or part.times > 1:
            repeats.append(ChartRepeat("start", part.bars[0]))
            repeats.append(ChartRepeat("end", part.first[-1] if part.second else part.bars[-1], max(part.times, 2)))
        if part.second:
            endings += [ChartEnding((1,), part.first[0], part.first[-1])]
            endings += [ChartEnding((2,), part.second[0], part.second[-1])]
    last = [(part.second or part.bars)[-1] for part in parts]
    signs = () if fine is None else (ChartSign("fine", last[fine], "end"), ChartSign("dc-al-fine", bars[-1], "end"))
    return Chart(
        tuple(ChartBar(bar, int(bar[1:])) for bar in bars), tuple(marks), signs, tuple(repeats), tuple(endings)
    )


DECISIONS = ("", "", "cut", "once", "twice", "four times", "open", "second time cut", "tacet", "first bar cut")
TIMES = {"once": 1, "twice": 2, "four times": 4}


def left_of(part: Part, what: str, bars: list[str]) -> list[str]:
    return [] if what == "cut" else [bar for bar in bars if what != "first bar cut" or bar != part.bars[0]]


def modelled(parts: list[Part], fine: int | None, decided: list[str]) -> list[str]:
    """What is played, told section by section: first all of them, then, from the top to the Fine, each once more."""
    heard: list[str] = []
    for part, what in zip(parts, decided, strict=True):
        heard += left_of(part, what, part.played(TIMES.get(what), 2 if what == "second time cut" else 0))
    for part, what in () if fine is None else list(zip(parts, decided, strict=True))[: fine + 1]:
        # A section that is played once before the D.C. is played for the second time after it.
        if not (what == "second time cut" and part.times == 1 and not part.second):
            heard += left_of(part, what, [*part.bars, *part.second])
    return heard


def said(n: int, what: str) -> c.SayEdit:
    """A decision as the MD says it."""
    first, until = "ABCDEFG"[n : n + 2]
    if what in TIMES:
        return c.SayEdit(f"e{n}", "t", "times", first, until, times=TIMES[what])
    if what == "first bar cut":
        return c.SayEdit(f"e{n}", "t", "cut", first, f"second bar of {first}")
    if what == "second time cut":
        return c.SayEdit(f"e{n}", "t", "cut", f"{first} second time", until)
    if what == "tacet":
        return c.SayEdit(f"e{n}", "t", "tacet", first, until, chairs=("alto2",))
    return c.SayEdit(f"e{n}", "t", "open" if what == "open" else "cut", first, until)


@settings(deadline=None)
@given(tunes(), st.data())
def test_what_is_decided_is_played(tune: tuple[list[Part], int | None], data: st.DataObject) -> None:
    parts, fine = tune
    # The last section has no mark behind it: "to the end" is the end of all, a D.C. included.
    most = len(parts) - 1
    decided = [*data.draw(st.lists(st.sampled_from(DECISIONS), min_size=most, max_size=most)), ""]
    order = data.draw(st.permutations(range(len(parts))))
    band = small_band()
    band.do(c.AddTune("t", "Tune"))
    band.do(c.MintRuler("t", chart_of(parts, fine)))
    held = [""] * len(parts)
    for n in order:
        if not decided[n]:
            continue
        events = decide(band.state, said(n, decided[n]), EVERY_ROLE, band.state.position.call)
        then = [*held[:n], decided[n], *held[n + 1 :]]
        if isinstance(events, Refusal):
            # Only what changes nothing is refused, or what would leave nothing.
            assert modelled(parts, fine, then) in (modelled(parts, fine, held), []), events.why
        else:
            held = then
            for event in events:
                band.state = apply(band.state, event)
    assert [step.bar for step in band.state.tunes["t"].played.steps()] == modelled(parts, fine, held)
    for n in order:
        if held[n]:
            band.do(c.TakeBackEdit(f"e{n}"))
    assert [step.bar for step in band.state.tunes["t"].played.steps()] == modelled(parts, fine, [""] * len(parts))
