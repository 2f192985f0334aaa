"""Make server/collaparte/paper/sight/shapes.npz: pictures of music signs and letters from openly licensed fonts.

Usage: python tests/paper/glyph_shapes.py   (needs the test extra: fonts come with the lilypond and verovio packages,
pymupdf's built-in text faces, and DejaVu if the system has it)

Only pictures of 16 x 16 cells are kept, no outlines. Fonts: Emmentaler, C059, Nimbus, TeX Gyre (lilypond); Bravura,
Leland, Petaluma, Leipzig, Gootville (verovio, SIL Open Font License).
"""

import importlib.util
import re
import unicodedata
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pymupdf
from pymupdf import mupdf

from collaparte.paper.sight import fonts, glyphs, shapes

OUT = Path(__file__).parent.parent.parent / "server/collaparte/paper/sight/shapes.npz"
WANTED = frozenset(
    ("clef", "accidental", "digit", "meter", "head", "rest", "flag", "dot", "segno", "coda", "jump", "repeat-bar",
     "repeat-dots", "dynamic", "note", "tuplet")
)  # fmt: skip
OTHERS = (range(0xE4A0, 0xE4D6), range(0xE560, 0xE570), range(0xE220, 0xE23D), range(0xE260, 0xE265))
OTHER_NAMES = re.compile(r"scripts\.|dynamic|ornament|arrowheads|pedal|fingering|brackettips")
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789.,'-–()=&/:!+#ﬁ"


def site() -> Path:
    """Where installed packages lie."""
    spec = importlib.util.find_spec("verovio")
    assert spec is not None and spec.origin
    return Path(spec.origin).parent.parent


def svg_items(path: str) -> list[tuple]:
    """The commands M L H V C Z (and small letters) of an SVG path, y turned downwards as the font's is upwards."""
    tokens = re.findall(r"[MmLlHhVvCcSsQqTtZz]|-?\d*\.?\d+(?:e-?\d+)?", path)
    items, n, command = [], 0, ""
    at = start = control = (0.0, 0.0)

    def take(count: int) -> list[float]:
        nonlocal n
        values = [float(t) for t in tokens[n : n + count]]
        n += count
        return values

    while n < len(tokens):
        if tokens[n].isalpha():
            command = tokens[n]
            n += 1
            if command in "Zz":
                if at != start:
                    items.append(("l", at, start))
                at = start
                continue
        relative = command.islower()
        ox, oy = at if relative else (0.0, 0.0)
        upper = command.upper()
        before = at
        if upper == "M":
            x, y = take(2)
            at = start = (x + ox, y + oy)
            command = "l" if relative else "L"
            control = at
            continue
        if upper == "L":
            x, y = take(2)
            at = (x + ox, y + oy)
            items.append(("l", before, at))
        elif upper == "H":
            (x,) = take(1)
            at = (x + ox, at[1])
            items.append(("l", before, at))
        elif upper == "V":
            (y,) = take(1)
            at = (at[0], y + oy)
            items.append(("l", before, at))
        elif upper in "CS":
            if upper == "C":
                a, b = take(2)
                first = (a + ox, b + oy)
            else:
                first = (2 * at[0] - control[0], 2 * at[1] - control[1])
            c, d, x, y = take(4)
            second, at = (c + ox, d + oy), (x + ox, y + oy)
            items.append(("c", before, first, second, at))
            control = second
            continue
        elif upper in "QT":
            if upper == "Q":
                a, b = take(2)
                middle = (a + ox, b + oy)
            else:
                middle = (2 * at[0] - control[0], 2 * at[1] - control[1])
            x, y = take(2)
            at = (x + ox, y + oy)
            first = tuple(before[i] + 2 / 3 * (middle[i] - before[i]) for i in (0, 1))
            second = tuple(at[i] + 2 / 3 * (middle[i] - at[i]) for i in (0, 1))
            items.append(("c", before, first, second, at))
            control = middle
            continue
        control = at
    return [(item[0], *((x, -y) for x, y in item[1:])) for item in items]


