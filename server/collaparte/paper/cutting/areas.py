"""The ink of one part on a page that several parts share."""

from collaparte.paper.cutting.ink import Mark, Page, Shape, path_box
from collaparte.paper.reading import Box


def within(page: Page, area: Box | None) -> Page:
    """The page with what of its ink has its middle in an area; all of it without one. A path is taken line by line."""
    if area is None:
        return page
    return Page(page.width, page.height, [m for mark in page.ink if (m := _part(mark, area))], page.fonts)


def _part(mark: Mark, area: Box) -> Mark | None:
    if not isinstance(mark, Shape) or len(mark.path) == 1 or _is_inside(mark.box, area):
        return mark if _has_middle(mark.box, area) else None
    path = [sub for sub in mark.path if _has_middle(path_box([sub]), area)]
    if not path:
        return None
    pen = (mark.width or 0.0) / 2
    x0, y0, x1, y1 = path_box(path)
    box = (x0 - pen, y0 - pen, x1 + pen, y1 + pen)
    return Shape(box, path, mark.colour, mark.width, mark.cap, mark.join, mark.even_odd, mark.dash)


def _is_inside(box: Box, area: Box) -> bool:
    return area[0] <= box[0] and box[2] <= area[2] and area[1] <= box[1] and box[3] <= area[3]


def _has_middle(box: Box, area: Box) -> bool:
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    return area[0] <= x < area[2] and area[1] <= y < area[3]
