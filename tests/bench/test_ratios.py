"""The bench's own arithmetic, and that it runs; how fast anything is, no test says."""

import json
import math
import statistics
import subprocess
import sys
from pathlib import Path

import pytest

from bench.ratios import Figure, percentile

RUN = Path(__file__).with_name("run.py")


def test_a_ratio_is_of_the_medians() -> None:
    figure = Figure("x", [9.0, 3.0, 900.0], [2.0, 3.0, 0.5], "<= 5")
    assert figure.ratio == 4.5
    assert figure.as_json()["ratio"] == 4.5


@pytest.mark.parametrize(("q", "value"), [(0, 1), (1, 1), (50, 50), (95, 95), (99, 99), (100, 100)])
def test_a_percentile_is_the_nearest_rank(q: float, value: float) -> None:
    """Nearest rank: the least value that at least q percent of all do not exceed (common practice in statistics)."""
    assert percentile([float(n) for n in range(100, 0, -1)], q) == value


def test_a_percentile_of_few_is_one_of_them() -> None:
    assert percentile([5.0], 95) == 5.0
    # Of an odd number, the middle one is the median as the standard library says.
    assert percentile([3.0, 1.0, 2.0], 50) == statistics.median([3.0, 1.0, 2.0])


LIVE = ("call_11", "ack", "cut_16")


def test_it_measures_a_real_hub(tmp_path: Path) -> None:
    """As a developer runs it: it comes to an end, and every figure is a number. How fast it was, nobody asks."""
    out = tmp_path / "bench.json"
    done = subprocess.run(
        [sys.executable, str(RUN), "--only", *LIVE, "--quick", "--json", str(out)],
        capture_output=True,
        text=True,
        check=False,
        timeout=600,
    )
    assert done.returncode == 0, done.stderr
    assert all(name in done.stdout for name in LIVE)
    found = json.loads(out.read_text())
    assert found["version"] == 1
    assert set(found["machine"]) == {"system", "python", "processor", "cores"}
    assert found["skipped"] == {}
    assert set(found["figures"]) == set(LIVE)
    assert found["figures"]["ack"]["runs"] == 10
    for figure in found["figures"].values():
        numbers = [figure[side][share] for side in ("ours_ms", "floor_ms") for share in ("p50", "p95")]
        assert all(math.isfinite(number) and number > 0 for number in numbers)
        assert figure["ratio"] == pytest.approx(figure["ours_ms"]["p50"] / figure["floor_ms"]["p50"], rel=0.05)
        assert {"goal", "note"} <= set(figure)
