"""What one bar of a MusicXML part says about the form: its marks, jump signs, repeats and endings."""

import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal, NamedTuple
from xml.etree.ElementTree import Element

from collaparte.music.jumpwords import LONGEST, Asked, about_jumps, asked, is_open, times_of

Edge = Literal["start", "end"]

_SOUNDS = {"segno": "segno", "coda": "coda", "tocoda": "to-coda", "dalsegno": "ds", "dacapo": "dc", "fine": "fine"}
"""Attributes of `sound`, as kinds of sign."""
_NAMED = {"segno": "segno", "coda": "coda", "to-coda": "tocoda", "ds": "dalsegno"}
"""The attributes whose value names which pair is meant, by kind."""
_GLYPHS = {"segno": "𝄋", "coda": "𝄌"}
_SYMBOLS = {"segno": "𝄋", "segnoSerpent1": "𝄋", "coda": "𝄌", "codaSquare": "𝄌", "dalSegno": "D.S.", "daCapo": "D.C."}
"""SMuFL names of signs in `symbol`."""
_MANY = 9999
INSIDE = Fraction(1, 8)
"""A sign at most this share of its bar from a bar line was set to that."""
_MOST = 100
"""Directions of a bar that are looked at."""
_BEATS = {"whole": "𝅝", "half": "𝅗𝅥", "quarter": "♩", "eighth": "♪", "16th": "𝅘𝅥𝅯"}


class Sign(NamedTuple):
    """A jump sign of a bar; fields as in `wire.chart.ChartSign` but for its name: `token` as a machine has it, `label`
    as it is printed. `last`: it holds at the last time through. `again`: whether repeats are taken after the jump.
    `often`, `ending`: as in `jumpwords.Asked`."""

    kind: str
    at: Edge
    token: str = ""
    label: str = ""
    passes: tuple[int, ...] = ()
    coda: str = ""
    last: bool = False
    again: bool | None = None
    often: bool = False
    ending: int = 0

    @property
    def base(self) -> str:
        """The kind without where it leads: "ds" of "ds-al-coda"."""
        return base_of(self.kind)


class Repeat(NamedTuple):
    """A repeat sign at an edge of a bar. `times`: how often the bars are played in all, None if it does not say."""

    side: Edge
    at: Edge
    times: int | None = None
    after_jump: bool | None = None


class Bracket(NamedTuple):
    """An ending that begins, or is over, at an edge of a bar. `number`: as written; `printed`: as shown."""

    begins: bool
    at: Edge
    number: str
    printed: str = ""


@dataclass
class Bar:
    """One bar as written. `counts`: how often words over it say that it is played; `open`: words that leave that to a
    cue. `ends`: a final bar line without a repeat closes it. `about`: words about jumps that were not understood.
    `odd`: what else could not be used."""

    number: str
    implicit: bool
    marks: list[tuple[str, Edge]] = field(default_factory=list)
    signs: list[Sign] = field(default_factory=list)
    repeats: list[Repeat] = field(default_factory=list)
    brackets: list[Bracket] = field(default_factory=list)
    tempo: str = ""
    meter: str = ""
    counts: list[int] = field(default_factory=list)
    open: list[str] = field(default_factory=list)
    ends: bool = False
    about: list[str] = field(default_factory=list)
    odd: list[str] = field(default_factory=list)


class _Claim(NamedTuple):
    """One thing in a bar that says "here is a sign of this kind"."""

    kind: str
    source: Literal["words", "sound", "glyph"]
    said: "_Said"
    asked: Asked | None = None

    @property
    def base(self) -> str:
        return base_of(self.kind)


class _Said(NamedTuple):
    """One direction, or a `sound` by itself: where in the bar, in divisions, and what it says; `printed`: its words
    with its signs as characters, `marks`: its rehearsal marks."""

    position: Fraction
    words: str
    printed: str
    glyphs: tuple[str, ...]
    marks: tuple[str, ...]
    sound: dict[str, str]
    element: Element


