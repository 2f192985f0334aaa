"""Figures where only figures stand: over long rests, at line heads, under brackets."""

from collaparte.paper.strokes import OUTLINE
from collaparte.paper.words import Phrase

LIKE = str.maketrans("lIi|!tLjOoQDSsZzBgqGb", "11111111" + "0000" + "55" + "22" + "8" + "99" + "66")
"""Letters that a figure told by its shape alone may have been taken for."""


def figures(phrase: Phrase) -> str:
    """The words as figures, brackets left out; as they are when set in a font, which says what is a figure."""
    text = phrase.text.strip("()[] ")
    if text.isdecimal() or phrase.style[0] != OUTLINE or not 0 < len(text) <= 3:
        return text
    bare = text.rstrip(".,'-").translate(LIKE)
    return bare if bare.isdecimal() else text
