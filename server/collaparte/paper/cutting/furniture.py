"""What stands on a page beside its music: heads, feet, page numbers, old bar numbers."""

import re
import unicodedata
from collections.abc import Sequence, Set
from dataclasses import replace

from collaparte.paper.cutting.ink import Page, letter
from collaparte.paper.cutting.items import Item, Role, Rows, absorb, grown, inside, set_to, union
from collaparte.paper.cutting.named import rules_round
from collaparte.paper.cutting.upon import A_ROW, CHORD, LYRIC
from collaparte.paper.reading import Box, HeadWord, PageReading, Reading, System
from collaparte.paper.sight.title import TITLE

A_SENTENCE = 10
"""Words of more letters than this at the edge of a full page are no dynamic or figure of its last line."""

FAR, A_LETTER = 6.0, 3.0
"""A page's foot is so far under the last stave where its letters are outlines, none of them higher, in spaces."""
TEMPO = ("tempo",)
"""The style of a tempo."""
A_NAME = 4
"""A mark or a chord's name is shorter."""
CLOSE = 4.0
"""Words of the music at its line's end are no farther over it, in spaces."""
SMALL_TYPE, RIGHT_OVER, TYPE_EDGE = 2.3, 1.2, 1.0
"""Words lower than this, so near over notes and so far from their line's ends, in spaces, are the music's."""
FREE = 3.0
"""So far beside a page's number, in spaces, there is nothing."""
LINE_OVER = 1.5
"""The same where lines of type stand over each other, in spaces."""
LOWER = 0.3
"""What they stand over reaches so much lower, in spaces."""
MIDDLE, UNDER = 0.25, 1.5
"""Lines of type in the middle of others are within so many spaces of it, and at most so far under them, in their
heights."""
A_WORD = 3
"""The letters of a word that no chord's name begins a line with by chance."""
SPACE = 1.7
"""Words of one line are nearer than so many of their heights: a space of a typewriter face is wide."""


def named_boxes(reading: Reading, number: int) -> list[Box]:
    """The boxes of the marks and signs that were read on page `number`."""
    marks = [m.box for m in reading.marks if m.page == number]
    return marks + [s.box for s in reading.signs if s.page == number]


def heads(items: list[Item], reading: Reading, number: int) -> tuple[list[Item], list[Item]]:
    """The words at the head of the page (with the page's own number and running title), and the rest."""
    read = reading.pages[number]
    first = min(read.systems, key=lambda s: s.bbox[1])
    ink = Rows([i for i in items if i.role not in (Role.DROPPED, Role.WORDS)])
    tempos = [t.box for t in reading.tempos if t.page == number] + [i.box for i in items if i.style == TEMPO]
    said_over = [h.box for h in reading.head if h.page == number]
    words = [i.box for i in items if i.role is Role.WORDS and len(i.letters) >= A_NAME]
    stack = _stack([h for h in reading.head if h.page == number], first.space)
    others = [box for box in said_over if box not in stack]
    boxes = [grown(box, 1, 1) for box in _titles(others, tempos, words, ink, first)]
    said = {_plain(w) for h in reading.head for w in (h.text, *h.text.split())} | {"page", str(number + 1)}
    head: list[Item] = []
    rest: list[Item] = []
    # Whatever stands lower than a mark, a tempo or the chords' names of the first line belongs to the music.
    named = [b[1] for b in (*named_boxes(reading, number), *tempos) if b[1] < first.bbox[1]]
    named += _chord_names(items, said_over, first)
    boxes = [b for b in boxes if (b[1] + b[3]) / 2 < min(named, default=first.bbox[1])]
    boxes += [grown(box, 1, 1) for box in stack]
    for item in items:
        found = item.role is not Role.DROPPED and item.style != LYRIC and any(inside(item.box, b) for b in boxes)
        if not found and _is_page_number(item, ink, first) and not any(inside(item.box, t) for t in tempos):
            if any(_ends_line(box, item.box) for box in words):  # a chair's, "Trumpet 1"
                head.append(item)
            continue
        if not found and number and item.role is Role.WORDS and item.box[3] < first.staves[0].top - 3 * first.space:
            found = _is_running(item.letters, said)
        (head if found else rest).append(item)
    marks = named_boxes(reading, number)
    low = [i for i in rest if i.role is Role.WORDS and abs(i.box[2] - first.bbox[2]) > first.space]
    for item in [i for i in rest if i.role is Role.WORDS and i.style != LYRIC]:
        if any(inside(item.box, m) for m in marks):
            continue
        over = first.bbox[1] - item.box[3]
        # The last word of a line in a font of wide spaces is no word of the music, nor is who wrote it, set right.
        right = abs(item.box[2] - first.bbox[2]) < first.space and len(item.letters) >= A_NAME and number == 0
        found = right and over > 0 and any(_level(box, item.box) for box in stack)
        if over > first.space and not found:
            right = right and not _stands_on(item.box, ink, low, first.space) and not _in_row(item, rest)
            found = any(
                _ends_line(h.box, item.box) or (right and (_level(h.box, item.box) or _nearer(item.box, h.box, first)))
                for h in head
            )
        if found:
            rest.remove(item)
            head.append(item)
    return _beside(head, rest, first.space)


