"""What is typed or dictated, to the wording that the grammar of places (`spoken`) knows. The trade's words (common
practice); whatever is not known stays as it is."""

import re
import unicodedata

from collaparte.music.words import CARDINALS, ORDINALS, number_of, ordinal_of

LONGEST = 100
"""Letters that are looked at; a longer saying names no place."""

_TENS = {
    word: 10 * n
    for n, word in enumerate(("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"), start=2)
}
_UNIT = rf"(?P<unit>{'|'.join(CARDINALS[1:10])})|(?P<nth>{'|'.join(ORDINALS[1:10])})"
_LARGE = re.compile(rf"\b(?P<ten>{'|'.join(_TENS)})(?:[- ](?:{_UNIT}))?\b")

_CHANGES = tuple(
    (re.compile(pattern), change)
    for pattern, change in (
        ("[’‘]", "'"),
        ('["“”„‟«»]', " "),
        (r"𝄋|§", " segno "),
        (r"𝄌|⊕", " coda "),
        (r"\bd\. ?s\.?(?![a-z])|\bds\b|\bdal segno\b", "ds"),
        (r"\bd\. ?c\.?(?![a-z])|\bdc\b|\bda capo\b", "dc"),
        (r"@", " at "),
        (r"(?<=\w) b4 (?=\w)", " before "),
        (r"\b(?:measures?|meas|mm|m)\b\.? ?(?=\d)|\bm(?=\d)|\bb\. ?(?=\d)|\bb(?=\d)", "bar "),
        (r"\bmeasures?\b|\bmeas\b", "bar"),
        (r"\bbars?\b(?: (?:number|no)\b\.?)? ?#? ?(?=\d)", "bar "),
        (r"#|\bno\.? ?(?=\d)", " "),
        (r"\bbars\b", "bar"),
        (r"[()\[\],;:!?]|\.(?!\w)", " "),
        (r"\b(?:ahead of|in front of|prior to|back from)\b", "before"),
        (r"\bpast\b|\bbeyond\b|(?<=\d )into\b|(?<=bar )into\b|(?<=bar )in (?:to|at)\b", "after"),
        (r"^(?P<place>.+) (?P<n>\w+) bar in$", r"\g<n> bar after \g<place>"),
        (r"\bpick(?:ed)?[- ]?ups?\b|\bup-?beats?\b|\banacrusis\b|\blead[- ]?in\b", "pickup"),
        (r"\btime bar\b|\bvolta\b|\btime ending\b", "ending"),
        (r"(?<=\w) of the (?:tune|chart|song|piece)$", ""),
        (r"\bdouble (?P<letter>[a-z])\b", r"\g<letter>\g<letter>"),
        (r"\b(?P<n>\d+) ?x\b", r"\g<n>th time"),
        (r"\b(?P<nth>\d+(?:st|nd|rd|th)|first|second|third|fourth|last) ?(?:x|pass|go)\b", r"\g<nth> time"),
        (r" ?\+ ?(?=\w+(?: bar)?$)", " plus "),
        (r"(?<=[a-z]) ?[-–−] ?(?=\d+(?: bar)?$)", " minus "),
    )
)

_LEAD = re.compile(
    r"(?:ok|okay|right|so|and|now|let's|lets|we|we'll|can we|go|back|take|pick|it|up|start|starting|once more|"
    r"again|one more time|everyone|everybody|all|just|only|from|at|to|in|on|with|the|rehearsal|marks?|letter|figure|"
    r"number|box|boxed|section) (?=\S)"
)
_TRAIL = re.compile(r"(?<=\S) (?:please|thanks|everyone|everybody|section|figure)$")


def plain(text: str) -> str:
    """Words as they are compared: one case, one spacing, ligatures and full-width letters resolved."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


def tidied(said: str) -> str:
    """Plain words in the grammar's wording: "4 b4 c" is "4 before c", "m33" "bar 33", "thirty-three" "33"."""
    if len(said) > LONGEST:
        return said
    said = _LARGE.sub(_figures, said)
    if said in CARDINALS:
        said = str(CARDINALS.index(said))
    for pattern, change in _CHANGES:
        said = " ".join(pattern.sub(change, said).split())
    return re.sub(r"^[ .–-]+(?!\d)", "", said).rstrip(" .-–")


def without_lead(said: str) -> str:
    """The words without one that only leads up to the place, or stands behind it: "from", "letter", "please"."""
    found = _LEAD.match(said)
    return said[found.end() :] if found else _TRAIL.sub("", said)


def _figures(found: re.Match[str]) -> str:
    ten = _TENS[found["ten"]]
    if found["nth"]:
        return f"{ten + (ordinal_of(found['nth']) or 0)}th"
    return str(ten + (number_of(found["unit"] or "") or 0))
