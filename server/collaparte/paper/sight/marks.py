"""Rehearsal marks: letters, numbers or words in a frame, or large and bold, over a bar's start."""

import re
from collections import Counter, defaultdict
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from math import inf

from msgspec.structs import replace

from collaparte.paper.reading import Box, Mark
from collaparte.paper.sight.bare_marks import own_numbers, rising_letters
from collaparte.paper.sight.frames import is_framed
from collaparte.paper.sight.lines import MusicLine, line_below
from collaparte.paper.sight.numbers import ALIKE
from collaparte.paper.sight.row_filled import filled
from collaparte.paper.sight.series import Candidate, in_series
from collaparte.paper.sight.strokes import OUTLINE
from collaparte.paper.sight.words import Phrase

SHORT = re.compile(r"[A-Za-z]{1,2}\d{0,2}['’]?|\d{1,4}[A-Za-z]?")
"""A letter, double letters, a number, or a letter with a figure (common practice)."""
SECTION = re.compile(
    r"(pre-?|post-?|last |final |first |second |third |half |double |drum |sax |horn |brass |piano |open |shout |"
    r"guitar |bass |trumpet |vocal |backing )*"
    r"(intro|introduction|verse|chorus|choruses|bridge|solo|solos|soli|coda|outro|interlude|vamp|tag|ending|shout|"
    r"head|refrain|trio|break|sendoff|send-off|backgrounds?|bgs?|hook|middle|release|prelude|opening|fanfare|"
    r"rap|build|drop|breakdown|instrumental|theme|variation|finale|start|top|begin)"
    r"( ?\d{1,2}| [A-H]| chorus| out| in| section| solos?)?",
    re.IGNORECASE,
)
NEAR = 3.5
"""A mark's middle or left edge lies within so many spaces of the start of its bar."""
TALL = 1.4
"""Marks without a frame are taller than this many spaces, and most words of their style are marks."""
MEANT = 0.5
"""A mark is set by that of its middle and its left edge which is so much nearer to a bar's start, in spaces."""
FEW, MOST_NEAR = 3, 0.6
"""A whole row of so many marks is one even if some of them stand away from their bars' starts."""
LETTERS = 4
"""So many letters to a figure are a row of letters."""
SET_SO = 2
"""So many bar numbers in frames show how a part's are set."""
CLEARLY = 0.5
"""What stands under a line is so much nearer to it than to the next."""
HIGHEST = 16.0
"""A mark's foot is at most so many spaces above the stave."""
STRING = 2.1
"""A circle so low, in spaces, with one figure in it is a string's number, set as small as a fingering (common
practice)."""


def find_marks(
    pages: Sequence[tuple[Sequence[MusicLine], Sequence[Phrase], Sequence[Box]]],
) -> tuple[list[Mark], set[tuple[int, Box]]]:
    """All marks of a part in document order, and the phrases (page, box) that they are made of."""
    found: list[tuple[Candidate, float]] = []
    loose: list[tuple[Phrase, Sequence[MusicLine]]] = []
    parted = [_framed(phrases, frames) for _, phrases, frames in pages]
    under = _set_under(
        [(box, lines) for (lines, _, _), (framed, _) in zip(pages, parted, strict=True) for _, box in framed]
    )
    for (lines, _, _), (framed, rest) in zip(pages, parted, strict=True):
        for words, frame in framed:
            candidate = _placed(words, frame, True, lines, under=under)
            if candidate is not None and _is_mark_text(candidate.text) and not _is_string(candidate):
                found.append((candidate, _framed_confidence(candidate)))
        loose += [(phrase, lines) for phrase in rest]
    framed_numbers = [
        line.printed.phrase.size
        for lines, _, frames in pages
        for line in lines
        if line.printed is not None and is_framed(line.printed.phrase, frames)
    ]
    found = _without_line_numbers(found, framed_numbers)
    found = in_series(filled(found, _empty_frames(pages, found)))
    if not found:
        styles = Counter(p.style for _, phrases, _ in pages for p in phrases)
        placed = [_placed([p], p.box, False, lines) for p, lines in loose if _is_mark_text(p.text)]
        at_bars = [c for c in placed if c is not None]
        bare = _unframed(at_bars, styles) or rising_letters(at_bars, NEAR, TALL) or own_numbers(at_bars, NEAR, TALL)
        found = [(c, 0.85) for c in bare]
    found = _as_set(found)
    marks: list[Mark] = []
    used: set[tuple[int, Box]] = set()
    for candidate, confidence in found:
        used.add((candidate.line.page, candidate.phrase.box))
        if marks and marks[-1].bar == candidate.bar and marks[-1].text == candidate.text:
            continue
        marks.append(Mark(candidate.text, candidate.bar, candidate.line.page, candidate.box, confidence))
    marks.sort(key=lambda m: (m.page, m.bar, m.box[1]))
    return marks, used


