"""Words on a scan set right: a letter that was lost or misread does not make another word of a trade's word."""

from functools import lru_cache

from collaparte.paper.sight.words import Phrase

WORDS = (
    "Intro", "Verse", "Chorus", "Bridge", "Solo", "Solos", "Interlude", "Vamp", "Outro", "Shout", "Refrain", "Ending",
    "Coda", "Fine", "To Coda", "D.S. al", "D.C. al", "D.S. al Coda", "D.S. al Fine", "D.C. al Coda", "D.C. al Fine",
    "al Coda", "al Fine",
)  # fmt: skip
"""Names of sections and words of jumps (common practice)."""
OTHERS = frozenset(("time", "line", "fire", "tune", "soli", "tutti", "fill", "open", "code", "cup", "play", "trio"))
"""Words near to these that are words of their own."""
WORST = 0.31
"""What may be wrong in a word, in letters for each of its letters."""
LOST = 0.8
"""A letter that was lost or added; one that was taken for another one is 1,"""
ALIKE = 0.4
"""or this, when the two look alike."""
LOOKS = ("iltjf1|!r", "oecad0qgb", "nuhmra", "sS5g", "vyu", "fptr", "bdh", "8b", "kh", "d0o")


def set_right(phrase: Phrase) -> Phrase:
    """The phrase, its text the one trade's word that it is nearest to, when it is near enough."""
    word = _nearest(phrase.text)
    return phrase._replace(text=word) if word else phrase


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
    return word if best <= WORST * len(_plain(word)) and best < second - 0.3 else ""


def _off(one: str, other: str) -> float:
    """How much must be changed to make one word of the other."""
    row = [LOST * n for n in range(len(other) + 1)]
    for a in one:
        last, row = row, [row[0] + LOST]
        for n, b in enumerate(other):
            row.append(min(last[n] + _change(a, b), last[n + 1] + LOST, row[n] + LOST))
    return row[-1]


def _change(a: str, b: str) -> float:
    if a == b:
        return 0.0
    return ALIKE if any(a in looks and b in looks for looks in LOOKS) else 1.0
