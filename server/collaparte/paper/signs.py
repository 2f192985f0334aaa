"""Jump signs and words: segno, coda, To Coda, D.S., D.C., Fine."""

import re
from collections.abc import Sequence
from typing import NamedTuple

from collaparte.paper.lines import MusicLine, line_below, line_near
from collaparte.paper.reading import Box, Sign, SignKind
from collaparte.paper.strokes import Glyph
from collaparte.paper.words import Phrase

_DS = r"(d\.?s\.?s?\.?|dalsegno|delsegno|dals\.?)"
_DC = r"(d\.?c\.?|dacapo)"
_CODA = r"(the)?(coda|⊕|𝄌)(\d|[iv]+)?\.?"
WORDS: tuple[tuple[SignKind, re.Pattern[str]], ...] = tuple(
    (kind, re.compile(pattern))
    for kind, pattern in (
        (SignKind.DS_AL_CODA, rf"{_DS}(§)?(al|to|ala){_CODA}"),
        (SignKind.DS_AL_FINE, rf"{_DS}(§)?(al|to)fine\.?"),
        (SignKind.DC_AL_CODA, rf"{_DC}(al|to|ala){_CODA}"),
        (SignKind.DC_AL_FINE, rf"{_DC}(al|to)fine\.?"),
        (SignKind.TO_CODA, rf"(lastx|lasttime|2ndx|2ndtime|ondsonly|after|afterd\.?s\.?)?(to|al){_CODA}"),
        (SignKind.DS, rf"{_DS}(§)?"),
        (SignKind.DC, rf"{_DC}"),
        (SignKind.FINE, r"(al)?fine\.?"),
        (SignKind.CODA, r"coda(\d)?\.?"),
        (SignKind.SEGNO, r"segno\.?"),
    )
)
"""The trade's words without spaces, in small letters; § and ⊕ stand for the signs."""
_OPENINGS = frozenset(("to", "d.s. al", "d.c. al", "d.", "dal", "da"))
AT_END = frozenset(
    (
        SignKind.TO_CODA,
        SignKind.FINE,
        SignKind.DS,
        SignKind.DS_AL_CODA,
        SignKind.DS_AL_FINE,
        SignKind.DC,
        SignKind.DC_AL_CODA,
        SignKind.DC_AL_FINE,
    )
)


class Found(NamedTuple):
    """A sign or words before their bar is known."""

    kind: SignKind
    text: str
    box: Box
    bare: bool
    """A sign without words."""


def find_signs(
    pages: Sequence[tuple[Sequence[MusicLine], Sequence[Phrase], Sequence[Glyph]]],
    marks: set[tuple[int, Box]],
) -> tuple[list[Sign], set[tuple[int, Box]]]:
    """All jump signs of a part in document order, and the phrases (page, box) used for them."""
    signs: list[Sign] = []
    bare: set[int] = set()
    used: set[tuple[int, Box]] = set()
    for lines, phrases, glyphs in pages:
        if not lines:
            continue
        page = lines[0].page
        free = [p for p in phrases if (page, p.box) not in marks]
        for found, boxes in _on_page(free, glyphs):
            sign = _placed(found, lines)
            if sign is None:
                continue
            if found.bare:
                bare.add(len(signs))
            signs.append(sign)
            used |= {(page, box) for box in boxes}
    signs = _coda_signs(signs, bare)
    return _without_echoes(signs), used


def _on_page(phrases: Sequence[Phrase], glyphs: Sequence[Glyph]) -> list[tuple[Found, list[Box]]]:
    signs = [g for g in glyphs if g.kind in ("segno", "coda", "jump")]
    taken: set[int] = set()
    out: list[tuple[Found, list[Box]]] = []
    skip: set[int] = set()
    order = sorted(range(len(phrases)), key=lambda n: not re.match(r"\W*(d|to\W*$)", phrases[n].text, re.IGNORECASE))
    for n in order:
        phrase = phrases[n]
        if n in skip or not re.search(r"[CcDdFfSsTt]", phrase.text):
            continue
        kind, members = _grown(n, phrases, signs)
        if kind is None:
            continue
        skip |= set(members)
        beside = [g for m in members for g in signs if _beside(g, phrases[m])]
        taken |= {id(g) for g in beside}
        boxes = [phrases[m].box for m in members]
        text = " ".join(phrases[m].text for m in members)
        out.append((Found(kind, text, _union([*boxes, *(g[:4] for g in beside)]), False), boxes))
    for glyph in signs:
        if id(glyph) not in taken:
            kind = {
                "segno": SignKind.SEGNO,
                "coda": SignKind.CODA,
                "jump": SignKind.DS if glyph.value == "D.S." else SignKind.DC,
            }[glyph.kind]
            out.append((Found(kind, glyph.value, glyph[:4], True), []))
    out.sort(key=lambda pair: (pair[0].box[1], pair[0].box[0]))
    return out


def _grown(n: int, phrases: Sequence[Phrase], signs: Sequence[Glyph]) -> tuple[SignKind | None, list[int]]:
    """What a phrase says with those that follow it ("D.S." "al" "Coda"), and which they are."""
    members = [n]
    text = _with_signs(phrases[n], [g for g in signs if _beside(g, phrases[n])])
    kind = _kind(text)
    best = (kind, [n])
    if kind not in (SignKind.DS, SignKind.DC) and text.strip().lower() not in _OPENINGS:
        return best
    for _ in range(3):
        follower = next(
            (m for m in range(len(phrases)) if m not in members and _follows(phrases[members[-1]], phrases[m])), None
        )
        if follower is None:
            break
        other = phrases[follower]
        members.append(follower)
        text += " " + _with_signs(other, [g for g in signs if _beside(g, other)])
        longer = _kind(text)
        if longer is not None:
            best = (longer, list(members))
    return best


