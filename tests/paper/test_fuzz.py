"""A few files out of the fuzz, others for every state of the project; and those that were more than a sentence."""

import asyncio
import gzip
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
import pytest_asyncio

from collaparte.hub.workers import Pool
from paper.fuzz import LIMITS, fuzz, outcome
from seeded import SEED

FOUND = sorted((Path(__file__).parent / "fuzzed").glob("*.pdf.gz"))


def test_a_slice_of_the_fuzz_finds_nothing() -> None:
    print(f"python tests/paper/fuzz.py --seed {SEED}")
    came = asyncio.run(fuzz(SEED, cases=20))
    assert came.total() == 20
    assert not [what for what in came if what.isupper()]


@pytest_asyncio.fixture(scope="module", loop_scope="module")
async def pool() -> AsyncIterator[Pool]:
    async with Pool(1, limits=LIMITS) as pool:
        yield pool


@pytest.mark.asyncio(loop_scope="module")
@pytest.mark.parametrize("file", FOUND, ids=lambda file: file.stem)
async def test_what_was_found_once_is_not_found_again(file: Path, pool: Pool) -> None:
    pdf = gzip.decompress(await asyncio.to_thread(file.read_bytes))
    what, words = await outcome(pool, pdf, file.name)
    assert not what.isupper(), words
