"""What a glyph is, from its name or its code point, whatever the font.

Code points of the private area are SMuFL's (Standard Music Font Layout 1.4, glyph tables); U+1D100-1D1FF is
the Musical Symbols block of Unicode. Names are SMuFL's canonical ones and the dotted ones that older
engraving fonts use ("rests.2", "clefs.G").
"""

import re
import unicodedata
from functools import lru_cache
from typing import NamedTuple


class Sort(NamedTuple):
    """`kind` is the sort of sign ("head", "rest", "clef", "digit", "letter", ...; "": unknown), `value` which one."""

    kind: str
    value: str


UNKNOWN = Sort("", "")
OTHER = Sort("other", "")

_RANGES: tuple[tuple[int, int, Sort], ...] = (
    (0xE000, 0xE00C, Sort("brace", "")),
    (0xE010, 0xE02F, Sort("stave", "")),
    (0xE030, 0xE03F, Sort("barline", "")),
    (0xE050, 0xE05B, Sort("clef", "g")),
    (0xE05C, 0xE061, Sort("clef", "c")),
    (0xE062, 0xE068, Sort("clef", "f")),
    (0xE069, 0xE06C, Sort("clef", "percussion")),
    (0xE06D, 0xE06E, Sort("clef", "tab")),
    (0xE06F, 0xE079, Sort("clef", "g")),
    (0xE08C, 0xE09F, Sort("meter", "")),
    (0xE0A5, 0xE0FF, Sort("head", "black")),
    (0xE100, 0xE10F, Sort("head", "slash")),
    (0xE110, 0xE1AF, OTHER),
    (0xE1B0, 0xE1CF, Sort("head", "black")),
    (0xE1D0, 0xE1E6, Sort("note", "")),
    (0xECA0, 0xECB6, Sort("note", "")),
    (0xE1F0, 0xE21F, Sort("note", "")),
    (0xE220, 0xE23F, OTHER),
    (0xE250, 0xE25F, OTHER),
    (0xE265, 0xE43F, Sort("accidental", "other")),
    (0xE440, 0xE4DF, OTHER),
    (0xE4F2, 0xE4F6, Sort("rest", "quarter")),
    (0xE4F7, 0xE4FF, OTHER),
    (0xE510, 0xE51F, OTHER),
    (0xE520, 0xE54F, Sort("dynamic", "")),
    (0xE550, 0xE87F, OTHER),
    (0xE88A, 0xED0F, OTHER),
    (0xED10, 0xED2F, OTHER),
    (0xED30, 0xEFFF, OTHER),
)

