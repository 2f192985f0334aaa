"""Words on a scan set right: a letter that was lost or misread does not make another word of a trade's word."""

from collections.abc import Sequence
from functools import cache, lru_cache

from msgspec.structs import replace

from collaparte.paper.reading import Box
from collaparte.paper.sight.words import Phrase

WORDS = (
    "Intro", "Verse", "Chorus", "Bridge", "Solo", "Solos", "Interlude", "Vamp", "Outro", "Shout", "Refrain", "Ending",
    "Coda", "Fine", "To Coda", "D.S. al", "D.C. al", "D.S. al Coda", "D.S. al Fine", "D.C. al Coda", "D.C. al Fine",
    "al Coda", "al Fine",
)  # fmt: skip
"""Names of sections and words of jumps (common practice)."""
OTHERS = frozenset(("time", "line", "fire", "tune", "soli", "tutti", "fill", "open", "code", "cup", "play", "trio"))
"""Words near to these that are words of their own."""
JUMPS = (
    "To Coda", "D.S. al Coda", "D.S. al Fine", "D.C. al Coda", "D.C. al Fine",
    "Dal Segno al Coda", "Dal Segno al Fine", "Da Capo al Coda", "Da Capo al Fine",
)  # fmt: skip
"""Words of jumps that may be read in pieces."""
BACK = ("dc", "ds", "dacapo", "dalsegno")
"""How those begin that lead back,"""
FEWEST, LONGEST = 5, 18
"""and how many letters are read of such words."""
WORST_BEGUN = 0.15
"""What may be wrong in words of a jump with others behind them, a letter."""
WORST_TAIL = 0.42
"""What may be wrong in a jump whose beginning, up to "al", was read right: only Fine or Coda follows."""
APART, MOST = 1.3, 5
"""Pieces of one row stand at most so far apart, in sizes, and are at most so many."""
WITHOUT_AL = 2.2
"""Between D.C. or D.S. and Fine or Coda is so much room where "al" was not read."""
NEARER = 0.01
"""Fewer phrases make the better jump when they come nearer to it by so much, a letter."""
CLEARER = 0.08
"""The next best jump is so much further off, a letter."""
SECTIONS = (
    "Intro", "Verse", "Chorus", "Bridge", "Solo", "Solos", "Interlude", "Vamp", "Outro", "Shout", "Refrain", "Ending",
    "Coda", "Tag", "Trio", "Head", "Theme", "Break", "Breakdown", "Backgrounds", "Instrumental", "Finale", "Hook",
)  # fmt: skip
"""Names of sections that stand in frames (common practice)."""
FRAMED, FRAMED_CLEARER = 0.45, 0.06
"""What may be wrong in such a name, a letter, and how much further off the next one is."""
EDGES = "()[]|'.,-&/ "
"""What a frame's own line may have been taken for,"""
SIDES = "Il1|"
"""or, beside a single letter, its upright sides."""
WORST = 0.31
"""What may be wrong in a word, in letters for each of its letters."""
SHORT, WORST_SHORT = 4, 0.28
"""In words of at most so many letters less may be wrong: "Cha" of "Chair" is no Coda."""
LOST = 0.8
"""A letter that was lost or added; one that was taken for another one is 1,"""
ALIKE = 0.4
"""or this, when the two look alike."""
LOOKS = ("iltjf1|!r", "oecad0qgb", "nuhmra", "sS5g", "vyu", "fptr", "bdh", "8b", "kh", "d0o")


def framed_set_right(found: Sequence[Phrase], frames: Sequence[Box]) -> list[Phrase]:
    """All phrases of a page, those in one frame as one where they come near to a section's name or a lone letter."""
    out = list(found)
    for x0, top, x1, foot in frames:
        inside = [
            p for p in out if x0 < p.middle < x1 and top < (p.y0 + p.y1) / 2 < foot and p.x1 - p.x0 < x1 - x0 + p.size
        ]
        inside.sort(key=lambda p: p.x0)
        text = _framed_name("".join(p.text for p in inside)) if inside else ""
        if text and [text] != [p.text for p in inside]:
            out = [p for p in out if not any(p is one for one in inside)]
            out.append(replace(_as_one(sorted(inside, key=lambda p: -p.size), text), x0=min(p.x0 for p in inside)))
    return out


@lru_cache(maxsize=4096)
def _framed_name(text: str) -> str:
    """The section's name or the single letter that stands in a frame; "" when neither is clear."""
    bare = text.strip(EDGES)
    if len(bare) == 3 and bare[0] in SIDES and bare[2] in SIDES and bare[1].isupper():
        return bare[1]
    plain = _plain(bare)
    if len(plain) < 3 or plain.isdecimal():
        return ""
    off = sorted((_off(plain, word.lower()) / len(word), word) for word in SECTIONS)
    (best, word), (second, _) = off[:2]
    return word if best <= FRAMED and (best == 0 or second > best + FRAMED_CLEARER) else ""


def rows_set_right(found: Sequence[Phrase]) -> list[Phrase]:
    """All phrases of a page set right; words of a jump that were read as several phrases are one."""
    out: list[Phrase] = []
    left = sorted(found, key=lambda p: p.x0)
    far = WITHOUT_AL * max((p.size for p in found), default=0.0)
    while left:
        row = _row_from(left, far)
        whole, word = _jump([left[n] for n in row])
        taken = row[: whole or 1]
        out.append(_as_one([left[n] for n in taken], word) if whole else set_right(left[0]))
        for n in reversed(taken):
            del left[n]
    out.sort(key=lambda p: (p.y, p.x0))
    return out


