"""Numbers as musicians say them: "third", "2nd time", "four"."""

_CARDINALS = """zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen
seventeen eighteen nineteen twenty"""
_ORDINALS = """zeroth first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth
fourteenth fifteenth sixteenth seventeenth eighteenth nineteenth twentieth"""

CARDINALS = tuple(_CARDINALS.split())
ORDINALS = tuple(_ORDINALS.split())


def number_of(word: str) -> int | None:
    """ "4" or "four" as a number; None if it is neither."""
    if word.isascii() and word.isdigit():
        return int(word) if len(word) <= 6 else None
    return CARDINALS.index(word) if word in CARDINALS else None


def ordinal_of(word: str) -> int | None:
    """ "3rd" or "third" as a number; None if it is neither."""
    if word in ORDINALS:
        return ORDINALS.index(word)
    return number_of(word[:-2]) if word[-2:] in ("st", "nd", "rd", "th") and word[:-2].isdigit() else None


def ordinal(number: int) -> str:
    """A number as "first", "second"; from 21 on "21st"."""
    if 0 < number < len(ORDINALS):
        return ORDINALS[number]
    suffix = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{suffix}"


def count(number: int, noun: str) -> str:
    """ "1 bar", "4 bars"."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
