"""`collaparte lay` as it is run: a PDF of the asked shape, JSON, and one sentence for what cannot be."""

from pathlib import Path

import msgspec
import pymupdf
import pytest
from typer.testing import CliRunner

from collaparte.cli import app_of
from collaparte.demo import BAND
from collaparte.paper.pages.laying import Laying

ALTO = BAND / "Half Past the Ferry" / "01 Half Past the Ferry - 1st Alto.pdf"
VOCAL = BAND / "The Lamp You Left On" / "Vocal.pdf"
MM = 72 / 25.4


def run(*words: str | Path) -> tuple[int, str, str]:
    result = CliRunner().invoke(app_of(("lay",)), ["lay", *map(str, words)])
    return result.exit_code, result.stdout, result.stderr


def test_a_part_is_laid(tmp_path: Path) -> None:
    out = tmp_path / "laid.pdf"
    code, said, _ = run(ALTO, "-o", out)
    assert code == 0
    laid = pymupdf.open(out)
    assert f"{len(laid)} pages" in said
    assert (laid[0].rect.width / MM, laid[0].rect.height / MM) == pytest.approx((148, 197), abs=0.01)


def test_shape_stave_and_json(tmp_path: Path) -> None:
    out = tmp_path / "laid.pdf"
    code, said, _ = run(ALTO, "-o", out, "--page", "200x260", "--stave", "9", "--json")
    laying = msgspec.json.decode(said, type=Laying)
    assert (code, laying.page, laying.stave) == (0, (200.0, 260.0), 9.0)
    assert len(pymupdf.open(out)) == len(laying.pages)


def test_written_order_plays_repeats_and_jumps(tmp_path: Path) -> None:
    out = tmp_path / "laid.pdf"
    bars = {}
    for order in ("printed", "written"):
        _, said, _ = run(ALTO, "-o", out, "--order", order, "--json")
        laying = msgspec.json.decode(said, type=Laying)
        last = laying.pages[-1].lines[-1].bars[-1]
        bars[order] = last.steps[1] + 1
    assert bars["printed"] == 98
    assert bars["written"] > 98 + 8


def test_a_part_without_staves_is_shown_as_printed(tmp_path: Path) -> None:
    code, said, _ = run(VOCAL, "-o", tmp_path / "laid.pdf")
    assert code == 0
    assert "as printed" in said


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (["--page", "148"], "width x height"),
        (["--stave", "40"], "40 mm"),
        (["--order", "backwards"], "printed or written"),
    ],
)
def test_what_is_asked_wrongly_is_said_in_a_sentence(words: list[str], reason: str, tmp_path: Path) -> None:
    out = tmp_path / "laid.pdf"
    code, _, error = run(ALTO, "-o", out, *words)
    assert code == 1
    assert reason in error and error.strip().endswith(".")
    assert not out.exists()


@pytest.mark.parametrize("content", [b"", b"words", b"%PDF-1.4\nbroken"])
def test_a_bad_file_is_said_in_a_sentence(content: bytes, tmp_path: Path) -> None:
    bad = tmp_path / "bad.pdf"
    bad.write_bytes(content)
    out = tmp_path / "laid.pdf"
    code, _, error = run(bad, "-o", out)
    assert code == 1
    assert error.startswith("bad.pdf") and len(error.strip().splitlines()) == 1
    assert not out.exists()


def test_a_missing_file(tmp_path: Path) -> None:
    code, _, error = run(tmp_path / "none.pdf", "-o", tmp_path / "laid.pdf")
    assert code == 1
    assert "There is no file" in error


def test_a_place_that_cannot_be_written_to_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("no folder")
    code, _, error = run(ALTO, "-o", tmp_path / "file" / "laid.pdf")
    assert code == 1
    assert error.startswith(f"laid.pdf cannot be written to {tmp_path / 'file'} (") and len(error.splitlines()) == 1