def _kind(text: str) -> SignKind | None:
    plain = re.sub(r"[\s.…,:;()\[\]*\"'“”-]+", "", text.lower())
    loose = re.sub(r"[\s()\[\]*]+", "", text.lower())
    for kind, pattern in WORDS:
        if pattern.fullmatch(plain) or pattern.fullmatch(loose):
            return kind
    return None


def _with_signs(phrase: Phrase, beside: Sequence[Glyph]) -> str:
    """The phrase's letters with the signs beside it in their places."""
    text = phrase.text
    for glyph in sorted(beside, key=lambda g: g.x0):
        if glyph.kind == "jump":
            continue
        sign = "§" if glyph.kind == "segno" else "⊕"
        already = "coda" in text.lower() if sign == "⊕" else False
        if glyph.x0 < phrase.x0:
            text = text if already or sign == "§" else sign + text
        elif not already:
            text += sign
    return text


def _beside(glyph: Glyph, phrase: Phrase) -> bool:
    """A sign set as part of the words: on their line, right after them or before."""
    off = (glyph.y0 + glyph.y1) / 2 - (phrase.y - 0.33 * phrase.size)
    gap = max(glyph.x0 - phrase.x1, phrase.x0 - glyph.x1)
    return abs(off) < 0.45 * phrase.size and -0.2 * phrase.size < gap < 1.3 * phrase.size


def _follows(first: Phrase, other: Phrase) -> bool:
    """The next words of a phrase: on the next line under it, or further on in the same line."""
    below = 0 < other.y - first.y < 1.9 * first.size and other.x0 < first.x1 + first.size
    overlaps = other.x1 > first.x0 - first.size
    beyond = abs(other.y - first.y) < 0.5 * first.size and 0 < other.x0 - first.x1 < 2.2 * first.size
    return (below and overlaps) or beyond


def _placed(found: Found, lines: Sequence[MusicLine]) -> Sign | None:
    kind, text, box, bare = found
    if kind in AT_END:
        line = _line_of_jump(kind, box, lines)
        if line is None:
            return None
        bar, distance = line.bar_ending(box[0], box[2])
        confidence = 1.0 if distance < 8 * line.space else 0.9
        return Sign(kind, bar, "end", line.page, box, text, confidence)
    line = line_below(lines, box) if bare or kind is SignKind.SEGNO else _line_of_words(box, lines)
    if line is None or not line.bars:
        return None
    if line.system.bbox[1] - box[3] > 18 * line.space:
        return None
    bar, distance = line.bar_starting([(box[0] + box[2]) / 2, box[0]])
    return Sign(kind, bar, "start", line.page, box, text, 1.0 if distance < 4 * line.space else 0.85)


def _line_of_words(box: Box, lines: Sequence[MusicLine]) -> MusicLine | None:
    """Words stand over or under their stave: the nearer one, if it is near at all."""
    line = line_near(lines, box)
    if line is None:
        return None
    gap = max(line.system.bbox[1] - box[3], box[1] - line.system.bbox[3])
    return line if gap < 14 * line.space else None


def _line_of_jump(kind: SignKind, box: Box, lines: Sequence[MusicLine]) -> MusicLine | None:
    """Words that end a bar: the line they are near to and whose barline they stand at; To Coda stands above it."""
    best: tuple[float, MusicLine] | None = None
    for line in lines:
        x0, top, x1, bottom = line.system.bbox
        space = line.space
        gap = max(top - box[3], box[1] - bottom) / space
        if gap > 14 or not x0 - 4 * space < (box[0] + box[2]) / 2 < x1 + 4 * space or not line.bars:
            continue
        cost = gap + line.end_cost(box[0], box[2])
        if kind is SignKind.TO_CODA and box[1] > (top + bottom) / 2:
            cost += 6
        if best is None or cost < best[0]:
            best = (cost, line)
    return best[1] if best else None


def _coda_signs(signs: list[Sign], bare: set[int]) -> list[Sign]:
    """A coda sign without words before the jump back says where to leave; after it, where to land."""
    jumps = [n for n, s in enumerate(signs) if s.kind in (SignKind.DS_AL_CODA, SignKind.DC_AL_CODA)]
    landings = [n for n, s in enumerate(signs) if s.kind is SignKind.CODA]
    has_to_coda = any(s.kind is SignKind.TO_CODA for s in signs)
    if not jumps or has_to_coda or len(landings) < 2:
        return signs
    out = list(signs)
    jump = signs[jumps[-1]].bar
    for n in landings:
        if n in bare and signs[n].bar <= jump and any(signs[m].bar > signs[n].bar for m in landings):
            sign = signs[n]
            out[n] = Sign(SignKind.TO_CODA, max(sign.bar - 1, 0), "end", sign.page, sign.box, sign.text, 0.85)
    return out


def _without_echoes(signs: list[Sign]) -> list[Sign]:
    """A sign and its word at one bar are one sign."""
    seen: dict[tuple[SignKind, int], Sign] = {}
    for sign in signs:
        key = (sign.kind, sign.bar)
        if key not in seen or (sign.text and not seen[key].text):
            seen[key] = sign
    return sorted(seen.values(), key=lambda s: (s.bar, s.at == "end", s.page, s.box[1]))


def _union(boxes: Sequence[Box]) -> Box:
    return (
        min(b[0] for b in boxes),
        min(b[1] for b in boxes),
        max(b[2] for b in boxes),
        max(b[3] for b in boxes),
    )
