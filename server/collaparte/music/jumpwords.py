"""Jump words as they are printed over a bar ("D.S. al Coda", "Fine"), to the kinds of sign of a chart."""

import re
import unicodedata

_DS = r"(d\.?s\.?|dalsegno|delsegno)"
_DC = r"(d\.?c\.?|dacapo)"
_SIGN = r"(𝄋|§|segno)?"
_CODA = r"(the)?(coda|⊕|𝄌)(sign)?(\d|[iv]+)?"
_TAIL = r"(senza(repetizion[ei]|replica|ritornell[oi])|norepeats?|\(norepeats?\))?"
_WORDS = tuple(
    (kind, re.compile(rf"\W*(?:{pattern})\W*"))
    for kind, pattern in (
        ("ds-al-coda", rf"{_DS}{_SIGN}(al?|to|ala|e|poila?),?{_CODA}{_TAIL}"),
        ("ds-al-fine", rf"{_DS}{_SIGN}(al?|to)fine{_TAIL}"),
        ("dc-al-coda", rf"{_DC}(al?|to|ala|e|poila?),?{_CODA}{_TAIL}"),
        ("dc-al-fine", rf"{_DC}(al?|to)fine{_TAIL}"),
        ("to-coda", rf"((last|2nd)(x|time))?(to|al){_CODA}"),
        ("ds", rf"{_DS}{_SIGN}{_TAIL}"),
        ("dc", rf"{_DC}{_TAIL}"),
        ("fine", r"fine"),
        ("coda", r"𝄌?coda(sign)?(\d|[iv]+)?"),
        ("segno", r"segno"),
    )
)
"""The trade's words (common practice), written together in small letters."""

_ABOUT_JUMPS = re.compile(r"\bd[ae] ?capo\b|\bd\. ?[cs]\.|\bd[ae]l segno\b|\bto coda\b|\bal (fine|coda)\b|\bcapo\b")


def kind_of(words: str) -> str:
    """The kind of sign that these words are, nothing more or less; "" if they are none."""
    said = "".join(_plain(words).split())
    return next((kind for kind, pattern in _WORDS if pattern.fullmatch(said)), "") if len(said) <= 60 else ""


def about_jumps(words: str) -> bool:
    """Whether words speak of a jump at all, in whatever way."""
    return bool(_ABOUT_JUMPS.search(" ".join(_plain(words).split())))


def _plain(words: str) -> str:
    return unicodedata.normalize("NFKC", words).casefold()
