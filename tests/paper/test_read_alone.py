"""A part is read the same whatever was read before it: parts come in any order, and a hub is restarted between them."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from remade import PLAIN, remade

pytest.importorskip("verovio")
import second_engraving

READ = """
import sys
import msgspec
from collaparte.paper.read import read_part
for file in sys.argv[1:]:
    with open(file, "rb") as part:
        reading = msgspec.json.encode(read_part(part.read()))
sys.stdout.buffer.write(reading)
"""
SIMILAR = (46, 43)
"""Charts whose titles have letters in common, which as outlines are nearly alike."""


def _last_read(*parts: Path) -> bytes:
    return subprocess.run([sys.executable, "-c", READ, *map(str, parts)], check=True, capture_output=True).stdout


def test_a_part_of_outlines_is_read_the_same_alone_and_behind_another_with_nearly_the_same_shapes(
    tmp_path: Path,
) -> None:
    before, part = (tmp_path / f"{seed}.pdf" for seed in SIMILAR)
    for file in (before, part):
        seed = int(file.stem)
        file.write_bytes(remade(second_engraving.chart(seed)[0], replace(PLAIN, text="outlines"), seed))
    alone = _last_read(part)
    assert len(alone) > 1000
    assert _last_read(before, part) == alone
