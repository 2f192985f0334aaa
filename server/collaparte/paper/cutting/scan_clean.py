"""A scanned page as one would like to have it: straight, its paper white, its ink and pencil kept, its margins gone."""

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pymupdf

from collaparte.paper.cutting.flattened import Fonts
from collaparte.paper.cutting.ink import Page, Picture
from collaparte.paper.reading import Box
from collaparte.paper.scans import page as scan_page
from collaparte.paper.scans import staves as scan_staves
from collaparte.paper.scans.bits import Bitmap
from collaparte.paper.scans.page import Bent, Dark, Floats, Grey
from collaparte.paper.scans.parts import connected

PICTURE = 0.4
"""A page that pictures cover by more than this share is a scan (as for the reader),"""
FEW_LETTERS = 400
"""unless more letters than this are drawn over them."""
FINEST, COARSEST = 300.0, 150.0
"""Dots an inch that a page is cleaned at: its own, within these."""
LONGEST = 3600
"""A page's long side has at most so many pixels: more than any tablet shows of it."""
POOL = 4
"""The paper's brightness is looked for in squares of so many pixels of the reader's resolution: 0.5 mm."""
THICKEST = 13
"""Ink is thinner than so many squares, 6.6 mm: what lies between is paper, however dark its shadow."""
SMOOTH = 7
OFF = 0.35
"""Darker than this share of the usual paper is what lies beside the sheet."""
NOISES = 3.5
"""So many times the paper's noise below its brightness is still white,"""
WHITEST, GREYEST = 0.96, 0.8
"""within these shares of the paper's brightness; soft pencil (a tone of 150 in 255, 0.3 mm thick) is darker."""
BLACKEST = 0.45
"""Faded ink is made black where most of it is darker than this share."""
LEVELS = 17
"""Steps of grey: the stands' sheets have sixteen."""
RIM, SOFT = 5, 0.2
"""So many squares, 2.5 mm, at the sheet's edges, where nothing is printed, ink so much softer is its shadow."""
SHARPER = 1.1
"""A page without staves is turned only when its lines become so much clearer by it."""
SPECK = 2
"""A spot of no more than so many squares, by itself in a margin, is dust: the page ends inside of it."""
ROOM = 3.0
"""Points left round the ink."""
ROWS = 32
"""Rows are worked on so many at a time: what is worked out for them stays at hand."""

Lights = npt.NDArray[np.float32]


class Clean(NamedTuple):
    """A page set straight: its grey, and the points that a pixel of it measures. `bent` leads back to the page."""

    grey: Grey
    unit: float
    bent: Bent

    def points(self, pixels: tuple[int, int, int, int]) -> Box:
        """A box of pixels in points."""
        x0, y0, x1, y1 = pixels
        return (x0 * self.unit, y0 * self.unit, x1 * self.unit, y1 * self.unit)

    def box(self) -> Box:
        """Where there is ink, in points of the straightened page, specks in the margins left out."""
        side = max(1, round(POOL * 72 / scan_page.DPI / self.unit))
        squares = _pooled(self.grey, side, np.min) < 0.75 * 255
        near = squares.copy()
        near[1:] |= squares[:-1]
        near[:, 1:] |= near[:, :-1].copy()
        parts = connected(near)
        large = np.flatnonzero((parts.x1 - parts.x0 > SPECK + 1) | (parts.y1 - parts.y0 > SPECK + 1))
        height, width = self.grey.shape
        if not len(large):
            return (0.0, 0.0, width * self.unit, height * self.unit)
        step = side * self.unit
        x0, y0 = parts.x0[large].min() * step - ROOM, parts.y0[large].min() * step - ROOM
        x1, y1 = parts.x1[large].max() * step + ROOM, parts.y1[large].max() * step + ROOM
        right, bottom = width * self.unit, height * self.unit
        return (max(float(x0), 0.0), max(float(y0), 0.0), min(float(x1), right), min(float(y1), bottom))

    def picture(self, box: Box) -> Picture:
        """What lies in a box (points) as a mark."""
        x0, y0, x1, y1 = (round(v / self.unit) for v in box)
        png = png_of(self.grey[y0:y1, x0:x1])
        height, width = self.grey[y0:y1, x0:x1].shape
        at = (x0 * self.unit, y0 * self.unit, (x0 + width) * self.unit, (y0 + height) * self.unit)
        return Picture(at, (at[2] - at[0], 0.0, 0.0, at[3] - at[1], at[0], at[1]), png)


