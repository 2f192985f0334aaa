"""Jump signs of a MusicXML score, from what the bars of all its parts say: each once, with its name and its turns.

Words and sounds name pairs in their own ways ("Coda 2" in print, `coda="c2"` for a machine); where one sign has both
names, they are one. Common practice: a turn that words name ("2nd time") counts the times through the bar, but over an
ending it is the time of that ending.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence

import msgspec

from collaparte.music.barsigns import Bar, Sign
from collaparte.music.sections import Nonsense, Section, sections
from collaparte.wire.chart import BarId, Chart, ChartSign

_LANDINGS = ("segno", "coda")


def signs(parts: Iterable[Sequence[Bar]]) -> list[tuple[int, Sign]]:
    """All signs with the places (0-based) of their bars; a landing may stand behind the last bar, at its end.

    Of each kind the first part that has it leads; what other parts say at the same place is added to it.
    """
    found: dict[tuple[str, int], Sign] = {}
    led: set[str] = set()
    for part in parts:
        own = {}
        for place, bar in enumerate(part):
            for sign in bar.signs:
                if sign.base in _LANDINGS:
                    behind = sign.at == "end" and place + 1 < len(part)
                    own[sign.base, place + behind] = sign._replace(at="start") if behind else sign
                else:
                    own[sign.base, place] = sign
        for key, sign in own.items():
            if key in found:
                found[key] = _both(found[key], sign)
            elif key[0] not in led:
                found[key] = sign
        led |= {base for base, _ in own}
    return sorted(((place, sign) for (_, place), sign in found.items()), key=lambda one: one[0])


def chart_signs(found: Sequence[tuple[int, Sign]], ids: Sequence[BarId]) -> tuple[ChartSign, ...]:
    """The signs as a chart has them, each pair under one name; turns as they are said."""
    of = {"ds": "segno", "to-coda": "coda"}
    tokens = {(of.get(sign.base, sign.base), sign.label): sign.token for _, sign in found if sign.label and sign.token}
    return tuple(
        ChartSign(
            sign.kind,
            ids[place],
            sign.at,
            sign.token or tokens.get((of.get(sign.base, sign.base), sign.label), sign.label),
            sign.passes,
            tokens.get(("coda", sign.coda), sign.coda),
            sign.ending,
        )
        for place, sign in found
    )


def with_turns(chart: Chart, found: Sequence[tuple[int, Sign]]) -> tuple[ChartSign, ...]:
    """The chart's signs, turns counted by the times through their own bars; `found`: what they were made of."""
    try:
        repeated = sections(chart).sections
    except Nonsense:
        return chart.signs
    jumps = any(sign.base in ("ds", "dc") for _, sign in found)
    firsts = [section.first for section in repeated]
    turned = []
    for said, (place, sign) in zip(chart.signs, found, strict=True):
        before = bisect_right(firsts, place)
        section = repeated[before - 1] if before and place <= repeated[before - 1].last else None
        passes = said.passes
        if passes and sign.often and not (section and section.times >= max(passes)):
            passes = tuple(range(1, max(passes) + 1))
        if section and sign.last and not jumps:
            passes = (section.times,)
        if section and passes:
            passes = _in_ending(section, place, passes)
        turned.append(msgspec.structs.replace(said, passes=passes))
    return tuple(turned)


def _in_ending(section: Section, place: int, passes: tuple[int, ...]) -> tuple[int, ...]:
    """Times through a section as times through the ending that the bar stands in, if it stands in one."""
    ending = next((ending for ending in section.endings if ending.first <= place <= ending.last), None)
    if not ending or not ending.passes.issuperset(passes):
        return passes
    return tuple(sorted(ending.passes).index(number) + 1 for number in passes)


def _both(first: Sign, other: Sign) -> Sign:
    return Sign(
        max(first.kind, other.kind, key=len),
        first.at,
        first.token or other.token,
        first.label or other.label,
        first.passes or other.passes,
        first.coda or other.coda,
        first.last or other.last,
        other.again if first.again is None else first.again,
        first.often or other.often,
        first.ending or other.ending,
    )
