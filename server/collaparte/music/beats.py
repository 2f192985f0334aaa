"""The note that a tempo's figure counts, as the words of a tempo have it ("Slow swing ♩. = 72") or by the meter."""

import re
from functools import cache

NOTES = {"𝅝": 4.0, "𝅗𝅥": 2.0, "♩": 1.0, "♪": 0.5, "𝅘𝅥𝅯": 0.25}
"""Quarters of the notes that a figure may count."""
_COUNTED = re.compile(rf"({'|'.join(NOTES)})(\.?)\s*=")


def counted(tempo: str) -> float | None:
    """Quarters in the note that a tempo's figure counts, where one stands before it."""
    found = _COUNTED.findall(tempo)
    return NOTES[found[-1][0]] * (1.5 if found[-1][1] else 1) if found else None


@cache
def bar_quarters(meter: str) -> tuple[float, float]:
    """The length of a bar of this meter ("6/8"), and of the beat that its tempo counts, in quarter notes."""
    found = re.fullmatch(r"(\d{1,2})/(\d{1,2})", meter)
    if not found or not int(found[2]):
        return 4.0, 1.0
    over, under = int(found[1]), int(found[2])
    beat = 3 if under >= 8 and over % 3 == 0 else 1
    return 4 * over / under, 4 * beat / under