def is_scan(page: pymupdf.Page) -> bool:
    """Is the page a picture, whatever few words are typed over it?"""
    area = abs(page.rect)
    covered = sum(abs(pymupdf.Rect(image["bbox"]) & page.rect) for image in page.get_image_info())
    if area <= 0 or covered <= PICTURE * area:
        return False
    # Type 3 is text that is not painted: what a scanner's software believes to have read.
    return sum(len(span["chars"]) for span in page.get_texttrace() if span["type"] != 3) <= FEW_LETTERS


def cleaned(page: pymupdf.Page, better: Callable[[Clean], Bent | None] | None = None) -> Clean:
    """The page as displayed, straight and white; set straight anew where a `better` way is found how it lies."""
    look, scale = scan_page.grey_page(page)
    bent = straightness(look, scale)
    sheet = _sheet(page, scale)
    paper = _paper(look, sheet)
    zoom = _zoom(page)
    drawn = page.get_pixmap(matrix=pymupdf.Matrix(zoom, zoom), colorspace=pymupdf.csGRAY, alpha=False)
    grey = np.frombuffer(drawn.samples, np.uint8).reshape(drawn.height, drawn.stride)[:, : drawn.width]
    white = _white(grey, paper, sheet)
    clean = Clean(_straight(white, bent, 1 / zoom), 1 / zoom, bent)
    found = better(clean) if better else None
    return Clean(_straight(white, found, 1 / zoom), 1 / zoom, found) if found else clean


def whole_page(page: pymupdf.Page, fonts: Fonts) -> Page:
    """The page's ink: one clean picture, its margins gone. `fonts` are those of the file's other pages."""
    clean = cleaned(page)
    return Page(page.rect.width, page.rect.height, [clean.picture(clean.box())], fonts.fonts)


def straightness(grey: Grey, scale: float) -> Bent:
    """How the page lies: its tilt, its lean, and where staves were followed the paper's waves."""
    dark = scan_page.darkness(grey)
    height, width = dark.shape
    clear = _clearness(dark)
    slope = scan_page.tilt(dark)
    dark = scan_page.level(dark, slope)
    lean = scan_page.leaning(dark, slope)
    dark = scan_page.upright(dark, lean)
    rhythm = scan_staves.thickness_and_pitch(dark)
    found = scan_staves.trails(dark, *rhythm) if rhythm else []
    if found:
        waves = scan_staves.waves(found, dark.shape) or (None, None, None)
        return Bent(scale, slope, lean, (width / 2, height / 2), *waves)
    if _clearness(dark) < SHARPER * clear:
        slope = 0.0
    return Bent(scale, slope, -slope, (width / 2, height / 2))


def _clearness(dark: Bitmap) -> float:
    rows = np.bitwise_count(dark.bits).sum(axis=1, dtype=np.float64)
    return float(np.dot(rows, rows))


def _zoom(page: pymupdf.Page) -> float:
    """Pixels a point: those of the page's largest picture."""
    images = [i for i in page.get_image_info() if abs(pymupdf.Rect(i["bbox"])) > 0]
    largest = max(images, key=lambda i: abs(pymupdf.Rect(i["bbox"])))
    x0, y0, x1, y1 = largest["bbox"]
    pixels = (largest["width"] * largest["height"] / ((x1 - x0) * (y1 - y0))) ** 0.5
    within = min(max(pixels, COARSEST / 72), FINEST / 72)
    return float(min(within, LONGEST / max(page.rect.width, page.rect.height, 1.0)))


def _sheet(page: pymupdf.Page, scale: float) -> tuple[int, int, int, int]:
    """The squares of `POOL` pixels that pictures cover: the scanned sheet, which a page may be larger than."""
    union = pymupdf.Rect()
    for image in page.get_image_info():
        union |= pymupdf.Rect(image["bbox"])
    inside, side = union & page.rect, POOL * scale
    x0, y0 = math.ceil(inside.x0 / side), math.ceil(inside.y0 / side)
    return x0, y0, max(int(inside.x1 / side), x0 + 1), max(int(inside.y1 / side), y0 + 1)


def _paper(grey: Grey, sheet: tuple[int, int, int, int]) -> Lights:
    """The paper's brightness (0 to 255) in squares of `POOL` pixels: ink closed over, shadows and gutters followed."""
    squares = _pooled(grey, POOL, np.mean).astype(np.float32)
    x0, y0, x1, y1 = sheet
    light = _slid(_slid(squares[y0:y1, x0:x1], THICKEST, np.maximum), THICKEST, np.minimum)
    rows, columns = squares.shape
    whole = np.pad(np.maximum(np.minimum(_smoothed(light), light), 1.0), ((y0, 0), (x0, 0)), mode="edge")
    return np.pad(whole, ((0, max(rows - whole.shape[0], 0)), (0, max(columns - whole.shape[1], 0))), mode="edge")


