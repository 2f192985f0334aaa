"""A chair heard in a line of words: the instrument's phrase, the number beside it, the rest as a title. Pure."""

import re
from typing import NamedTuple

from collaparte.band.instruments import BY_NAME, INSTRUMENTS, Instrument, plain


class ChairName(NamedTuple):
    """An instrument of the trade and the chair numbers meant: () none, (1,), or (1, 2) for a part that two share."""

    instrument: str
    numbers: tuple[int, ...] = ()

    @property
    def labels(self) -> tuple[str, ...]:
        """The chairs' names: ("Alto 2",), or one for each number."""
        return tuple(f"{self.instrument} {n}" for n in self.numbers) or (self.instrument,)

    @property
    def section(self) -> str:
        """The section proposed for it."""
        return BY_NAME[self.instrument][1].section

    @property
    def order(self) -> tuple[int, tuple[int, ...]]:
        """Its place in a score."""
        return BY_NAME[self.instrument][0], self.numbers


class Heard(NamedTuple):
    """What one name or line says: a title (may be empty), a chair (may be none)."""

    title: str
    chair: ChairName | None
    sure: bool = True
    """The chair cannot well be part of the title, nor its number a number of the file."""
    whole: bool = False
    """A part of its own, between dashes or brackets, says the chair and nothing else."""
    also: tuple[str, ...] = ()
    """Other instruments named beside it: doublings."""


class _Token(NamedTuple):
    word: str
    start: int
    end: int
    segment: int
    bracketed: bool


class _Found(NamedTuple):
    first: int
    last: int
    """Tokens of the phrase with its numbers and keys, inclusive."""
    chair: ChairName
    strong: bool
    sure_number: bool
    segment: int


_JUNK = re.compile(
    r"\b(?:v(?:ersion)?[ .]?\d+|rev(?:ised|ision)?\.?(?: ?\d+)?|final|neu|new|copy(?: \d+)?|kopie|"
    r"print(?:ed)?|scan(?:ned)?|pdf|a4|letter|"
    r"parts?|all parts|full set|complete set|stimmen|einzelstimmen|transposed|\d{4}-\d{2}-\d{2})\b",
    re.IGNORECASE,
)
NUMBERS = {
    "1": ("first", "erste", "erster", "prima", "primo", "premier", "premiere", "primero", "primera", "lead", "i"),
    "2": ("second", "zweite", "zweiter", "seconda", "secondo", "deuxieme", "segundo", "segunda", "ii"),
    "3": ("third", "dritte", "dritter", "terza", "terzo", "troisieme", "tercero", "tercera", "iii"),
    "4": ("fourth", "vierte", "vierter", "quarta", "quarto", "quatrieme", "cuarto", "cuarta", "iv"),
    "5": ("fifth", "funfte", "fuenfte", "quinta", "quinto", "cinquieme", "v"),
    "6": ("sixth", "vi"),
}
_NUMBER_WORDS = {word: int(number) for number, words in NUMBERS.items() for word in words}
HIGHEST_CHAIR = 12
"""A number above this beside an instrument is not a chair's."""
KEYS = {
    "bb",
    "eb",
    "ab",
    "b",
    "c",
    "f",
    "es",
    "sib",
    "mib",
    "ut",
    "fa",
    "do",
    "si",
    "mi",
    "bemol",
    "flat",
    "a",
    "e",
    "d",
    "g",
    "in",
    "en",
}
_KEYS_ALONE = {"bb", "eb", "ab", "sib", "mib"}
_NOISE = {
    "part",
    "parts",
    "stimme",
    "solo",
    "no",
    "nr",
    "num",
    "opt",
    "optional",
    "and",
    "und",
    "et",
    "the",
    "tc",
    "bc",
    "clef",
    "treble",
    "copy",
}
_TOKEN = re.compile(
    r"\d+(?:st|nd|rd|th|ste|ère|ere|ème|eme|er|re|de|e|º|ª)?(?![^\W\d_])|\d+|[^\W\d_]+(?:['’][^\W\d_]+)*|♭|♯",
    re.IGNORECASE,
)
_CAMEL = re.compile(r"(?<=[a-zß-öø-ÿ])(?=[A-ZÀ-Þ])")
_BREAK = re.compile(r"\s[-–—|:/]+\s|__+|[()\[\]{},;]|\s[-–—]|[-–—]\s")
_ORDINAL = re.compile(r"^(\d+)(?:st|nd|rd|th|ste|ere|eme|er|re|de|e|o|a)$")


