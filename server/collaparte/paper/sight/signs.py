"""Jump signs and words: segno, coda, To Coda, D.S., D.C., Fine."""

import re
from collections.abc import Sequence
from functools import lru_cache

from msgspec.structs import replace

from collaparte.music.jumpwords import Asked, asked
from collaparte.paper.reading import Box, Ending, Mark, Sign, SignKind
from collaparte.paper.sight.lines import MusicLine, line_below, line_near
from collaparte.paper.sight.sign_places import DOUBTFUL, LANDING, UNLED, Bars, Found, at_ends, at_start, bare, stems
from collaparte.paper.sight.strokes import OUTLINE, Glyph, Rule
from collaparte.paper.sight.words import Phrase

_BACK = r"((goback|go|back)?to|repeatfrom)(the)?"
_DS = rf"(d\.?s\.?s?\.?|dalsegno|delsegno|dals\.?|{_BACK}(sign|segno|(?=§)))"
_DC = rf"(d\.?c\.?|dacapo|{_BACK}(top|beginning|start))"
_CODA = r"(the)?(coda|⊕|𝄌)(\d|[iv]+)?\.?"
WORDS: tuple[tuple[SignKind, re.Pattern[str]], ...] = tuple(
    (kind, re.compile(pattern))
    for kind, pattern in (
        (SignKind.DS_AL_CODA, rf"{_DS}(§)?(al?|to|ala){_CODA}|{_DS}(§)?alc(od?)?"),
        (SignKind.DS_AL_FINE, rf"{_DS}(§)?(al?|to)fine\.?|{_DS}(§)?alf(in?)?"),
        (SignKind.DC_AL_CODA, rf"{_DC}(al?|to|ala){_CODA}|{_DC}alc(od?)?"),
        (SignKind.DC_AL_FINE, rf"{_DC}(al?|to)fine\.?|{_DC}alf(in?)?"),
        (SignKind.TO_CODA, rf"(lastx|lasttime|2ndx|2ndtime|ondsonly|after|afterd\.?s\.?)?(to|al){_CODA}"),
        (SignKind.DS, rf"{_DS}(§)?"),
        (SignKind.DC, rf"{_DC}"),
        (SignKind.FINE, r"(al)?fine\.?"),
        (SignKind.CODA, r"coda(\d)?\.?"),
        (SignKind.SEGNO, r"segno\.?"),
    )
)
"""The trade's words without spaces, in small letters; § and ⊕ stand for the signs.

"al Cod", "al Co", "al C", "al Fi" run off the page. An l may be missing: in slanted faces without serifs it is a plain
stroke when text is drawn as outlines.
"""
_FIGURE = re.compile(r"[1-4]|I{1,3}|IV")
_OPENINGS = re.compile(r"to|(d[sc]?|dal(segno)?|dacapo)(al?(c(od?)?)?)?")
"""What jump words may begin with, without spaces and points; typewriter faces tear them apart."""
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
LEADS = LANDING | {SignKind.DS_AL_FINE, SignKind.DC_AL_FINE}
LARGE = 1.5
"""Signs that are so much taller than words beside them are not of the words' own size."""
_SAID_WITH = re.compile(r"[CcDdFfSsTt]")
"""Words of a jump have one of these letters,"""
_BEGINS = re.compile(r"\W*(d|to\W*$)", re.IGNORECASE)
"""and those that begin so are asked first."""
TWICE = "twice"
"""The value of two signs side by side."""


