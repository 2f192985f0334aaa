"""Bracketed endings: a level line over the stave with its number under the left end."""

import re
from collections.abc import Sequence
from itertools import pairwise

from msgspec.structs import replace

from collaparte.paper.reading import BarlineKind, Box, Ending
from collaparte.paper.sight.figures import figures
from collaparte.paper.sight.lines import MusicLine
from collaparte.paper.sight.strokes import Rule
from collaparte.paper.sight.systems import Skeleton
from collaparte.paper.sight.words import Phrase

NUMBERS = re.compile(
    r"\(?(\d{1,2})(?:st|nd|rd|th|x|º|ª)? ?\.?((?:[\s.,&+/–-]|and|to|u\.|et)*\d{1,2}(?:st|nd|rd|th)?\.?)*\)?"
    r"(?:\s*(?:time|times|ending|x|only|x only)\.?)?",
    re.IGNORECASE,
)
HIGHEST = 16.0
"""A bracket lies at most so many spaces above its stave,"""
LOWEST = 0.6
"""and at least so many."""
SHORTEST = 3.2
"""A bracket is longer than so many spaces, a whole note's ledger line shorter."""
UNREAD = 0.6
"""Confidence of an ending whose number was not read."""
UNREAD_LENGTH = 6.0
"""A bracket whose number was not read is at least so many spaces long: a slur's crest is shorter."""
REPEATS = (BarlineKind.REPEAT_END, BarlineKind.REPEAT_BOTH)
START, IN_HEAD = 2.5, 12.5
"""It begins within so many spaces of a bar's start, on a picture so many of its line's: what a head holds is not all
told there. A tuplet's bracket may begin anywhere."""
TOUCH = 0.15
"""Strokes so near to each other, in spaces, are one line."""
FRETS, DIAGRAM = 3, 6.0
"""A chord's diagram shows so many frets at least, and is at most so many spaces high (common practice)."""
OVER, OVER_SEEN = 1.5, 3.0
"""A bracket that reaches further than this over a bar, in spaces, is over it; on a picture what touches its end makes
it longer."""


def find_endings(
    pages: Sequence[tuple[Sequence[MusicLine], Sequence[Phrase], Sequence[Rule], bool]],
) -> tuple[list[Ending], set[tuple[int, Box]]]:
    """All endings of a part, those broken over a line joined, and the phrases (page, box) of their numbers.

    On a scanned page (the last of each four) a bracket whose number was not read is told by where it stands.
    """
    endings: list[Ending] = []
    used: set[tuple[int, Box]] = set()
    reaches_end = closed = False
    for lines, phrases, rules, scanned in pages:
        for line in lines:
            if not line.bars:
                continue
            if endings and closed:
                reaches_end = False
            closed = line.parts[-1].after is not None and line.parts[-1].after.kind in REPEATS
            continued = True
            over = brackets(line.system, rules)
            reaches_end &= bool(over)  # an ending that is not over this line goes on behind it no more
            for n, bracket in enumerate(over):
                phrase = _number(bracket, line, phrases)
                if phrase is None and n and endings and _goes_on(over[n - 1], bracket, line):
                    endings[-1] = _lengthened(
                        endings[-1], _last_bar(bracket, line, OVER * line.space), line.page, bracket
                    )
                    reaches_end = bracket.x1 > line.system.x1 - 1.5 * line.space
                    continue
                at_head = bracket.x0 < line.head.x1 + line.space or (scanned and _in_head(bracket, line))
                over_by = (OVER_SEEN if scanned else OVER) * line.space
                if phrase is None:
                    ends = not scanned or _ends_bar(bracket, line)
                    if continued and at_head and reaches_end and endings and ends:
                        endings[-1] = _lengthened(endings[-1], _last_bar(bracket, line, over_by), line.page, bracket)
                        reaches_end = bracket.x1 > line.system.x1 - 1.5 * line.space
                        continue
                    told = _by_place(over, n, line, endings) if scanned else 0
                    if not told:
                        continue
                    passes: tuple[int, ...] = (told,)
                else:
                    passes = _passes(_told(phrase))
                    used.add((line.page, phrase.box))
                bar, distance = line.bar_starting([bracket.x0])
                if distance > START * line.space and not (scanned and at_head):
                    continue
                last = _last_bar(bracket, line, over_by)
                if (
                    at_head
                    and reaches_end
                    and endings
                    and endings[-1].passes == passes
                    and endings[-1].last_bar >= bar - 1
                ):
                    endings[-1] = _lengthened(endings[-1], last, line.page, bracket)
                else:
                    box = (bracket.x0, bracket.y0, bracket.x1, max(bracket.y1, phrase.y1 if phrase else 0.0))
                    sure = UNREAD if phrase is None else 1.0 if distance < 1.5 * line.space else 0.85
                    endings.append(Ending(passes[0], passes, bar, max(bar, last), line.page, box, sure))
                reaches_end = bracket.x1 > line.system.x1 - 1.5 * line.space
                continued = False
    return endings, used


def _goes_on(before: Rule, bracket: Rule, line: MusicLine) -> bool:
    """Whether a bracket is drawn on from where another ends, in strokes of a bar each; no repeat's end is between."""
    space = line.space
    closed = any(b.kind in REPEATS and abs(b.x - bracket.x0) < START * space for b in line.barlines)
    return abs(before.x1 - bracket.x0) < TOUCH * space and abs(before.y0 - bracket.y0) < TOUCH * space and not closed