def _framed(phrases: Sequence[Phrase], frames: Sequence[Box]) -> tuple[list[tuple[list[Phrase], Box]], list[Phrase]]:
    inside: dict[Box, list[Phrase]] = defaultdict(list)
    rest: list[Phrase] = []
    for phrase in phrases:
        x, y = phrase.middle, (phrase.y0 + phrase.y1) / 2
        for frame in frames:
            if (
                frame[0] <= x <= frame[2]
                and frame[1] <= y <= frame[3]
                and phrase.x1 - phrase.x0 < 1.35 * (frame[2] - frame[0])
                and frame[3] - frame[1] < 3.2 * phrase.size
            ):
                inside[frame].append(phrase)
                break
        else:
            rest.append(phrase)
    return [(_within(words, frame), frame) for frame, words in inside.items()], rest


def _is_string(framed: Candidate) -> bool:
    height = framed.box[3] - framed.box[1]
    return len(framed.text) == 1 and framed.text.isdigit() and height < STRING * framed.line.space


def _within(words: list[Phrase], frame: Box) -> list[Phrase]:
    """The words of a frame without those that stand across its side, as a bar number may, if others do not."""
    return [p for p in words if frame[0] < p.x0 and p.x1 < frame[2]] or words


def _empty_frames(
    pages: Sequence[tuple[Sequence[MusicLine], Sequence[Phrase], Sequence[Box]]], found: list[tuple[Candidate, float]]
) -> list[Candidate]:
    """Frames as large as the marks' own, at bars' starts, in which nothing was told."""
    taken = {(c.line.page, c.box) for c, _ in found}
    like = [c for c, _ in found if len(c.text) <= 2]
    out: list[Candidate] = []
    for lines, _, frames in pages:
        for frame in frames:
            of_size = any(_same_size(frame, c.box) for c in like)
            if not of_size or not lines or any(p == lines[0].page and _meet(frame, box) for p, box in taken):
                continue
            candidate = _placed([replace(like[0].phrase, text="")], frame, True, lines)
            if candidate is not None and candidate.distance <= NEAR:
                taken.add((lines[0].page, frame))
                out.append(candidate)
    return out


def _same_size(one: Box, other: Box) -> bool:
    height, width = (one[3] - one[1]) / (other[3] - other[1]), (one[2] - one[0]) / (other[2] - other[0])
    return 0.85 < height < 1.18 and 0.75 < width < 1.33


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _set_under(framed: Sequence[tuple[Box, Sequence[MusicLine]]]) -> bool:
    """Whether all that stands in frames is set under its lines: clearly nearer to the line above than to any below, and
    some of it under a page's last line."""
    unders, last = [], False
    for box, lines in framed:
        over = [box[1] - line.system.bbox[3] for line in lines if line.system.bbox[3] < box[3]]
        below = [line.system.bbox[1] - box[3] for line in lines if line.system.bbox[1] > box[1]]
        unders.append(min(over, default=inf) < CLEARLY * min(below, default=inf))
        last = last or not below
    return last and len(unders) >= SET_SO and all(unders)


def _line_over(lines: Sequence[MusicLine], box: Box) -> MusicLine | None:
    over = [line for line in lines if line.system.bbox[3] < box[3]]
    return max(over, key=lambda line: line.system.bbox[3], default=None)


def _placed(
    words: Sequence[Phrase], box: Box, framed: bool, lines: Sequence[MusicLine], *, under: bool = False
) -> Candidate | None:
    line = _line_over(lines, box) if under else line_below(lines, box)
    if line is None:
        return None
    space, top = line.space, line.system.bbox[1]
    away = box[1] - line.system.bbox[3] if under else top - box[3]
    if not -0.8 * space < away < HIGHEST * space:
        return None
    text = " ".join(p.text for p in sorted(words, key=lambda p: (round(p.y), p.x0))).strip()
    if not _is_mark_text(text) and _is_mark_text(text.replace(" ", "")):
        text = text.replace(" ", "")  # letters set far apart
    if words[0].style[0] == OUTLINE:
        text = text[:1].upper() + text[1:]  # a small c, o, s, v, w, x or z has a capital's shape
    bar, distance = line.bar_starting([(box[0] + box[2]) / 2, box[0]])
    return Candidate(text, words[0], box, framed, line, bar, distance / space)


