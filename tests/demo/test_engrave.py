"""Setting a tune again gives the same numbers: the truth is the engraver's, not typed by hand."""

import importlib.util
from pathlib import Path

import pytest

from collaparte.demo import TRUTH
from collaparte.demo.engrave import TUNES, Tune, engrave, multirests, read_rows

WALTZ = next(tune for tune in TUNES if tune.one_pdf)


@pytest.mark.skipif(importlib.util.find_spec("lilypond") is None, reason="the engraver's package is not installed")
def test_setting_a_tune_again_gives_the_same_truth(tmp_path: Path) -> None:
    again = engrave(WALTZ, tmp_path / "band", tmp_path / "truth")
    assert again.read_text(encoding="utf-8") == (TRUTH / again.name).read_text(encoding="utf-8")
    assert [path.name for path in (tmp_path / "band" / WALTZ.title).iterdir()] == [f"{WALTZ.one_pdf}.pdf"]


@pytest.mark.skipif(importlib.util.find_spec("lilypond") is None, reason="the engraver's package is not installed")
def test_a_source_that_does_not_engrave_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError, match=r"did not finish no-such-tune\.ly"):
        engrave(Tune("no-such-tune", "No Such Tune"), tmp_path / "band", tmp_path / "truth")
    assert not (tmp_path / "truth").exists()


def test_a_rest_counts_only_when_every_stave_rests(tmp_path: Path) -> None:
    told = tmp_path / "Piano.truth"
    told.write_text(
        '{"kind": "rest", "bar": 1, "count": 4}\n{"kind": "rest", "bar": 1, "count": 4}\n'
        '{"kind": "rest", "bar": 9, "count": 2}\n{"kind": "rest", "bar": 12, "count": 1}\n',
        encoding="utf-8",
    )
    assert multirests(read_rows(told), staves=2) == [{"bar": 1, "count": 4}]
    assert multirests(read_rows(told), staves=1) == [{"bar": 9, "count": 2}]