def find_signs(
    pages: Sequence[tuple[Sequence[MusicLine], Sequence[Phrase], Sequence[Glyph], Sequence[Rule]]],
    used_before: set[tuple[int, Box]],
    marks: Sequence[Mark] = (),
    endings: Sequence[Ending] = (),
) -> tuple[list[Sign], set[tuple[int, Box]]]:
    """All jump signs of a part in document order, and the phrases (page, box) used for them.

    `used_before`: phrases that are marks, numbers, or sung; `marks` and `endings`: those of the part.
    """
    found: list[tuple[Found, Sequence[MusicLine]]] = []
    used: set[tuple[int, Box]] = set()
    for lines, phrases, glyphs, _ in pages:
        if not lines:
            continue
        page = lines[0].page
        free = [p for p in phrases if (page, p.box) not in used_before]
        for one, boxes in _on_page(free, glyphs, lines):
            found.append((one, lines))
            used |= {(page, box) for box in boxes}
    found = [(_led(one, [f.kind for f, _ in found]), lines) for one, lines in found]
    placed = [(one, at_start(one, lines)) for one, lines in found if one.kind not in AT_END]
    signs = _coda_signs([(sign, one.bare) for one, sign in placed if sign is not None], [f.kind for f, _ in found])
    landings = {s.bar for s in signs if s.kind is SignKind.CODA}
    roofs = [place for e in endings for place in ((e.page, e.box), *e.further)]
    behind = {e.bar for e in endings if e.number > 1}
    turns = {e.last_bar for e in endings if e.number == 1 and e.last_bar + 1 in behind}
    ends = [(one, lines) for one, lines in found if one.kind in AT_END]
    strokes = {lines[0].page: stems(rules, lines[0].space) for lines, _, _, rules in pages if lines} if ends else {}
    at_marks = [(mark.page, mark.box) for mark in marks]
    for one, lines, sign in at_ends(ends, Bars(landings, {m.bar for m in marks}, turns, roofs, at_marks, strokes)):
        signs.append(sign)
        landing = None if landings else _landing_behind(one, sign, lines)
        signs += [landing] if landing else []
    return _without_echoes(signs), used


def _led(one: Found, kinds: Sequence[SignKind]) -> Found:
    """A "D.S. al" whose last word was not read leads to the part's coda, or else to its Fine (common practice)."""
    if not UNLED.fullmatch(bare(one.text)):
        return one
    back = "ds" if one.kind is SignKind.DS else "dc"
    if SignKind.CODA in kinds or SignKind.TO_CODA in kinds:
        return one._replace(kind=SignKind(f"{back}-al-coda"))
    return one._replace(kind=SignKind(f"{back}-al-fine")) if SignKind.FINE in kinds else one


def _landing_behind(jump: Found, placed: Sign, lines: Sequence[MusicLine]) -> Sign | None:
    """Where a part has no coda else, the sign behind "al Coda" is that of the next bar, set close to the words."""
    if jump.kind not in LANDING or jump.behind is None:
        return None
    sign = at_start(Found(SignKind.CODA, "", jump.behind, True), lines)
    if sign is None or sign.bar != placed.bar + 1:
        return None
    return Sign(sign.kind, sign.bar, sign.at, sign.page, sign.box, sign.text, DOUBTFUL)


def _on_page(
    phrases: Sequence[Phrase], glyphs: Sequence[Glyph], lines: Sequence[MusicLine]
) -> list[tuple[Found, list[Box]]]:
    brackets = [p.box for p in phrases if p.text in ("(", ")", "[", "]")]
    brackets += [g.box for g in glyphs if g.kind == "accidental" and g.value == "other"]  # an accidental has such, too
    signs = [_bracketed(g, brackets) for g in _doubled([g for g in glyphs if g.kind in ("segno", "coda", "jump")])]
    taken: set[int] = set()
    out: list[tuple[Found, list[Box]]] = []
    skip: set[int] = set()
    may_say = [n for n, phrase in enumerate(phrases) if _SAID_WITH.search(phrase.text)]
    for n in sorted(may_say, key=lambda n: not _BEGINS.match(phrases[n].text)):
        phrase = phrases[n]
        if n in skip:
            continue
        kind, members = _grown(n, phrases, signs)
        with_words = signs
        for glyph in [g for g in signs if any(_beside(g, phrases[m]) for m in members)]:
            others = [g for g in with_words if g is not glyph]
            alone, shorter = _grown(n, phrases, others)
            apart = alone is kind is not SignKind.TO_CODA and _is_next_bars(glyph, phrases[shorter[-1]], lines)
            if alone and (kind is None or apart):
                kind, members, with_words = alone, shorter, others
        if kind is None and UNLED.fullmatch(said := bare(phrase.text)):  # the rest runs off the page, or is not told
            told = phrase.style[0] == OUTLINE or said.endswith("al")
            kind = (SignKind.DS if "s" in said else SignKind.DC) if told else None
        if kind is None:
            continue
        members = _with_turn(kind, members, phrases)
        skip |= set(members)
        beside = [g for m in members for g in with_words if _beside(g, phrases[m])]
        taken |= {id(g) for g in beside}
        boxes = [phrases[m].box for m in members]
        text = " ".join(_with_signs(phrases[m], [g for g in beside if _beside(g, phrases[m])]) for m in members)
        outlined = phrase.style[0] == OUTLINE
        to_coda = "coda" in phrase.text.lower()
        behind = next((g.box for g in beside if to_coda and g.kind == "coda" and g.x1 > phrase.x1), None)
        whole = _union([*boxes, *(g.box for g in beside)])
        out.append((Found(kind, text, whole, False, outlined, behind, phrase.y, phrase.size), boxes))
    for glyph in signs:
        if id(glyph) not in taken:
            number = _number_behind(glyph, phrases)
            kind = {
                "segno": SignKind.SEGNO,
                "coda": SignKind.CODA,
                "jump": SignKind.DS if glyph.value == "D.S." else SignKind.DC,
            }[glyph.kind]
            if number is not None:
                text, box = f"{_sign(glyph)} {number.text}", _union([glyph.box, number.box])
                out.append((Found(kind, text, box, True), [number.box]))
                continue
            out.append((Found(kind, _sign(glyph) if glyph.value == TWICE else "", glyph.box, True), []))
    out.sort(key=lambda pair: (pair[0].box[1], pair[0].box[0]))
    return out