def _phrases() -> dict[tuple[str, ...], tuple[Instrument | None, bool]]:
    known: dict[tuple[str, ...], tuple[Instrument | None, bool]] = {
        ("bass", "clef"): (None, True),
        ("treble", "clef"): (None, True),
        ("tenor", "clef"): (None, True),
    }
    for instrument in INSTRUMENTS:
        for strong, phrases in ((True, instrument.phrases), (False, instrument.weak)):
            for phrase in phrases:
                known[tuple(phrase.split())] = (instrument, strong)
    return known


_PHRASES = _phrases()
_LONGEST = max(len(phrase) for phrase in _PHRASES)


def hear(text: str) -> Heard:
    """What a line of words says."""
    tokens = _tokens(text)
    found = _find(tokens, text)
    if not found:
        return Heard(tidy_title(text), None)
    best = max(found, key=lambda f: _rank(f, found, tokens))
    # The first named of a segment is the chair; the others are doublings.
    beside = [f for f in found if f.segment == best.segment]
    whole = _whole(best.segment, beside, tokens)
    if whole:
        best = next((f for f in beside if f.strong), best)
    also = tuple(dict.fromkeys(f.chair.instrument for f in beside if f is not best))
    ends = best.last == len(tokens) - 1 or tokens[best.last + 1].segment != best.segment
    sure = best.sure_number and (whole or (best.strong and (ends or bool(best.chair.numbers))))
    if whole:
        title, named = _without(best.segment, found, tokens, text)
        also = tuple(dict.fromkeys((*also, *named)))
    else:
        title = text[: tokens[best.first].start] + "\n" + text[tokens[best.last].end :]
    return Heard(tidy_title(title), best.chair, sure, whole, also)


def _without(segment: int, found: list["_Found"], tokens: list["_Token"], text: str) -> tuple[str, tuple[str, ...]]:
    """The text without a segment that says a chair, nor those that only add to it: "(Clarinet)", "(bad copy)", keys.

    Also the instruments that those name.
    """
    out, named, at = [], [], 0
    segments = {token.segment: [t for t in tokens if t.segment == token.segment] for token in tokens}
    for number, inside in segments.items():
        beside = [f for f in found if f.segment == number]
        aside = inside[0].bracketed or len(beside) > 1
        dropped = number == segment
        if not dropped and aside and _whole(number, beside, tokens):
            dropped = True
            named += [f.chair.instrument for f in beside]
        if inside[0].bracketed and number == segment + 1 and any(_JUNK.fullmatch(t.word) for t in inside):
            dropped = True
        if dropped:
            out.append(text[at : inside[0].start])
            at = inside[-1].end
    return "\n".join((*out, text[at:])), tuple(named)


def tidy_title(text: str) -> str:
    """A title without separators at its ends, empty brackets and words about the file; small letters get capitals."""
    text = _JUNK.sub(" ", text.replace("_", " "))
    text = re.sub(r"[(\[{][\s\W]*[)\]}]", " ", text)
    parts = [part.strip(" \t-–—_.,;:|/#+&") for part in text.split("\n")]
    text = clean(" ".join(part for part in parts if part))
    text = re.sub(r"^[\s\W]*[)\]}]|[(\[{][\s\W]*$", "", text).strip(" -–—_.,;:|/")
    if " " not in text:
        text = " ".join(_CAMEL.split(text))
    if text == text.casefold():
        text = re.sub(r"(^|[\s(-])(\w)", lambda m: m[1] + m[2].upper(), text)
    return text


def clean(text: str) -> str:
    """Runs of white space as one space."""
    return re.sub(r"\s+", " ", text).strip()


def _tokens(text: str) -> list[_Token]:
    breaks = [m.span() for m in _BREAK.finditer(text)]
    tokens = []
    for match in _TOKEN.finditer(text):
        start = match.start()
        for piece in _CAMEL.split(match[0]):
            segment = sum(1 for at, _ in breaks if at < start)
            before = text[:start]
            bracketed = before.count("(") + before.count("[") > before.count(")") + before.count("]")
            tokens.append(_Token(plain(piece), start, start + len(piece), segment, bracketed))
            start += len(piece)
    return tokens


