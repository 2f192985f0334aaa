"""Jump words as they are printed over a bar ("D.S. al Coda 2", "Fine", "2nd time to Coda"), to what they ask for."""

import re
import unicodedata
from functools import lru_cache
from typing import NamedTuple

from collaparte.music.words import number_of, ordinal_of

_SEGNO_SIGN = "[𝄋§\ue047\ue04a\ue04b]"
_CODA_SIGN = "[𝄌⊕⨁\ue048\ue049]"
_SIGNS = tuple(
    (re.compile(pattern), name)
    for pattern, name in (
        (rf"(?:{_SEGNO_SIGN} ?){{2,}}", " double segno "),
        (_SEGNO_SIGN, " segno "),
        (rf"(?:{_CODA_SIGN} ?){{2,}}", " double coda "),
        (_CODA_SIGN, " coda "),
        ("[𝄉\ue045]", " d.s. "),
        ("[𝄊\ue046]", " d.c. "),
        # In old text fonts the segno lies on the per cent sign.
        (r"(?<=\bd\.) ?%\.?", "s."),
        (r"(?<=s\.) ?%", " segno "),
        # A sign beside its own name, with or without brackets, is said once.
        (r"\( ?(segno|coda) ?\)", r" \1 "),
        (r"\b(segno|coda) +\1\b", r"\1"),
        (r"\bcoda +(?=to(?: the)? coda\b)", ""),
        (r"\b(coda|segno) ?\((\d)\)", r"\1 \2"),
        (r"\b(?:1st|first) (coda|segno)\b", r"\1 1"),
        (r"\b(?:2nd|second) (coda|segno)\b", r"\1 2"),
        # Times in Italian, French and German.
        (r"\b(?:la )?(?:prima|1ma|1a) volta\b|\b(?:la )?(?:1re|premi[eè]re) fois\b|\b1\. mal\b", "1st time"),
        (r"\b(?:la )?(?:seconda|2da|2a) volta\b|\b(?:la )?(?:2e|2[eè]me) fois\b|\b2\. mal\b", "2nd time"),
        (r"\b(?:la |l')?ultima volta\b|\b(?:la )?derni[eè]re fois\b|\b(?:beim )?letzten? mal\b", "last time"),
    )
)
"""Signs written as characters: Unicode's musical symbols and SMuFL's (W3C, range "Repeats"), to words."""