_SINGLE: dict[int, Sort] = {
    0xE040: Sort("barline", "repeat-start"),
    0xE041: Sort("barline", "repeat-end"),
    0xE042: Sort("barline", "repeat-both"),
    0xE030: Sort("barline", "single"),
    0xE031: Sort("barline", "double"),
    0xE032: Sort("barline", "final"),
    0xE033: Sort("barline", "thick-thin"),
    0xE034: Sort("barline", "thick"),
    0xE036: Sort("barline", "dashed"),
    0xE037: Sort("barline", "dashed"),
    0xE043: Sort("repeat-dots", ""),
    0xE044: Sort("dot", ""),
    0xE045: Sort("jump", "D.S."),
    0xE046: Sort("jump", "D.C."),
    0xE047: Sort("segno", ""),
    0xE048: Sort("coda", ""),
    0xE049: Sort("coda", ""),
    0xE04A: Sort("segno", ""),
    0xE04B: Sort("segno", ""),
    0xE07A: Sort("clef", "g"),
    0xE07B: Sort("clef", "c"),
    0xE07C: Sort("clef", "f"),
    0xE08A: Sort("meter", "common"),
    0xE08B: Sort("meter", "cut"),
    0xE0A0: Sort("head", "breve"),
    0xE0A1: Sort("head", "breve"),
    0xE0A2: Sort("head", "whole"),
    0xE0A3: Sort("head", "half"),
    0xE0A4: Sort("head", "black"),
    0xE0A6: Sort("head", "breve"),
    0xE0A7: Sort("head", "whole"),
    0xE0A8: Sort("head", "half"),
    0xE0FA: Sort("head", "whole"),
    0xE0FB: Sort("head", "half"),
    0xE102: Sort("head", "whole"),
    0xE103: Sort("head", "half"),
    0xE1E7: Sort("dot", ""),
    0xECB7: Sort("dot", ""),
    0xE240: Sort("flag", "8th"),
    0xE241: Sort("flag", "8th"),
    0xE242: Sort("flag", "16th"),
    0xE243: Sort("flag", "16th"),
    0xE244: Sort("flag", "32nd"),
    0xE245: Sort("flag", "32nd"),
    0xE246: Sort("flag", "64th"),
    0xE247: Sort("flag", "64th"),
    0xE260: Sort("accidental", "flat"),
    0xE261: Sort("accidental", "natural"),
    0xE262: Sort("accidental", "sharp"),
    0xE263: Sort("accidental", "double-sharp"),
    0xE264: Sort("accidental", "double-flat"),
    0xE4E0: Sort("rest", "maxima"),
    0xE4E1: Sort("rest", "longa"),
    0xE4E2: Sort("rest", "breve"),
    0xE4E3: Sort("rest", "whole"),
    0xE4E4: Sort("rest", "half"),
    0xE4E5: Sort("rest", "quarter"),
    0xE4E6: Sort("rest", "8th"),
    0xE4E7: Sort("rest", "16th"),
    0xE4E8: Sort("rest", "32nd"),
    0xE4E9: Sort("rest", "64th"),
    0xE4EA: Sort("rest", "64th"),
    0xE4EE: Sort("h-bar", ""),
    0xE4EF: Sort("h-bar", ""),
    0xE4F0: Sort("h-bar", ""),
    0xE4F1: Sort("h-bar", ""),
    0xE500: Sort("repeat-bar", "1"),
    0xE501: Sort("repeat-bar", "2"),
    0xE502: Sort("repeat-bar", "4"),
    0xE503: Sort("dot", ""),
    0xE504: Sort("repeat-bar", "slash"),
    0xE505: Sort("dot", ""),
    # Unicode's Musical Symbols block
    0x1D100: Sort("barline", "single"),
    0x1D101: Sort("barline", "double"),
    0x1D102: Sort("barline", "final"),
    0x1D106: Sort("barline", "repeat-start"),
    0x1D107: Sort("barline", "repeat-end"),
    0x1D109: Sort("jump", "D.S."),
    0x1D10A: Sort("jump", "D.C."),
    0x1D10B: Sort("segno", ""),
    0x1D10C: Sort("coda", ""),
    0x1D10E: Sort("repeat-bar", "slash"),
    0x1D10F: Sort("repeat-bar", "1"),
    0x1D110: OTHER,
    0x1D11E: Sort("clef", "g"),
    0x1D121: Sort("clef", "c"),
    0x1D122: Sort("clef", "f"),
    0x1D125: Sort("clef", "percussion"),
    0x1D129: Sort("h-bar", ""),
    0x1D134: Sort("meter", "common"),
    0x1D135: Sort("meter", "cut"),
    0x1D13A: Sort("rest", "breve"),
    0x1D13B: Sort("rest", "whole"),
    0x1D13C: Sort("rest", "half"),
    0x1D13D: Sort("rest", "quarter"),
    0x1D13E: Sort("rest", "8th"),
    0x1D13F: Sort("rest", "16th"),
    0x1D157: Sort("head", "whole"),
    0x1D158: Sort("head", "black"),
    0x266D: Sort("accidental", "flat"),
    0x266E: Sort("accidental", "natural"),
    0x266F: Sort("accidental", "sharp"),
}
_SINGLE.update({0xE080 + n: Sort("digit", str(n)) for n in range(10)})
# Notes as small signs, stems up and down: of the range of notes, and of that of metronome marks (SMuFL, from memory).
for _first in (0xE1D2, 0xECA2):
    for _n, _note in enumerate(("whole", "half", "half", "quarter", "quarter", "8th", "8th", "16th", "16th")):
        _SINGLE[_first + _n] = Sort("note", _note)
_SINGLE.update({0xE880 + n: Sort("tuplet", str(n)) for n in range(10)})

