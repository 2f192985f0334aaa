"""Figures where only figures stand: over long rests, at line heads, under brackets."""

from collaparte.paper.sight.strokes import OUTLINE
from collaparte.paper.sight.words import Phrase

LIKE = str.maketrans("lIi|!tLjOoQDSsZzBgqGb", "11111111" + "0000" + "55" + "22" + "8" + "99" + "66")
"""Letters that a figure told by its shape alone may have been taken for."""


def figures(phrase: Phrase) -> str:
    """The words as figures, brackets left out; as they are when set in a font, which says what is a figure."""
    text = phrase.text.strip("()[] ")
    return text if phrase.style[0] != OUTLINE else as_figures(text)


def as_figures(text: str) -> str:
    """Up to three letters as the figures whose shapes they have; as they are when there is one without."""
    bare = text.rstrip(".,'-").translate(LIKE)
    return bare if bare.isdecimal() and len(text) <= 3 else text