_BACK = r"(?:(?:(?:go|jump|play|repeat) )?(?:back )?to|(?:go|jump|play|repeat|again)(?: again)? from) (?:the )?"
_DS = rf"(?:d ?\. ?s ?\.?|ds|da?el ?segno|dal(?= s)|dal s\.|{_BACK}(?:sign|(?=segno)))"
_DSS = r"(?:d ?\. ?s ?\. ?s ?\.?(?![a-z])|dss|da?el (?:doppio|double) segno|d\. ?s\. double segno)"
_DC = rf"(?:d ?\. ?c ?\.?|dc|da ?capo|{_BACK}(?:top|beginning|start))"
_WHICH = r"(?:no\. ?|#)?(?:\d|[ivx]+)"
_SIGN = rf"(?: ?(?:segno|(?P<segno>{_WHICH})(?![a-z.]))){{0,2}}"
_CODA = rf"(?:the )?(?P<double>double |doppia )?coda(?: sign)?(?: ?(?P<coda>{_WHICH})\.?)?"
_THEN = r"(?:,? (?:(?:e |and )?(?:poi|then)|dann)(?: to)?(?: la| the)? coda)?"
_AL = (
    r",? ?(?:al?|to|alla|ala|(?:e )?poi(?: la)?|e|and|(?:and )?then(?: to)?|&|play to|sin'? al|(?:sino|fino) al?|till?"
    r"|bis(?: zu[rm])?),?"
)
_REPEATS = r"(?: all| the)* ?(?:repeats?|rpts?\.?|reps?\.?)"
_AGAIN = rf"(?:con (?:rep|rip)\w*\.?|con (?:le )?rep\w*|(?:with|w/|take|play|observe){_REPEATS})"
_STRAIGHT = rf"(?:senza (?:rep|rip)\w*\.?|senza ritornell[oi]|(?:no|without|w/o|don't take|omit){_REPEATS})"
_ENDING = (
    r"(?:(?:to|al|take|with|and(?: then)?|then|(?:e )?poi|sin'? al) )?(?:the |la )?"
    r"(?:(?P<ending>\d(?:st|nd|rd|th)|first|second|third|fourth|fifth|last|final) (?:ending|volta)(?: only)?|end)"
    r"|(?:(?:(?:and )?then|(?:e )?poi|sin'? al|al)(?: the)? (?P<turn>\d(?:st|nd|rd|th)) time)"
)
_TAIL = rf"(?:,? ?[-–—]? ?\(?(?:(?:ma|but) )?(?:(?P<again>{_AGAIN})|{_STRAIGHT}|{_ENDING})\)?)?"
_BETWEEN = re.compile(rf"(?<=[\w.]) \(?(?:{_AGAIN}|{_STRAIGHT})\)?(?= a)")
"""Said between a jump and where it leads: "D.S. (no repeats) al Coda"."""
_WORDS = tuple(
    (kind, re.compile(pattern))
    for kind, pattern in (
        ("ds-al-coda", rf"(?:{_DSS}|{_DS}|(?=segno)){_SIGN} ?{_AL} ?(?:to )?{_CODA}{_THEN}{_TAIL}"),
        ("ds-al-fine", rf"(?:{_DSS}|{_DS}|(?=segno)){_SIGN} ?{_AL} ?(?:the )?fine?{_TAIL}"),
        ("dc-al-coda", rf"{_DC} ?{_AL} ?(?:to )?{_CODA}{_THEN}{_TAIL}"),
        ("dc-al-fine", rf"{_DC} ?{_AL} ?(?:the )?fine?{_TAIL}"),
        ("to-coda", rf"(?:(?:go|jump|skip|play|then|and|on) )?(?:to|al|alla),? ?{_CODA}"),
        ("ds", rf"(?:{_DSS}|{_DS}){_SIGN}{_TAIL}"),
        ("dc", rf"{_DC}{_TAIL}"),
        ("fine", r"fine?"),
        ("coda", _CODA),
        ("segno", rf"(?P<double>double )?segno(?: ?(?P<segno>{_WHICH}))?"),
    )
)
"""The trade's words (common practice), in small letters, signs as words."""

_NTH = r"(?:\d+(?:st|nd|rd|th)|\d+(?= ?x)|first|second|third|fourth|fifth|sixth|last|final)"
_TURN = re.compile(
    rf"(?:(?:on|after|only) )?(?:the )?(?P<turns>{_NTH}(?: ?(?:,|&|and|/|\+) ?{_NTH})*)"
    r" ?(?:times?|x'?s?|pass(?:es)?|endings?|volta|repeats?)(?: through)?(?: only)?\b"
)
_OFTEN = re.compile(
    r"\(?\b(?:(?P<word>twice|thrice)|(?P<n>two|three|four|five|[2-9]) times|[x×] ?(?P<after>[2-9])"
    r"|(?P<before>[2-9]) ?[x×](?:'?s)?)(?![a-z])(?: in all| total)?\)?"
)
"""How often a jump is taken. "2x" may be the second time through as well."""
_MARK = (
    r"(?:letter |mark |number |fig(?:ure|\.) )?[\[(]?(?P<mark>(?!bb)(?P<letter>[a-z])(?:(?P=letter)|\d)?|\d{1,3})[\])]?"
)
_PLACE = re.compile(
    r"(?:(?:go |jump )?back to|(?:repeat|play again|go back) from) (?:the )?(?:rehearsal )?"
    rf"(?:(?P<bar>bar|measure|mm?\.?) ?(?P<number>\d{{1,4}})|{_MARK})"
    rf"(?P<until>{_AL} ?(?:(?:the )?(?:coda|fine)))?{_TAIL}"
)
"""Back to a place that is no sign: a mark, or a bar; "Bb" is a clarinet."""
_ANYWAY = re.compile(
    r"\b(?:on|after)(?: the)? (?:d\. ?s\.?|d\. ?c\.?|ds|dc|repeat)(?: only)?|\bon cue\b"
    r"|\bafter (?:the |all )?(?:last |open )?solos?\b"
)
"""When a jump or a To Coda holds anyway."""

