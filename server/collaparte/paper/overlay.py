"""What was read, drawn over the page that it was read from, to be looked at."""

from collections.abc import Callable

import pymupdf

from collaparte.paper.opening import opened
from collaparte.paper.reading import SURE, Box, Reading, System
from collaparte.paper.sight import lying

STAVE = (0.34, 0.71, 0.91)
BAR = (0.0, 0.45, 0.70)
MARK = (0.84, 0.37, 0.0)
REST = (0.0, 0.62, 0.45)
SIGN = (0.80, 0.47, 0.65)
ENDING = (0.90, 0.62, 0.0)
DOUBT = (0.85, 0.1, 0.1)
WORDS = (0.5, 0.5, 0.5)


def overlay(pdf: bytes, reading: Reading, number: int, at: int | None = None, dpi: int = 144) -> bytes:
    """Page `number` (from 0) of the file as PNG, with staves, bars, marks, rests, signs and endings over it.

    `at` is its place among the pages that were read, when not all were.
    """
    place = number if at is None else at
    document = opened(pdf)
    page = document[number]
    lying.turn(page, reading.pages[place].turned)
    shape = page.new_shape()
    back = page.derotation_matrix

    def box(edges: Box, colour: tuple[float, float, float], text: str = "", fill: float = 0.0) -> None:
        rect = pymupdf.Rect(edges) * back
        shape.draw_rect(rect)
        shape.finish(color=colour, width=0.8, fill=colour if fill else None, fill_opacity=fill)
        if text:
            at = pymupdf.Point(edges[0], edges[1] - 1.0) * back
            shape.insert_text(at, text, fontsize=6, color=colour, rotate=page.rotation)

    for system in reading.pages[place].systems:
        _system(system, reading.called, box)
    for mark in reading.marks:
        if mark.page == place:
            box(mark.box, MARK, f"{mark.text} = {reading.called(mark.bar)}")
    for rest in reading.multirests:
        if rest.page == place:
            box(rest.box, REST, f"{reading.called(rest.bar)} + {rest.count}")
    for sign in reading.signs:
        if sign.page == place:
            box(sign.box, SIGN, f"{sign.kind} {reading.called(sign.bar)} {sign.at}")
    for ending in reading.endings:
        if ending.page == place:
            box(ending.box, ENDING, f"{ending.passes} {reading.called(ending.bar)}-{reading.called(ending.last_bar)}")
    for tempo in reading.tempos:
        if tempo.page == place:
            box(tempo.box, WORDS, f"tempo {reading.called(tempo.bar)}")
    for word in reading.head:
        if word.page == place:
            box(word.box, WORDS)
    shape.commit()
    picture: bytes = page.get_pixmap(dpi=dpi, alpha=False).tobytes("png")
    return picture


def _system(system: System, called: Callable[[int], int], box: Callable[..., None]) -> None:
    top, bottom = system.bbox[1], system.bbox[3]
    for stave in system.staves:
        box((stave.x0, stave.top, stave.x1, stave.bottom), STAVE)
    box((system.bbox[0], top, system.head_x1, bottom), STAVE, "", 0.15)
    for bar in system.bars:
        colour = BAR if min(bar.confidence, system.confidence) >= SURE else DOUBT
        rests = ("r" if bar.starts_in_rest else "") + ("R" if bar.ends_in_rest else "")
        box((bar.x0, top, bar.x1, bottom), colour, "", 0.06)
        box(
            (bar.x0, bottom + 7, bar.x0, bottom + 7),
            colour,
            f"{called(bar.number)}{'…' if bar.continued else ''} {rests}",
        )
    for line in system.barlines:
        box((line.x0, top - 2, line.x1, bottom + 2), DOUBT if line.kind.startswith("repeat") else BAR, "", 0.25)
    if system.printed_number_box:
        box(system.printed_number_box, BAR, str(system.printed_number))
