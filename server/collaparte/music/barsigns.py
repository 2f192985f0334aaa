"""What one bar of a MusicXML part says about the form: its marks, jump signs, repeats and endings."""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal, NamedTuple
from xml.etree.ElementTree import Element

from collaparte.music.jumpwords import about_jumps, kind_of

Edge = Literal["start", "end"]

_SOUNDS = {"segno": "segno", "coda": "coda", "tocoda": "to-coda", "dalsegno": "ds", "dacapo": "dc", "fine": "fine"}
"""Attributes of `sound`, as kinds of sign."""
_NAMED = {"segno": "segno", "coda": "coda", "to-coda": "tocoda", "ds": "dalsegno"}
"""The attributes whose value names which pair is meant, by kind."""
_BEATS = {"whole": "𝅝", "half": "𝅗𝅥", "quarter": "♩", "eighth": "♪", "16th": "𝅘𝅥𝅯"}


class Sign(NamedTuple):
    """A jump sign of a bar; fields as in `wire.chart.ChartSign`."""

    kind: str
    at: Edge
    name: str = ""
    passes: tuple[int, ...] = ()


class Repeat(NamedTuple):
    """A repeat sign at an edge of a bar."""

    side: Edge
    at: Edge
    times: int = 2
    after_jump: bool | None = None


class Bracket(NamedTuple):
    """An ending that begins, or is over, at an edge of a bar. `number`: as written."""

    begins: bool
    at: Edge
    number: str


@dataclass
class Bar:
    """One bar as written. `about`: words about jumps that were not understood. `odd`: what else could not be used."""

    number: str
    implicit: bool
    marks: list[tuple[str, Edge]] = field(default_factory=list)
    signs: list[Sign] = field(default_factory=list)
    repeats: list[Repeat] = field(default_factory=list)
    brackets: list[Bracket] = field(default_factory=list)
    tempo: str = ""
    about: list[str] = field(default_factory=list)
    odd: list[str] = field(default_factory=list)


class _Claim(NamedTuple):
    """One thing in a bar that says "here is a sign of this kind"."""

    kind: str
    source: Literal["words", "sound", "glyph"]
    said: "_Said"

    @property
    def base(self) -> str:
        """The kind without where it leads: "D.S." of "D.S. al Coda"."""
        return self.kind[:2] if self.kind[:3] in ("ds-", "dc-") else self.kind


class _Said(NamedTuple):
    """One direction, or a `sound` by itself: where in the bar, in divisions, and what it says."""

    position: Fraction
    words: str
    glyphs: frozenset[str]
    sound: dict[str, str]
    element: Element


def bar_of(measure: Element) -> Bar:
    """What a `measure` of one part says."""
    bar = Bar(measure.get("number", "").strip(), measure.get("implicit") == "yes")
    if measure.get("non-controlling") == "yes":
        bar.odd.append("has bar lines of its own in some parts")
    said: list[_Said] = []
    here = length = Fraction(0)
    for child in measure:
        match child.tag:
            case "note" if child.find("chord") is None and child.find("grace") is None:
                here += _number(child.findtext("duration"))
            case "forward":
                here += _number(child.findtext("duration"))
            case "backup":
                here -= _number(child.findtext("duration"))
            case "direction":
                said.append(_direction(child, here))
            case "sound":
                said.append(_Said(here + _number(child.findtext("offset")), "", frozenset(), dict(child.attrib), child))
            case "barline":
                _barline(bar, child)
        length = max(length, here)
    _signs(bar, said, length)
    for one in said:
        for mark in one.element.iterfind("direction-type/rehearsal"):
            text = " ".join("".join(mark.itertext()).split())
            if text:
                bar.marks.append((text, _edge(one.position, length)))
    bar.tempo = next((tempo for one in said if (tempo := _tempo(one))), "")
    return bar


def _direction(element: Element, here: Fraction) -> _Said:
    sound = element.find("sound")
    words = " ".join("".join(part.itertext()) for part in element.iterfind("direction-type/words"))
    glyphs = frozenset(kind for kind in ("segno", "coda") if element.find(f"direction-type/{kind}") is not None)
    position = here + _number(element.findtext("offset"))
    return _Said(position, " ".join(words.split()), glyphs, dict(sound.attrib) if sound is not None else {}, element)


def _edge(position: Fraction, length: Fraction) -> Edge:
    """A sign behind the last note belongs to the bar line that follows."""
    return "end" if position >= length > 0 else "start"


