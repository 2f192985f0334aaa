"""Pages as a scanner would give them: engraved PDFs turned into pictures, damaged from a seed, put back into a PDF.

What is done follows common practice of copying and scanning: tilt of the sheet, paper that is not flat, shadows and
gutters, soft focus, sensor noise, dust, faded or spread print, pencil on the page, JPEG, two-level scans.
"""

import random
from collections.abc import Callable
from typing import Any, NamedTuple

import cv2
import numpy as np
import numpy.typing as npt
import pymupdf

Grey = npt.NDArray[np.uint8]
Place = Callable[[float, float], tuple[float, float]]


class Damage(NamedTuple):
    """How a sheet was scanned; lengths in mm, angles in degrees."""

    dpi: int
    tilt: float
    warp: float
    shadow: float
    blur: float
    noise: float
    dust: int
    print: str
    pencil: int
    file: str


def damage(seed: int, pencil: bool | None = None) -> Damage:
    """The damage of this seed."""
    dice = random.Random(seed)
    return Damage(
        dpi=dice.choice([150, 200, 200, 240, 300, 300]),
        tilt=dice.choice([0.0, dice.uniform(-0.6, 0.6), dice.uniform(-2, 2)]),
        warp=dice.choice([0.0, dice.uniform(0.2, 0.8), dice.uniform(0.8, 2.0)]),
        shadow=dice.choice([0.0, dice.uniform(0.05, 0.2), dice.uniform(0.2, 0.45)]),
        blur=dice.choice([0.03, 0.05, 0.07]),
        noise=dice.choice([1.0, 4.0, 8.0]),
        dust=dice.choice([0, 30, 120]),
        print=dice.choice(["plain", "plain", "plain", "faded", "spread"]),
        pencil=(dice.choice([0, 0, 4, 12]) if pencil is None else 10 * pencil),
        file=dice.choice(["jpeg", "jpeg", "png", "bilevel", "bilevel"]),
    )


def scanned(pdf: bytes, how: Damage, seed: int) -> tuple[bytes, list[Place]]:
    """The PDF as a scan, and for each page where a place of the sheet (points) lies on the scanned page (points)."""
    dice = np.random.default_rng(seed)
    source, out, places = pymupdf.open(stream=pdf), pymupdf.open(), []
    for page in source:
        grey, place = _page(page, how, dice)
        made = out.new_page(width=page.rect.width, height=page.rect.height)
        made.insert_image(made.rect, stream=_coded(grey, how))
        places.append(place)
    return out.tobytes(), places


