"""A row of framed marks set right: where one letter or number only fits between its neighbours, it is that one."""

from collections.abc import Sequence

from collaparte.paper.sight.figures import as_figures
from collaparte.paper.sight.series import Candidate
from collaparte.paper.sight.strokes import OUTLINE

FILLED = 0.7
"""Confidence of a mark that its neighbours told."""
SKIPPED = 0.4
"""What each step that is passed over takes from a row, in marks."""
LOOKS = ("DO0QU", "CGO06", "B8ERS3", "EFBL", "FPET", "HNMKR", "IJL1T", "G6C0", "A4R", "S58", "Z2", "KRXH", "PFR")
"""Letters and figures that one shape may be taken for."""

LESS = 0.9
"""What a mark is worth whose letters are only like figures."""

Found = list[tuple[Candidate, float]]


def filled(found: Found, empty: Sequence[Candidate]) -> Found:
    """The marks with those that were misread, and the `empty` frames between them, told by the row they stand in.

    Only for marks told by shapes: what is set in a font says its own letter. Common practice: marks go on by one.
    """
    if not found or any(c.phrase.style[0] != OUTLINE for c, _ in found):
        return found
    if 2 * sum(c.text == str(c.bar) for c, _ in found) > len(found):
        return found  # each is its own bar's number (common practice), which goes on by as much as it will
    letters = sum(len(c.text) == 1 and c.text.isalpha() for c, _ in found)
    figures = sum(as_figures(c.text).isdecimal() for c, _ in found)
    numbered = sum(c.text.isdecimal() for c, _ in found) > letters
    if 2 * max(letters, figures) < len(found) or max(letters, figures) < 2:
        return found
    row = [*found, *((c, FILLED) for c in empty)]
    row.sort(key=lambda pair: (pair[0].line.page, pair[0].line.system.bbox[1], pair[0].bar, pair[0].box[0]))
    steps = [_step(c.text, numbered) for c, _ in row]
    kept = _rising(
        steps, [LESS if c.text != _name(step, numbered) else 1.0 for (c, _), step in zip(row, steps, strict=True)]
    )
    if len(kept) < 2 or 2 * len(kept) < len(found):
        return found
    out: Found = []
    for n, (candidate, confidence) in enumerate(row):
        if n in kept:
            text = _name(steps[n], numbered)
            out.append((candidate._replace(text=text), confidence if text == candidate.text else FILLED))
            continue
        step = _between(n, kept, steps)
        inside = min(kept) < n < max(kept)  # a frame at the row's ends may hold anything
        if step is not None and (_alike(candidate.text, _name(step, numbered)) if candidate.text else inside):
            out.append((candidate._replace(text=_name(step, numbered)), FILLED))
        elif candidate.text:
            out.append((candidate, confidence))
    return out


def _step(text: str, numbered: bool) -> int:
    """Where a mark stands in its row, from 1; 0 for none."""
    if numbered:
        text = as_figures(text)
        return int(text) if text.isdecimal() else 0
    return ord(text) - ord("A") + 1 if len(text) == 1 and "A" <= text <= "Z" else 0


def _name(step: int, numbered: bool) -> str:
    if step <= 0:
        return ""
    return str(step) if numbered else chr(ord("A") + step - 1)


def _rising(steps: Sequence[int], worths: Sequence[float]) -> set[int]:
    """The places of the best rising row: long, and passing over little."""
    best: list[tuple[float, list[int]]] = []
    for n, step in enumerate(steps):
        if step <= 0:
            continue
        worth, places = worths[n] - SKIPPED * min(step - 1, 2), [n]
        for before, row in best:
            if steps[row[-1]] < step:
                more = before + worths[n] - SKIPPED * (step - steps[row[-1]] - 1)
                worth, places = max((worth, places), (more, [*row, n]))
        best.append((worth, places))
    return set(max(best, default=(0.0, []))[1])


def _between(n: int, kept: set[int], steps: Sequence[int]) -> int | None:
    """What stands at a place of the row when its neighbours leave one step for each place; None otherwise."""
    before = max((k for k in kept if k < n), default=None)
    after = min((k for k in kept if k > n), default=None)
    if before is not None and after is not None:
        return steps[before] + n - before if steps[after] - steps[before] == after - before else None
    if before is not None:
        return steps[before] + n - before
    if after is not None and steps[after] == after + 1:
        return n + 1
    return None


def _alike(seen: str, meant: str) -> bool:
    """Whether a shape may have been taken for what it was not; a longer word says what it is."""
    if len(seen) > 2:
        return False
    return any(meant in looks and seen[0].upper() in looks for looks in LOOKS) or len(seen) == len(meant) == 1
