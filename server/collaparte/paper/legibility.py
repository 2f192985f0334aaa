"""How well a part can be read, in numbers: on paper, on a tablet with the page shown whole, and as laid.

Sources. MOLA, Guidelines for Music Preparation (2017), p. 5, as quoted among copyists: 7.5 mm is best for parts, 7.0 mm
readable, less is unacceptable, more than 8.5 mm is to be avoided. Rastral sizes: Gould, Behind Bars, as quoted in print
forums. Visual angle: NUREG-0700 rev. 2, 1.3.1-4, h = 2 d tan(angle / 2). Players sit 0.6 to 0.9 m from their stands.
"""

import math
from collections.abc import Iterator
from typing import Literal, NamedTuple

import msgspec

from collaparte.paper.reading import Reading

MM = 25.4 / 72
"""One PDF point in mm (ISO 32000-1, 8.3.2.3)."""
READABLE, BEST, LARGE = 7.0, 7.5, 8.5
"""Stave heights in mm, seen from `AT_THE_STAND`."""
AT_THE_STAND = 750.0
"""mm from eye to page that the published heights are taken for: the middle of what players report."""
TABLET = (148.0, 197.0)
"""mm of a tablet's glass of 3 to 4 (common practice)."""
LAID = 7.0
"""mm of a stave as laid, if nothing else is asked for (common practice)."""
RASTRALS = (9.0, 7.9, 7.5, 7.0, 6.5, 6.0, 5.5, 4.8, 3.7)
"""mm of the rastral sizes 0 to 8."""
MEASURED = 0.05
"""mm that a stave's height is known to: one of 6.96 mm was meant to be 7."""

Verdict = Literal["too small", "readable", "good", "large"]


class Size(msgspec.Struct, frozen=True):
    """A stave's height in mm, the angle that it is seen at in minutes of arc, and what published values say of it."""

    stave_mm: float
    minutes: float
    verdict: Verdict


class Legibility(msgspec.Struct, frozen=True):
    """A part's smallest staves, seen from `distance_mm`."""

    distance_mm: float
    tablet_mm: tuple[float, float]
    paper: Size
    rastral: int
    """The nearest rastral size of the paper's staves."""
    whole: Size
    """With the page shown whole on the tablet, upright or turned, whichever is larger."""
    laid: Size


class View(NamedTuple):
    """What the part is looked at on, and from where; lengths in mm."""

    tablet: tuple[float, float] = TABLET
    distance: float = AT_THE_STAND
    laid: float = LAID


def minutes(height: float, distance: float) -> float:
    """The angle at which a height is seen from a distance (same unit), in minutes of arc."""
    return math.degrees(2 * math.atan(height / (2 * distance))) * 60


def verdict(height: float, distance: float = AT_THE_STAND) -> Verdict:
    """What published values say of a stave's height in mm, seen from a distance in mm."""
    seen = height * AT_THE_STAND / distance + MEASURED
    if seen < READABLE:
        return "too small"
    if seen < BEST:
        return "readable"
    return "good" if seen <= LARGE + 2 * MEASURED else "large"


def legibility(reading: Reading, view: View | None = None) -> Legibility | None:
    """A part's staves in numbers; None when none were read."""
    view = view or View()
    staves = list(_staves(reading, view.tablet))
    if not staves:
        return None
    paper, whole = min(height for height, _ in staves), min(height for _, height in staves)

    def size(height: float) -> Size:
        angle = minutes(height, view.distance)
        return Size(round(height, 2), round(angle, 1), verdict(height, view.distance))

    rastral = min(range(len(RASTRALS)), key=lambda n: abs(RASTRALS[n] - paper))
    return Legibility(view.distance, view.tablet, size(paper), rastral, size(whole), size(view.laid))


def _staves(reading: Reading, tablet: tuple[float, float]) -> Iterator[tuple[float, float]]:
    """Each five-line stave's height in mm: on paper, and with its page whole on the tablet."""
    for page in reading.pages:
        width, height = page.width * MM, page.height * MM
        scale = max(min(a / width, b / height) for a, b in (tablet, tablet[::-1]))
        for system in page.systems:
            for stave in system.staves:
                if len(stave.lines) == 5:
                    mm = (stave.bottom - stave.top) * MM
                    yield mm, mm * scale


def words(seen: Legibility) -> str:
    """The numbers as one sentence, and the verdict on each."""
    wide, tall = seen.tablet_mm
    return (
        f"Staves: {_say(seen.paper)} on paper; {_say(seen.whole)} with the page whole on {wide:g} x {tall:g} mm; "
        f"{_say(seen.laid)} as laid. Seen from {seen.distance_mm / 10:g} cm."
    )


def _say(size: Size) -> str:
    return f"{size.stave_mm:.1f} mm ({size.minutes:.0f}', {size.verdict})"
