"""The note that a tempo's figure counts, as it stands in the words of a tempo: "Slow swing ♩. = 72"."""

import re

NOTES = {"𝅝": 4.0, "𝅗𝅥": 2.0, "♩": 1.0, "♪": 0.5, "𝅘𝅥𝅯": 0.25}
"""Quarters of the notes that a figure may count."""
_COUNTED = re.compile(rf"({'|'.join(NOTES)})(\.?)\s*=")


def counted(tempo: str) -> float | None:
    """Quarters in the note that a tempo's figure counts, where one stands before it."""
    found = _COUNTED.findall(tempo)
    return NOTES[found[-1][0]] * (1.5 if found[-1][1] else 1) if found else None
