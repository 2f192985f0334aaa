"""The demo band: the PDFs of four tunes, their sources, and what the engraver counted while it set them."""

from pathlib import Path

BAND = Path(__file__).parent / "band"
"""The band's library as a librarian would have it: one folder a tune, PDFs only."""

NAME = Path(__file__).parent / "name.txt"
"""What the band is called."""

TRUTH = Path(__file__).parent / "truth"
"""One JSON a tune: the engraver's own count of bars, marks and rests of every part."""

SOURCES = Path(__file__).parent / "sources"
"""The LilyPond sources."""
