"""The picture that a page is, taken as it is in the file where drawing the page would give the same pixels."""

import numpy as np
import numpy.typing as npt
import pymupdf


class _Lent:
    """A picture's pixels where they are: an array of these (no copy) keeps the picture."""

    def __init__(self, picture: pymupdf.Pixmap) -> None:
        self._picture = picture
        self.__array_interface__ = {
            "version": 3, "typestr": "|u1", "data": (picture.samples_ptr, True),
            "shape": (picture.height, picture.width), "strides": (picture.stride, 1),
        }  # fmt: skip


def pixels(picture: pymupdf.Pixmap) -> npt.NDArray[np.uint8]:
    """The pixels of a grey picture, not to be written to."""
    return np.asarray(_Lent(picture))


def own_picture(page: pymupdf.Page, zoom: float) -> pymupdf.Pixmap | None:
    """The page in grey, `zoom` pixels a point, when it is one picture of so many pixels; None when it must be drawn."""
    if page.rotation or not _is_bare(page):
        return None
    listed, shown = page.get_images(full=True), page.get_image_info()
    if len(listed) != 1 or len(shown) != 1 or listed[0][1]:  # the second is the number of its mask
        return None
    wide, down, across, high, left, top = (side * zoom for side in shown[0]["transform"])
    box = (page.rect * pymupdf.Matrix(zoom, zoom)).irect
    off = (wide - box.width, high - box.height, left, top, down, across)
    if (shown[0]["width"], shown[0]["height"]) != (box.width, box.height) or max(map(abs, off)) >= 1:
        return None
    picture = pymupdf.Pixmap(page.parent, listed[0][0])
    if picture.alpha:
        return None
    return picture if picture.n == 1 else pymupdf.Pixmap(pymupdf.csGRAY, picture)


def _is_bare(page: pymupdf.Page) -> bool:
    """Whether all that is seen on a page is pictures, none of them cut; what is known of a scan's words is not seen."""
    if any(kind not in ("fill-image", "ignore-text") for kind, _ in page.get_bboxlog()):
        return False
    drawn = page.get_cdrawings(extended=True)
    return all(one["type"] == "clip" and page.rect in _wider(pymupdf.Rect(one["scissor"])) for one in drawn)


def _wider(box: pymupdf.Rect) -> pymupdf.Rect:
    """A point wider on all sides: for a page's own box may be rounded."""
    return pymupdf.Rect(box.x0 - 1, box.y0 - 1, box.x1 + 1, box.y1 + 1)