def base_of(kind: str) -> str:
    """A kind of sign without where it leads: "ds" of "ds-al-coda"."""
    return kind[:2] if kind[:3] in ("ds-", "dc-") else kind


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
            case "attributes":
                bar.meter = bar.meter or _meter(child)
            case "direction":
                said.append(_direction(child, here))
            case "sound":
                here_too = here + _number(child.findtext("offset"))
                said.append(_Said(here_too, "", "", (), (), dict(child.attrib), child))
            case "barline":
                _barline(bar, child)
        length = max(length, here)
    said = said[:_MOST]
    _signs(bar, said, length)
    bar.marks += [(text, _edge(one.position, length)) for one in said for text in one.marks]
    bar.counts += [times for one in said if (times := times_of(one.words))]
    bar.open = [one.words[:LONGEST] for one in said if is_open(one.words)]
    bar.tempo = next((tempo for one in said if (tempo := _tempo(one)[:LONGEST])), "")
    return bar


def _direction(element: Element, here: Fraction) -> _Said:
    sound = element.find("sound")
    shown: list[tuple[str, str]] = []
    for child in element.iterfind("direction-type/*"):
        text = " ".join("".join(child.itertext()).split())
        if child.tag in ("words", "other-direction", "rehearsal"):
            shown.append((child.tag, text))
        elif child.tag in _GLYPHS:
            shown.append(("sign", _GLYPHS[child.tag]))
        elif child.tag == "symbol" and text in _SYMBOLS:
            shown.append(("sign" if _SYMBOLS[text] in _GLYPHS.values() else "words", _SYMBOLS[text]))
    return _Said(
        here + _number(element.findtext("offset")),
        " ".join(text for tag, text in shown if tag in ("words", "other-direction") and text),
        " ".join(text for tag, text in shown if tag != "rehearsal" and text),
        tuple(text for tag, text in shown if tag == "sign"),
        tuple(text for tag, text in shown if tag == "rehearsal" and text),
        dict(sound.attrib) if sound is not None else {},
        element,
    )


def _edge(position: Fraction, length: Fraction) -> Edge:
    """A sign belongs to the bar line that is nearer to it: behind the last note, to the one that follows."""
    return "end" if 2 * position > length > 0 else "start"


def _signs(bar: Bar, said: list[_Said], length: Fraction) -> None:
    """The bar's jump signs, each once however often it is said."""
    claims = _claims(bar, said)
    for one in said:
        if _on(one.sound.get("forward-repeat")):
            bar.repeats.append(Repeat("start", _edge(one.position, length)))
    for base in dict.fromkeys(claim.base for claim in claims):
        those = [claim for claim in claims if claim.base == base]
        sound = next((claim for claim in those if claim.source == "sound"), None)
        printed = next((claim.asked for claim in those if claim.asked), Asked(base))
        landing = base in ("segno", "coda")
        where = (sound or those[0]).said
        machine = sound.said.sound if sound else {}
        if landing and INSIDE * length < where.position < (1 - INSIDE) * length:
            edge = "before" if _edge(where.position, length) == "start" else "behind"
            bar.odd.append(f"has a {base} inside it, which is taken to stand at the bar line {edge} it")
        bar.signs.append(
            Sign(
                # "D.S. al Coda" says more than the sound "dalsegno", which stands behind it.
                max((claim.kind for claim in those), key=len),
                _edge(where.position, length) if landing else "end",
                machine.get(_NAMED.get(base, ""), ""),
                printed.segno if base in ("segno", "ds") else printed.coda if base in ("coda", "to-coda") else "",
                () if landing else printed.passes or _passes(machine.get("time-only", "")),
                printed.coda if base in ("ds", "dc") else "",
                printed.last,
                printed.again,
                printed.often,
                printed.ending,
            )
        )


