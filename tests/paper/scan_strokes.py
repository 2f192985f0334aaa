"""Make server/collaparte/paper/scans/beside.npz: weights that tell barlines from other upright strokes on scans.

Usage: python tests/paper/scan_strokes.py [--charts 120] [--seed 7100000] [--samples FILE.npz]

Charts by both engravers are damaged by `scanning.py`. Which of the strokes through a stave are barlines is known from
the charts as engraved. Each stroke is seen as it is, from the other side, and a little higher and lower. With --samples
the pictures are kept in a file, or taken from it when it is there.
"""

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pymupdf

sys.path.insert(0, str(Path(__file__).parent.parent))

import engraving
import scanning
import second_engraving
from collaparte.paper.read import read_part
from collaparte.paper.reading import PageReading, System
from collaparte.paper.scans import uprights
from collaparte.paper.scans.beside import COLUMNS, ROWS, pictures
from collaparte.paper.scans.page import Bent
from collaparte.paper.scans.staves import ScannedStave
from collaparte.paper.scans.straight import set_straight
from paper.learning import Store, asked, kept, stored, trained

OUT = Path(__file__).parent.parent.parent / "server/collaparte/paper/scans/beside.npz"
HIDDEN, EPOCHS = 64, 30
NEAR = 0.9
"""A stroke within so many spaces of where a barline was engraved is that barline."""

Samples = tuple[npt.NDArray[np.float32], npt.NDArray[np.bool_]]
"""Pictures of strokes, and which of them are barlines."""


def charts(seed: int, count: int) -> Iterator[tuple[int, bytes]]:
    """The PDFs of so many charts, by turns of the first and the second engraver."""
    for n in range(seed, seed + count):
        if n % 2:
            yield n, second_engraving.chart(n)[0]
        else:
            with tempfile.TemporaryDirectory() as folder:
                yield n, engraving.engrave(engraving.chart(n), Path(folder))[0]


def seen(pdf: bytes, how: scanning.Damage, seed: int) -> Samples:
    """The strokes of a chart as scanned; those at a stave's left end are left out."""
    scan, places = scanning.scanned(pdf, how, seed)
    found, right = [np.zeros((0, ROWS * COLUMNS), np.float32)], [np.zeros(0, np.bool_)]
    for scanned, printed, place in zip(pymupdf.open(stream=scan), read_part(pdf).pages, places, strict=True):
        page = set_straight(scanned)
        for stave in page.staves if page else ():
            through = [(a + b) / 2 for a, b, _ in uprights.through(page.dark, page.bare, stave)]
            middles = [x for x in through if x > stave.x0 + stave.space]
            if page and middles and printed.systems:
                found.append(pictures(page.bare, middles, stave))
                right.append(np.array(_barlines(middles, stave, page.bent, printed, place)))
    return np.concatenate(found), np.concatenate(right)


def _barlines(
    middles: list[float], stave: ScannedStave, bent: Bent, printed: PageReading, place: scanning.Place
) -> list[bool]:
    """Which strokes stand where the stave's system has a barline as engraved."""

    def middle(system: System) -> tuple[float, float]:
        x0, top, x1, bottom = system.bbox
        return place((x0 + x1) / 2, (top + bottom) / 2)

    y = (stave.top + stave.bottom) / 2 * bent.scale
    there = [bent.back(x * bent.scale, y) for x in middles]
    system = min(printed.systems, key=lambda s: abs(middle(s)[1] - there[0][1]))
    drawn = [place(b.x, (system.bbox[1] + system.bbox[3]) / 2)[0] for b in system.barlines]
    return [any(abs(x - other) < NEAR * system.space for other in drawn) for x, _ in there]


def turned(samples: Samples) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.intp]]:
    """All strokes as they are and from the other side, each a cell higher and lower, too."""
    looks = samples[0].reshape(-1, ROWS, COLUMNS)
    both = np.concatenate([looks, looks[:, :, ::-1]])
    higher = np.concatenate([both[:, 1:], both[:, -1:]], axis=1)
    lower = np.concatenate([both[:, :1], both[:, :-1]], axis=1)
    every = np.concatenate([both, higher, lower])
    return every.reshape(len(every), -1), np.tile(samples[1].astype(np.intp), 6)


def main() -> None:
    """Gather the strokes, learn from them, write the weights."""
    said = asked(__doc__ or "", charts=120, seed=7_100_000)

    def gathered() -> Store:
        each = []
        for n, pdf in charts(said.seed, said.charts):
            each.append(seen(pdf, scanning.damage(n), n))
            print(f"chart {n}: {len(each[-1][0])} strokes", flush=True)
        looks, barlines = zip(*each, strict=True)
        return {"looks": np.concatenate(looks).astype(np.float16), "barlines": np.concatenate(barlines)}

    store = stored(said.samples, gathered)
    samples = store["looks"].astype(np.float32), store["barlines"].astype(np.bool_)
    x, labels = turned(samples)
    kept(trained(x, labels, (x.shape[1], HIDDEN, 2), 1, EPOCHS), OUT)


if __name__ == "__main__":
    main()