def _find(tokens: list[_Token], text: str) -> list[_Found]:
    found: list[_Found] = []
    at = 0
    while at < len(tokens):
        for length in range(min(_LONGEST, len(tokens) - at), 0, -1):
            known = _PHRASES.get(tuple(token.word for token in tokens[at : at + length]))
            if known and tokens[at].segment == tokens[at + length - 1].segment:
                if known[0]:
                    found.append(_with_number(at, at + length - 1, known[0], known[1], tokens, text))
                at = max(at + length, found[-1].last + 1 if found else 0)
                break
        else:
            at += 1
    return [f for f in found if f.strong or f.chair.numbers or _stands_alone(f, found, tokens)]


def _with_number(
    first: int, last: int, instrument: Instrument, strong: bool, tokens: list[_Token], text: str
) -> _Found:
    segment = tokens[first].segment
    end = last
    numbers: list[int] = []
    at = last + 1
    while at < len(tokens) and tokens[at].segment == segment:
        number = _number(tokens[at].word)
        if number and (
            not numbers or re.fullmatch(r"\s*([-–&+/,]|and|und|et)\s*", text[tokens[end].end : tokens[at].start])
        ):
            numbers.append(number)
            end = at
        elif numbers or not (tokens[at].word in KEYS or tokens[at].word in _NOISE or tokens[at].word == "#"):
            break
        at += 1
    # Keys after the instrument belong to it ("in Bb"), as long as no other word stands between.
    extra = _KEYS_ALONE if numbers else KEYS | _NOISE
    after = end + 1
    while after < len(tokens) and tokens[after].segment == segment and tokens[after].word in extra:
        after += 1
    if after == len(tokens) or tokens[after].segment != segment:
        end = after - 1
    sure = True
    start = first
    while start > 0 and tokens[start - 1].segment == segment and tokens[start - 1].word in _KEYS_ALONE | {"flat"}:
        start -= 2 if tokens[start - 1].word == "flat" and start > 1 else 1
    if not numbers and start > 0 and tokens[start - 1].segment == segment:
        word = tokens[start - 1].word
        ordinal = _ORDINAL.match(word)
        dotted = text[tokens[start - 1].end : tokens[start].start].startswith(".")
        if ordinal or word in _NUMBER_WORDS or (word.isdigit() and not word.startswith("0")):
            number = _NUMBER_WORDS.get(word) or _number(word)
            if number:
                numbers = [number]
                sure = bool(ordinal or dotted or word in _NUMBER_WORDS)
                start -= 1
    low_high = (
        tuple(range(numbers[0], numbers[1] + 1))
        if len(numbers) == 2 and numbers[0] < numbers[1] <= numbers[0] + 3
        else tuple(numbers)
    )
    return _Found(start, end, ChairName(instrument.chair, low_high), strong, sure, segment)


def _number(word: str) -> int | None:
    ordinal = _ORDINAL.match(word)
    if word.isdigit() or ordinal:
        number = int(ordinal[1] if ordinal else word)
        return number if 1 <= number <= HIGHEST_CHAIR else None
    return None if word == "lead" else _NUMBER_WORDS.get(word)


def _rank(found: _Found, others: list[_Found], tokens: list[_Token]) -> tuple[bool, ...] | tuple[object, ...]:
    beside = [f for f in others if f.segment == found.segment]
    whole = _whole(found.segment, beside, tokens)
    bracketed = tokens[found.first].bracketed
    ends = found.last == len(tokens) - 1 or tokens[found.last + 1].segment != found.segment
    return (whole and not bracketed, whole, found.strong, bool(found.chair.numbers), ends, found.segment, found.first)


def _whole(segment: int, found: list[_Found], tokens: list[_Token]) -> bool:
    covered = {n for f in found for n in range(f.first, f.last + 1)}
    return all(
        n in covered or token.word in KEYS or token.word in _NOISE or _JUNK.fullmatch(token.word) is not None
        for n, token in enumerate(tokens)
        if token.segment == segment
    )


def _stands_alone(found: _Found, others: list[_Found], tokens: list[_Token]) -> bool:
    """A weak word counts when nothing else stands in its segment, or when it ends a name that says no other chair."""
    if _whole(found.segment, [found], tokens):
        return True
    return found.last == len(tokens) - 1 and not any(f.strong for f in others) and len(tokens) > 1
