"""What of a reading matters where an order leaves bars out: notes that lead into the next bar, words that hold on."""

from collaparte.music.instructions import kind_of
from collaparte.paper.reading import Reading
from collaparte.wire.outline import Asides


def asides(reading: Reading) -> Asides:
    """Of a part's reading."""
    bars = (bar for page in reading.pages for system in page.systems for bar in system.bars)
    leads = {bar.index for bar in bars if bar.starts_in_rest and not bar.ends_in_rest and bar.count == 1}
    first = 1 if reading.pickup else 0
    said = ((one.bar + first, one.text) for one in reading.instructions if kind_of(one.text))
    return Asides(tuple(sorted(leads)), tuple(sorted(said, key=lambda one: one[0])))