def music() -> list[tuple[str, shapes.Picture, float]]:
    """Names ("kind value"), pictures in staff spaces, foot 0."""
    out: list[tuple[str, shapes.Picture, float]] = []
    for sort, items, scale in music_outlines():
        add(out, sort, items, scale)
    return out


def music_outlines() -> Iterator[tuple[glyphs.Sort, list[tuple], float]]:
    """What each sign of the music fonts is, its outline, and how many spaces its unit is."""
    for file in sorted((site() / "lilypond-binaries").rglob("emmentaler-*.otf")):
        if file.stem not in ("emmentaler-11", "emmentaler-20", "emmentaler-26"):
            continue
        font = pymupdf.Font(fontfile=str(file))
        reader = fonts.Font(file.read_bytes())
        for gid in range(font.glyph_count):
            name = mupdf.fz_get_glyph_name2(font.this, gid)
            sort = glyphs.by_name(name, True)
            if not is_plain(sort, name, 0):
                continue
            if sort.kind in WANTED or (sort.kind == "other" and OTHER_NAMES.match(name)):
                yield sort, fonts.segment_items(reader.outline(gid)), 4.0
    data = site() / "verovio/data"
    for face in ("Bravura", "Leland", "Petaluma", "Leipzig", "Gootville"):
        for file in sorted((data / face).glob("*.xml")):
            code = int(file.stem, 16)
            sort = glyphs.by_code(code)
            if not is_plain(sort, "", code):
                continue
            wanted = sort.kind in WANTED or (sort.kind == "other" and any(code in r for r in OTHERS))
            found = re.search(r' d="([^"]*)"', file.read_text())
            if wanted and found:
                yield sort, svg_items(found.group(1)), 4.0 / 1000


HEADS = re.compile(r"noteheads\.s(M1|[0-2])(cross|slash|diamond|harmonic|triangle|xcircle)?$")
BREVES = (0xE1D0, 0xE1D1, 0xECA0, 0xECA1)
"""Notes without stems that a beat is told by (SMuFL's double whole notes, from memory)."""
HEAD_CODES = (range(0xE0A0, 0xE0B7), range(0xE0D9, 0xE0E0), range(0xE100, 0xE10B))


def is_plain(sort: glyphs.Sort, name: str, code: int) -> bool:
    """Leave out rare shapes that look like common signs: shape-note heads, signs for added meters."""
    if sort.kind == "head":
        return bool(HEADS.match(name)) or any(code in codes for codes in HEAD_CODES)
    if sort == glyphs.Sort("meter", "") or name.endswith("staccato") or code in (0xE4A2, 0xE4A3):
        return False  # a staccato dot is a dot
    if sort == glyphs.Sort("note", "whole") or code in BREVES:
        return False  # a beat's whole note is a head; the equals sign beside it tells it from one to be played
    return sort.value != "64th"


def add(out: list, sort: glyphs.Sort, items: list[tuple], scale: float) -> None:
    outline = shapes.contours(items)
    if outline:
        picture = shapes.picture(outline)
        kind = "other" if sort.kind in ("note", "tuplet") else sort.kind
        if 0.15 < picture.height * scale < 14 and picture.width * scale < 10:
            out.append(
                (
                    f"{kind} {sort.value}",
                    picture._replace(width=picture.width * scale, height=picture.height * scale),
                    0.0,
                )
            )


def letters() -> list[tuple[str, shapes.Picture, float]]:
    """Names ("letter x"), pictures in em, how far the box reaches below the baseline in em."""
    out = []
    for font, reader in (*faces(), *drawn_as_outlines()):
        for character in LETTERS:
            gid = font.has_glyph(ord(character))
            outline = shapes.contours(fonts.segment_items(reader.outline(gid))) if gid else []
            if outline:
                foot = max(float(one[:, 1].max()) for one in outline)
                told = unicodedata.normalize("NFKC", character)  # "fi" of one piece is two letters
                out.append((f"letter {told}", shapes.picture(outline), foot))
    out += music_figures()
    return out