_REST_NAMES = {
    "M3": "maxima",
    "M2": "longa",
    "M1": "breve",
    "0": "whole",
    "1": "half",
    "2": "quarter",
    "3": "8th",
    "4": "16th",
    "5": "32nd",
    "6": "64th",
    "7": "64th",
}
_FLAG_VALUES = {"3": "8th", "4": "16th", "5": "32nd", "6": "64th", "7": "64th"}

_CANONICAL: tuple[tuple[re.Pattern[str], Sort], ...] = tuple(
    (re.compile(pattern), sort)
    for pattern, sort in (
        (r"gClef", Sort("clef", "g")),
        (r"fClef", Sort("clef", "f")),
        (r"cClef", Sort("clef", "c")),
        (r"unpitchedPercussionClef|semipitchedPercussionClef", Sort("clef", "percussion")),
        (r"6stringTabClef|4stringTabClef", Sort("clef", "tab")),
        (r"timeSigCommon", Sort("meter", "common")),
        (r"timeSigCutCommon", Sort("meter", "cut")),
        (r"timeSig[A-Z]", Sort("meter", "")),
        (r"noteheadSlash", Sort("head", "slash")),
        (r"notehead\w*DoubleWhole", Sort("head", "breve")),
        (r"notehead\w*Whole", Sort("head", "whole")),
        (r"notehead\w*Half", Sort("head", "half")),
        (r"notehead", Sort("head", "black")),
        (r"augmentationDot|repeatDot$", Sort("dot", "")),
        (r"repeatDots", Sort("repeat-dots", "")),
        (r"accidentalFlat$", Sort("accidental", "flat")),
        (r"accidentalNatural$", Sort("accidental", "natural")),
        (r"accidentalSharp$", Sort("accidental", "sharp")),
        (r"accidentalDoubleFlat", Sort("accidental", "double-flat")),
        (r"accidentalDoubleSharp", Sort("accidental", "double-sharp")),
        (r"accidental", Sort("accidental", "other")),
        (r"restHBar", Sort("h-bar", "")),
        (r"restMaxima", Sort("rest", "maxima")),
        (r"restLonga", Sort("rest", "longa")),
        (r"restDoubleWhole", Sort("rest", "breve")),
        (r"restWhole", Sort("rest", "whole")),
        (r"restHalf", Sort("rest", "half")),
        (r"restQuarter", Sort("rest", "quarter")),
        (r"rest8th", Sort("rest", "8th")),
        (r"rest16th", Sort("rest", "16th")),
        (r"rest32nd", Sort("rest", "32nd")),
        (r"rest\d+", Sort("rest", "64th")),
        (r"flag8th", Sort("flag", "8th")),
        (r"flag16th", Sort("flag", "16th")),
        (r"flag32nd", Sort("flag", "32nd")),
        (r"segno", Sort("segno", "")),
        (r"coda(Square)?$", Sort("coda", "")),
        (r"dalSegno", Sort("jump", "D.S.")),
        (r"daCapo", Sort("jump", "D.C.")),
        (r"repeat1Bar", Sort("repeat-bar", "1")),
        (r"repeat2Bars", Sort("repeat-bar", "2")),
        (r"repeat4Bars", Sort("repeat-bar", "4")),
        (r"brace(Small|Large|Larger|Flat)?$", Sort("brace", "")),
        (r"dynamic", Sort("dynamic", "")),
    )
)

_DIGIT_NAMES = {
    name: str(n)
    for n, name in enumerate(("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"))
}
_POINT_NAMES = {"period": ".", "comma": ",", "hyphen": "-", "plus": "+", "space": " ", "slash": "/", "parenleft": "("}
_DOTTED = re.compile(
    r"(noteheads|clefs|rests|scripts|accidentals|timesig|flags|dots|fattened|brackettips|pedal|arrowheads)\."
)
_CODED = re.compile(r"u(?:ni)?([0-9A-F]{4,6})$")


@lru_cache(maxsize=8192)
def is_music_name(name: str) -> bool:
    """True when only a music font has a glyph of this name."""
    return bool(_DOTTED.match(name)) or (not _CODED.match(name) and _by_canonical_name(name) is not None)


