"""Make server/collaparte/paper/scans/letters.npz: weights that tell letters, figures and signs on scans.

Usage: python tests/paper/scan_letters.py [--sheets 120] [--seed 1] [--samples FILE.npz]

Words and signs in the fonts that `glyph_shapes.py` draws from are set between staves, damaged by `scanning.py`,
straightened as scans are, and cut where each letter was drawn; some are cut wrongly on purpose, to be told as none.
A net of two hidden layers learns them by gradient descent from the seed. With --samples the crops are kept in a file,
or taken from it when it is there.
"""

import random
import sys
from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pymupdf

sys.path.insert(0, str(Path(__file__).parent.parent))

import scanning
from collaparte.paper.scans.bits import unpacked
from collaparte.paper.scans.cells import cells_of
from collaparte.paper.scans.letters import CLASSES, NONE, SIGNS, features
from collaparte.paper.scans.page import Bent, Dark
from collaparte.paper.scans.straight import set_straight
from collaparte.paper.sight import fonts, shapes
from paper import glyph_shapes
from paper.learning import asked, kept, stored, trained

OUT = Path(__file__).parent.parent.parent / "server/collaparte/paper/scans/letters.npz"
A4 = (595.0, 842.0)
WORDS = (
    "Intro", "Verse", "Chorus", "Bridge", "Solo", "Solos", "Interlude", "Vamp", "Outro", "Tag", "Shout", "Refrain",
    "Ending", "Coda", "Fine", "To", "D.S.", "D.C.", "al", "Trio", "Segno", "Tutti", "Soli", "open", "mute", "cup",
    "straight", "harmon", "plunger", "Play", "1st", "2nd", "3rd", "4th", "time", "only", "fill", "unis.", "Swing",
    "Rit.", "Rall.", "Allegro", "Moderato", "Trumpet", "Trombone", "Saxophone", "Alto", "Tenor", "Bass", "Drums",
    "Guitar", "Piano", "Quick", "jazz", "waltz", "half", "fade", "out", "Backgrounds", "Breakdown", "Head", "Last",
    "Hook", "Kick", "Box", "Extra", "Wolf", "Quartet", "Jump", "May", "very", "light", "cresc.", "dim.", "Key",
    "Zigzag",
)  # fmt: skip
ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
POINTS = ".,-&()'"
HIDDEN = (256, 96)
DAMAGED = 3
"""Each sheet is scanned so many times."""


class Drawn(NamedTuple):
    """A letter or sign on a sheet: its class, its box in points, its height in em, how far it reaches below, in em."""

    label: int
    box: tuple[float, float, float, float]
    height: float
    foot: float


class Sample(NamedTuple):
    """A cut piece: its pictures and sizes, what it is, its height and foot in em (0 for none)."""

    features: npt.NDArray[np.float32]
    label: int
    height: float
    foot: float


Face = tuple[pymupdf.Font, fonts.Font]
Outline = list[npt.NDArray[np.float64]]


