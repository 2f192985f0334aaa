"""Fresh charts by both engravers, read until every kind of item was met so many times; then how each kind was read.

python tests/paper/many.py [--items 1000] [--minutes 30] [--seed N] [--signs] [--makers] [--keep FOLDER]

With `--signs` every chart is full of jumps, worded and lettered in many ways, so that the rare kinds are met sooner.
With `--makers` every chart is read as another maker would have drawn it; where letters are told by their shapes alone
it is counted in a table of its own.
An item is one mark, rest, sign, ending, system or barline of a chart's truth, at its bar and of its text, count,
staves or kind.
Charts whose PDF was read otherwise than it was engraved are kept in FOLDER.
"""

import argparse
import itertools
import random
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn
from rich.table import Table

sys.path.insert(0, str(Path(__file__).parent.parent))

import engraving
import second_engraving
from collaparte.paper.read import read_part
from collaparte.paper.reading import SURE, Reading
from remade import SINGLE, maker, remade, told

TURNS = 4
"""Every so many charts one is by the first engraver, which takes longer."""
KINDS = ("mark", "rest", "ending", "segno", "coda", "to-coda", "fine", "ds-al-coda", "dc-al-coda", "ds-al-fine",
         "dc-al-fine", "system", "single", "double", "final", "repeat-start", "repeat-end", "repeat-both")  # fmt: skip
WORDS = KINDS[3:11]

Item = tuple[str, object]
"""Its kind, and all that must be right of it."""


@dataclass
class Score:
    """One kind: found right, missed, read where there is none; how many were sure or in doubt, and of these right."""

    found: int = 0
    missed: int = 0
    false: int = 0
    sure: int = 0
    sure_right: int = 0
    doubtful: int = 0
    doubtful_right: int = 0

    @property
    def f1(self) -> float:
        """The harmonic mean of precision and recall."""
        return 2 * self.found / max(1, 2 * self.found + self.missed + self.false)


def drawn(truth: engraving.Truth) -> Iterator[Item]:
    """All items of a chart."""
    yield from (("mark", mark) for mark in truth.marks)
    yield from (("rest", rest) for rest in truth.multirests)
    yield from (("ending", ending) for ending in truth.endings)
    yield from ((kind, bar) for kind, bar in truth.signs)
    for n, system in enumerate(truth.systems):
        # the line that joins the staves at the left edge is no barline
        lines = [kind for x, kind in system if x > 0.6 or kind.startswith("repeat")]
        yield "system", (n, truth.staves)
        yield from ((kind, (n, at)) for at, kind in enumerate(lines))


def seen(reading: Reading, barlines: bool) -> Iterator[tuple[Item, float]]:
    """All items of a reading, and how sure each is."""
    yield from ((("mark", (m.text, m.bar)), m.confidence) for m in reading.marks)
    yield from ((("rest", (r.bar, r.count)), r.confidence) for r in reading.multirests)
    yield from ((("ending", (e.passes, e.bar, e.last_bar)), e.confidence) for e in reading.endings)
    yield from (((s.kind.value, s.bar), s.confidence) for s in reading.signs)
    if barlines:
        systems = [system for page in reading.pages for system in page.systems]
        for n, system in enumerate(systems):
            yield ("system", (n, len(system.staves))), system.confidence
            yield from (((b.kind.value, (n, at)), b.confidence) for at, b in enumerate(system.barlines))


def held(reading: Reading, truth: engraving.Truth, scores: dict[str, Score]) -> bool:
    """Count one chart's items; whether all of them are right, and its bars."""
    wanted = Counter(drawn(truth))
    left, right = wanted.copy(), True
    for item, confidence in seen(reading, bool(truth.systems)):
        score, good = scores[item[0]], left[item] > 0
        left[item] -= good
        score.found += good
        score.false += not good
        if confidence >= SURE:
            score.sure, score.sure_right = score.sure + 1, score.sure_right + good
        else:
            score.doubtful, score.doubtful_right = score.doubtful + 1, score.doubtful_right + good
        right &= good
    for item, count in left.items():
        scores[item[0]].missed += count
        right &= count <= 0
    counted = (reading.bars, reading.pickup) == (truth.bars, truth.pickup)
    bars = scores["bars of charts"]
    bars.found, bars.missed = bars.found + counted, bars.missed + (not counted)
    if reading.confidence >= SURE:
        bars.sure, bars.sure_right = bars.sure + 1, bars.sure_right + counted
    else:
        bars.doubtful, bars.doubtful_right = bars.doubtful + 1, bars.doubtful_right + counted
    lone = scores["single bars"]
    for system in (system for page in reading.pages for system in page.systems):
        number = sum(bar.count for bar in system.bars)
        sure = system.confidence >= SURE
        lone.found, lone.missed = lone.found + number * counted, lone.missed + number * (not counted)
        lone.sure, lone.sure_right = lone.sure + number * sure, lone.sure_right + number * (sure and counted)
        lone.doubtful += number * (not sure)
        lone.doubtful_right += number * (not sure and counted)
    return right and counted