def _page(page: Any, how: Damage, dice: np.random.Generator) -> tuple[Grey, Place]:
    large = 2 if how.dpi < 250 else 1
    picture = page.get_pixmap(dpi=how.dpi * large, colorspace=pymupdf.csGRAY)
    sheet = np.frombuffer(picture.samples, np.uint8).reshape(picture.height, picture.stride)[:, : picture.width].copy()
    mm = how.dpi * large / 25.4
    if how.print == "faded":
        spots = cv2.resize(dice.random((60, 42), dtype=np.float32), sheet.shape[::-1], interpolation=cv2.INTER_CUBIC)
        sheet = np.clip(sheet + (255 - sheet) * (0.2 + 0.3 * np.clip(spots, 0, 1)), 0, 255).astype(np.uint8)
    if how.print == "spread":
        sheet = cv2.erode(sheet, np.ones((max(2, round(0.09 * mm)),) * 2, np.uint8))
    if how.pencil:
        _draw_pencil(sheet, how.pencil, mm, dice)
    sheet = cv2.GaussianBlur(sheet, (0, 0), max(how.blur * mm, 0.3))
    grey, place = _bent(sheet, how, mm, dice)
    if large > 1:
        grey = cv2.resize(grey, (grey.shape[1] // large, grey.shape[0] // large), interpolation=cv2.INTER_AREA)
    scale = 72 / how.dpi / large
    grey = _lit(grey, how, dice)
    return grey, lambda x, y: tuple(v * scale for v in place(x / scale, y / scale))  # type: ignore[return-value]


def _bent(sheet: Grey, how: Damage, mm: float, dice: np.random.Generator) -> tuple[Grey, Place]:
    """The sheet turned and warped: each row of ink waves up and down, a little differently over the page."""
    height, width = sheet.shape
    angle = np.deg2rad(how.tilt)
    cos, sin = float(np.cos(angle)), float(np.sin(angle))
    a, b, c = (float(v) for v in dice.uniform(-1, 1, 3) * how.warp * mm * np.array([0.7, 0.4, 0.5]))
    p, q, r = (float(v) for v in dice.uniform(0, 6.3, 3))
    f, g = float(dice.uniform(0.5, 1.2)), float(dice.uniform(1.2, 2.2))

    def wave(x: Any, y: Any) -> Any:
        u, v = x / width, y / height
        return a * np.sin(6.3 * f * u + p) + b * np.sin(6.3 * g * u + q + 2 * v) + c * np.sin(2.5 * v + r) * (u - 0.5)

    x, y = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
    dx, dy = x - width / 2, y - height / 2
    from_x = cos * dx + sin * dy + width / 2
    from_y = -sin * dx + cos * dy + height / 2
    from_y = from_y + wave(from_x, from_y)
    grey = cv2.remap(sheet, from_x.astype(np.float32), from_y.astype(np.float32), cv2.INTER_LINEAR, borderValue=255)

    def place(sx: float, sy: float) -> tuple[float, float]:
        ty = sy
        for _ in range(5):
            ty = sy - float(wave(sx, ty))
        ex, ey = sx - width / 2, ty - height / 2
        return cos * ex - sin * ey + width / 2, sin * ex + cos * ey + height / 2

    return grey, place


def _draw_pencil(sheet: Grey, strokes: int, mm: float, dice: np.random.Generator) -> None:
    """Pencil: circles, slurs, slashes, wavy lines and short words, anywhere on the page."""
    height, width = sheet.shape
    for _ in range(strokes):
        x, y = dice.uniform(0.1, 0.9) * width, dice.uniform(0.1, 0.9) * height
        size = dice.uniform(3, 14) * mm
        tone, thick = int(dice.uniform(70, 150)), max(1, round(dice.uniform(0.3, 0.6) * mm))
        t = np.linspace(0, 1, 40)
        shape = dice.integers(5)
        if shape == 0:
            px, py = x + size * np.cos(6.5 * t), y + 0.6 * size * np.sin(6.5 * t)
        elif shape == 1:
            px, py = x + size * t, y - size * 0.3 * np.sin(3.1 * t)
        elif shape == 2:
            px, py = x + 0.3 * size * t, y - size * t
        elif shape == 3:
            px, py = x + 2 * size * t, y + 0.1 * size * np.sin(30 * t)
        else:
            px = x + size * t + 0.15 * size * np.cos(25 * t)
            py = y + 0.25 * size * np.sin(22 * t)
        points = np.stack([px, py], axis=1) + dice.normal(0, 0.05 * mm, (40, 2))
        layer = np.full_like(sheet, 255)
        cv2.polylines(layer, [np.round(points).astype(np.int32)], False, tone, thick, cv2.LINE_AA)
        np.minimum(sheet, layer, out=sheet)


def _lit(grey: Grey, how: Damage, dice: np.random.Generator) -> Grey:
    """Paper that is not white, shadows, noise, dust."""
    height, width = grey.shape
    u, v = np.meshgrid(np.linspace(0, 1, width, dtype=np.float32), np.linspace(0, 1, height, dtype=np.float32))
    light = np.full(grey.shape, 0.96, np.float32)
    if how.shadow:
        cx, cy = dice.uniform(0, 1, 2)
        light -= how.shadow * 0.5 * ((u - cx) ** 2 + (v - cy) ** 2)
        edge = u if dice.random() < 0.5 else 1 - u
        light -= how.shadow * np.exp(-edge / 0.06)
    black = 12 + (30 if how.print == "faded" else 0)
    out = (black + (255 - black) * (grey / 255)) * light + dice.normal(0, how.noise, grey.shape).astype(np.float32)
    for _ in range(how.dust):
        x, y = int(dice.integers(2, width - 3)), int(dice.integers(2, height - 3))
        r = int(dice.integers(1, 1 + max(2, how.dpi // 100)))
        out[y : y + r, x : x + r] = dice.integers(20, 120)
    return np.clip(out, 0, 255).astype(np.uint8)


def _coded(grey: Grey, how: Damage) -> bytes:
    if how.file == "bilevel":
        paper = cv2.GaussianBlur(cv2.dilate(grey, np.ones((how.dpi // 12,) * 2, np.uint8)), (0, 0), how.dpi / 12)
        return bytes(cv2.imencode(".png", np.where(grey < 0.72 * paper, 0, 255).astype(np.uint8),
                                  [cv2.IMWRITE_PNG_BILEVEL, 1])[1])  # fmt: skip
    if how.file == "jpeg":
        return bytes(cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, 75])[1])
    return bytes(cv2.imencode(".png", grey)[1])


def photographed(pdf: bytes, seed: int, slant: float = 0.02) -> tuple[bytes, list[Place]]:
    """As `scanned`, by a camera: sheets that curl, corners off by up to `slant` widths, uneven light, a dark desk."""
    dice = np.random.default_rng(seed)
    out, places = pymupdf.open(), []
    for page in pymupdf.open(stream=pdf):
        picture = page.get_pixmap(dpi=220, colorspace=pymupdf.csGRAY)
        sheet = np.frombuffer(picture.samples, np.uint8).reshape(picture.height, picture.stride)[:, : picture.width]
        height, width = sheet.shape
        x, y = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
        curl, phase = 0.006 * height, float(dice.uniform(0, 1))
        rise = curl * np.sin(np.pi * np.arange(width) / width + phase)
        sheet = cv2.remap(sheet, x, y + rise.astype(np.float32), cv2.INTER_LINEAR, borderValue=255)
        corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
        edge = 0.06 * width
        seen = corners + edge + dice.uniform(-slant, slant, (4, 2)).astype(np.float32) * width
        lens = cv2.getPerspectiveTransform(corners, seen.astype(np.float32))
        size = (round(width + 2 * edge), round(height + 2 * edge))
        photo = cv2.warpPerspective(sheet, lens, size, flags=cv2.INTER_AREA, borderValue=60).astype(np.float32)
        u, v = np.meshgrid(np.linspace(0, 1, size[0]), np.linspace(0, 1, size[1]))
        light = 1 - 0.3 * (dice.random() * u + dice.random() * v)
        grey = np.clip(cv2.GaussianBlur(photo * light, (0, 0), 1.0) + dice.normal(0, 5, photo.shape), 0, 255)
        made = out.new_page(width=page.rect.width, height=page.rect.width * size[1] / size[0])
        made.insert_image(made.rect, stream=bytes(cv2.imencode(".jpg", grey.astype(np.uint8))[1]))
        places.append(_through(lens, rise, size[0], page.rect.width))
    return out.tobytes(), places


def _through(lens: npt.NDArray[np.float64], rise: npt.NDArray[np.float64], wide: int, points: float) -> Place:
    """Where a place of the sheet lies on a photograph that is `wide` pixels and so many points wide."""

    def place(x: float, y: float) -> tuple[float, float]:
        px, py = x * 220 / 72, y * 220 / 72
        py -= float(rise[min(max(int(px), 0), len(rise) - 1)])
        qx, qy, q = lens @ (px, py, 1.0)
        return float(qx / q * points / wide), float(qy / q * points / wide)

    return place