def _claims(bar: Bar, said: list[_Said]) -> list[_Claim]:
    """All claims of a bar that hold: words before sounds where they contradict each other."""
    spoken, used = _spoken(said)
    claims = [_Claim(one.kind, "words", said[n], one) for n, one in spoken.items()]
    jumps = {claim.base for claim in claims} & {"ds", "dc"}
    for n, one in enumerate(said):
        own = {base_of(said_too.kind) for said_too in (spoken.get(n), asked(one.words)) if said_too}
        sounds = [_Claim(kind, "sound", one) for key, kind in _SOUNDS.items() if _on(one.sound.get(key))]
        for claim in sounds:
            instead = own or (jumps if claim.base in ("ds", "dc") else set())
            if instead and claim.base not in instead:
                words = (one.words or next(o.said.words for o in claims if o.base in instead))[:LONGEST]
                bar.odd.append(f'says "{words}" in print but something else to a machine; the print holds')
            else:
                claims.append(claim)
        # A boxed "Coda" over a bar is a mark, and says where to land.
        boxed = [mark for text in one.marks if (mark := asked(text)) and mark.kind in ("segno", "coda")]
        claims += [_Claim(mark.kind, "words", one, mark) for mark in boxed]
        if n not in used and not sounds:
            bare = asked(" ".join(one.glyphs))
            claims += [_Claim(bare.kind, "glyph", one, bare)] if bare else []
            bar.about += [one.words[:LONGEST]] if about_jumps(one.words) else []
    leaves = any(claim.base == "to-coda" for claim in claims)
    # A coda sign beside "To Coda" belongs to it.
    return [claim for claim in claims if not (leaves and claim.base == "coda" and claim.source == "glyph")]


def _spoken(said: list[_Said]) -> tuple[dict[int, Asked], set[int]]:
    """What the words of the bar's directions ask for, by direction, and all directions that it takes: words that are
    split over several are put together, with the coda sign behind a bare "To"."""
    texts = [(n, one.printed) for n, one in enumerate(said) if one.words or one.glyphs == (_GLYPHS["coda"],)]
    found: dict[int, Asked] = {}
    used: set[int] = set()
    place = 0
    while place < len(texts):
        taken = 1
        for several in (3, 2, 1):
            those = texts[place : place + several]
            if several > len(those) or not said[those[0][0]].words:
                continue
            # A sign on its own is needed, or it is not part of the words.
            bare = several > 1 and not said[those[-1][0]].words
            ask = None if bare and _asked([said[n] for n, _ in those[:-1]]) else _asked([said[n] for n, _ in those])
            if ask:
                found[those[0][0]] = ask
                used |= {n for n, _ in those}
                taken = several
                break
        place += taken
    return found, used


def _asked(several: list[_Said]) -> Asked | None:
    """What directions ask for that follow each other, with their signs or, if that makes no sense, without."""
    return asked(" ".join(one.printed for one in several)) or asked(" ".join(one.words for one in several))


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
    if edge == "end" and repeat is None and element.findtext("bar-style") == "light-heavy":
        bar.ends = True
    if repeat is not None:
        times, again = repeat.get("times", ""), repeat.get("after-jump")
        side: Edge = "start" if repeat.get("direction") == "forward" else "end"
        count = min(max(int(times[:9]), 1), _MANY) if times.isascii() and times.isdigit() else None
        bar.repeats.append(Repeat(side, edge, count, again == "yes" if again in ("yes", "no") else None))
    if ending is not None:
        printed = (ending.text or "").strip()
        bar.brackets.append(Bracket(ending.get("type") == "start", edge, ending.get("number", ""), printed))


def _tempo(said: _Said) -> str:
    """Tempo words as they are printed: "Slow swing ♩ = 96"."""
    metronome = said.element.find("direction-type/metronome")
    if metronome is None:
        return said.words if "tempo" in said.sound else ""
    beat, rate = metronome.findtext("beat-unit", ""), metronome.findtext("per-minute", "")
    dots = "." * len(metronome.findall("beat-unit-dot"))
    return f"{said.words} {_BEATS[beat]}{dots} = {rate}".strip() if beat in _BEATS and rate else said.words


def _meter(attributes: Element) -> str:
    """A meter as it is printed: "3/4"; "" if there is none, or none in figures."""
    beats, kind = attributes.findtext("time/beats", "").strip(), attributes.findtext("time/beat-type", "").strip()
    return f"{beats}/{kind}" if re.fullmatch(r"[\d+]{1,9}/\d{1,3}", f"{beats}/{kind}") else ""


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
