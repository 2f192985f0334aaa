"""The papers on which a book is printed."""

from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet in mm: its size, and the margins that stay white. `turns`: a wide page may lie on its side."""

    width: float
    height: float
    side: float
    top: float
    bottom: float
    turns: bool

    @property
    def on_its_side(self) -> "Paper":
        """The same sheet, wide."""
        return replace(self, width=self.height, height=self.width)


PAPERS = {
    "tablet": Paper(148.0, 197.0, 0.5, 10.0, 10.0, turns=False),
    "A4": Paper(210.0, 297.0, 12.0, 12.0, 14.0, turns=True),
    "Letter": Paper(215.9, 279.4, 12.0, 12.0, 14.0, turns=True),
}
"""A4 as in ISO 216, Letter as in ANSI/ASME Y14.1 (from memory). Their margins leave room for a punch and for what a
printer cannot reach (common practice)."""