def _signs(bar: Bar, said: list[_Said], length: Fraction) -> None:
    """The bar's jump signs, each once however often it is said."""
    claims = _claims(bar, said)
    for one in said:
        if _on(one.sound.get("forward-repeat")):
            bar.repeats.append(Repeat("start", _edge(one.position, length)))
    for base in dict.fromkeys(claim.base for claim in claims):
        those = [claim for claim in claims if claim.base == base]
        sound = next((claim for claim in those if claim.source == "sound"), None)
        landing = base in ("segno", "coda")
        where = (sound or those[0]).said
        said_by = sound.said.sound if sound else {}
        bar.signs.append(
            Sign(
                # "D.S. al Coda" says more than the sound "dalsegno", which stands behind it.
                max((claim.kind for claim in those), key=len),
                _edge(where.position, length) if landing else "end",
                said_by.get(_NAMED.get(base, ""), ""),
                _passes(said_by.get("time-only", "")) if not landing else (),
            )
        )


def _claims(bar: Bar, said: list[_Said]) -> list[_Claim]:
    """All claims of a bar that hold: words before sounds where they contradict each other."""
    spoken, used = _spoken(said)
    claims = [_Claim(kind, "words", said[n]) for n, kind in spoken.items()]
    jumps = {claim.base for claim in claims} & {"ds", "dc"}
    for n, one in enumerate(said):
        own = {_Claim(kind, "words", one).base for kind in (spoken.get(n), kind_of(one.words)) if kind}
        sounds = [_Claim(kind, "sound", one) for key, kind in _SOUNDS.items() if _on(one.sound.get(key))]
        for claim in sounds:
            instead = own or (jumps if claim.base in ("ds", "dc") else set())
            if instead and claim.base not in instead:
                words = one.words or next(other.said.words for other in claims if other.base in instead)
                bar.odd.append(f'says "{words}" in print but something else to a machine; the print holds')
            else:
                claims.append(claim)
        if not own and not sounds:
            claims += [_Claim(kind, "glyph", one) for kind in sorted(one.glyphs)]
            if n not in used and about_jumps(one.words):
                bar.about.append(one.words)
    leaves = any(claim.base == "to-coda" for claim in claims)
    # A coda sign beside "To Coda" belongs to it.
    return [claim for claim in claims if not (leaves and claim.base == "coda" and claim.source != "sound")]


def _spoken(said: list[_Said]) -> tuple[dict[int, str], set[int]]:
    """What the words of the bar's directions say, by direction, and all directions that it takes: words that are split
    over several are put together."""
    texts = [(n, one.words) for n, one in enumerate(said) if one.words]
    found: dict[int, str] = {}
    used: set[int] = set()
    place = 0
    while place < len(texts):
        several = (count for count in (3, 2, 1) if place + count <= len(texts))
        kinds = ((count, kind_of(" ".join(text for _, text in texts[place : place + count]))) for count in several)
        count, kind = next(((count, kind) for count, kind in kinds if kind), (1, ""))
        if kind:
            found[texts[place][0]] = kind
            used |= {n for n, _ in texts[place : place + count]}
        place += count
    return found, used


def _barline(bar: Bar, element: Element) -> None:
    location = element.get("location", "right")
    edge: Edge = "start" if location == "left" else "end"
    repeat, ending = element.find("repeat"), element.find("ending")
    if location == "middle":
        if repeat is not None:
            bar.odd.append("has a repeat sign in its middle, which is left out")
        return
    for kind in ("segno", "coda"):
        if element.find(kind) is not None or _on(element.get(kind)):
            bar.signs.append(Sign(kind, edge, element.get(kind, "")))
    if repeat is not None:
        times, again = repeat.get("times", ""), repeat.get("after-jump")
        side: Edge = "start" if repeat.get("direction") == "forward" else "end"
        count = int(times) if times.isascii() and times.isdigit() and 0 < len(times) < 5 else 2
        bar.repeats.append(Repeat(side, edge, max(count, 1), again == "yes" if again in ("yes", "no") else None))
    if ending is not None:
        bar.brackets.append(Bracket(ending.get("type") == "start", edge, ending.get("number", "")))


def _tempo(said: _Said) -> str:
    """Tempo words as they are printed: "Slow swing ♩ = 96"."""
    metronome = said.element.find("direction-type/metronome")
    if metronome is None:
        return said.words if "tempo" in said.sound else ""
    beat, rate = metronome.findtext("beat-unit", ""), metronome.findtext("per-minute", "")
    dots = "." * len(metronome.findall("beat-unit-dot"))
    return f"{said.words} {_BEATS[beat]}{dots} = {rate}".strip() if beat in _BEATS and rate else said.words


def _on(value: str | None) -> bool:
    """An attribute that is there and does not say "no"; `fine` may be a duration."""
    return value is not None and value != "no"


def _passes(text: str) -> tuple[int, ...]:
    """A `time-only` list."""
    return tuple(
        int(word) for word in text.replace(" ", "").split(",") if word.isascii() and word.isdigit() and word != "0"
    )


def _number(text: str | None) -> Fraction:
    """A duration in divisions; 0 for what is none."""
    try:
        number = float(text or 0)
        return Fraction(number) if abs(number) < 1e9 else Fraction(0)
    except ValueError:
        return Fraction(0)
