"""Clef, key and meter: what a part begins with, and where they change in mid-line or at a line's head."""

from collections.abc import Sequence

from collaparte.paper.reading import BarBox, Change
from collaparte.paper.sight.bars import Segment
from collaparte.paper.sight.heads import Signature, on_stave, signature_after
from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.staves import StaveLines
from collaparte.paper.sight.strokes import Glyph

FIRST_SHARP = {"g": 0.0, "f": 1.0, "c": 0.5}
"""How many spaces under the top line the first sharp of a key (F) stands in each clef, a C clef on the middle line;
common practice."""
TENOR_SHARP = 3.0
"""The same of a C clef on the fourth line, whose higher F is over the stave."""
FIRST_FLAT = {"g": 2.0, "f": 3.0, "c": 2.5}
"""The first flat's (B's) place, likewise; its sign reaches above it."""
FLAT_RISE = 0.55
PLACE = 0.45
"""A sign so near to its place, in spaces, stands there."""


def find_changes(lines: Sequence[MusicLine]) -> list[Change]:
    """All changes of a part in document order; bars must be counted."""
    out: list[Change] = []
    holds: dict[int, Signature] = {}
    for line in lines:
        clefs = [g for g in line.system.glyphs if g.kind == "clef"]
        for n, (stave, head) in enumerate(zip(line.system.staves, line.heads, strict=True)):
            if not line.bars:
                continue
            if head.clef and head.fifths is None:
                head = head._replace(fifths=0)  # a line's head repeats the key; a clef alone says there is none
            _note(out, holds, n, head, line, line.bars[0].number, stave)
            for place, (bar, part) in enumerate(zip(line.bars, line.parts, strict=True)):
                opened = line.parts[place - 1].after if place else None
                if place and opened is None:
                    continue
                if opened is not None:
                    signs = signature_after(stave, line.system.glyphs, opened.x1)
                    if signs.x1 < part.x1 and _is_change(signs, line, stave, holds[n]):
                        _note(out, holds, n, signs, line, bar.number, stave)
                for clef in _clefs_inside(part, clefs, stave):
                    sign = Signature(clef.x0, clef.x1, clef.value, None, "")
                    _note(out, holds, n, sign, line, _holds_from(clef, part, bar, stave), stave)
    return out


def _note(
    out: list[Change],
    holds: dict[int, Signature],
    n: int,
    signs: Signature,
    line: MusicLine,
    bar: int,
    stave: StaveLines,
) -> None:
    """List what differs from what holds on this stave."""
    old = holds.get(n, Signature(0.0, 0.0, "", 0, ""))
    clef = signs.clef if signs.clef != old.clef else ""
    fifths = signs.fifths if signs.fifths != old.fifths else None
    meter = signs.meter if signs.meter != old.meter else ""
    holds[n] = Signature(
        0.0,
        0.0,
        signs.clef or old.clef,
        old.fifths if signs.fifths is None else signs.fifths,
        signs.meter or old.meter,
    )
    if clef or meter or fifths is not None:
        box = (signs.x0, stave.top, signs.x1, stave.bottom)
        out.append(Change(bar, line.page, box, n, clef, fifths, meter))


def _is_change(signs: Signature, line: MusicLine, stave: StaveLines, old: Signature) -> bool:
    """Signs behind a barline are a key's when they are three or more, or the first stands where a key's first does.

    Naturals alone are a key's when they are as many as the signs that they take back.
    """
    if signs.clef or signs.meter:
        return True
    if signs.fifths is None:
        return False
    own = [
        g
        for g in line.system.glyphs
        if g.kind == "accidental" and signs.x0 - 0.01 <= g.x0 < signs.x1 and on_stave(g, stave, 1.0)
    ]
    if signs.fifths == 0:
        return len(own) == abs(old.fifths or 0)
    told = [g for g in own if g.value != "natural"] or own  # naturals that take signs back may come first
    return len(own) >= 3 or (bool(own) and _stands_in_key(told[0], stave, old.clef))


def _stands_in_key(sign: Glyph, stave: StaveLines, clef: str) -> bool:
    place = ((sign.y0 + sign.y1) / 2 - stave.top) / stave.space
    sharp, flat = FIRST_SHARP.get(clef, 0.0), FIRST_FLAT.get(clef, 2.0)
    sharps = (sharp, sharp + 3.5) if clef != "c" else (sharp, 1.0, TENOR_SHARP, 4.0)
    flats = (flat, flat - 3.5) if clef != "c" else (1.5, 2.5)
    if sign.value == "flat":
        return any(abs(place + FLAT_RISE - p) < PLACE for p in flats)
    if sign.value == "sharp":
        return any(abs(place - p) < PLACE for p in sharps)
    return any(abs(place - p) < PLACE for p in (*sharps, *flats))


def _clefs_inside(part: Segment, clefs: Sequence[Glyph], stave: StaveLines) -> list[Glyph]:
    """Those of the line's clefs that stand in the bar, behind its first note or in a rest's bars, left to right."""
    first = part.music[0].x1 if part.music else part.x0
    inside = [glyph for glyph in clefs if first < glyph.x0 < part.x1 and on_stave(glyph, stave, 1.0)]
    return sorted(inside, key=lambda glyph: glyph.x0)


def _holds_from(clef: Glyph, part: Segment, bar: BarBox, stave: StaveLines) -> int:
    """A clef right before a barline is the next bar's."""
    behind = any(g.x0 > clef.x1 and on_stave(g, stave, 6.0) for g in part.music)
    return bar.number if behind else bar.number + bar.count
