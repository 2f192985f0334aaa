"""Whether a tune's parts agree: which part differs, between which marks, and what most parts have there. Pure.

All parts of a tune have the same bars, the same marks and signs at the same bars (common practice: never mark one part
differently). What differs is said as one says it in the room, with the correction that a majority suggests.
"""

from collections import Counter
from collections.abc import Sequence
from typing import Literal, NamedTuple

from collaparte.music.align import PLACEABLE, key
from collaparte.music.consensus import Placing, beside, consensus, told
from collaparte.music.words import count, ordinal
from collaparte.wire.outline import Outline

Kind = Literal[
    "more", "fewer", "pickup", "no-pickup", "missing", "extra", "later", "earlier", "named", "no-marks", "unlike"
]
"""More or fewer bars; a mark or sign that is missing, too many, elsewhere, or has another name; a part that has no
marks at all, or that is not like the others anywhere."""

MOST_SAID = 6
"""A part that differs in more places than this is told so in one sentence, after as many others."""
NAMES_SAID = 3

SIGN_NAMES = {
    "repeat start": "repeat start",
    "repeat end": "repeat end",
    "segno": "segno",
    "coda": "coda sign",
    "to-coda": "To Coda",
    "fine": "Fine",
    "ds": "D.S.",
    "ds-al-coda": "D.S. al Coda",
    "ds-al-fine": "D.S. al Fine",
    "dc": "D.C.",
    "dc-al-coda": "D.C. al Coda",
    "dc-al-fine": "D.C. al Fine",
    "ending": "ending",
}
AFTER = ("repeat end", "to-coda", "fine", "ds", "ds-al-coda", "ds-al-fine", "dc", "dc-al-coda", "dc-al-fine")
"""Signs that stand at the end of a bar: their position is the bar that follows."""
JUMPS = ("ds", "ds-al-coda", "ds-al-fine", "dc", "dc-al-coda", "dc-al-fine")


class Disagreement(NamedTuple):
    """One difference of one part from the others.

    `at`, `right`: 0-based bars in the part where the mark or sign stands (or the stretch with other bars begins) and
    where the others have it; None if there is none or it cannot be said. `after`, `before`: the marks around, "" at
    beginning and end. `bars`: how many more, fewer, later or earlier; "named": how many more marks have other names.
    """

    part: str
    kind: Kind
    words: str
    suggestion: str = ""
    """What a majority suggests, one sentence; empty where there is none."""
    what: str = ""
    """The mark's text or the sign's kind; empty for bars."""
    wanted: str = ""
    """Under which name the others have it (kind "named")."""
    sign: bool = False
    after: str = ""
    before: str = ""
    bars: int = 0
    at: int | None = None
    right: int | None = None
    wide: int = 0
    """Of bars: how many the others have in that stretch."""

    @property
    def said(self) -> str:
        """Words and suggestion."""
        return f"{self.words} {self.suggestion}".rstrip()


class _Found(NamedTuple):
    """A difference before it is in words. `span`: the reference's bars that it is about."""

    kind: Kind
    span: tuple[int, int]
    what: str = ""
    wanted: str = ""
    sign: bool = False
    after: str = ""
    before: str = ""
    bars: int = 0
    at: int | None = None
    right: int | None = None

    def same_place(self, other: "_Found") -> bool:
        if self.kind == "unlike" or other.kind == "unlike":
            return True
        if not self.what or not other.what:
            bars = not self.what and not other.what
            return bars and self.span[0] < other.span[1] and other.span[0] < self.span[1]
        return self.sign == other.sign and (self.span == other.span or key(self.what) == key(other.what))


def disagreements(
    parts: Sequence[tuple[str, Outline]], reference: Outline | None = None, called: str = "the others"
) -> tuple[Disagreement, ...]:
    """Where parts (name, outline) differ from what most of them have; none: they agree. Parts without bars say nothing.

    With a `reference` they are held against that instead, `called` "the score", say; nothing is suggested then.
    """
    heard = [(name, part) for name, part in parts if part.bars]
    if len(heard) < (2 if reference is None else 1):
        return ()
    common = _common([part for _, part in heard]) if reference is None else reference
    bare = common._replace(fewer=())
    found = [(name, part, _differences(part._replace(fewer=()), bare)) for name, part in heard]
    said: list[Disagreement] = []
    for name, part, differences in found:
        others = [(other, theirs) for other, theirs in ((n, d) for n, p, d in found if p is not part)]
        for difference in differences[:MOST_SAID]:
            who = _Others(difference, others, len(common.marks)) if reference is None else None
            said.append(_in_words(name, part, difference, common, who, called))
        if len(differences) > MOST_SAID:
            words = f"{name} differs in {len(differences) - MOST_SAID} more places."
            said.append(Disagreement(name, "unlike", words))
    return tuple(said)


