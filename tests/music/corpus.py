"""Scores that the music21 package carries, read in place (its corpus has mixed licences and is not copied), in the
orders of two general libraries: music21 10.5.1 itself and verovio 6.4.1.

python tests/music/corpus.py compares all of them with ours and lists every difference (some ten minutes).
"""

import re
import sys
import zipfile
from collections import Counter
from importlib.util import find_spec
from pathlib import Path

import verovio

from collaparte.music.form import run_length, written_order
from collaparte.music.musicxml import read_score

# Found without loading the library, which takes seconds.
CORPUS = Path(find_spec("music21").submodule_search_locations[0]) / "corpus"
SUITE = "../musicxml/lilypondTestSuite"
_FORM = re.compile(
    r"<(?:repeat|ending|segno|coda)\b|\b(?:dacapo|dalsegno|tocoda|fine)=|>\s*(?:D\. ?[CS]\.|Da Capo|Fine)"
)


def files() -> list[str]:
    """All scores with repeats, endings or jumps, by their place in the corpus."""
    found = [path for kind in ("mxl", "musicxml", "xml") for path in CORPUS.rglob(f"*.{kind}")]
    found += (CORPUS / SUITE).glob("*.xml")
    named = [str(path.relative_to(CORPUS)) if CORPUS in path.parents else f"{SUITE}/{path.name}" for path in found]
    return sorted(file for file in named if _FORM.search(text_of(file)))


def text_of(file: str) -> str:
    path = CORPUS / file
    if path.suffix != ".mxl":
        return _decoded(path.read_bytes())
    with zipfile.ZipFile(path) as packed:
        names = (name for name in packed.namelist() if not name.startswith("META"))
        return _decoded(packed.read(next(name for name in names if name.endswith("xml"))))


def _decoded(data: bytes) -> str:
    return data.decode("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8", errors="replace")


def ours(file: str) -> tuple[str, str]:
    """Our written order, and what it tells."""
    read = read_score((CORPUS / file).read_bytes())
    written = written_order(read.chart)
    return run_length(int(step.bar) for step in written.steps), f"{read.diagnosis} {written.diagnosis}".strip()


def by_verovio(file: str) -> str:
    """Its expansion; bars by place, since many share a number where a repeat splits them."""
    place = 0

    def counted(found: re.Match[str]) -> str:
        nonlocal place
        place = 1 if found[0].startswith("<part") else place + 1
        return found[0] if found[0].startswith("<part") else f'<measure number="{place - 1}">'

    text = re.sub(r"<part [^>]*>|<measure [^>]*>", counted, text_of(file))
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions({"expandAlways": True})
    if not toolkit.loadData(text):
        return "cannot load it"
    played: list[int] = []
    for measure in re.split(r"<measure ", toolkit.getMEI())[1:]:
        number = re.match(r'[^>]*\bn="(\d+)"', measure)
        rest = re.search(r'<multiRest [^>]*\bnum="(\d+)"', measure)
        if number:
            played += range(int(number[1]), int(number[1]) + (int(rest[1]) if rest else 1))
    return run_length(played)


def by_music21(file: str) -> str:
    """Its expansion of the first part; what it raises where it raises."""
    import music21

    try:
        score = music21.converter.parse(text_of(file), format="musicxml")
        part = score.parts[0]
        for place, measure in enumerate(part.getElementsByClass("Measure"), start=1):
            measure.editorial.place = place
        expanded = music21.repeat.Expander(part).process()
        return run_length(measure.editorial.place for measure in expanded.getElementsByClass("Measure"))
    except Exception as error:  # Whatever goes wrong in there is its answer.
        return f"raises {type(error).__name__}"


def main() -> None:
    from music.test_corpus import DECIDED, LARGE, SENSELESS

    decided = DECIDED | LARGE

    counts: Counter[str] = Counter()
    for file in files():
        (said, told), first, second = ours(file), by_verovio(file), by_music21(file)
        agree = first == second
        counts["files"] += 1
        counts["the libraries agree"] += agree
        counts["of these, ours equals them"] += agree and said == first
        counts["they differ, ours is the decided reading"] += not agree and said == decided.get(file, ("", ""))[0]
        counts["they differ, ours tells that it is senseless"] += not agree and file in SENSELESS and bool(told)
        if said != first or not agree:
            why = f"decided: {decided[file][1]}" if file in decided else "not decided"
            print(f"{file}: {said} | verovio {first} | music21 {second}; {why}; told: {told or 'nothing'}", flush=True)
    for what, count in counts.items():
        print(f"{what}: {count}")


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1]))
    main()