def _number_behind(glyph: Glyph, phrases: Sequence[Phrase]) -> Phrase | None:
    """A lone figure set right behind a sign names it: a second coda (common practice)."""
    if glyph.kind == "jump" or glyph.value == TWICE:
        return None
    return next((p for p in phrases if _FIGURE.fullmatch(p.text) and p.x0 > glyph.x0 and _beside(glyph, p)), None)


def _doubled(signs: Sequence[Glyph]) -> list[Glyph]:
    """The signs, a pair of one kind side by side as one: it names a second segno or coda (common practice)."""
    out: list[Glyph] = []
    for glyph in sorted(signs, key=lambda g: (g.kind, round(g.y0), g.x0)):
        last = out[-1] if out else None
        wide = glyph.x1 - glyph.x0
        beside = last and last.kind == glyph.kind != "jump" and abs(last.y0 - glyph.y0) < 0.2 * (glyph.y1 - glyph.y0)
        if last and beside and -0.2 * wide < glyph.x0 - last.x1 < 0.8 * wide:
            out[-1] = replace(last, x1=glyph.x1, y1=max(last.y1, glyph.y1), value=TWICE)
        else:
            out.append(glyph)
    return out


def _bracketed(glyph: Glyph, brackets: Sequence[Box]) -> Glyph:
    """The sign with the brackets that stand by themselves around it, as typewriter faces set them."""
    for x0, top, x1, foot in brackets:
        high = foot - top
        level = abs(glyph.y0 + glyph.y1 - top - foot) < 0.9 * high
        if level and -0.2 * high < max(glyph.x0 - x1, x0 - glyph.x1) < 1.3 * high:
            glyph = replace(glyph, x0=min(glyph.x0, x0), x1=max(glyph.x1, x1))
    return glyph


def _sign(glyph: Glyph) -> str:
    """A sign as a character, or two."""
    return ("§" if glyph.kind == "segno" else "⊕") * (2 if glyph.value == TWICE else 1)


def _with_turn(kind: SignKind, members: list[int], phrases: Sequence[Phrase]) -> list[int]:
    """The members with words right before or behind them that say which time they are for, or how often."""
    if kind not in AT_END:
        return members
    first, last = phrases[members[0]], phrases[members[-1]]
    for m, phrase in enumerate(phrases):
        if m not in members and (_follows(last, phrase) or _follows(phrase, first)):
            turn = asked(f"To Coda {phrase.text}") or asked(f"D.C. {phrase.text}")
            if turn and (turn.passes or turn.last):
                return [*members, m]
    return members


def _grown(n: int, phrases: Sequence[Phrase], signs: Sequence[Glyph]) -> tuple[SignKind | None, list[int]]:
    """What a phrase says with those that follow it ("D.S." "al" "Coda"), and which they are."""
    members = [n]
    text = _with_signs(phrases[n], [g for g in signs if _beside(g, phrases[n])])
    kind = _kind(text)
    best = (kind, [n])
    if kind not in (SignKind.DS, SignKind.DC) and not _OPENINGS.fullmatch(bare(text)):
        return best
    for _ in range(3):
        last = _reaching(phrases[members[-1]], signs)
        y, above, below = last.y, -0.5 * last.size, 1.9 * last.size
        near = [m for m, p in enumerate(phrases) if above < p.y - y < below]
        follower = next((m for m in near if m not in members and _follows(last, phrases[m])), None)
        if follower is None:
            break
        other = phrases[follower]
        if best[0] in LEADS and other.style != last.style and _OPENINGS.fullmatch(bare(other.text)):
            break  # a To Coda of the line below, under words that say already where they lead
        members.append(follower)
        text += " " + _with_signs(other, [g for g in signs if _beside(g, other)])
        longer = _kind(text, glued=False)
        if longer is not None:
            best = (longer, list(members))
    return best


