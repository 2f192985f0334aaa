"""What of a part can be compared with the other parts of its tune."""

from typing import NamedTuple


class Outline(NamedTuple):
    """How many bars a part has, the marks before them, and the signs at their barlines.

    Positions are 0-based in document order, the pickup included.
    """

    bars: int
    pickup: bool = False
    marks: tuple[tuple[str, int], ...] = ()
    signs: tuple[tuple[str, int], ...] = ()
    """Repeats, endings, double bars, jump signs: kind, and the position of the bar that follows (`bars` at the end)."""
    fewer: tuple[tuple[int, int], ...] = ()
    """From which positions on musicians call bars by numbers so many lower than the count, and by how many more."""

    def called(self, position: int) -> int:
        """The number that musicians call the bar at a position by; 0 for a pickup."""
        return position + (0 if self.pickup else 1) - sum(fewer for at, fewer in self.fewer if at <= position)


class Asides(NamedTuple):
    """What of a part matters where an order leaves bars out. Bars are 1-based in document order, pickup included."""

    leads_in: tuple[int, ...] = ()
    """Bars that begin in a rest and end in notes: they lead into the next."""
    instructions: tuple[tuple[int, str], ...] = ()
    """Bar and words that hold from there on, in document order: "cup mute"."""
