"""What a reading says is not sure, once it is corrected: which sentences still hold, and the bars that they name."""

import re
from collections.abc import Mapping, Sequence

from collaparte.paper.doubts import check_marks
from collaparte.paper.drawn_lines import Line
from collaparte.paper.reading import Mark, Reading, Uncounted, called
from collaparte.paper.things import Anchor, anchor

_AT_BAR = re.compile(r"\b([Bb]ar) (\d+) on page (\d+)\b")


def bars_named(reading: Reading, lines: Sequence[Line]) -> dict[str, Anchor | None]:
    """The reading's sentences, each with the bar that it names on a page, before anything is corrected."""
    return {words: _named(words, reading, lines) for words in reading.doubts}


def _named(words: str, reading: Reading, lines: Sequence[Line]) -> Anchor | None:
    about = _AT_BAR.search(words)
    if about is None:
        return None
    own = [
        bar.number + n
        for line in lines
        if line.page == int(about[3]) - 1
        for bar in line.bars
        for n in range(bar.count)
    ]
    return next((anchor(lines, bar, "start") for bar in own if reading.called(bar) == int(about[2])), None)


def still_said(
    reading: Reading,
    named: Mapping[str, Anchor | None],
    lines: Sequence[Line],
    doubts: Sequence[str],
    marks: Sequence[Mark],
    uncounted: Sequence[Uncounted],
) -> list[str]:
    """The sentences that still hold, those about the lines as they are now (`doubts`) first told of their line."""
    before = {line.doubt for page in reading.pages for line in page.systems}
    before |= set(check_marks(reading.marks, reading.uncounted))
    kept = []
    for words in reading.doubts:
        about = named[words]
        if words in before and words not in doubts:
            continue
        if about is not None and (about.line is None or about.line.touched or about.line not in lines):
            continue
        number = called(uncounted, about.now()) if about else 0
        kept.append(_AT_BAR.sub(lambda m, n=number: f"{m[1]} {n} on page {m[3]}", words) if about else words)  # type: ignore[misc]
    return list(dict.fromkeys([*kept, *(d for d in doubts if d), *check_marks(marks, uncounted)]))