def _in_row(item: Item, others: Sequence[Item]) -> bool:
    """Many words are on its line of type, as those sung over a stave are."""
    return sum(o.style == item.style and _level(o.box, item.box) for o in others) > A_ROW


def _stack(said: Sequence[HeadWord], sp: float) -> list[Box]:
    """The title and the lines of type in its middle, each right under the one before and no larger: the tune's and the
    chair's names, however close to the music the last of them comes."""
    title = max(said, key=lambda word: word.size, default=None)
    if title is None or title.size < TITLE * sp:
        return []
    out = [title]
    for word in sorted(said, key=lambda word: word.box[1]):
        last, high = out[-1], word.box[3] - word.box[1]
        aside = abs(word.box[0] + word.box[2] - last.box[0] - last.box[2]) / 2
        if aside < MIDDLE * sp and 0 < word.box[1] - last.box[3] < UNDER * high and word.size <= last.size:
            out.append(word)
    return [word.box for word in out]


def _titles(said: Sequence[Box], tempos: Sequence[Box], words: Sequence[Box], ink: Rows, first: System) -> list[Box]:
    """The words at the head of a page less those of its music: right over its notes, its tempo, other such words, or
    any words that begin where they do."""
    out: list[Box] = []
    music = list(tempos)
    others = [b for b in words if not any(inside(b, grown(box, 1, 1)) for box in said)]
    for box in sorted(said, key=lambda box: -box[3]):
        at_note = _is_at_note(box, ink, first)
        under = music + [b for b in others if at_note or abs(b[0] - box[0]) < TYPE_EDGE * first.space]
        (music if _is_over_music(box, under, ink, first) else out).append(box)
    return out


def _is_over_music(box: Box, words: Sequence[Box], ink: Rows, first: System) -> bool:
    """Small words right over notes of the first line, or over words of its music, not set to its left or right end as
    chairs and names are."""
    sp, (x0, _, x1, _) = first.space, first.bbox
    right = box[2] > x1 - TYPE_EDGE * sp
    if box[3] - box[1] > SMALL_TYPE * sp or box[0] < x0 + TYPE_EDGE * sp:
        return False
    if right and (not _is_at_note(box, ink, first) or first.staves[0].top - box[3] > CLOSE * sp):
        return False
    under = (box[0], box[3] - 0.5 * sp, box[2], box[3] + RIGHT_OVER * sp)
    next_line = (*under[:3], box[3] + LINE_OVER * sp)
    near = [i.box for i in ink.near(under)] + [b for b in words if _meet(b, next_line) and not right]
    lower = box[3] + LOWER * sp  # letters whose font is not known look like signs
    return any(b[1] > box[1] and b[3] > lower for b in near)


def _is_at_note(box: Box, ink: Rows, first: System) -> bool:
    """It begins where a note of the first line does."""
    reach = first.space
    return set_to(box, ink.near((box[0] - reach, box[3], box[0] + reach, first.bbox[3])), reach)


