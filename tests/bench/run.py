"""The hub against the least that each job can cost: `python tests/bench/run.py [--json FILE] [--only NAME...]`."""

import argparse
import asyncio
import json
import os
import sys
import tempfile
from collections.abc import Awaitable, Callable
from contextlib import AsyncExitStack
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
# Before numpy is loaded: arrays are multiplied on one thread, as in the hub's workers.
os.environ |= {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}

from rich.console import Console
from rich.table import Table

from bench import bringing, figures, forms, glass, laying, painting
from bench.ratios import Figure, machine, percentile
from bench.rooms import Room, floor, room

OFFLINE = ("read_engraved", "read_scan", "lay_128", "draw_book", "written_order_500", "tune_16")
PAINTED = ("cut_glass", "turn", "turn_marked", "first_page")
NAMES = (*OFFLINE, "call_11", "call_60", "call_300", "ack", "cut_16", "cut_16_shapes", *PAINTED)


async def measure(names: list[str], *, quick: bool, said: Callable[[str], None]) -> tuple[list[Figure], dict[str, str]]:
    """The figures, and why one was left out."""
    done: list[Figure] = []
    skipped: dict[str, str] = {}
    if "read_engraved" in names:
        said("read_engraved")
        done.append(figures.read_engraved(1 if quick else 3))
    if "read_scan" in names:
        said("read_scan")
        done.append(figures.read_scan(1 if quick else 5))
    if "lay_128" in names:
        said("lay_128")
        done.append(laying.lay_128(1 if quick else 5))
    if "draw_book" in names:
        said("draw_book")
        done.append(figures.draw_book(1 if quick else 5))
    if "written_order_500" in names:
        done.append(forms.written_order_500(20 if quick else 200))
    if "tune_16" in names:
        said("tune_16")
        with tempfile.TemporaryDirectory(prefix="collaparte-bench-") as made:
            done.append(await bringing.tune_16(Path(made) / "band", quick=quick))
    if glass.browser() is None:
        why = "No Chromium on this machine: install one to measure what is painted."
        skipped |= {name: why for name in PAINTED if name in names}
    live = [name for name in names if name not in OFFLINE and name not in skipped]
    if live:
        async with AsyncExitStack() as stack:
            folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="collaparte-bench-")))
            said("the demo band is brought in")
            hub = await stack.enter_async_context(room(folder / "band", quick=quick))
            bare = await stack.enter_async_context(floor(folder / "floor"))
            for name in live:
                said(name)
                done.append(await _one(name, hub, bare, quick=quick))
    return done, skipped


def _one(name: str, hub: Room, bare: str, *, quick: bool) -> Awaitable[Figure]:
    kind, _, how = name.partition("_")
    number, _, shapes = how.partition("_")
    if kind == "call":
        return figures.call(hub, bare, int(number), 3 if quick else 30)
    if name == "ack":
        return figures.ack(hub, bare, 10 if quick else 200)
    if name == "cut_glass":
        return glass.cut_glass(hub, 2 if quick else 10)
    if name in ("turn", "turn_marked"):
        return painting.turn(hub, 4 if quick else 100, marked=name == "turn_marked")
    if name == "first_page":
        return painting.first_page(hub, 1 if quick else 5)
    return figures.cut(hub, bare, int(number), 2 if quick else 20, shapes=bool(shapes))


def table(done: list[Figure]) -> Table:
    """The figures side by side; goals are no promises."""
    shown = Table("Name", "Ratio", "Ours p50", "p95", "Floor p50", "p95", "Runs", "Goal", "What", box=None)
    for one in done:
        times = [f"{value:.2f} ms" for many in (one.ours, one.floor) for value in _spread(many)]
        extra = ", ".join(f"{name} {value}" for name, value in one.extra.items())
        what = f"{one.note}; {extra}" if extra else one.note
        shown.add_row(one.name, f"{one.ratio:.2f}", *times, str(len(one.ours)), one.goal, what)
    return shown


def _spread(values: list[float]) -> tuple[float, float]:
    return percentile(values, 50), percentile(values, 95)


def main() -> None:
    """Measure, print, keep."""
    parser = argparse.ArgumentParser(description="Ratios measured in one run; the figures in ms are goals.")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures there, too")
    parser.add_argument("--only", nargs="+", choices=NAMES, metavar="NAME", default=list(NAMES), help=", ".join(NAMES))
    parser.add_argument("--quick", action="store_true", help="two parts and a few runs: to see that it works")
    wanted = parser.parse_args()
    aside = Console(stderr=True)
    done, skipped = asyncio.run(measure(wanted.only, quick=wanted.quick, said=lambda what: aside.print(f"... {what}")))
    here = machine()
    console = Console() if sys.stdout.isatty() else Console(width=180)
    console.print(table(done))
    for name, why in skipped.items():
        console.print(f"{name} was left out. {why}")
    console.print(", ".join(f"{name}: {value}" for name, value in here.items()))
    if wanted.json:
        shown = {
            "version": 1,
            "machine": here,
            "figures": {one.name: one.as_json() for one in done},
            "skipped": skipped,
        }
        wanted.json.write_text(json.dumps(shown, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