def _by_place(over: Sequence[Rule], n: int, line: MusicLine, endings: Sequence[Ending]) -> int:
    """The number of a bracket that has none: first endings stop at a repeat, others begin there (common practice)."""
    bracket, space = over[n], line.space
    if bracket.x1 - bracket.x0 < UNREAD_LENGTH * space or not _ends_bar(bracket, line):
        return 0
    repeats = [b.x for b in line.barlines if b.kind in REPEATS]
    if any(abs(x - bracket.x1) < START * space for x in repeats):
        return 1
    first = line.bar_starting([bracket.x0])[0]
    begins = any(abs(x - bracket.x0) < START * space for x in repeats)
    if endings and endings[-1].last_bar == first - 1 and (begins or _in_head(bracket, line)):
        return endings[-1].number + 1
    return 0


def brackets(system: Skeleton, rules: Sequence[Rule]) -> list[Rule]:
    """Level lines where the brackets of endings lie, from the left."""
    x0, top, x1, _ = system.bbox
    space = system.space
    highest, lowest = top - HIGHEST * space, top - LOWEST * space
    out = [
        rule
        for rule in rules
        if highest < rule.y1 < lowest
        and not rule.dashed  # those are of ottavas (common practice)
        and rule.y1 - rule.y0 < 0.35 * space
        and rule.x1 - rule.x0 > SHORTEST * space
        and rule.y0 > system.y_above
        and rule.x0 > x0 - 2 * space
        and rule.x1 < x1 + 2 * space
    ]
    out.sort(key=lambda rule: rule.x0)
    out = [rule for rule in out if not _of_diagram(rule, out, space)]
    return [
        rule
        for n, rule in enumerate(out)
        if n == 0 or rule.x0 - out[n - 1].x0 > 0.5 * space or abs(rule.y0 - out[n - 1].y0) > 0.5 * space
    ]


def _of_diagram(rule: Rule, others: Sequence[Rule], space: float) -> bool:
    """Whether level lines of one length lie close over and under one another: a chord diagram's frets."""
    heights = [
        other.y0
        for other in others
        if abs(other.x0 - rule.x0) < TOUCH * space
        and abs(other.x1 - rule.x1) < TOUCH * space
        and abs(other.y0 - rule.y0) < DIAGRAM * space
    ]
    return sum(low - high > TOUCH * space for high, low in pairwise(sorted(heights))) + 1 >= FRETS


def _number(bracket: Rule, line: MusicLine, phrases: Sequence[Phrase]) -> Phrase | None:
    """The words under the bracket's left end, when they are an ending's number."""
    for phrase in phrases:
        low = phrase.y1 > line.system.bbox[1] + line.space
        if under(bracket, phrase, line.space) and not low and NUMBERS.fullmatch(_told(phrase)):
            return phrase
    return None


def _told(phrase: Phrase) -> str:
    text = figures(phrase)
    return text if _passes(text) else ""


def under(bracket: Rule, phrase: Phrase, space: float) -> bool:
    """Whether words stand where a bracket's number stands: under its left end."""
    return (
        -0.3 * space < phrase.x0 - bracket.x0 < 2.6 * space
        and 0.0 < phrase.y0 - bracket.y0 < 2.2 * space
        and phrase.x0 < bracket.x1
        and phrase.y1 - phrase.y0 < 3.2 * space
    )


def _passes(text: str) -> tuple[int, ...]:
    """The times an ending is played: "1.", "1, 2", "1.-3."."""
    numbers = [int(n) for n in re.findall(r"\d{1,2}", text)]
    if not numbers or numbers[0] < 1:
        return ()
    if len(numbers) == 2 and re.search(r"\d\.?(st|nd|rd|th)?\s*(-|–|to)\s*\d", text) and numbers[1] > numbers[0]:
        return tuple(range(numbers[0], numbers[1] + 1))
    return tuple(numbers)


def _in_head(bracket: Rule, line: MusicLine) -> bool:
    """Whether a bracket begins where a line's head may end, over the first bar."""
    first = line.parts[0]
    return bracket.x0 < min(line.system.x0 + IN_HEAD * line.space, (first.x0 + first.x1) / 2)


def _ends_bar(bracket: Rule, line: MusicLine) -> bool:
    """Whether a bracket ends where a bar does, or goes beyond the line's last: else it may be a torn frame's side."""
    reach = OVER_SEEN * line.space
    return bracket.x1 > line.system.x1 - reach or any(abs(b.x - bracket.x1) < reach for b in line.barlines)


def _last_bar(bracket: Rule, line: MusicLine, over_by: float) -> int:
    """The bar under the bracket's right end; a repeat's end inside closes it."""
    last = line.bars[0].number
    for bar, part in zip(line.bars, line.parts, strict=True):
        if bar.x0 > bracket.x1 - over_by and bar.number > last:
            break
        last = bar.number + bar.count - 1
        end = part.after
        if bar.x1 > bracket.x0 + line.space and end is not None and end.kind in REPEATS:
            break
    return last


def _lengthened(ending: Ending, last_bar: int, page: int, bracket: Rule) -> Ending:
    box = bracket.x0, bracket.y0, bracket.x1, bracket.y1
    return replace(ending, last_bar=max(ending.last_bar, last_bar), further=(*ending.further, (page, box)))