def _common(parts: Sequence[Outline]) -> Outline:
    """What most parts have, whatever numbers they print, with the numbers that most print."""
    fewer = Counter(part.fewer for part in parts).most_common(1)[0][0]
    return consensus([part._replace(fewer=()) for part in parts])._replace(fewer=fewer)


def _differences(part: Outline, common: Outline) -> list[_Found]:
    if part == common:
        return []
    placing = beside(part, common)
    bars, marks = _of_bars(part, common, placing), _of_marks(part, common, placing)
    off = sum(found.bars for found in bars)
    strange = len(part.marks) > 1 < len(common.marks) and all(found.kind in ("missing", "extra") for found in marks)
    if off > (1 - PLACEABLE) * max(part.bars, common.bars) or (strange and len(placing.anchors) == 2):
        return [_Found("unlike", (0, common.bars), bars=abs(part.bars - common.bars))]
    return [*bars, *marks, *_of_signs(part, common, placing)]


def _of_bars(part: Outline, common: Outline, placing: Placing) -> list[_Found]:
    found: list[_Found] = []
    first = placing.anchors[0]
    if part.pickup != common.pickup and first.part != first.ruler:
        found.append(_Found("pickup" if part.pickup else "no-pickup", (0, 1)))
    for one, two in zip(placing.anchors, placing.anchors[1:], strict=False):
        more = (two.part - one.part) - (two.ruler - one.ruler)
        if more:
            span = (one.ruler, two.ruler)
            kind: Kind = "more" if more > 0 else "fewer"
            found.append(_Found(kind, span, after=one.mark, before=two.mark, bars=abs(more), at=one.part))
    return found


def _of_marks(part: Outline, common: Outline, placing: Placing) -> list[_Found]:
    if common.marks and not part.marks:
        return [_Found("no-marks", (0, common.bars), bars=len(common.marks))]
    found = []
    theirs = {(key(a.mark), a.ruler) for a in placing.anchors if a.mark}
    ours = {(key(a.mark), a.part) for a in placing.anchors if a.mark}
    missing = [(text, at) for text, at in common.marks if (key(text), at) not in theirs]
    extra = [(text, at) for text, at in part.marks if (key(text), at) not in ours]
    for text, there in missing:
        right = placing.here(there)
        other = next((m for m in extra if m[1] == right), None)
        same = next((m for m in extra if key(m[0]) == key(text)), None)
        span = (there, there)
        if other:
            extra.remove(other)
            found.append(_Found("named", span, other[0], text, at=other[1], right=right))
        elif same and right is not None:
            extra.remove(same)
            found.append(_elsewhere(text, False, there, same[1] - right, same[1], right))
        else:
            found.append(_Found("missing", span, text, right=right))
    for text, at in extra:
        spot = placing.there(at)
        found.append(_Found("extra", (-1, -1) if spot is None else (spot, spot), text, at=at))
    named = [one for one in found if one.kind == "named"]
    if len(named) > 2:
        # One copyist letters them, another numbers them.
        found = [one for one in found if one.kind != "named"]
        found.append(named[0]._replace(bars=len(named) - 1))
    return found


def _of_signs(part: Outline, common: Outline, placing: Placing) -> list[_Found]:
    """Signs that differ; where lengths differ as well, only kinds are compared, since places cannot be."""
    ours = [(kind, at, placing.there(at)) for kind, at in told(part)]
    theirs = [(kind, placing.here(at), at) for kind, at in told(common)]
    have = Counter((kind, there) for kind, _, there in ours if there is not None)
    want = Counter((kind, there) for kind, _, there in theirs)
    extra = [(kind, at, there) for kind, at, there in ours if there is None or (kind, there) not in want]
    missing = [(kind, right, there) for kind, right, there in theirs if (kind, there) not in have]
    found = []
    for kind, right, there in missing:
        same = next((sign for sign in extra if sign[0] == kind), None)
        jump = next((sign for sign in extra if sign[2] == there and {kind, sign[0]} <= {*JUMPS}), None)
        if jump:
            extra.remove(jump)
            found.append(_Found("named", (there, there), jump[0], kind, True, at=jump[1], right=right))
        elif same:
            extra.remove(same)
            if right is not None and same[2] is not None:
                found.append(_elsewhere(kind, True, there, same[1] - right, same[1], right))
        else:
            found.append(_Found("missing", (there, there), kind, sign=True, right=right))
    for kind, at, spot in extra:
        found.append(_Found("extra", (-1, -1) if spot is None else (spot, spot), kind, sign=True, at=at))
    return found


def _elsewhere(what: str, sign: bool, there: int, later: int, at: int, right: int | None) -> _Found:
    kind: Kind = "later" if later > 0 else "earlier"
    return _Found(kind, (there, there), what, sign=sign, bars=abs(later), at=at, right=right)


