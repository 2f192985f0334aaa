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