def _stands_on(box: Box, ink: Rows, words: Sequence[Item], sp: float) -> bool:
    """It stands right over notes, or over other words."""
    x0, _, x1, y1 = box
    over_words = (x0, y1 + 0.1 * sp, x1, y1 + LINE_OVER * sp)
    return bool(ink.near((x0, y1, x1, y1 + RIGHT_OVER * sp))) or any(_meet(i.box, over_words) for i in words)


def _chord_names(items: Sequence[Item], said: Sequence[Box], first: System) -> list[float]:
    """The top of the first line's row of chords' names, if it has one."""
    names = [
        i.box for i in items
        if i.role is Role.WORDS and CHORD.fullmatch(i.letters.strip()) and i.box[3] < first.bbox[1]
        and not any(inside(i.box, box) for box in said)
    ]  # fmt: skip
    rows = ([b[1] for b in names if abs(b[3] - one[3]) < 0.5 * first.space] for one in names)
    return [min(row) for row in rows if len(row) >= A_ROW][:1]


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and one[2] > other[0] and one[1] < other[3] and one[3] > other[1]


def _is_page_number(item: Item, ink: Rows, first: System) -> bool:
    """Figures alone, far over the first line and clear of any ink that is no word."""
    if item.role is not Role.WORDS or not _plain(item.letters).isdigit():
        return False
    sp, (x0, _, x1, y1) = first.space, item.box
    return y1 < first.staves[0].top - HIGH * sp and not ink.near((x0 - FREE * sp, 0.0, x1 + FREE * sp, y1 + sp))


def _is_running(letters: str, said: Set[str]) -> bool:
    """Words of the part's own title, or the page's number; no chord's name, though a word there be as short."""
    words = [w for w in map(_plain, letters.split()) if w]
    if all(w in said or (w.isdigit() and "page" in words) for w in words):
        return any(len(w) >= A_WORD or w.isdigit() for w in words)
    whole = "".join(words)  # the title's letters may stand a space apart
    return len(whole) > A_NAME and any(whole in one for one in said)


def _nearer(box: Box, head: Box, first: System) -> bool:
    """It stands under words of the head and nearer to them than to the first stave."""
    return 0 <= box[1] - head[3] < first.staves[0].top - box[3]


def _ends_line(one: Box, other: Box) -> bool:
    """Words of one size on one line of type, a space apart."""
    return _level(one, other) and 0 <= other[0] - one[2] < SPACE * (one[3] - one[1])


def _level(one: Box, other: Box) -> bool:
    """Words of one size on one line of type."""
    high = one[3] - one[1]
    return abs(one[3] - other[3]) < 0.3 * high and abs(one[1] - other[1]) < 0.3 * high


def feet(items: list[Item], page: Page, read: PageReading) -> tuple[list[Item], list[Item]]:
    """Words at the very foot of a page, clear of all music, and the rest; a page number alone is dropped."""
    last = max(read.systems, key=lambda s: s.bbox[3])
    drawn, items = _drawn_foot(items, page, last)
    music = [i.box[3] for i in items if i.role is not Role.WORDS or i.style == LYRIC]
    low, end = max(music, default=0.0), last.bbox[3]
    clear = max(low + 2 * last.space, end + 4 * last.space, 0.88 * page.height)
    close = max(low + 0.5 * last.space, min(max(end + 2.5 * last.space, 0.93 * page.height), 0.95 * page.height))
    low_words = [i.box for i in items if i.role is Role.WORDS and i.box[1] > close]
    foot = [
        i
        for i in items
        if i.role is Role.WORDS
        and (
            i.box[1] > clear
            or (i.box[1] > close and len(i.letters) > A_SENTENCE and _is_set(i.box, low_words, page, last))
        )
    ]
    gone = {id(i) for i in foot}
    return drawn + [i for i in foot if not _plain(i.letters).isdigit()], [i for i in items if id(i) not in gone]


