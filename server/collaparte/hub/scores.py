"""A tune's score beside its parts: the ruler and the form come from it, and the parts are held against it. Pure."""

from collections.abc import Callable, Sequence
from pathlib import PurePath

import msgspec

from collaparte.music.align import AGREES, align
from collaparte.music.musicxml import Score
from collaparte.music.words import count
from collaparte.paper.ruler import chart_outline
from collaparte.wire.chart import BarId, Chart
from collaparte.wire.outline import Outline

ENDINGS = (".musicxml", ".mxl", ".xml")
"""How names of MusicXML files end (W3C)."""


def is_score(file_name: str) -> bool:
    """Whether a file is taken for a tune's score, by its name."""
    return PurePath(file_name).suffix.lower() in ENDINGS


def ruler_by(
    score: Score, file_name: str, ruler: Chart | None, mint: Callable[[int], Sequence[BarId]]
) -> tuple[Chart | None, str]:
    """The ruler that a tune has by its score, or None with the reason in one sentence.

    A tune that has bars keeps their ids; they are never counted anew, so its score must have the same bars.
    """
    if ruler is None:
        return _under(score.chart, mint(len(score.chart.bars)), file_name), ""
    theirs, own = chart_outline(ruler), chart_outline(score.chart)
    if theirs.bars != own.bars or align(own, theirs).agreement < AGREES:
        bars = f"{count(own.bars, 'bar')} where the tune has {theirs.bars}"
        which = bars if theirs.bars != own.bars else "the same count of bars as the tune, but other marks"
        return None, f"{file_name} has {which}: it is left out, since a tune's bars are never counted anew."
    return _under(score.chart, [bar.id for bar in ruler.bars], file_name), ""


def reference(ruler: Chart | None) -> Outline | None:
    """What a tune's parts are held against: its score, if its ruler was taken from one."""
    return chart_outline(ruler) if ruler and ruler.source else None


def _under(chart: Chart, ids: Sequence[BarId], file_name: str) -> Chart:
    """The chart with other bar ids."""
    new = {bar.id: id for bar, id in zip(chart.bars, ids, strict=True)}
    replace = msgspec.structs.replace
    return replace(
        chart,
        bars=tuple(replace(bar, id=new[bar.id]) for bar in chart.bars),
        marks=tuple(replace(mark, bar=new[mark.bar]) for mark in chart.marks),
        signs=tuple(replace(sign, bar=new[sign.bar]) for sign in chart.signs),
        repeats=tuple(replace(repeat, bar=new[repeat.bar]) for repeat in chart.repeats),
        endings=tuple(replace(ending, bar=new[ending.bar], last=new[ending.last]) for ending in chart.endings),
        meters=tuple(replace(meter, bar=new[meter.bar]) for meter in chart.meters),
        source=file_name,
    )
