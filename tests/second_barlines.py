"""The barlines that the second engraver drew, by its own drawing: groups of lines and repeat dots that it calls so."""

import re

DRAWN = {
    "|": "single",
    "||": "double",
    "|#": "final",
    "#|.": "repeat-start",
    ".|#": "repeat-end",
    ".|#|.": "repeat-both",
    ".#.": "repeat-both",
}
"""Kinds of barline by their lines from left to right: thin, thick, dots."""
DOT = "E044"
"""The repeat dot's place in SMuFL (its tables, repeats: repeatDot, U+E044)."""
GROUP = re.compile(r'<g [^>]*class="barLine"[^>]*>(.*?)</g>', re.DOTALL)
LINE = re.compile(r'<path d="M(-?\d+) -?\d+ L\1 -?\d+" stroke-width="(\d+)"')
STAVE = re.compile(r'class="staff[^"]*">\s*<path d="M(-?\d+) (\d+) L-?\d+ \2"[^>]*>\s*<path d="M\1 (\d+) L')


def barlines(picture: str) -> list[list[tuple[float, str]]]:
    """Each system's barlines in order, by kind; x from its stave's left end in staff spaces, as the truth has it."""
    out = []
    for system in re.split(r'class="system"', picture)[1:]:
        stave = STAVE.search(system)
        assert stave, "a system without a stave"
        left, space = int(stave[1]), int(stave[3]) - int(stave[2])
        lines = [((x - left) / space, kind) for x, kind in (_told(g[1]) for g in GROUP.finditer(system)) if kind]
        out.append(sorted(lines))
    return out


def _told(group: str) -> tuple[float, str]:
    """Where the lines of a group have their middle, and the barline's kind; no kind for a group that draws nothing."""
    lines = {int(x): "#" if int(width) > 50 else "|" for x, width in LINE.findall(group)}
    if not lines:
        return 0, ""
    dots = {int(x): "." for x in re.findall(rf'href="#{DOT}[^>]*translate\((-?\d+)', group)}
    signs = "".join(sign for _, sign in sorted({**dots, **lines}.items()))
    return (min(lines) + max(lines)) / 2, DRAWN[signs]