class Sheet:
    """A page of words and signs between staves."""

    def __init__(self, dice: random.Random, faces: Sequence[Face], signs: Sequence[tuple[int, Outline]]) -> None:
        self.dice, self.faces, self.signs = dice, faces, signs
        self.document = pymupdf.open()
        self.page = self.document.new_page(width=A4[0], height=A4[1])
        self.shape = self.page.new_shape()
        self.words: list[list[Drawn]] = []
        self.space = dice.uniform(3.4, 6.2)
        y = 60.0
        while y < A4[1] - 60:
            self._stave(y)
            y += 4 * self.space
            room = dice.uniform(14, 19) * self.space
            self._row(y + 0.42 * room)
            self._row(y + 0.8 * room)
            y += room
        self._stave(min(y, A4[1] - 50))
        self.shape.commit()

    def _stave(self, y: float) -> None:
        for n in range(5):
            self.shape.draw_line((36, y + n * self.space), (A4[0] - 36, y + n * self.space))
        self.shape.finish(width=0.12 * self.space)

    def _row(self, y: float) -> None:
        x, dice = 40.0, self.dice
        while x < A4[0] - 120:
            if dice.random() < 0.22:
                x = self._sign(x, y)
            else:
                kind = dice.random()
                if kind < 0.45:
                    word = dice.choice(WORDS)
                elif kind < 0.7:
                    word = "".join(dice.choice("0123456789") for _ in range(dice.choice([1, 1, 2, 2, 3])))
                else:
                    word = "".join(dice.choice(ALPHABET + POINTS) for _ in range(dice.choice([1, 1, 2, 4])))
                x = self._word(word, x, y, dice.uniform(1.7, 4.6) * self.space)
            x += 1.2 * self.space

    def _word(self, word: str, x: float, y: float, size: float) -> float:
        font, reader = self.dice.choice(self.faces)
        tight = self.dice.choice([0.0, 0.0, 0.0, -0.02, 0.04])
        out: list[Drawn] = []
        for character in word:
            gid = font.has_glyph(ord(character))
            outline = shapes.contours(fonts.segment_items(reader.outline(gid))) if gid else []
            if outline:
                box = self._draw(outline, x, y, size)
                foot = max(float(one[:, 1].max()) for one in outline)
                top = min(float(one[:, 1].min()) for one in outline)
                out.append(Drawn(CLASSES.index(_class(character)), box, foot - top, foot))
            x += (font.glyph_advance(ord(character)) + tight) * size
        self.words.append(out)
        return x

    def _sign(self, x: float, y: float) -> float:
        label, outline = self.dice.choice(self.signs)
        left = min(float(one[:, 0].min()) for one in outline)
        scale = self.space * self.dice.uniform(0.8, 1.25)
        box = self._draw(outline, x - left * scale, y, scale)
        self.words.append([Drawn(label, box, 0.0, 0.0)])
        return box[2]

    def _draw(self, outline: Outline, x: float, y: float, size: float) -> tuple[float, float, float, float]:
        for one in outline:
            self.shape.draw_polyline([(x + size * float(a), y + size * float(b)) for a, b in one])
        self.shape.finish(fill=(0, 0, 0), color=None, width=0, closePath=True)
        points = np.concatenate(outline)
        low, high = points.min(axis=0) * size, points.max(axis=0) * size
        return (x + float(low[0]), y + float(low[1]), x + float(high[0]), y + float(high[1]))


def _class(character: str) -> str:
    """A letter's class: those that look alike are one."""
    if character in "I|":
        return "l"
    if character in "–":
        return "-"
    return character.lower() if character in "COSVWXZUP" else character


def all_faces() -> list[Face]:
    """The text faces that the shapes are made of, and the first engraver's others."""
    out = glyph_shapes.faces()
    names = ("Nimbus*", "texgyre*")
    for file in sorted(f for name in names for f in (glyph_shapes.site() / "lilypond-binaries").rglob(f"{name}.otf")):
        out.append((pymupdf.Font(fontfile=str(file)), fonts.Font(file.read_bytes())))
    return out


def all_signs() -> list[tuple[int, Outline]]:
    """Segno and coda many times, other signs as none."""
    out: list[tuple[int, Outline]] = []
    for sort, items, scale in glyph_shapes.music_outlines():
        outline = [one * scale for one in shapes.contours(items)]
        points = np.concatenate(outline) if outline else np.zeros((1, 2))
        wide, high = np.ptp(points, axis=0)
        if outline and 0.3 < high < 8 and 0.2 < wide < 6:
            label = CLASSES.index(sort.kind) if sort.kind in SIGNS else CLASSES.index(NONE)
            if sort.kind == "digit":
                label = CLASSES.index(sort.value)
            out += [(label, outline)] * (20 if sort.kind in SIGNS else 1)
    return out


def straight(pdf: bytes, how: scanning.Damage, seed: int) -> tuple[Dark, Bent, scanning.Place, float] | None:
    """A sheet scanned and set straight, without its staff lines; its space in pixels."""
    scan, places = scanning.scanned(pdf, how, seed)
    with pymupdf.open(stream=scan) as document:
        seen = set_straight(document[0])
    if seen is None:
        return None
    return unpacked(*seen.bare), seen.bent, places[0], float(np.median([s.space for s in seen.staves]))


def straightened(bent: Bent, place: scanning.Place, x: float, y: float) -> tuple[float, float]:
    """Pixels of the straightened page for a place of the sheet."""
    to_x, to_y = place(x, y)
    sx, sy = to_x, to_y
    for _ in range(6):
        bx, by = bent.back(sx, sy)
        sx, sy = sx + to_x - bx, sy + to_y - by
    return sx / bent.scale, sy / bent.scale


