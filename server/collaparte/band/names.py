"""Tune and chair from what people write: file names, folder names, the words at the head of a page. Pure.

"03 Blue Harbour - 2nd Alto.pdf", "Tbn1_BlueHarbour.pdf", "1. Trompete in B.pdf", "Blue Harbour (Bb Trumpet 2) v3.pdf":
all are heard; where two hearings are possible the result says that it is not `sure`.
"""

import re
from collections.abc import Iterable, Sequence
from difflib import SequenceMatcher

from collaparte.band.hearing import ChairName, Heard, clean, hear, tidy_title
from collaparte.band.instruments import plain

_GENERIC = {
    "parts",
    "part",
    "pdf",
    "pdfs",
    "charts",
    "chart",
    "music",
    "sheet music",
    "scans",
    "scan",
    "noten",
    "stimmen",
    "downloads",
    "download",
    "desktop",
    "documents",
    "tmp",
    "temp",
    "new folder",
    "new",
    "set",
    "sets",
    "band",
    "library",
    "individual parts",
    "export",
    "exports",
    "print",
    "horns",
    "rhythm",
    "brass",
    "reeds",
    "saxes",
    "files",
    "bring",
    "in",
    "inbox",
}
_CREDIT = re.compile(
    r"^(arr|arranged|comp|composed|words|music|lyrics|by|copyright|©|\(c\)|page|p\.|transcribed|orch|musik|text)\b",
    re.IGNORECASE,
)

NEARLY = 0.85
"""Share of letters in order that a title misread here and there still has."""


def hear_file_name(name: str) -> Heard:
    """What a file's name says; its extension, a leading number and words like "final" or "v2" are dropped."""
    stem = re.sub(r"\.(pdf|PDF)$", "", name)
    stem = re.sub(r"\s*\(\d+\)$", "", stem)
    # "v2" is a version, and not the fifth chair's.
    stem = re.sub(r"(?<![^\W\d_])(v|ver|version|rev)[ ._]?\d+(\.\d+)*(?![^\W_])", " ", stem, flags=re.IGNORECASE)
    if " " not in stem:
        # Underscores, dots and hyphens are this name's spaces; doubled ones are its dashes.
        stem = re.sub(r"__+|--+|_-_", " - ", stem)
        stem = re.sub(r"[_.]+", " ", stem) if re.search(r"[_.]", stem) else stem.replace("-", " ")
    stem = re.sub(r"_+", " ", stem)
    # "03 ", "03 - ", "3) ", "12_": where the file stands in a row; "1. " may also be a chair's number.
    index = re.match(r"\s*(\d{2,3}|\d(?=\s*[-–)]\s|\s+\S))(?:[a-z](?=\s))?\s*[-–.)]*\s+(?=\S)", stem)
    if not index:
        return hear(stem)
    rest = hear(stem[index.end() :])
    if rest.chair and not rest.chair.numbers and re.match(r"\s*[1-6]\.\s", stem) and not rest.title:
        return rest._replace(chair=rest.chair._replace(numbers=(int(index[1]),)), sure=False)
    if rest.chair and not rest.chair.numbers and re.match(r"\s*[1-6]\s", stem) and not rest.title:
        return rest._replace(sure=False)
    return rest


def hear_folder(name: str) -> str:
    """The tune that a folder is named after, or "" for a folder that only holds parts."""
    title = tidy_title(re.sub(r"^\s*\d{1,3}[a-z]?[\s._)–-]+(?=\S)", "", name.replace("_", " ")))
    return "" if plain(title) in _GENERIC else title


def hear_head(lines: Sequence[tuple[str, float]]) -> Heard:
    """What the head of a page says; `lines`: its lines of words, top first, with their sizes in any unit."""
    heard = [(hear(text), size, text) for text, size in lines if len(text.strip()) > 1]
    chairs = [(h, size) for h, size, _ in heard if h.chair and h.whole]
    # Set large, it is the chair; set small, a cue ("Vocal") or a remark ("Words and chords").
    chair = max(chairs, key=lambda c: (c[1], c[0].sure), default=(None, 0.0))[0]
    titles = [
        (size, h, text)
        for h, size, text in heard
        if not (_CREDIT.match(text.strip()) or re.fullmatch(r"[\W\d]*", text)) and (h is not chair or h.title)
    ]
    if not titles:
        return chair or Heard("", None)
    biggest = max(size for size, _, _ in titles)
    _, first, text = next(t for t in titles if t[0] > 0.95 * biggest)
    if chair and first is not chair:
        return chair._replace(title=clean(text))
    if first.chair and first.whole:
        # One line says both: "Blue Harbour - Trumpet 1".
        return first
    return Heard(clean(text), None)


def same_title(one: str, other: str) -> bool:
    """Whether two spellings name the same tune: letters and digits only, accents and a leading article dropped."""
    return title_key(one) == title_key(other) != ""


def nearly_same_title(one: str, other: str) -> bool:
    """Whether one may be a misreading of the other: a few letters differ, no figure does. To be confirmed otherwise."""
    a, b = title_key(one), title_key(other)
    return re.sub(r"\D", "", a) == re.sub(r"\D", "", b) and SequenceMatcher(None, a, b).ratio() >= NEARLY


def title_key(title: str) -> str:
    """What is compared of a title."""
    words = re.sub(r"['’]", "", plain(title))
    words = re.sub(r"[^a-z0-9]+", " ", words).strip()
    words = re.sub(r"^(the|a|an|der|die|das|le|la|les|il) (?=\S)|, (the|a)$", "", words)
    return words.replace(" ", "") or plain(title).strip()


def chair_of(name: str) -> ChairName | None:
    """The instrument and number that a chair's name says, if it says one: "Alto 2", "2nd Alto Saxophone", "Bone 3"."""
    heard = hear(name)
    return heard.chair if heard.chair and not heard.title else None


def sections_for(chairs: Iterable[ChairName]) -> dict[ChairName, str]:
    """The sections proposed for a band of these chairs: two trumpets and two trombones are sections of their own."""
    wanted = list(chairs)
    trumpets = [c for c in wanted if c.instrument in ("Trumpet", "Cornet", "Flugelhorn")]
    bones = [c for c in wanted if c.instrument in ("Trombone", "Bass Trombone", "Tuba", "Euphonium")]
    split = len(trumpets) >= 2 and len(bones) >= 2
    found = {}
    for chair in wanted:
        found[chair] = chair.section
        if split and chair in trumpets:
            found[chair] = "Trumpets"
        if split and chair in bones:
            found[chair] = "Trombones"
    return found
