"""Where the signs and words of jumps stand in invented charts, and how they are worded and lettered.

The words are those of the trade (common practice); every chart that is full of them holds several jumps with all that
belongs to each.
"""

import random
from dataclasses import dataclass, field

NAMES = {
    "ds-al-coda": "D.S. al Coda",
    "dc-al-coda": "D.C. al Coda",
    "ds-al-fine": "D.S. al Fine",
    "dc-al-fine": "D.C. al Fine",
    "to-coda": "To Coda",
    "fine": "Fine",
}
JUMPS = ("ds-al-coda", "dc-al-coda", "ds-al-fine", "dc-al-fine")
PARTS = 4
"""Sections that a jump takes with all that belongs to it."""
WORDINGS = {
    "ds-al-coda": ("D.S. al Coda", "D.S. al Coda", "D.S. al ⊕", "D.S. al Coda ⊕", "Dal Segno al Coda", "DS al Coda",
                   "D. S. al Coda", "D.S. AL CODA", "D.S.al Coda", "(D.S. al Coda)", "D.S. (§) al Coda"),
    "dc-al-coda": ("D.C. al Coda", "D.C. al Coda", "D.C. al ⊕", "D.C. al Coda ⊕", "Da Capo al Coda", "DC al Coda",
                   "D. C. al Coda", "D.C. AL CODA", "D.C.al Coda"),
    "ds-al-fine": ("D.S. al Fine", "D.S. al Fine", "Dal Segno al Fine", "DS al Fine", "D. S. al Fine", "D.S. AL FINE",
                   "D.S.al Fine", "D.S. al fine"),
    "dc-al-fine": ("D.C. al Fine", "D.C. al Fine", "Da Capo al Fine", "DC al Fine", "D. C. al Fine", "D.C. AL FINE",
                   "D.C.al Fine", "D.C. al fine"),
    "to-coda": ("To Coda ⊕", "To Coda ⊕", "To Coda", "to Coda ⊕", "To ⊕", "TO CODA ⊕", "TO CODA", "To Coda (⊕)"),
    "fine": ("Fine", "Fine", "FINE", "fine", "(Fine)", "Fine."),
}  # fmt: skip
"""What stands for each kind; ⊕ and § are drawn as signs where the engraver can set one among words."""


@dataclass
class Plan:
    """By section (from 0): the kinds of sign that open it, and the kinds of words that close it."""

    opening: dict[int, str] = field(default_factory=dict)
    closing: dict[int, list[str]] = field(default_factory=dict)

    def add(self, kind: str, segno: int, leave: int, jump: int, landing: int) -> None:
        """One jump of a kind, with its segno, To Coda and coda, or its Fine."""
        if kind.startswith("ds"):
            self.opening[segno] = "segno"
        if kind.endswith("coda"):
            self.opening[landing] = "coda"
        self.closing.setdefault(leave, []).append("to-coda" if kind.endswith("coda") else "fine")
        self.closing.setdefault(jump, []).append(kind)


def full_plan(dice: random.Random, jumps: int = 3) -> tuple[int, Plan]:
    """How many sections a chart has that is full of jumps, and their plan."""
    plan = Plan()
    for n in range(jumps):
        kind, first = dice.choice(JUMPS), PARTS * n
        plan.add(kind, first, first + 1, first + (2 if kind.endswith("coda") else 3), first + 3)
    return PARTS * jumps, plan