def faces() -> list[tuple[pymupdf.Font, fonts.Font]]:
    """The text faces, each as the library's font and as one whose outlines can be had."""
    out: list[tuple[pymupdf.Font, fonts.Font]] = []
    root = site() / "lilypond-binaries"
    for name in ("C059-Roman", "C059-Bold", "C059-Italic", "C059-BdIta", "texgyreheros-regular", "texgyreheros-bold",
                 "texgyreheros-italic", "texgyreschola-bold"):  # fmt: skip
        file = next(root.rglob(f"{name}.otf"))
        out.append((pymupdf.Font(fontfile=str(file)), fonts.Font(file.read_bytes())))
    for name in ("tiro", "tibo", "tiit", "tibi", "hebo"):
        font = pymupdf.Font(name)
        out.append((font, fonts.Font(font.buffer)))
    for name in ("DejaVuSerif", "DejaVuSerif-Bold", "DejaVuSerif-Italic", "DejaVuSans", "DejaVuSans-Bold"):
        file = Path(f"/usr/share/fonts/truetype/dejavu/{name}.ttf")
        if file.exists():
            out.append((pymupdf.Font(fontfile=str(file)), fonts.Font(file.read_bytes())))
    return out


def drawn_as_outlines() -> list[tuple[pymupdf.Font, fonts.Font]]:
    """More text faces, which are told where an engraved page's text is outlines."""
    root = site() / "lilypond-binaries"
    files = [next(root.rglob(f"texgyrecursor-{name}.otf")) for name in ("regular", "bold", "italic", "bolditalic")]
    files += [next(root.rglob(f"texgyre{name}-bolditalic.otf")) for name in ("heros", "schola")]
    files += [file for file in [Path("/usr/share/fonts/truetype/dejavu/DejaVuSans-Oblique.ttf")] if file.exists()]
    return [(pymupdf.Font(fontfile=str(file)), fonts.Font(file.read_bytes())) for file in files]


def music_figures() -> list[tuple[str, shapes.Picture, float]]:
    return [
        (f"digit {name.split()[1]}", picture._replace(width=picture.width / 4, height=picture.height / 4), 0.0)
        for name, picture, _ in music()
        if name.startswith("digit ")
    ]


def distinct(known: list[tuple[str, shapes.Picture, float]]) -> list[tuple[str, shapes.Picture, float]]:
    """Leave out pictures that hardly differ from an earlier one of the same name and size."""
    out: list[tuple[str, shapes.Picture, float]] = []
    by_name: dict[str, list[shapes.Picture]] = {}
    for name, picture, foot in known:
        alike = by_name.setdefault(name, [])
        if not any(
            np.abs(other.cells - picture.cells).mean() < 0.02
            and abs(other.width - picture.width) < 0.05 * other.width
            and abs(other.height - picture.height) < 0.05 * other.height
            for other in alike
        ):
            alike.append(picture)
            out.append((name, picture, foot))
    return out


def main() -> None:
    store = {}
    for group, known in (("music", distinct(music())), ("letters", distinct(letters()))):
        store[f"{group}_names"] = np.array([name for name, _, _ in known])
        store[f"{group}_cells"] = np.array(
            [np.round(picture.cells * 15).astype(np.uint8) for _, picture, _ in known], dtype=np.uint8
        )
        store[f"{group}_sizes"] = np.array(
            [(picture.width, picture.height, foot) for _, picture, foot in known], dtype=np.float16
        )
        print(group, len(known))
    np.savez_compressed(OUT, **store)
    print(OUT, OUT.stat().st_size)


if __name__ == "__main__":
    main()
