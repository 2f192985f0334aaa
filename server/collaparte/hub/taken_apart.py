"""A file taken apart: one part for each stretch of its pages that begins like one."""

from collections.abc import Sequence

from collaparte.band.proposals import Clue, propose
from collaparte.hub import jobs
from collaparte.hub.gathering import Came
from collaparte.hub.incoming import Became, Incoming, Told
from collaparte.paper.reading import PageHead
from collaparte.paper.ruler import outline


def taken_apart(
    came: Came, original: str, looked: jobs.Looked, told: Told, titles: Sequence[str], sheets: Sequence[int] = ()
) -> list[Incoming]:
    """One part for each stretch of pages that begins like a part and names another chair than the one before.

    `titles`: those of the library. A cover goes with the part behind it, unless it names a chair itself. `sheets`:
    where the file was unfolded, the sheet that each page is of; no part begins twice on one, so that is another copy.
    """
    heads, covers = looked.heads, _covers(came, looked.heads)
    starts = [0, *(n for n, head in enumerate(heads) if n > covers and head.starts_part)]
    parts: list[Incoming] = []
    for start, after in zip(starts, [*starts[1:], len(heads)], strict=True):
        head = _words(heads[: covers + 1] if start == 0 else heads[start : start + 1])
        clue = Clue(came.path.name, came.folders, head, len(starts) > 1, told.tune, told.chair)
        part = Incoming(came.name, original, (start, after - 1), propose(clue, titles))
        before = parts[-1] if parts else None
        alike = before and (part.name, part.proposal.title) == (before.name, before.proposal.title)
        copied = bool(sheets) and start > 0 and sheets[start] == sheets[start - 1]
        if before and before.pages and alike and not copied:
            before.pages = (before.pages[0], after - 1)
        else:
            parts.append(part)
    if len(parts) == 1:
        one = parts[0]
        if len(starts) > 1:
            clue = Clue(came.path.name, came.folders, _words(heads[: covers + 1]), False, told.tune, told.chair)
            one.proposal = propose(clue, titles)
        one.pages = None
    for part in parts:
        part.doubts += part.proposal.doubts
        if looked.mended:
            part.doubts.append("The file is damaged and was mended while it was opened: compare its pages.")
    return parts


def names_all(came: Came, looked: jobs.Looked) -> bool:
    """Whether each part on sheets that parts share names its chair, so that the file may be unfolded."""
    if looked.unfolded is None:
        return False
    shared = [n for n, sheet in enumerate(sheets(looked.heads)) if looked.heads[sheet].halves]
    heads = [looked.unfolded.heads[n] for n in shared]
    return all(propose(Clue(came.path.name, came.folders, _words([head]), True)).chair for head in heads)


def one_half(looked: jobs.Looked, number: int) -> jobs.Looked:
    """The file as if only one of the parts that share its sheets were there, from 1; its pages stay as they are."""
    if looked.unfolded is None:
        return looked
    apart = iter(looked.unfolded.heads)
    each = [[next(apart) for _ in head.halves or (None,)] for head in looked.heads]
    return jobs.Looked(tuple(own[min(number, len(own)) - 1] for own in each), looked.mended)


def sheets(heads: Sequence[PageHead]) -> list[int]:
    """For each page of the unfolded file the sheet that it is of, by number."""
    return [n for n, head in enumerate(heads) for _ in head.halves or (None,)]


def mark_copies(parts: Sequence[Incoming]) -> None:
    """Of the same part twice in one file, with the same bars, one is taken."""
    taken: list[Incoming] = []
    for part in parts:
        same = next((one for one in taken if (one.name, one.proposal.title) == (part.name, part.proposal.title)), None)
        if same and same.reading and part.reading and outline(same.reading) == outline(part.reading):
            part.became, part.why = (
                Became.AGAIN,
                f"{part.file} has {part.name} twice, with the same bars: one is taken.",
            )
        else:
            taken.append(part)


def _covers(came: Came, heads: Sequence[PageHead]) -> int:
    """How many pages there are before the first with music, when they name no chair: a cover, a page of words."""
    first = next((n for n, head in enumerate(heads) if head.music), 0)
    alone = Clue(came.path.name, came.folders, _words(heads[:first]), one_of_several=True)
    return first if first and propose(alone).chair is None else 0


def _words(heads: Sequence[PageHead]) -> tuple[tuple[str, float], ...]:
    return tuple((word.text, word.size) for head in heads for word in head.words)
