"""Pictures of a part's pieces, gathered on transparent sheets, once for each rung of a ladder of resolutions."""

import hashlib
import struct
import zlib
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pymupdf

from collaparte.paper.cutting.pdfink import Fonts, Writer, add_page
from collaparte.paper.cutting.pieces import Cut, cut_ink
from collaparte.paper.cutting.table import Extent, PieceTable
from collaparte.paper.pages.draw_pdf import POINTS, piece
from collaparte.paper.pages.laying import Piece, Pieces, Placed, Slice
from collaparte.paper.reading import Reading

VERSION = 1
LADDER = (12.5, 17.5, 25.0, 35.0)
"""Pixels a staff space. A stand takes the next rung up and scales down."""
WIDEST, TALLEST = 2048, 4096
"""Pixels of a sheet at the highest rung; only a piece that is larger by itself has a larger one."""
PAD = 0.25
"""Clear spaces round each piece, so that smoothing takes in nothing of its neighbour."""
_UNIT = 2.0
"""mm a space on the sheet while it is drawn."""


def draw(
    pdf: bytes, reading: Reading, table: PieceTable, ladder: Sequence[float] = LADDER, pages: range | None = None
) -> tuple[Pieces, list[tuple[int, int, bytes]]]:
    """Where every piece is on which sheet, and the pictures: (rung's place in `ladder`, sheet, PNG).

    `table` must be the one that the stands are given. Raises `CannotOpen`."""
    cut = cut_ink(pdf, reading, pages)
    cut.check(table)
    return draw_cut(cut, ladder)


def draw_cut(cut: Cut, ladder: Sequence[float] = LADDER) -> tuple[Pieces, list[tuple[int, int, bytes]]]:
    """As `draw`, of a part already cut."""
    top = max(ladder)
    placed, sizes = pack(cut.table.extents, WIDEST / top, TALLEST / top)
    document = pymupdf.open()
    fonts = Fonts(document, cut.pages)
    for n, (width, height) in enumerate(sizes):
        writer = Writer(fonts, height * _UNIT * POINTS)
        for p in placed:
            if p.sheet == n:
                x = (p.x - p.left) * _UNIT
                whole = Slice(p.left, p.right, x + p.left * _UNIT, x + p.right * _UNIT)
                piece(writer, cut, Placed(p.id, (p.y - p.top) * _UNIT, _UNIT, (whole,)))
        add_page(document, width * _UNIT * POINTS, height * _UNIT * POINTS, writer, "")
    fonts.write()
    drawn = pymupdf.open(stream=document.tobytes(), filetype="pdf")
    pictures = [(r, n, _png(drawn[n], rung)) for r, rung in enumerate(ladder) for n in range(len(sizes))]
    names: list[list[str]] = [[] for _ in ladder]
    for r, _, png in pictures:
        names[r].append(hashlib.sha256(png).hexdigest()[:32])
    return Pieces(VERSION, tuple(ladder), tuple(map(tuple, names)), tuple(placed)), pictures


def pack(extents: Sequence[Extent], width: float, height: float) -> tuple[list[Piece], list[tuple[float, float]]]:
    """A place on a sheet for every piece, on shelves of falling height; and each sheet's size in spaces."""
    order = sorted(range(len(extents)), key=lambda n: (extents[n].top - extents[n].bottom, n))
    places: dict[int, tuple[int, float, float]] = {}
    sizes: list[tuple[float, float]] = []
    x = y = shelf = 0.0
    for n in order:
        e = extents[n]
        w, h = e.right - e.left + 2 * PAD, e.bottom - e.top + 2 * PAD
        if w > width or h > height:
            places[n] = (-1, PAD, PAD)
            continue
        if not sizes:
            sizes.append((width, 0.0))
        if x + w > width:
            x, y, shelf = 0.0, y + shelf, 0.0
        if y + h > height:
            sizes.append((width, 0.0))
            x = y = shelf = 0.0
        places[n] = (len(sizes) - 1, x + PAD, y + PAD)
        x += w
        shelf = max(shelf, h)
        sizes[-1] = (width, y + shelf)
    for n, (sheet, _, _) in list(places.items()):
        if sheet < 0:
            e = extents[n]
            sizes.append((e.right - e.left + 2 * PAD, e.bottom - e.top + 2 * PAD))
            places[n] = (len(sizes) - 1, PAD, PAD)
    pieces = []
    for n, e in enumerate(extents):
        sheet, px, py = places[n]
        pieces.append(Piece(n, sheet, round(px, 3), round(py, 3), e.left, e.top, e.right, e.bottom))
    return pieces, sizes


def _png(page: pymupdf.Page, rung: float) -> bytes:
    """The sheet at `rung` pixels a space: 16 levels of black's opacity; full colour where the ink is not all black."""
    zoom = rung / (_UNIT * POINTS)
    picture = page.get_pixmap(matrix=pymupdf.Matrix(zoom, zoom), colorspace=pymupdf.csGRAY, alpha=True)
    pixels = np.frombuffer(picture.samples, np.uint8).reshape(picture.height, picture.width, 2)
    grey, ink = (pixels[..., k].astype(np.uint16) for k in range(2))
    if grey.max(initial=0) > 24:  # not all black: a picture, or ink in grey or colour
        full = page.get_pixmap(matrix=pymupdf.Matrix(zoom, zoom), alpha=True)
        pixels = np.frombuffer(full.samples, np.uint8).reshape(full.height, full.width, 4)
        red, green, blue = (pixels[..., k] for k in range(3))
        spread = np.maximum(np.maximum(red, green), blue) - np.minimum(np.minimum(red, green), blue)
        if spread.max(initial=0) > 24:
            return bytes(full.tobytes("png"))
        ink = ink * (255 - grey) // 255
    levels = (ink + 8) // 17
    return _palette_png(levels.astype(np.uint8))


def _palette_png(levels: npt.NDArray[np.uint8]) -> bytes:
    """A PNG (ISO/IEC 15948) of 16 opacities of black, 4 bits a pixel."""
    height, width = levels.shape
    if width % 2:
        levels = np.pad(levels, ((0, 0), (0, 1)))
    packed = (levels[:, ::2] << 4) | levels[:, 1::2]
    rows = np.concatenate([np.zeros((height, 1), np.uint8), packed.astype(np.uint8)], axis=1)

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 4, 3, 0, 0, 0))
        + chunk(b"PLTE", bytes(48))
        + chunk(b"tRNS", bytes(n * 17 for n in range(16)))
        + chunk(b"IDAT", zlib.compress(rows.tobytes(), 6))
        + chunk(b"IEND", b"")
    )
