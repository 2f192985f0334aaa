"""Names before the staves: a score's at its first line; one that is another from some line on; a part's own."""

import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from collaparte.paper.cutting.groups import Joined
from collaparte.paper.cutting.ink import Glyph, Page, Shape, letter
from collaparte.paper.cutting.items import Item, Role, union
from collaparte.paper.cutting.stock import Stock
from collaparte.paper.cutting.table import Name, TitleWord
from collaparte.paper.reading import Box, Reading, System

A_LETTER, CLEAR = 3.0, 1.2
"""A letter drawn as an outline is no larger, and ends so far left of staves that a brace or a bracket joins, in
spaces."""
BESIDE = 1.5
"""A name stands no farther over or under its staves, in spaces."""
ONE_LINE, ONE_NAME = 0.3, 1.6
"""Letters of one line end at one height but for so much of it; lines of one name are so near, in their height."""
WORDS_APART = 0.2
"""Words stand so far apart, in their height."""
ALIKE = 0.1
"""Names that look alike are as wide but for so much, in spaces."""
SEVERAL = 2
"""Players seldom change at once, and not to names that are all shorter."""
OVER, CLEAR_OF, IN = 3.2, 0.5, 0.3
"""A name that is another stands so far over its stave's middle, or over the notes there, and behind its bar's left
edge, in spaces."""


@dataclass(slots=True)
class Label:
    """A name as printed: its ink, and the staves (from 0) that it stands before."""

    marks: list[int]
    box: Box
    text: str
    first: int
    last: int
    opens: bool = False
    """It stands before the first line, where names are not short."""


@dataclass(slots=True)
class Names:
    """What becomes of a part's names."""

    first: tuple[Name, ...] = ()
    """Before the first line;"""
    title: tuple[TitleWord, ...] = ()
    """with the title;"""
    changed: list[tuple[int, Item]] = field(default_factory=list)
    """over their staves, on that page, where they are others than before."""


def names(
    stock: Stock, pages: Sequence[Page], owned: Sequence[Sequence[Item]], reading: Reading,
    joined: Sequence[tuple[System, Joined]],
) -> Names:  # fmt: skip
    """Of the engraved pages, whose objects are `owned`: a score's names stand before its first line, a part's with its
    title unless told there; both where another name, or another number of staves, begins."""
    out = Names()
    groups = {id(system): group for system, group in joined}
    told = "".join(_plain(word.text) for word in reading.head)
    before: System | None = None
    known: dict[tuple[int, int], Label] = {}
    for n, read in enumerate(reading.pages):
        for s, system in enumerate(read.systems if not read.scanned else ()):
            here = labels(pages[n], system, groups.get(id(system), ()))
            if before is None:
                _begin(out, stock, n, system, here, told)
            if before is not None:
                out.changed += [
                    (n, _over(label, s, system, owned[n])) for label in _others(here, known, before, system)
                ]
            for label in here:
                place = label.first, label.last
                known[place] = label if place in known else replace(label, opens=before is None)
            before = system
    return out


def _begin(out: Names, stock: Stock, page: int, system: System, here: Sequence[Label], told: str) -> None:
    """The names of the first line."""
    middles = [(stave.top + stave.bottom) / 2 for stave in system.staves]
    if len(middles) > 1:
        right = max((label.box[2] for label in here), default=0.0)
        out.first = tuple(
            Name(_piece(stock, page, label, right, (middles[label.first] + middles[label.last]) / 2, system.space),
                 label.first, label.last)
            for label in here
        )  # fmt: skip
        return
    fresh = [label for label in here if not _plain(label.text) or _plain(label.text) not in told]
    out.title = tuple(
        TitleWord(_piece(stock, page, label, label.box[0], label.box[1], system.space), 0.0, "left") for label in fresh
    )


def _piece(stock: Stock, page: int, label: Label, x: float, y: float, space: float) -> int:
    return stock.whole([Item(label.marks, label.box, Role.WORDS)], page, x, y, space)


def _others(
    here: Sequence[Label], known: Mapping[tuple[int, int], Label], before: System, system: System
) -> Sequence[Label]:
    """The names before a line that are others than before. Where several of a score's first line are, at once, the new
    ones are short for them, in another language or by another word for the voice (common practice)."""
    if len(system.staves) != len(before.staves):
        return here
    last = {(label.first, label.last): known.get((label.first, label.last)) for label in here}
    others = [one for one in here if (was := last[one.first, one.last]) and not _is_one(was, one, system.space)]
    short = [
        id(one) for one in others if (was := last[one.first, one.last]) and was.opens and len(one.text) < len(was.text)
    ]
    return [one for one in others if len(short) < SEVERAL or id(one) not in short]