def samples(
    sheet: Sheet, ink: Dark, bent: Bent, place: scanning.Place, space: float, dice: random.Random
) -> Iterator[Sample]:
    """The letters of a sheet, cut where they were drawn; and wrong cuts."""
    none = CLASSES.index(NONE)
    for word in sheet.words:
        boxes = []
        for one in word:
            x, y = straightened(bent, place, (one.box[0] + one.box[2]) / 2, (one.box[1] + one.box[3]) / 2)
            half_x = (one.box[2] - one.box[0]) / 2 / bent.scale
            half_y = (one.box[3] - one.box[1]) / 2 / bent.scale
            boxes.append((x - half_x, y - half_y, x + half_x, y + half_y))
        if not boxes:
            continue
        y0, y1 = min(b[1] for b in boxes) - 2, max(b[3] for b in boxes) + 2
        cuts = [boxes[0][0] - 2, *((a[2] + b[0]) / 2 for a, b in pairwise(boxes)), boxes[-1][2] + 2]
        for n, one in enumerate(word):
            crop = _crop(ink, cuts[n], boxes[n][1] - 2, cuts[n + 1], boxes[n][3] + 2)
            if crop is None:
                continue
            wide, high = boxes[n][2] - boxes[n][0], boxes[n][3] - boxes[n][1]
            if abs(crop.shape[1] - wide) < 3 + 0.25 * wide and abs(crop.shape[0] - high) < 3 + 0.25 * high:
                yield Sample(_seen(crop, space), one.label, one.height, one.foot)
        if len(word) < 2 or dice.random() < 0.5:
            continue
        n = dice.randrange(len(word) - 1)
        a, b = boxes[n], boxes[n + 1]
        left, right = dice.choice(
            [
                (cuts[n], cuts[n + 2]),
                ((a[0] + a[2]) / 2, (b[0] + b[2]) / 2),
                (cuts[n], (b[0] + b[2]) / 2),
                ((a[0] + a[2]) / 2, cuts[n + 2]),
            ]
        )
        crop = _crop(ink, left, y0, right, y1)
        if crop is not None:
            yield Sample(_seen(crop, space), none, 0.0, 0.0)


def _seen(crop: Dark, space: float) -> npt.NDArray[np.float32]:
    """A cut piece as the net sees it."""
    high, wide = np.array(crop.shape, dtype=np.float32)
    return features(cells_of(crop)[None], wide[None], high[None], space)[0]


def _crop(ink: Dark, x0: float, y0: float, x1: float, y1: float) -> Dark | None:
    """The ink of a place without white round it."""
    part = ink[max(0, round(y0)) : round(y1) + 1, max(0, round(x0)) : round(x1) + 1]
    rows, columns = np.flatnonzero(part.any(axis=1)), np.flatnonzero(part.any(axis=0))
    if len(rows) < 2 or len(columns) < 2:
        return None
    return part[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]


def gathered(sheets: int, seed: int, faces: Sequence[Face]) -> dict[str, npt.NDArray[Any]]:
    """The samples of so many sheets."""
    signs, found = all_signs(), []
    for n in range(sheets):
        dice = random.Random(seed * 100_003 + n)
        sheet = Sheet(dice, faces, signs)
        pdf = sheet.document.tobytes()
        for turn in range(DAMAGED):
            how = scanning.damage(dice.randrange(10**6))
            seen = straight(pdf, how, n * DAMAGED + turn)
            if seen:
                found += list(samples(sheet, *seen, dice))
        print(f"sheet {n + 1} of {sheets}: {len(found)} samples", flush=True)
    return {
        "features": np.stack([s.features for s in found]).astype(np.float16),
        "labels": np.array([s.label for s in found]),
        "heights": np.array([s.height for s in found], dtype=np.float32),
        "feet": np.array([s.foot for s in found], dtype=np.float32),
    }


def main() -> None:
    said = asked(__doc__ or "", sheets=120, seed=1)
    store = stored(said.samples, lambda: gathered(said.sheets, said.seed, all_faces()))
    x, labels = store["features"].astype(np.float32), store["labels"]
    weights = trained(x, labels, (x.shape[1], *HIDDEN, len(CLASSES)), said.seed, epochs=26)
    sizes = np.zeros((len(CLASSES), 2), dtype=np.float16)
    for n in range(len(CLASSES)):
        mine = labels == n
        if mine.any():
            sizes[n] = np.median(store["heights"][mine]), np.median(store["feet"][mine])
    kept(weights, OUT, sizes=sizes)


if __name__ == "__main__":
    main()