def _drawn_foot(items: list[Item], page: Page, last: System) -> tuple[list[Item], list[Item]]:
    """Lines of type drawn as outlines at the very foot of a page, far under all staves, and the rest."""
    top = max(0.9 * page.height, last.bbox[3] + FAR * last.space)
    low = [i for i in items if i.role is Role.SOLID and i.box[1] > top and i.box[3] - i.box[1] < A_LETTER * last.space]
    foot: list[Item] = []
    gone: set[int] = set()
    for item in sorted(low, key=lambda i: i.box[0]):
        level = [o for o in low if abs(o.box[3] - item.box[3]) < last.space]
        if len(level) < A_SENTENCE:
            continue
        gone.add(id(item))
        line = next((i for i in foot if abs(i.box[3] - item.box[3]) < last.space), None)
        if line is not None and item.box[0] - line.box[2] < FAR * last.space:
            absorb(line, item)
        else:
            foot.insert(0, replace(item, marks=list(item.marks)))
    return foot, [i for i in items if id(i) not in gone]


def _is_set(box: Box, words: Sequence[Box], page: Page, last: System) -> bool:
    """Its line of type is set to the middle of the page or of its music, or to either end of it."""
    box = union([box, *(w for w in words if abs(w[3] - box[3]) < 0.5 * (box[3] - box[1]))])
    near, left = 2 * last.space, last.bbox[0]
    middles = page.width / 2, (left + last.bbox[2]) / 2
    ends = abs(box[0] - left), abs(box[2] - last.bbox[2]), *(abs((box[0] + box[2]) / 2 - m) for m in middles)
    return min(ends) < near or box[0] < left or box[2] - box[0] > 0.5 * (last.bbox[2] - left)


def _beside(head: list[Item], rest: list[Item], sp: float) -> tuple[list[Item], list[Item]]:
    """A raised figure of a chord name may look like a line of its own: what stands beside music is no head word."""
    kept: list[Item] = []
    near = Rows([r for r in rest if r.role is not Role.DROPPED])
    for item in head:
        if any(
            min(item.box[3], o.box[3]) - max(item.box[1], o.box[1]) > 0 for o in near.near(grown(item.box, 0.7 * sp, 0))
        ):
            rest.append(item)
        else:
            kept.append(item)
    return kept, rest


def _plain(text: str) -> str:
    return "".join(c for c in unicodedata.normalize("NFKC", text).casefold() if c.isalnum())


def without_numbers(items: list[Item], page: Page, reading: Reading, number: int) -> list[Item]:
    """Old bar numbers go: the one read at the line's head, and any run of digits that is its bar's number, alone or
    before words ("20 straight")."""
    read = reading.pages[number]
    marks = [grown(b, 1, 1) for b in named_boxes(reading, number)]
    marks += [grown(t.box, 1, 1) for t in reading.tempos if t.page == number]
    boxes = [(s.printed_number_box, s) for s in read.systems if s.printed_number_box]
    boxes += _unread(boxes, items, read.systems, marks)
    heads = [grown(box, 0.5, 0.5) for box, _ in boxes]
    framing = {id(i) for box, s in boxes for i in _frame(box, items, s.space)}
    kept: list[Item] = []
    styles = {i.style for i in items if _is_number(i) and _is_bar_number(i, int(_digits(i)), read.systems)}
    for item in items:
        if id(item) in framing or (item.role is not Role.DROPPED and any(inside(item.box, b) for b in heads)):
            continue
        high = HIGHEST if item.style in styles else HIGH
        if any(inside(item.box, b) for b in marks):
            kept.append(_behind_number(item, page, reading, number, high))
            continue
        if _is_number(item) and _is_bar_number(item, int(_digits(item)), read.systems, high):
            continue
        kept.append(_behind_number(item, page, reading, number, high))
    return kept


