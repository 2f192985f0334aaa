"""A segno told by its build, in faces that are not among the known ones: held against openly licensed music fonts.

What each glyph is the fonts say themselves, by SMuFL's places (U+E047 is the segno) or by their names.
"""

import pymupdf
import pytest

pytest.importorskip("verovio")
pytest.importorskip("lilypond")

from collaparte.paper.sight import shapes
from collaparte.paper.sight.fonts import Font, segment_items
from collaparte.paper.sight.segnos import segno
from paper.glyph_shapes import music_outlines


def test_the_segnos_of_seven_fonts_are_told_and_nothing_else() -> None:
    told = 0
    for sort, items, scale in music_outlines():
        outline = shapes.contours(items)
        if len(outline) > 2 and segno(outline, 1 / scale).kind:
            assert sort.kind == "segno", sort
            told += 1
    assert told >= 8  # five fonts of one engraver, the other's in three sizes


@pytest.mark.parametrize("face", ["tiro", "tibi", "hebo", "cobo", "symb"])
def test_no_letter_of_a_text_face_is_a_segno_whatever_its_size(face: str) -> None:
    font = pymupdf.Font(face)
    reader = Font(font.buffer)
    for gid in range(min(font.glyph_count, 400)):
        outline = shapes.contours(segment_items(reader.outline(gid)))
        if len(outline) > 2:
            height = max(float(one[:, 1].max()) for one in outline) - min(float(one[:, 1].min()) for one in outline)
            assert not segno(outline, height / 3).kind, gid