@lru_cache(4096)  # as many chord names as a page holds are asked again and again
def _kind(text: str, *, glued: bool = True) -> SignKind | None:
    """What words say; `glued`: other words may have run into a To Coda, as when they are set over one another."""
    plain = bare(text)
    loose = re.sub(r"[\s()\[\]*]+", "", text.lower())
    for kind, pattern in WORDS:
        if pattern.fullmatch(plain) or pattern.fullmatch(loose):
            return kind
    said = asked(text)
    # Short words are known above; what goes beyond them, or says where it leads, is known by what it asks for.
    if said and ("-al-" in said.kind or said != Asked(said.kind)):
        return SignKind(said.kind)
    return SignKind.TO_CODA if glued and plain.startswith("tocoda") else None


def _with_signs(phrase: Phrase, beside: Sequence[Glyph]) -> str:
    """The phrase's letters with the signs beside it in their places."""
    text = phrase.text
    for glyph in sorted(beside, key=lambda g: g.x0):
        if glyph.kind == "jump":
            continue
        sign = _sign(glyph)
        already = "coda" in text.lower() if sign == "⊕" else False
        if glyph.x0 < phrase.x0:
            text = text if already or sign[0] == "§" else sign + text
        elif not already:
            text += sign
    return text


def _beside(glyph: Glyph, phrase: Phrase) -> bool:
    """A sign set as part of the words: on their line, right after them or before, or among them as in brackets."""
    off = (glyph.y0 + glyph.y1) / 2 - (phrase.y - 0.33 * phrase.size)
    gap = max(glyph.x0 - phrase.x1, phrase.x0 - glyph.x1)
    inside = phrase.x0 < glyph.x0 and glyph.x1 < phrase.x1
    return abs(off) < 0.45 * phrase.size and (inside or -0.2 * phrase.size < gap < 1.3 * phrase.size)


def _reaching(words: Phrase, signs: Sequence[Glyph]) -> Phrase:
    """Words as far as the sign that is set right behind them."""
    return replace(words, x1=max([words.x1, *(g.x1 for g in signs if _beside(g, words))]))


def _is_next_bars(glyph: Glyph, words: Phrase, lines: Sequence[MusicLine]) -> bool:
    """Whether a sign right behind words over a stave is the next bar's: it stands behind the barline, and the words
    before it, or but for their end if the sign is large."""
    line = line_below(lines, glyph.box)
    if line is None or line is not line_near(lines, words.box):
        return False
    large = glyph.y1 - glyph.y0 > LARGE * (words.y1 - words.y0)
    end = words.middle if large else words.x1 - 0.5 * line.space
    return any(end < b.x < b.x1 < (glyph.x0 + glyph.x1) / 2 for b in line.barlines[:-1])


def _follows(first: Phrase, other: Phrase) -> bool:
    """The next words of a phrase: on the next line under it, or further on in the same line."""
    down, size = other.y - first.y, first.size
    if not -0.5 * size < down < 1.9 * size:
        return False
    below = down > 0 and other.x0 < first.x1 + size and other.x1 > first.x0 - size
    return below or (down < 0.5 * size and 0 < other.x0 - first.x1 < 2.2 * size)


def _coda_signs(placed: list[tuple[Sign, bool]], kinds: Sequence[SignKind]) -> list[Sign]:
    """Of two coda signs without words and no To Coda, the first says where to leave, the second where to land."""
    signs = [sign for sign, _ in placed]
    codas = [n for n, (sign, _) in enumerate(placed) if sign.kind is SignKind.CODA]
    codas.sort(key=lambda n: signs[n].bar)
    if len(codas) >= 2 and SignKind.TO_CODA not in kinds and placed[codas[0]][1]:
        sign = signs[codas[0]]
        signs[codas[0]] = Sign(SignKind.TO_CODA, max(sign.bar - 1, 0), "end", sign.page, sign.box, sign.text, DOUBTFUL)
    return signs


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
