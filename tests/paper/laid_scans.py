"""Charts of both engravers, scanned with damage, cut and laid; what is held against the engraved part's own laying.

python tests/paper/laid_scans.py --seed 8950031 [--charts 30] [--keep FOLDER]

A chart's number says how it is engraved (even ones by the first engraver, odd ones by the second) and damaged, so a
seed repeats a run. Lines are taken as a person has them who says that all were read right. With `--keep` the scans,
their laid pages and a picture of what is wrong are kept.
"""

import argparse
import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import NamedTuple

import pymupdf

sys.path.insert(0, str(Path(__file__).parent.parent))

import engraving
import scanning
import second_engraving
from collaparte.paper.confirmed import all_sure
from collaparte.paper.cutting.items import grown
from collaparte.paper.cutting.pieces import Cut, cut_ink
from collaparte.paper.pages.draw_pdf import draw_cut
from collaparte.paper.pages.lay import lay, printed_order
from collaparte.paper.read import read_part
from collaparte.paper.reading import Reading
from paper.followed_ink import ASTRAY, Astray, astray, followed
from paper.held_layings import KINDS, Held, Wrong, held

RED, BLUE = (0.9, 0.0, 0.0), (0.0, 0.3, 0.9)


class Scanned(NamedTuple):
    """A chart as engraved, its scan, and how both were read and cut."""

    pdf: bytes
    scan: bytes
    places: list[scanning.Place]
    reading: Reading
    true: Cut
    seen: Cut
    how: scanning.Damage


class Found(NamedTuple):
    """What there is to say of one chart; `why` it is not looked at, if it is not."""

    held: Held
    astray: list[Astray]
    why: str = ""

    @property
    def sums(self) -> Counter[str]:
        """How many of each kind are wrong, and under `of ...` how many there are."""
        out = Counter({f"of {kind}": many for kind, many in self.held.met.items()})
        out.update(wrong.kind for wrong in self.held.wrong)
        out.update(bit.kind for bit in self.astray)
        out.update({"charts": not self.why, "not looked at": bool(self.why)})
        return out


def chart(seed: int) -> bytes:
    """The chart of this seed as engraved."""
    if seed % 2:
        return second_engraving.chart(seed)[0]
    with tempfile.TemporaryDirectory() as folder:
        return engraving.engrave(engraving.chart(seed), Path(folder))[0]


def scanned(seed: int) -> Scanned:
    """The chart of this seed, scanned and cut."""
    pdf, how = chart(seed), scanning.damage(seed)
    scan, places = scanning.scanned(pdf, how, seed)
    reading = all_sure(read_part(scan, scans=True))
    return Scanned(pdf, scan, places, reading, cut_ink(pdf, read_part(pdf)), cut_ink(scan, reading), how)


def found(made: Scanned) -> Found:
    """What is wrong of a scan's cut."""
    true, seen = made.true.table, made.seen.table
    nothing = Held(Counter(), [])
    if true.page_pieces or seen.page_pieces:
        return Found(nothing, [], "shown as printed")
    if len(true.systems) != len(seen.systems) or any(page.turned for page in made.reading.pages):
        return Found(nothing, [], f"read with {len(seen.systems)} lines of {len(true.systems)}")
    if true.staves != seen.staves:
        return Found(nothing, [], "read with other staves")
    bits = list(followed(made.true, made.places))
    return Found(held(true, seen), list(astray(true, bits, made.seen, made.scan, made.reading)))


def line(name: str, sums: Counter[str], why: str = "") -> str:
    """One line of figures: how many are wrong, of how many."""
    if why:
        return f"{name}: {why}"
    figures = [f"{kind} {sums[kind]}" + (f"/{sums[f'of {kind}']}" if f"of {kind}" in sums else "") for kind in KINDS]
    return f"{name}: {sums['of bars']} bars, {sums['of lines']} lines; " + ", ".join(
        [*figures, *(f"{kind} {sums[kind]}" for kind in ASTRAY)]
    )


def keep(folder: Path, seed: int, made: Scanned, result: Found) -> None:
    """The scan, the pages laid from it, and the engraved pages with what is wrong of them marked."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{seed}.scan.pdf").write_bytes(made.scan)
    laying = lay(made.reading, made.seen.table, printed_order(made.reading))
    laid = draw_cut(made.seen, laying)
    (folder / f"{seed}.laid.pdf").write_bytes(laid)
    for n, page in enumerate(pymupdf.open(stream=laid), 1):
        page.get_pixmap(dpi=100).save(folder / f"{seed}.laid-{n}.png")
    marked = pymupdf.open(stream=made.pdf)
    for bit in result.astray:
        marked[bit.page].draw_rect(grown(bit.box, 2.0, 2.0), color=RED)
        marked[bit.page].insert_text((bit.box[0], bit.box[1] - 2), bit.kind, fontsize=6, color=RED)
    for wrong in result.held.wrong:
        _mark(marked, made, wrong)
    if result.astray or result.held.wrong:
        for n, page in enumerate(marked, 1):
            page.get_pixmap(dpi=110).save(folder / f"{seed}.wrong-{n}.png")


def _mark(marked: pymupdf.Document, made: Scanned, wrong: Wrong) -> None:
    """Say on the engraved page at its bar what is wrong of it."""
    bars = [bar for bar in made.true.table.bars if bar.system == wrong.line and bar.number == wrong.bar]
    piece = next((piece for bar in bars for piece in bar.main if piece >= 0), None)
    if piece is not None:
        ink = made.true.inks[piece]
        at = (ink.x, ink.y + 5 * ink.space + 7 * KINDS.index(wrong.kind) / 2)
        marked[ink.page].insert_text(at, f"{wrong.kind}: {wrong.what}", fontsize=6, color=BLUE)


def main() -> None:
    """Count over many charts, and say each chart's figures and their sums."""
    say = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    say.add_argument("--seed", type=int, default=random.SystemRandom().randrange(10**6))
    say.add_argument("--charts", type=int, default=30)
    say.add_argument("--keep", type=Path)
    asked = say.parse_args()
    print(f"Seed {asked.seed}.")
    sums, began = Counter[str](), time.monotonic()
    for seed in range(asked.seed, asked.seed + asked.charts):
        made = scanned(seed)
        result = found(made)
        sums += result.sums
        print(line(str(seed), result.sums, result.why), flush=True)
        for wrong in result.held.wrong:
            if wrong.kind not in ("whole", "bars read"):
                print(f"    {wrong.kind}, bar {wrong.bar}: {wrong.what}")
        for bit in result.astray:
            print(f"    {bit.kind}, page {bit.page + 1}, bar {bit.bar} at {tuple(map(round, bit.box))}")
        if asked.keep:
            keep(asked.keep, seed, made, result)
    print(f"{sums['charts']} charts in {time.monotonic() - began:.0f} s, {sums['not looked at']} not looked at")
    print(line("sums", sums))


if __name__ == "__main__":
    main()
