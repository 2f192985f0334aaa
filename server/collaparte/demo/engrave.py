"""Sets the demo band's parts: runs the engraver over the sources, files the PDFs and writes one truth JSON a tune.

Needed only to change the music (`python -m collaparte.demo.engrave`); the PDFs are kept with the sources.
"""

import argparse
import importlib.util
import json
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pymupdf

from collaparte.demo import BAND, SOURCES, TRUTH

Row = dict[str, Any]


@dataclass(frozen=True)
class Tune:
    """A source and where its parts are filed; `one_pdf` names the file when all parts lie in one."""

    source: str
    title: str
    one_pdf: str | None = None


TUNES = (
    Tune("half-past-the-ferry", "Half Past the Ferry"),
    Tune("two-left-gloves", "Two Left Gloves"),
    Tune("the-lamp-you-left-on", "The Lamp You Left On"),
    Tune("ninepenny-waltz", "Ninepenny Waltz", one_pdf="Ninepenny Waltz - all parts"),
)

JUMPS = {"To Coda": "to-coda", "D.S. al Coda": "ds-al-coda"}


class NoEngraver(RuntimeError):
    """LilyPond is not installed, or did not finish a source."""


def engraver() -> str:
    """The path of the `lilypond` program: of the Python package, else on the PATH."""
    spec = importlib.util.find_spec("lilypond")
    if spec is not None and spec.origin is not None:
        return str(Path(spec.origin).parent / "lilypond-binaries" / "bin" / "lilypond")
    found = shutil.which("lilypond")
    if found is None:
        raise NoEngraver("No LilyPond found: install the Python package `lilypond` to set the demo's parts again.")
    return found


def set_parts(tune: Tune, folder: Path) -> list[Path]:
    """Run the engraver over a tune; PDFs and `.truth` rows land in `folder`. Returns the PDFs in score order."""
    command = [
        engraver(),
        "-dno-point-and-click",
        "--loglevel=WARNING",
        "-I",
        str(SOURCES),
        f"{SOURCES / tune.source}.ly",
    ]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise NoEngraver(f"LilyPond did not finish {tune.source}.ly: {done.stderr.strip()}")
    rows = sorted(folder.glob("*.truth"), key=lambda path: int(read_rows(path)[0]["order"]))
    return [path.with_suffix(".pdf") for path in rows]


def read_rows(path: Path) -> list[Row]:
    """The rows that the engraver wrote for one part."""
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def once(rows: list[Row], kind: str, shape: Callable[[Row], Row]) -> list[Row]:
    """Rows of a kind in order of bars; staves of one part repeat each other, so equal ones count once."""
    kept: list[Row] = []
    for row in rows:
        if row["kind"] == kind and (shaped := shape(row)) not in kept:
            kept.append(shaped)
    return kept


def multirests(rows: list[Row], staves: int) -> list[Row]:
    """Rests of two bars or more in which every stave of the part rests."""
    rests = [{"bar": row["bar"], "count": row["count"]} for row in rows if row["kind"] == "rest" and row["count"] > 1]
    return [rest for i, rest in enumerate(rests) if rest not in rests[:i] and rests.count(rest) == staves]


def signs(rows: list[Row]) -> list[Row]:
    """Segno, coda and jumps; `bar` is the bar that they begin, or for jumps the bar that they end."""
    found = [{"kind": row["kind"], "bar": row["bar"]} for row in rows if row["kind"] in ("segno", "coda")]
    jumps = [row for row in rows if row["kind"] == "jump"]
    found += [{"kind": JUMPS[row["text"].removesuffix(" scripts.coda")], "bar": row["bar"]} for row in jumps]
    return sorted(found, key=lambda sign: (sign["bar"], sign["kind"]))