def _behind_number(item: Item, page: Page, reading: Reading, number: int, high: float) -> Item:
    """Words without the number of their bar that stands before them; as they are where none does."""
    found = re.match(r"(\d+) (?=\D)", item.letters) if item.role is Role.WORDS else None
    if found is None:
        return item
    marks = sorted(item.marks, key=lambda mark: page.ink[mark].box[0])
    figures, words = marks[: len(found[1])], marks[len(found[1]) :]
    before = "".join(letter(page.ink[mark]) for mark in figures)
    first = replace(item, marks=figures, box=union(page.ink[mark].box for mark in figures), letters=before)
    named = any(inside(first.box, grown(box, 1, 1)) for box in named_boxes(reading, number))
    if before != found[1] or named or not _is_bar_number(first, int(before), reading.pages[number].systems, high):
        return item
    return replace(
        item, marks=words, box=union(page.ink[mark].box for mark in words), letters=item.letters[found.end() :]
    )


def _unread(
    found: Sequence[tuple[Box, System]], items: Sequence[Item], systems: Sequence[System], named: Sequence[Box]
) -> list[tuple[Box, System]]:
    """Numbers at line heads that were not read: ink in the very place and of the height of those that were."""
    out: list[tuple[Box, System]] = []
    known = {id(system) for _, system in found}
    for system in systems if len(found) >= ALIKE else ():
        if id(system) in known:
            continue
        near = 0.2 * system.space
        places = [(box[0], *(system.bbox[1] - other.bbox[1] + box[k] for k in (1, 3))) for box, other in found]
        x0, y0, y1 = (sorted(values)[len(values) // 2] for values in zip(*places, strict=True))
        if sum(max(abs(a - x0), abs(b - y0), abs(c - y1)) < near for a, b, c in places) < ALIKE:
            continue
        place = (x0 - near, y0 - near, x0 + WIDE * (y1 - y0), y1 + near)
        within = [i.box for i in items if i.role is not Role.DROPPED and i.system < 0 and _lies_in(i.box, place)]
        if not within:
            continue
        box = union(within)
        exact = abs(box[0] - x0) < near and abs(box[1] - y0) < near and abs(box[3] - y1) < near
        if exact and not any(inside(box, b) for b in named):
            out.append((box, system))
    return out


def _lies_in(box: Box, place: Box) -> bool:
    return place[0] <= box[0] and place[1] <= box[1] and box[2] <= place[2] and box[3] <= place[3]


WIDE = 2.6
"""Three figures are no wider than so many times their height."""
ALIKE = 2
"""So many numbers of one place and height tell where an unread one is."""


def _digits(item: Item) -> str:
    return item.letters.replace(" ", "")


def _is_number(item: Item) -> bool:
    return item.role is Role.WORDS and _digits(item).isdigit()


def _frame(number: Box, items: Sequence[Item], sp: float) -> list[Item]:
    """The rules of the frame round a number that was read, which had no letters to be gathered with."""
    room = grown(number, 1.5 * sp, 1.5 * sp)
    floating = [i for i in items if i.role is not Role.DROPPED and i.system < 0 and inside(i.box, room)]
    return rules_round(number, floating, sp)


HIGH = 6.5
"""A bar number stands at most so many spaces above its stave; over high notes one of the type of others up to"""
HIGHEST = 16.0


def _is_bar_number(item: Item, value: int, systems: Sequence[System], high: float = HIGH) -> bool:
    x, y = (item.box[0] + item.box[2]) / 2, (item.box[1] + item.box[3]) / 2
    for system in systems:
        sp = system.space
        if not system.bbox[1] - high * sp < y < system.bbox[1] and not system.bbox[3] < y < system.bbox[3] + 4 * sp:
            continue
        if x < system.staves[0].x0 + 2 * sp and system.bars and value == system.bars[0].number:
            return True
        last = system.bars[-1] if system.bars else None
        if last and abs(x - last.x1) < 1.8 * sp and value == last.number + max(1, last.count):
            return True
        for bar in system.bars[1:]:
            middle = (bar.x0 + bar.x1) / 2  # where a long rest's count stands, which may be the same figure
            if abs(x - bar.x0) < 1.8 * sp and value == bar.number and (bar.count == 1 or abs(x - middle) > 1.8 * sp):
                return True
    return False
