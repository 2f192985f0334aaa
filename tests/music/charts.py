"""Charts written short, and orders as run-length over 1-based bar positions ("1-3 2-4")."""

from collections.abc import Iterable, Mapping

from collaparte.music.form import Step
from collaparte.wire.chart import Chart, ChartBar, ChartEnding, ChartMark, ChartRepeat, ChartSign

LANDINGS = ("segno", "coda")


def chart(
    bars: int,
    *,
    starts: Iterable[int] = (),
    ends: Mapping[int, int] | None = None,
    endings: Iterable[tuple[tuple[int, ...], int, int]] = (),
    signs: Iterable[tuple[str, int]] = (),
    marks: Mapping[str, int] | None = None,
    pickup: bool = False,
) -> Chart:
    """A chart of bars "b1", "b2", ...; `ends`: bar -> times; `endings`: (passes, first, last); landings stand at the
    start of their bar, jumps and Fine at the end."""
    return Chart(
        bars=tuple(ChartBar(f"b{place}", place - pickup) for place in range(1, bars + 1)),
        marks=tuple(ChartMark(text, f"b{place}") for text, place in (marks or {}).items()),
        signs=tuple(ChartSign(kind, f"b{place}", "start" if kind in LANDINGS else "end") for kind, place in signs),
        repeats=(
            *(ChartRepeat("start", f"b{place}") for place in starts),
            *(ChartRepeat("end", f"b{place}", times) for place, times in (ends or {}).items()),
        ),
        endings=tuple(ChartEnding(passes, f"b{first}", f"b{last}") for passes, first, last in endings),
    )


def places(steps: Iterable[Step]) -> list[int]:
    """1-based bar positions of an order."""
    return [int(step.bar[1:]) for step in steps]


def run_length(order: list[int]) -> str:
    """An order as "1-3 2-4"."""
    runs: list[list[int]] = []
    for place in order:
        if runs and runs[-1][-1] == place - 1:
            runs[-1].append(place)
        else:
            runs.append([place])
    return " ".join(f"{run[0]}-{run[-1]}" if len(run) > 1 else f"{run[0]}" for run in runs)
