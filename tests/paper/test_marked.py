"""Markings on laid pages of a PDF stand where the stands show them: tests/vectors/anchors.json holds here too."""

import json
from pathlib import Path
from typing import Any

import msgspec
import pytest

from collaparte.paper.pages.laying import LaidLine
from collaparte.paper.pages.marked import runs_on
from collaparte.wire.markings import Point

CASES = json.loads((Path(__file__).parents[1] / "vectors" / "anchors.json").read_text(encoding="utf-8"))["cases"]


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_strokes_run_as_on_the_stands(case: dict[str, Any]) -> None:
    lines = [msgspec.convert(line, LaidLine) for line in case["page"]["lines"]]
    bars = [(case["written"][place][0], case["written"][place][2]) for place in case["order"]]
    for stroke in case["strokes"]:
        points = [msgspec.convert(point, Point) for point in stroke["points"]]
        runs = [run for line in lines for run in runs_on(points, line, bars, case["space"], stroke["pass"])]
        assert [[[spot.x, spot.y] for spot in run] for run in runs] == [
            [pytest.approx(spot) for spot in run] for run in stroke["runs"]
        ]
