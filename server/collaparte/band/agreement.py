"""Whether a tune's parts agree, from what the band knows of each: the same sentences on every screen. Pure."""

from collections.abc import Mapping

from collaparte.band.state import Tune
from collaparte.music.agree import Disagreement, disagreements
from collaparte.wire.outline import Outline

SCORE = "the score"
"""How a tune's score is called."""


def disagreeing(
    tune: Tune, coming: Mapping[str, tuple[str, Outline]] | None = None, score: Outline | None = None
) -> tuple[Disagreement, ...]:
    """Where the tune's parts differ from most of them, or from its `score`; `coming`: parts on their way in
    (id -> name, outline).

    A part brought in by a release that kept no outline says nothing. A part without bars has nothing to compare.
    """
    parts = {part.id: (part.name, part.current.outline) for part in tune.parts.values()}
    heard = {**parts, **(coming or {})}
    return disagreements([(name, outline) for name, outline in heard.values() if outline is not None], score, SCORE)