def by_code(code: int) -> Sort:
    """The sort of a code point; `UNKNOWN` outside the music ranges."""
    found = _SINGLE.get(code)
    if found is not None:
        return found
    if 0xE000 <= code < 0xF000:
        for low, high, sort in _RANGES:
            if low <= code <= high:
                return sort
    if 0x1D100 <= code <= 0x1D1FF:
        return OTHER
    return UNKNOWN


@lru_cache(maxsize=8192)
def by_name(name: str, music_font: bool) -> Sort:
    """The sort of a glyph name, `UNKNOWN` when the name says nothing; in a music font, letters are dynamics."""
    coded = _CODED.match(name)
    if coded:
        return by_code(int(coded.group(1), 16))
    if _DOTTED.match(name):
        return _by_dotted_name(name)
    canonical = _by_canonical_name(name)
    if canonical is not None:
        return canonical
    digit = _digit(name)
    if digit:
        return Sort("digit" if music_font else "letter", digit)
    if music_font and name in _POINT_NAMES:
        return Sort("letter", _POINT_NAMES[name])
    if music_font and len(name) == 1 and name in "pmfszrn":
        return Sort("dynamic", name)
    if name.startswith("brace") and name[5:].isdigit():
        return Sort("brace", "")
    return UNKNOWN


def _digit(name: str) -> str:
    """The figure of a glyph called "four", "four.alt" or "fixedwidth.four"; "" for others."""
    return _DIGIT_NAMES.get(name.removeprefix("fixedwidth.").split(".")[0], "")


def by_text(code: int, name: str) -> Sort:
    """The letter that a text font's glyph stands for, ligatures and full-width forms taken apart (NFKC)."""
    if (0x20 <= code < 0xE000 or 0xF900 <= code < 0xFFF0) and code != 0xAD:
        return Sort("letter", unicodedata.normalize("NFKC", chr(code)))
    stem = name.split(".")[0]
    if len(stem) == 1 and stem.isalpha():
        return Sort("letter", stem)
    if stem in _DIGIT_NAMES:
        return Sort("letter", _DIGIT_NAMES[stem])
    if stem in _POINT_NAMES:
        return Sort("letter", _POINT_NAMES[stem])
    if stem in ("ff", "fi", "fl", "ffi", "ffl"):
        return Sort("letter", stem)
    return UNKNOWN


def _by_canonical_name(name: str) -> Sort | None:
    digit = re.match(r"(timeSig|tuplet)(\d)", name)
    if digit:
        return Sort("digit" if digit.group(1) == "timeSig" else "tuplet", digit.group(2))
    for pattern, sort in _CANONICAL:
        if pattern.match(name):
            return sort
    return None


def _by_dotted_name(name: str) -> Sort:
    family, _, rest = name.partition(".")
    if family == "fattened":
        digit = _digit(rest)
        return Sort("digit", digit) if digit else OTHER
    if family == "noteheads":
        return _head(rest)
    if family == "rests":
        value = _REST_NAMES.get(rest[:2] if rest.startswith("M") else rest[:1])
        return Sort("rest", value) if value else OTHER
    if family == "clefs":
        letter = rest.replace("var", "")
        if "percussion" in letter:
            return Sort("clef", "percussion")
        return Sort("clef", {"G": "g", "F": "f", "C": "c", "t": "tab"}.get(letter[:1], "g"))
    if family == "accidentals":
        plain = {"sharp": "sharp", "flat": "flat", "natural": "natural", "doublesharp": "double-sharp"}
        return Sort("accidental", plain.get(rest, "double-flat" if rest == "flatflat" else "other"))
    if family == "timesig":
        return Sort("meter", {"C44": "common", "C22": "cut"}.get(rest, ""))
    if family == "flags":
        return Sort("flag", _FLAG_VALUES[rest[1]]) if rest[1:2] in _FLAG_VALUES else OTHER
    if family == "dots":
        return Sort("dot", "")
    if family == "scripts" and rest in ("coda", "varcoda"):
        return Sort("coda", "")
    if family == "scripts" and rest in ("segno", "varsegno"):
        return Sort("segno", "")
    return OTHER


def _head(rest: str) -> Sort:
    value = {"M": "breve", "0": "whole", "1": "half"}.get(rest[1:2], "black")
    if rest.endswith("slash") and value == "black":
        value = "slash"
    return Sort("head", value)