def _over(label: Label, place: int, system: System, items: Sequence[Item]) -> Item:
    """The name over its first stave at its line's first bar, clear of the notes there."""
    sp, (x0, _, x1, y1), stave = system.space, label.box, system.staves[label.first]
    end = system.bars[0].x0 + IN * sp + x1 - x0 if system.bars else stave.x0
    notes = [
        i.box[1] for i in items
        if (i.system, i.stave, i.bar) == (place, label.first, 0) and i.role < Role.WORDS and i.box[0] < end
    ]  # fmt: skip
    middle = (stave.top + stave.bottom) / 2
    over = max(OVER * sp, middle - min(notes, default=middle) + CLEAR_OF * sp)
    return Item(
        label.marks, label.box, Role.WORDS, ("name",), place, label.first, bar=0, anchor="start", letters=label.text,
        origin=(x0 - IN * sp, y1 + over),
    )  # fmt: skip


def _is_one(before: Label, label: Label, sp: float) -> bool:
    """One is the other or short for it: its letters are in the other in their order. Where letters are outlines the
    first line's name tells nothing of a short one; others are as wide and of as many."""
    long, short = sorted((_plain(before.text), _plain(label.text)), key=len, reverse=True)
    if not short:
        wide = [one.box[2] - one.box[0] for one in (before, label)]
        return before.opens or (len(before.marks) == len(label.marks) and abs(wide[0] - wide[1]) < ALIKE * sp)
    letters = iter(long)
    return short[0] == long[0] and all(c in letters for c in short)


def _plain(text: str) -> str:
    return "".join(c for c in unicodedata.normalize("NFKC", text).casefold() if c.isalnum())


def labels(page: Page, system: System, groups: Joined) -> list[Label]:
    """The names left of a system, from the top."""
    sp, staves = system.space, system.staves
    left = min(stave.x0 for stave in staves)
    clear = left - (CLEAR if len(staves) > 1 else 0.3) * sp
    marks = []
    for n, mark in enumerate(page.ink):
        x0, y0, x1, y1 = mark.box
        beside = x1 < left and staves[0].top - BESIDE * sp < (y0 + y1) / 2 < staves[-1].bottom + BESIDE * sp
        if not beside or (system.printed_number_box and _meet(mark.box, system.printed_number_box)):
            continue
        if isinstance(mark, Glyph):
            if not page.fonts[mark.font].music:
                marks.append(n)
        elif isinstance(mark, Shape) and x1 < clear and max(x1 - x0, y1 - y0) < A_LETTER * sp:
            marks.append(n)
    anchors = [((stave.top + stave.bottom) / 2, k, k) for k, stave in enumerate(staves)]
    anchors += [((staves[g.first].top + staves[g.last].bottom) / 2, g.first, g.last) for g in groups]
    out = []
    for lines in _blocks(_lines(marks, page), page):
        box = union(page.ink[n].box for line in lines for n in line)
        _, first, last = min(anchors, key=lambda a: (abs(a[0] - (box[1] + box[3]) / 2), a[2]))
        text = " ".join(_text(line, page) for line in lines)
        if any(c.isalpha() for c in text) or not text.strip():
            out.append(Label([n for line in lines for n in line], box, text, first, last))
    return out


def _lines(marks: Iterable[int], page: Page) -> list[list[int]]:
    """Letters as lines of type, from the top."""
    out: list[list[int]] = []
    for n in sorted(marks, key=lambda n: page.ink[n].box[3]):
        box = page.ink[n].box
        for line in out:
            other = union(page.ink[k].box for k in line)
            if min(box[3], other[3]) - max(box[1], other[1]) > ONE_LINE * min(box[3] - box[1], other[3] - other[1]):
                line.append(n)
                break
        else:
            out.append([n])
    for line in out:
        line.sort(key=lambda n: page.ink[n].box[0])
    return out


def _blocks(lines: Sequence[list[int]], page: Page) -> list[list[list[int]]]:
    """Lines over one another as names."""
    out: list[list[list[int]]] = []
    for line in lines:
        box = union(page.ink[n].box for n in line)
        above = union(page.ink[n].box for n in out[-1][-1]) if out else None
        if above is not None and box[1] - above[3] < ONE_NAME * max(box[3] - box[1], above[3] - above[1]):
            out[-1].append(line)
        else:
            out.append([line])
    return out


def _text(line: Sequence[int], page: Page) -> str:
    text, right = "", 0.0
    for n in line:
        mark = page.ink[n]
        if text and mark.box[0] - right > WORDS_APART * (mark.box[3] - mark.box[1]):
            text += " "
        text += letter(mark)
        right = mark.box[2]
    return text


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and one[2] > other[0] and one[1] < other[3] and one[3] > other[1]
