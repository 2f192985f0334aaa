"""Pages that several parts share: what is said of them, and where one part's share of each page is."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from collaparte.paper import doubts
from collaparte.paper.reading import Box, Reading
from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.shared_pages import beginning
from collaparte.paper.sight.sheets_shared import halves
from collaparte.wire.corrections import HalfHere, Place

if TYPE_CHECKING:  # what opens files stays out of the hub, which wants the rest of this
    from collaparte.paper.read_page import ReadPage

Areas = tuple[Box | None, ...]
"""By page of a part: what of it is one part's; None: all, an empty box: nothing."""
NOTHING: Box = (0.0, 0.0, 0.0, 0.0)


def begins(page: "ReadPage", used: set[tuple[int, Box]]) -> list[MusicLine]:
    """The lines of a page with which another part begins; `used`: the phrases (page, box) that are no titles."""
    return beginning(page.lines, page.phrases, used)


def areas(page: "ReadPage", used: set[tuple[int, Box]]) -> tuple[Box, ...]:
    """The areas of a page, one for each part on it; none where one part has it all, or no white parts them."""
    found = begins(page, used)
    return halves(page.lines, found, page.ink) if found else ()


def doubt_shared(pages: Sequence["ReadPage"], used: set[tuple[int, Box]], shared: Mapping[int, object]) -> list[str]:
    """What is said of pages that several parts share; lowers the confidence of the lines that it concerns.

    `used`: as in `begins`; a tempo word may be a title ("Waltz"). `shared`: the pages that can be cut between parts.
    """
    said: list[str] = []
    for n, page in enumerate(pages):
        found = begins(page, used)
        if found:
            said.append(doubts.shared(page.number, page.lines.index(found[0]), can_be_cut=bool(shared)))
            behind = [line for later in pages[n + 1 :] for line in later.lines]
            doubts.doubt_all(page.lines[page.lines.index(found[0]) :] + behind, said[-1])
        if page.small and page.lines:
            said.append(doubts.TWO_SIZES.format(page.number + 1))
            doubts.doubt_all(page.lines, said[-1])
    return said


def parts_of(shared: Mapping[int, Sequence[Box]], count: int) -> list[Areas]:
    """For each part on `count` pages its areas: one of every shared page (`shared`, by page).

    Pages that are not shared go with the part that they stand beside: those before with the first, those behind with
    the last.
    """
    parts = min((len(boxes) for boxes in shared.values()), default=0)
    first, last = min(shared, default=0), max(shared, default=0)

    def area(page: int, part: int) -> Box | None:
        if page in shared:
            return shared[page][part]
        mine = (page > first or part == 0) and (page < last or part == parts - 1)
        return None if mine else NOTHING

    return [tuple(area(page, part) for page in range(count)) for part in range(parts)]


def half(reading: Reading, number: int) -> HalfHere | None:
    """The correction that takes one of the parts that share its pages, from 1 in reading order; None: there is none."""
    if not 1 <= number <= len(reading.shares):
        return None
    own = enumerate(page.area for page in reading.shares[number - 1].pages)
    page, (x0, y0, x1, y1) = next((n, area) for n, area in own if area and area != NOTHING)
    return HalfHere(Place(page, (x0 + x1) / 2, (y0 + y1) / 2))


def no_half(name: str, number: int, reading: Reading) -> str:
    """The sentence when a file has no such half."""
    if not reading.shares:
        return f"{name} has no page that parts share and that can be cut between them: leave --half out."
    return f"{name} has {len(reading.shares)} parts on a page, and no number {number}: name one with --half."


def half_at(reading: Reading, place: Place) -> Reading | None:
    """What is read of the one part that stands at a place alone; None when no parts are told apart there."""
    return next((alone for alone in reading.shares if _holds(alone, place)), None)


def _holds(alone: Reading, place: Place) -> bool:
    area = alone.pages[place.page].area if place.page < len(alone.pages) else None
    return area is not None and area[0] <= place.x < area[2] and area[1] <= place.y < area[3]