def _row_from(left: Sequence[Phrase], far: float) -> list[int]:
    """Where the first phrase stands and those that follow it in its row, at most a few and each near the one before.

    `left` goes from left to right; none is further than `far` from the one before.
    """
    row, last = [0], left[0]
    text = _plain(last.text)
    for n, phrase in enumerate(left[1:], 1):
        gap = phrase.x0 - last.x1
        if gap >= far or len(row) == MOST:
            break
        own = _plain(phrase.text)
        if not own:
            continue  # a dot, what is left of a letter
        level = min(phrase.y1, last.y1) - max(phrase.y0, last.y0) > 0.4 * min(phrase.y1 - phrase.y0, last.y1 - last.y0)
        most = WITHOUT_AL if _lost_al(text, own) else APART
        if level and -0.3 * last.size < gap < most * max(phrase.size, last.size):
            row.append(n)
            last, text = phrase, text + own
    return row


def _lost_al(one: str, other: str) -> bool:
    """Whether only an "al" is wanting, or what is left of one, between two words to make them a jump."""
    return other in ("fine", "coda") and any(one.startswith(back) and len(one) <= len(back) + 2 for back in BACK)


def _jump(row: Sequence[Phrase]) -> tuple[int, str]:
    """How many phrases from a row's first on are words of a jump, and which; 0 when none are near enough."""
    if len(row) > 1 and _plain(row[0].text) in BACK and _lost_al(*(_plain(p.text) for p in row[:2])):
        row = [replace(row[0], text=row[0].text + "al"), *row[1:]]
    best = (WORST_TAIL, 0, "")
    for n in range(len(row), 0, -1):
        off, word = _jump_word(_plain("".join(phrase.text for phrase in row[:n])))
        if word and off <= best[0] - NEARER * (best[1] > 0):
            best = (off, n, word)
    return best[1], best[2]


@lru_cache(maxsize=4096)
def _jump_word(plain: str) -> tuple[float, str]:
    """The words of a jump that a text is near enough to, and how far off it is, a letter; "" when none are."""
    if not FEWEST <= len(plain) <= LONGEST:
        return 0.0, ""
    words = [(_plain(word), word) for word in JUMPS]
    begun = [word for bare, word in words if bare.startswith(plain)]
    if len(begun) == 1:  # its last letters are lost
        return (len(_plain(begun[0])) - len(plain)) * LOST / len(_plain(begun[0])), begun[0]
    off = sorted((_off(plain, bare) / len(bare), word) for bare, word in words)
    (best, word), (second, _) = off[:2]
    worst = WORST_TAIL if any(plain.startswith(back + "al") and len(plain) > len(back) + 2 for back in BACK) else WORST
    return (best, word) if best <= worst and second > best + CLEARER else (0.0, "")


def _as_one(row: Sequence[Phrase], text: str) -> Phrase:
    most = max(row, key=lambda p: len(p.text))
    return replace(
        row[0],
        text=text, y=most.y, y0=min(p.y0 for p in row), x1=max(p.x1 for p in row), y1=max(p.y1 for p in row),
        size=max(p.size for p in row),
    )  # fmt: skip


def set_right(phrase: Phrase) -> Phrase:
    """The phrase, its text the one trade's word that it is nearest to, when it is near enough."""
    word = _nearest(phrase.text) or _begun(phrase.text)
    return replace(phrase, text=word) if word else phrase


@lru_cache(maxsize=4096)
def _begun(text: str) -> str:
    """A text that goes on behind the words of a jump, these set right; "" when none begin it."""
    pieces = text.split()
    for n in range(2, len(pieces)):
        off, word = _jump_word(_plain("".join(pieces[:n])))
        if word and off <= WORST_BEGUN:
            return " ".join((word, *pieces[n:]))
    return ""


@lru_cache(maxsize=4096)
def _plain(text: str) -> str:
    return "".join(c for c in text.lower() if c.isalnum() or c in "|!")


@lru_cache(maxsize=4096)
def _nearest(text: str) -> str:
    plain = _plain(text)
    if not 3 <= len(plain) <= 12 or plain in OTHERS or plain.isdecimal():
        return ""
    off = sorted((_off(plain, _plain(word)), word) for word in WORDS)
    (best, word), (second, _) = off[:2]
    if best == 0:
        return ""
    size = len(_plain(word))
    worst = (WORST if size > SHORT or "." in word else WORST_SHORT) * size
    return word if best <= worst and best < second - 0.3 else ""


def _off(one: str, other: str) -> float:
    """How much must be changed to make one word of the other."""
    if "m" in one and "in" in other:  # the two run together
        apart = one.replace("m", "in", 1)
        return min(_off(apart, other) + ALIKE, _edits(one, other))
    return _edits(one, other)


def _edits(one: str, other: str) -> float:
    row = [LOST * n for n in range(len(other) + 1)]
    for a in one:
        last, row = row, [row[0] + LOST]
        for n, b in enumerate(other):
            row.append(min(last[n] + _change(a, b), last[n + 1] + LOST, row[n] + LOST))
    return row[-1]


@cache
def _change(a: str, b: str) -> float:
    if a == b:
        return 0.0
    return ALIKE if any(a in looks and b in looks for looks in LOOKS) else 1.0