class _Others:
    """Those who have it as it should be: how they are called, and whether they are most."""

    def __init__(self, found: _Found, others: Sequence[tuple[str, list[_Found]]], marks: int) -> None:
        witnesses = [(n, d) for n, d in others if not (marks and any(f.kind == "no-marks" for f in d))] or [*others]
        self.names = [n for n, d in witnesses if not any(found.same_place(other) for other in d)]
        self.of = len(witnesses) + 1
        self.most = self.of > 2 and 2 * len(self.names) > self.of
        self.all = len(self.names) == len(witnesses) > 1

    @property
    def words(self) -> str:
        if self.all:
            return "the others"
        if self.most:
            return "most parts"
        if len(self.names) > NAMES_SAID:
            return f"{len(self.names)} other parts"
        return " and ".join(self.names) or "the others"

    @property
    def one(self) -> bool:
        return len(self.names) == 1

    @property
    def share(self) -> str:
        return f"{len(self.names)} of {self.of} parts"


def _in_words(
    name: str, part: Outline, found: _Found, common: Outline, others: _Others | None, called: str
) -> Disagreement:
    who = others.words if others else called
    one = others.one if others else not called.endswith("s")
    has, do = ("has", "does") if one else ("have", "do")
    what = _name(found.what, found.sign)
    wanted = _name(found.wanted, True)
    a, the = ("a ", "the ") if what[:1].islower() else ("", "")
    at = "" if found.at is None else _at(found.at, part, found.what, found.sign)
    there = _right(found, part, common)
    match found.kind:
        case "more" | "fewer":
            place = _where(found.after, found.before)
            words = f"{name} has {_bars(found.bars)} {found.kind} than {who}{', ' if place else ''}{place}."
            cause = "a bar written twice" if found.kind == "more" else "a bar left out"
            length = _bars(found.span[1] - found.span[0])
            suggestion = f"have {length} there: look for {cause}."
        case "pickup":
            words = f"{name} has a pickup that {who} {do} not have."
            suggestion = "begin without it."
        case "no-pickup":
            words = f"{name} does not have the pickup that {who} {has}."
            suggestion = "begin with it."
        case "missing":
            words = f"{name} has no {what}; {who} {has} it {there}."
            suggestion = "have it there: put it in."
        case "extra":
            words = f"{name} has {a}{what} {at}; {who} {do} not have it."
            suggestion = "have none there: take it out."
        case "later" | "earlier":
            far = f"{_bars(found.bars)} {found.kind}"
            words = f"In {name} {the}{what} stands {far} than in {who}: {at}, not {there}."
            suggestion = f"have it {there}: move it."
        case "named":
            more = f", and {found.bars} more under other names" if found.bars else ""
            words = f"{name} has {a}{what} {at} where {who} {has} {wanted}{more}."
            suggestion = f"have {wanted}: rename it."
        case "no-marks":
            these = f"{len(common.marks)} ({common.marks[0][0]} to {common.marks[-1][0]})"
            words = f"{name} has no rehearsal marks; {who} {has} {these if len(common.marks) > 1 else 'one'}."
            suggestion = ""
        case "unlike":
            words = f"{name} has {count(part.bars, 'bar')} where {who} {has} {common.bars}, and they cannot be matched."
            suggestion = ""
    return Disagreement(
        name,
        found.kind,
        words,
        f"{others.share[0].upper()}{others.share[1:]} {suggestion}" if others and others.most and suggestion else "",
        found.what,
        found.wanted,
        found.sign,
        found.after,
        found.before,
        found.bars,
        found.at,
        found.right,
        found.span[1] - found.span[0] if found.kind in ("more", "fewer") else 0,
    )


def _name(what: str, sign: bool) -> str:
    return named(what) if sign else f"mark {what}"


def named(what: str) -> str:
    """What musicians call a sign of an outline: "first ending", "D.S. al Coda"."""
    kind, _, passes = what.partition(" ")
    if kind == "ending" and passes:
        return f"{' and '.join(ordinal(int(time)) for time in passes.split(','))} ending"
    return SIGN_NAMES.get(what, what)


def _right(found: _Found, part: Outline, common: Outline) -> str:
    """Where the others have it: at which bar of this part, or of theirs where this one has no such bar."""
    if found.right is not None:
        return _at(found.right, part, found.wanted or found.what, found.sign)
    return _at(found.span[0], common, found.wanted or found.what, found.sign)


def _at(position: int, part: Outline, what: str, sign: bool) -> str:
    if sign and what in AFTER:
        return f"at the end of bar {part.called(position - 1)}"
    return "at the pickup" if part.pickup and not position else f"at bar {part.called(position)}"


def _where(after: str, before: str) -> str:
    match after, before:
        case "", "":
            return ""
        case "", before:
            return f"before {before}"
        case after, "":
            return f"after {after}"
        case after, before:
            return f"between {after} and {before}"
    raise AssertionError


def _bars(count: int) -> str:
    words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
    return f"{words[count] if count < len(words) else count} bar{'' if count == 1 else 's'}"