def _smoothed(values: Lights) -> Lights:
    """Means over `SMOOTH` (odd) squares, up and down, left and right."""
    wide = np.pad(values, SMOOTH // 2, mode="edge")
    for axis in (0, 1):
        sums = np.insert(wide.cumsum(axis=axis, dtype=np.float64), 0, 0.0, axis=axis)
        n = wide.shape[axis]
        high, low = np.take(sums, range(SMOOTH, n + 1), axis), np.take(sums, range(n + 1 - SMOOTH), axis)
        wide = ((high - low) / SMOOTH).astype(np.float32)
    return wide


def _slid(values: Lights, size: int, most: Callable[..., None]) -> Lights:
    """The largest or smallest value within `size` (odd) squares, up and down, left and right."""
    half = size // 2
    for axis in (0, 1):
        pad = [(half, half) if a == axis else (0, 0) for a in (0, 1)]
        wide = np.pad(values, pad, mode="edge")
        n = values.shape[axis]
        out = np.take(wide, range(n), axis)
        for k in range(1, size):
            most(out, np.take(wide, range(k, k + n), axis), out=out)
        values = out
    return values


def _pooled(grey: Grey, side: int, how: Callable[..., Lights]) -> Lights:
    rows, columns = -(-grey.shape[0] // side), -(-grey.shape[1] // side)
    padded = np.pad(grey, ((0, rows * side - grey.shape[0]), (0, columns * side - grey.shape[1])), mode="edge")
    return how(padded.reshape(rows, side, columns, side), axis=(1, 3))


class _Light:
    """How bright the paper is at each pixel of a page so large, by its squares."""

    def __init__(self, paper: Lights, shape: tuple[int, int]) -> None:
        (height, width), (rows, columns) = shape, paper.shape
        self.usual = float(np.median(paper))
        off = paper < OFF * self.usual
        x = np.clip((np.arange(width) + 0.5) / width * columns - 0.5, 0, columns - 1)
        left = np.minimum(x.astype(int), max(columns - 2, 0))
        part = (x - left).astype(np.float32)
        self._wide = paper[:, left] * (1 - part) + paper[:, np.minimum(left + 1, columns - 1)] * part
        self._beside = off[:, np.rint(x).astype(int)] if off.any() else None
        self._y = np.clip((np.arange(height) + 0.5) / height * rows - 0.5, 0, rows - 1)

    def on(self, rows: slice) -> Lights:
        """The paper's brightness in some rows."""
        y = self._y[rows]
        top = np.minimum(y.astype(int), max(len(self._wide) - 2, 0))
        low = np.minimum(top + 1, len(self._wide) - 1)
        before, after = (part.astype(np.float32)[:, None] for part in (1 - (y - top), y - top))
        out: Lights = self._wide[top] * before + self._wide[low] * after
        return out

    def shares(self, grey: Grey, rows: slice, light: Lights) -> Lights:
        """The rows' brightness as shares of the paper's (`light`); what is beside the sheet is as bright as it."""
        out: Lights = np.divide(grey[rows], light, dtype=np.float32)
        if self._beside is not None:
            out[self._beside[np.rint(self._y[rows]).astype(int)]] = 1.0
        return out


def _white(grey: Grey, paper: Lights, sheet: tuple[int, int, int, int]) -> Grey:
    """The page with its paper white and its ink black, in a few steps of grey."""
    height, width = grey.shape
    rows, columns = paper.shape
    light = _Light(paper, grey.shape)
    few = np.s_[::5]
    white, black = _ends(light.shares(grey, few, light.on(few))[:, ::5])
    x0, y0, x1, y1 = (
        round(at * size / squares)
        for at, size, squares in zip(sheet, (width, height) * 2, (columns, rows) * 2, strict=True)
    )
    rim_x, rim_y = round(RIM * width / columns), round(RIM * height / rows)
    soft_x, soft_y = np.zeros(width, np.float32), np.zeros((height, 1), np.float32)
    for soft, low, high in ((soft_x, x0 + rim_x, x1 - rim_x), (soft_y, y0 + rim_y, y1 - rim_y)):
        soft[:low] += SOFT
        soft[high:] += SOFT
    out = np.empty_like(grey)
    for y in range(0, height, ROWS):
        band = np.s_[y : y + ROWS]
        local = light.on(band)
        shares = light.shares(grey, band, local)
        # A shadow is as noisy as the light, so its noise is a larger share of its brightness.
        shares += (1 - white) * np.maximum(light.usual / local - 1, 0)
        shares += soft_x
        shares += soft_y[band]
        shares -= black
        shares *= 255 / LEVELS / (white - black)
        out[band] = np.clip(np.rint(shares) * LEVELS, 0, 255)
    return out


def _ends(shares: Lights) -> tuple[float, float]:
    """The shares of the paper's brightness from which a page is white and below which it is black."""
    light, ink = shares[shares > 0.8], shares[shares < 0.6]
    middle = float(np.median(light)) if len(light) else 1.0
    noise = 1.48 * float(np.median(np.abs(light - middle))) if len(light) else 0.0
    white = min(max(middle - NOISES * noise, GREYEST), WHITEST)
    return white, min(float(np.percentile(ink, 30)) if len(ink) else 0.0, BLACKEST)


def _straight(grey: Grey, bent: Bent, unit: float) -> Grey:
    """The page set straight, pixel by pixel from between the four that it came from."""
    height, width = grey.shape
    pixel = unit / bent.scale  # of the reader's, for one of these
    x: Floats = (np.arange(width, dtype=np.float64) + 0.5) * pixel - 0.5
    across = _across(bent.warp_x, x) if bent.warp_x is not None else None
    out = np.empty_like(grey)
    # Most of a page is white: what is between four white pixels need not be worked out.
    inked = _near_ink(grey)
    for y0 in range(0, height, ROWS):
        y = ((np.arange(y0, min(y0 + ROWS, height)) + 0.5) * pixel - 0.5)[:, None]
        from_y = np.broadcast_to(y, (len(y), width))
        if across is not None and bent.warp is not None and bent.warp_y is not None:
            columns = [np.interp(y[:, 0], bent.warp_y, column) for column in bent.warp.T]
            from_y = from_y + np.stack(columns, axis=1) @ across
        from_x = x - bent.lean * (from_y - bent.middle[1])
        from_y = from_y + bent.slope * (from_x - bent.middle[0])
        out[y0 : y0 + ROWS] = _between(grey, inked, (from_x + 0.5) / pixel - 0.5, (from_y + 0.5) / pixel - 0.5)
    return out


def _across(middles: Floats, x: Floats) -> Floats:
    """Weights of the waves' columns for each place across the page."""
    at = np.interp(x, middles, np.arange(len(middles)))
    out = np.zeros((len(middles), len(x)))
    low = np.minimum(at.astype(int), len(middles) - 1)
    high = np.minimum(low + 1, len(middles) - 1)
    places = np.arange(len(x))
    out[low, places] += 1 - (at - low)
    out[high, places] += at - low
    return out


def _near_ink(grey: Grey) -> Dark:
    """The pixels that are not white, or whose neighbours to the right and below are not."""
    out = grey < 255
    out[:, :-1] |= out[:, 1:].copy()
    out[:-1] |= out[1:].copy()
    return out


def _between(grey: Grey, inked: Dark, x: Floats, y: Floats) -> Grey:
    """Grey at places between pixels; white beyond the page, and where none of the four is `inked`."""
    height, width = grey.shape
    out = np.full(x.shape, 255, np.uint8)
    place = np.clip(y, 0, height - 1.001).astype(np.int32) * width + np.clip(x, 0, width - 1.001).astype(np.int32)
    some = np.flatnonzero(inked.ravel().take(place))
    x, y, place = x.ravel()[some], y.ravel()[some], place.ravel()[some]
    beyond = (x < -0.5) | (y < -0.5) | (x > width - 0.5) | (y > height - 0.5)
    right_part = (np.clip(x, 0, width - 1.001) - place % width).astype(np.float32)
    low_part = (np.clip(y, 0, height - 1.001) - place // width).astype(np.float32)
    flat = grey.ravel()
    upper = flat[place] * (1 - right_part) + flat[place + 1] * right_part
    lower = flat[place + width] * (1 - right_part) + flat[place + width + 1] * right_part
    mixed = upper * (1 - low_part) + lower * low_part
    stepped = np.rint(mixed / LEVELS) * LEVELS
    stepped[beyond] = 255
    out.ravel()[some] = stepped
    return out


def png_of(grey: Grey) -> bytes:
    """The picture as PNG."""
    height, width = grey.shape
    return bytes(pymupdf.Pixmap(pymupdf.csGRAY, width, height, grey.tobytes(), 0).tobytes("png"))