def truth_of(rows: list[Row]) -> Row:
    """What one part holds, in the engraver's numbers. Bars are counted without the pickup; sizes in mm."""
    first = {row["kind"]: row for row in reversed(rows)}
    part: Row = {
        "chair": first["part"]["chair"],
        "paper_mm": [round(first["paper"]["width_mm"], 2), round(first["paper"]["height_mm"], 2)],
    }
    if "staves" not in first:
        return {**part, "staves": 0, "pages": [[] for row in rows if row["kind"] == "page"]}
    staves = first["staves"]["count"]
    if first["end"]["whole"] != "yes":
        raise NoEngraver(f"{part['chair']} ends within a bar.")
    return {
        **part,
        "staves": staves,
        "stave_mm": first["stave"]["mm"],
        "bars": first["end"]["bar"] - 1,
        "pickup": "pickup" in first,
        "times": once(rows, "time", lambda row: {"bar": row["bar"], "beats": row["beats"], "unit": row["unit"]}),
        "keys": once(rows, "key", lambda row: {"bar": row["bar"], "sharps": row["sharps"]}),
        "tempi": once(rows, "tempo", lambda row: {"bar": row["bar"], "text": row["text"]}),
        "marks": once(rows, "mark", lambda row: {"bar": row["bar"], "text": row["text"].strip("[]")}),
        "signs": signs(rows),
        "endings": once(rows, "ending", lambda row: {"bar": row["bar"], "number": int(row["text"].rstrip("."))}),
        "barlines": once(rows, "barline", lambda row: {"before": row["before"], "glyph": row["glyph"]}),
        "multirests": multirests(rows, staves),
        "pages": [row["systems"] for row in rows if row["kind"] == "page"],
    }


def file_parts(tune: Tune, pdfs: list[Path], band: Path) -> list[Row]:
    """Copy the PDFs to the tune's folder, joined where the tune is one PDF; returns file and first page (0-based)."""
    folder = band / tune.title
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    if tune.one_pdf is None:
        for pdf in pdfs:
            shutil.copy(pdf, folder)
        return [{"file": f"{tune.title}/{pdf.name}", "first_page": 0} for pdf in pdfs]
    places: list[Row] = []
    joined = pymupdf.open()
    for pdf in pdfs:
        places.append({"file": f"{tune.title}/{tune.one_pdf}.pdf", "first_page": joined.page_count})
        with pymupdf.open(pdf) as part:
            joined.insert_pdf(part)
    joined.save(folder / f"{tune.one_pdf}.pdf", garbage=4, deflate=True)
    joined.close()
    return places


def engrave(tune: Tune, band: Path = BAND, truth: Path = TRUTH) -> Path:
    """Set one tune: PDFs to `band`/title, truth to `truth`/source.json (returned)."""
    with tempfile.TemporaryDirectory() as work:
        pdfs = set_parts(tune, Path(work))
        places = file_parts(tune, pdfs, band)
        parts = [truth_of(read_rows(pdf.with_suffix(".truth"))) for pdf in pdfs]
    truth.mkdir(parents=True, exist_ok=True)
    out = truth / f"{tune.source}.json"
    whole = {"tune": tune.title, "parts": [{**place, **part} for place, part in zip(places, parts, strict=True)]}
    out.write_text(as_text(whole), encoding="utf-8")
    return out


def as_text(whole: Row) -> str:
    """The truth as JSON that a person can read and a diff can show: a line a fact."""
    blocks = []
    for part in whole["parts"]:
        facts = ",\n".join(f"    {json.dumps(k)}: {json.dumps(v, ensure_ascii=False)}" for k, v in part.items())
        blocks.append("   {\n" + facts + "\n   }")
    return '{\n "tune": ' + json.dumps(whole["tune"]) + ',\n "parts": [\n' + ",\n".join(blocks) + "\n ]\n}\n"


def main() -> None:
    """Set all tunes, or those named."""
    parser = argparse.ArgumentParser(description="Set the demo band's parts again.")
    parser.add_argument("tunes", nargs="*", metavar="TUNE", help="a source without its ending; all if none")
    parser.add_argument("--into", type=Path, help="a folder for band/ and truth/ instead of the demo's own")
    args = parser.parse_args()
    into: Path | None = args.into
    unknown = set(args.tunes) - {tune.source for tune in TUNES}
    if unknown:
        parser.error(f"no such tune: {', '.join(sorted(unknown))}; there are {', '.join(t.source for t in TUNES)}")
    for tune in TUNES:
        if not args.tunes or tune.source in args.tunes:
            print(engrave(tune, into / "band", into / "truth") if into else engrave(tune))


if __name__ == "__main__":
    main()