def _as_set(found: Sequence[tuple[Candidate, float]]) -> list[tuple[Candidate, float]]:
    """The candidates, wide ones that begin over one bar's start and have their middle over another's set as the part's
    others are: to their middle, or to their left edge."""
    middles, lefts = (
        [c.line.bar_starting([c.box[0] if left else (c.box[0] + c.box[2]) / 2]) for c, _ in found] for left in (0, 1)
    )
    both = list(zip(found, middles, lefts, strict=True))
    apart = [(left[1] - middle[1]) / c.line.space for (c, _), middle, left in both]
    lean = sum((away > MEANT) - (away < -MEANT) for away in apart)
    out = []
    for (c, confidence), middle, left in both:
        # At a line's head marks begin where the line does, but for one right over the first barline, as others are.
        at_head = left[0] == c.line.bars[0].number if c.line.bars else True
        over = c.box[0] > c.line.system.x0 + MEANT * c.line.space and middle[1] < MEANT * c.line.space
        over = at_head and over and lean >= SET_SO and c.bar != middle[0]
        at_head = at_head and not over
        if middle[0] != left[0] and not at_head and max(middle[1], left[1]) <= NEAR * c.line.space:
            c = c._replace(bar=middle[0] if lean > 0 else left[0])
            confidence = confidence if abs(lean) >= SET_SO and not over else min(confidence, 0.8)
        out.append((c, confidence))
    return out


@lru_cache(4096)  # as many chord names as a page holds are asked again and again
def _is_mark_text(text: str) -> bool:
    return bool(SHORT.fullmatch(text) or SECTION.fullmatch(text))


def _framed_confidence(candidate: Candidate) -> float:
    return 1.0 if candidate.distance <= NEAR else 0.8


def _without_line_numbers(
    found: list[tuple[Candidate, float]], framed: Sequence[float]
) -> list[tuple[Candidate, float]]:
    """Framed figures at every line's head that count its bars are bar numbers, not marks.

    So are single ones, set no larger, on lines without a number where other lines have theirs in a frame, of the sizes
    `framed`.
    """
    numbers = [c for c, _ in found if c.text.isdecimal()]
    at_heads = [
        c
        for c in numbers
        if c.line.bars and c.bar == c.line.bars[0].number == int(c.text) and c.box[0] < c.line.head.x1
    ]
    set_so = len(framed) >= SET_SO
    if set_so:
        at_heads = [c for c in at_heads if c.line.printed is None and c.phrase.size < ALIKE * max(framed)]
    if at_heads and (set_so or (len(at_heads) >= 4 and len(at_heads) == len(numbers))):
        return [(c, confidence) for c, confidence in found if not any(c is head for head in at_heads)]
    return found


def _unframed(loose: Sequence[Candidate], styles: Counter[tuple[str, float]]) -> list[Candidate]:
    """Marks without frames: of one style, larger than other words, each at a bar's start, in rising order."""
    by_style: dict[tuple[str, float], list[Candidate]] = defaultdict(list)
    for candidate in loose:
        by_style[candidate.phrase.style].append(candidate)
    best: list[Candidate] = []
    for alike in by_style.values():
        candidates = _one_sort(alike)
        candidates.sort(key=lambda c: (c.line.page, c.bar))
        size = candidates[0].phrase.y1 - candidates[0].phrase.y0
        tall = size > TALL * candidates[0].line.space and 2 * len(candidates) > styles[candidates[0].phrase.style]
        at_starts = all(c.distance <= NEAR and not c.phrase.music for c in candidates) or _spelt(candidates)
        if tall and at_starts and _rising([c.text for c in candidates]) and len(candidates) > len(best):
            best = candidates
    return best if len(best) >= 2 else []


def _one_sort(alike: Sequence[Candidate]) -> list[Candidate]:
    """Without a few figures among letters: they may name a segno ("§ 3")."""
    letters = [c for c in alike if not c.text.isdecimal()]
    return letters if len(letters) >= LETTERS * (len(alike) - len(letters)) else list(alike)


def _spelt(candidates: Sequence[Candidate]) -> bool:
    """The alphabet from A or the numbers from 1 with none left out: some may stand away from their bar's start."""
    texts = [c.text for c in candidates]
    letters, numbers = [chr(ord("A") + n) for n in range(len(texts))], [str(n + 1) for n in range(len(texts))]
    near = sum(c.distance <= NEAR for c in candidates)
    return len(texts) >= FEW and texts in (letters, numbers) and near >= MOST_NEAR * len(texts)


def _rising(texts: Sequence[str]) -> bool:
    keys = [(len(t), t) if t.isalpha() and len(t) <= 2 else (9, t) for t in texts]
    if all(t.isdecimal() for t in texts):
        numbers = [int(t) for t in texts]
        return all(a < b for a, b in pairwise(numbers))
    words = [t for t in texts if not SHORT.fullmatch(t)]
    if words:
        return len(words) == len(texts)
    return all(a < b for a, b in pairwise(keys))