_COUNT = re.compile(
    r"\W*(?:(?:play(?:ed)?|repeat|vamp) ?)?\(?"
    r"(?:(?P<n>\w+) ?(?:x'?s?|×|tim ?es)|[x×] ?(?P<x>\d+))(?: in all| total)?\W*"
)
"""An m drawn as outlines may look as if a space followed it."""

_ABOUT_JUMPS = re.compile(
    r"\bd[ae] ?capo\b|\bd\. ?[cs]\.|\bd[ae]l segno\b|\bto coda\b|\bal (fine|coda)\b|\bfrom the top\b"
    r"|\b(?:go|jump|back|skip) to (?:the )?(?:top|beginning|start|sign|segno|coda|letter|mark|bar|[a-z]\b|\d)"
    r"|\b(?:from|repeat) (?:the )?(?:letter |mark |bar )?(?:[a-z]\d?|\d+|beginning|sign) to (?:the )?\w+"
    r"|\b(?:to|take) (?:the )?(?:\d(?:st|nd|rd)|first|second|third|last) ending\b"
    r"|\b(?:on cue|last (?:time|x)|\d(?:st|nd|rd|th) (?:time|x)),? (?:go )?to (?:the )?(?:letter |fine\b|[a-z]\b)"
    r"|\bvom? (?:anfang|zeichen)\b|\bvon vorn"
)

_OPEN = re.compile(
    r"\b(?:till?|until) (?:a |the |on )?cue\b|\bvamp\b|\bopen (?:for )?(?:solos?|repeats?|vamp)\b|\bsolos? open\b"
    r"|\b(?:repeat|play) (?:ad ?lib|as needed|& fade|and fade)|\btill? ready\b"
)

_FURTHER = re.compile(
    r"(?<=[a-z.)\]2-9⊕𝄌]) (?=\(?(?:to |fine\b|d ?\. ?[sc]|d[sc]\b|d[ae]l? s|da ?capo))", re.IGNORECASE
)
"""Where other jump words may begin; what goes back and says no further is said on by those behind it ("D.S. to Coda").
"""
_COMPLETE = ("ds-al-coda", "ds-al-fine", "dc-al-coda", "dc-al-fine", "to-coda", "fine")

LONGEST = 100
"""Letters of jump words, at most."""


class Asked(NamedTuple):
    """What jump words ask for. `segno`, `coda`: which, as they name it; "mark A" or "bar 5" where one goes back to no
    sign. `passes`: the times through that they name; `last`: the last one, whichever that is; `often`: where that comes
    but once, so many times in all ("2x"). `again`: whether repeats are taken after the jump; None: not said. `ending`:
    the one that is taken after the jump ("al 2nd ending": 2); 0: the last, as is the custom."""

    kind: str
    segno: str = ""
    coda: str = ""
    passes: tuple[int, ...] = ()
    last: bool = False
    again: bool | None = None
    often: bool = False
    ending: int = 0


@lru_cache(maxsize=1024)
def asked(words: str) -> Asked | None:
    """What these words ask for, if they are jump words and nothing more."""
    if len(words) > LONGEST:
        return None
    said = _plain(words)
    turn = _TURN.search(said)
    whole = _kind(said)
    if not whole and (often := _OFTEN.search(said)):
        jump = _kind(f"{said[: often.start()]} {said[often.end() :]}")
        if jump and jump.kind[:2] in ("ds", "dc"):
            given = often["n"] or often["after"] or often["before"]
            times = number_of(given) if given else {"twice": 2, "thrice": 3}[often["word"]]
            if times and often["before"]:
                return jump._replace(passes=(times,), often=True)
            return jump._replace(passes=tuple(range(1, times + 1))) if times else None
    if whole or not turn:
        return whole or _kind(_ANYWAY.sub(" ", said))
    rest = _kind(f"{said[: turn.start()]} {said[turn.end() :]}")
    if not rest or rest.kind in ("segno", "coda"):
        return None
    turns = re.findall(rf"{_NTH}|\d+", turn["turns"])
    passes = tuple(sorted({n for turn in turns if (n := ordinal_of(turn) or number_of(turn))}))
    return rest._replace(passes=passes, last=not passes)