Drawn = tuple[int, str, bytes, engraving.Truth]
"""A chart's seed, how it was set, its PDF and its truth."""


def charts(seed: int, rare: Callable[[], set[str]], signs: bool) -> Iterator[Drawn]:
    """Charts without end by both engravers; the first draws those that have a sign or word of the `rare` kinds."""
    first = engraving.engraver() is not None
    for n in itertools.count(seed):
        made = engraving.chart(n, signs=signs) if first else None
        kinds = {kind for kind, _ in made.truth.signs} if made else set()
        if made and (kinds & rare() if rare() and not signs else n % TURNS == 0):
            with tempfile.TemporaryDirectory() as folder:
                pdf, truth = engraving.engrave(made, Path(folder))
            yield n, made.notes, pdf, truth
        else:
            pdf, truth, notes = second_engraving.chart(n, signs=signs)
            yield n, notes, pdf, truth


def again(n: int, pdf: bytes) -> tuple[bytes, str, bool]:
    """The chart by a maker that differs in one choice or is its own in all; who; whether its letters are shapes."""
    by = maker(n) if n // TURNS % 2 else SINGLE[n % len(SINGLE)]
    return remade(pdf, by, n), told(by), by.text in ("outlines", "letters")


def table(scores: dict[str, Score]) -> Table:
    """How each kind was read."""
    out = Table("kind", "found", "missed", "false", "F1", "sure", "of these right", "in doubt", "of these right")
    for kind in ("bars of charts", "single bars", *KINDS):
        s = scores[kind]
        share = f"{s.sure_right / s.sure:.2%}" if s.sure else "–"
        doubt = f"{s.doubtful_right / s.doubtful:.0%}" if s.doubtful else "–"
        out.add_row(
            kind, *map(str, (s.found, s.missed, s.false)), f"{s.f1:.4f}", str(s.sure), share, str(s.doubtful), doubt
        )
    return out


def main() -> None:
    """Engrave and read until all kinds were met often enough or the time is over."""
    say = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    say.add_argument("--items", type=int, default=1000)
    say.add_argument("--minutes", type=float, default=30)
    say.add_argument("--seed", type=int, default=random.SystemRandom().randrange(10**6))
    say.add_argument("--signs", action="store_true")
    say.add_argument("--makers", action="store_true")
    say.add_argument("--keep", type=Path)
    asked = say.parse_args()
    scores: defaultdict[str, Score] = defaultdict(Score)
    shapes: defaultdict[str, Score] = defaultdict(Score)
    console, until, made = Console(width=140), time.monotonic() + 60 * asked.minutes, 0
    console.print(f"Seed {asked.seed}.")
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with Progress(*columns, console=console) as progress:
        task = progress.add_task("", total=asked.items * len(KINDS))

        def rare() -> set[str]:
            least = min(scores[kind].found for kind in WORDS)
            return {kind for kind in WORDS if scores[kind].found == least} if least < asked.items else set()

        for n, notes, pdf, truth in charts(asked.seed, rare, asked.signs):
            made, kept = made + 1, scores
            if asked.makers:
                pdf, by, by_shapes = again(n, pdf)
                notes, kept = f"{notes}; drawn with {by}", shapes if by_shapes else scores
            if not held(read_part(pdf), truth, kept):
                progress.console.print(f"Read otherwise: {notes}")
                if asked.keep:
                    asked.keep.mkdir(parents=True, exist_ok=True)
                    name = notes.split(":")[0].replace(" ", "-")
                    (asked.keep / f"{name}.pdf").write_bytes(pdf)
            met = {kind: scores[kind].found + scores[kind].missed for kind in KINDS}
            rarest = min(met, key=lambda kind: met[kind])
            done = sum(min(count, asked.items) for count in met.values())
            progress.update(task, completed=done, description=f"{made} charts; {rarest}: {met[rarest]}")
            if met[rarest] >= asked.items or time.monotonic() > until:
                break
    console.print(f"{made} charts, seed {asked.seed}")
    console.print(table(scores))
    if shapes:
        console.print("Letters told by their shapes alone:", table(shapes))


if __name__ == "__main__":
    main()