def side_by_side(words: str) -> int | None:
    """Where the second of two jump words in one row begins ("Fine D.S. al Coda"); None: these are not two."""
    for found in _FURTHER.finditer(words) if len(words) <= LONGEST else ():
        first, second = asked(words[: found.start()]), asked(words[found.end() :])
        if first and second and first.kind in _COMPLETE and second.kind in (*_COMPLETE, "ds", "dc"):
            return found.end()
    return None


def _kind(said: str) -> Asked | None:
    if between := _BETWEEN.search(said):
        said = f"{said[: between.start()]} {said[between.end() :]} {between[0]}"
    said = " ".join(re.sub(r"\( *\)|[\[\]*\"“”]", " ", said).split()).strip(" .,:;!-–—/")
    if said.startswith("(") and said.endswith(")"):
        said = said[1:-1].strip(" .,:;-")
    for kind, pattern in _WORDS:
        if found := pattern.fullmatch(said):
            part = found.groupdict()
            double = bool(part.get("double"))
            segno = _which(part.get("segno"), kind == "segno" and double) if kind[:2] in ("ds", "se") else ""
            if not segno and kind[:2] == "ds" and re.match(_DSS, said):
                segno = "2"
            coda = _which(part.get("coda"), kind != "segno" and double)
            straight = re.search(_STRAIGHT, said) is not None
            again = True if part.get("again") else False if straight else None
            return Asked(kind, segno, coda, again=again, ending=_ending(part))
    if placed := _PLACE.fullmatch(said):
        until = (placed["until"] or "").rpartition(" ")[2]
        where = f"bar {placed['number']}" if placed["bar"] else f"mark {placed['mark'].upper()}"
        straight = re.search(_STRAIGHT, said) is not None
        again = True if placed["again"] else False if straight else None
        return Asked(f"ds-al-{until}" if until else "ds", where, again=again, ending=_ending(placed.groupdict()))
    return None


def _ending(part: dict[str, str | None]) -> int:
    """Which ending a jump's tail names; the last one is taken anyway."""
    return ordinal_of(part.get("ending") or part.get("turn") or "") or 0


def _which(label: str | None, double: bool) -> str:
    """ "II", "no. 2", a doubled sign: "2"."""
    label = re.sub(r"no\. ?|#", "", label or "")
    roman = {"i": "1", "ii": "2", "iii": "3", "iv": "4", "v": "5"}
    return roman.get(label, label) or ("2" if double else "")


@lru_cache(4096)  # as in `_plain`
def times_of(words: str) -> int | None:
    """How often a repeat is played by words over it ("Play 3 times", "4x"); None: they say nothing of it."""
    found = _COUNT.fullmatch(_plain(words)) if len(words) <= LONGEST else None
    return number_of(found["n"] or found["x"]) if found else None


@lru_cache(4096)
def about_jumps(words: str) -> bool:
    """Whether words speak of a jump at all, in whatever way."""
    return bool(_ABOUT_JUMPS.search(_plain(words[:LONGEST])))


@lru_cache(4096)
def is_open(words: str) -> bool:
    """Whether words over a repeat say that it is played until somebody cues it ("vamp till cue", "open solos")."""
    return times_of(words) is None and bool(_OPEN.search(_plain(words[:LONGEST])))


@lru_cache(4096)  # a page says the same few chord names again and again, and each is asked of several things
def _plain(words: str) -> str:
    words = unicodedata.normalize("NFKC", words).replace("’", "'").casefold()
    for sign, name in _SIGNS:
        words = sign.sub(name, words)
    return " ".join(words.split())
