"""The demo band that all these tests play with."""

import re

from e2e.conftest import Demo


def test_the_demo_band_is_brought_in_and_served(demo: Demo) -> None:
    assert re.search(r"join code +[a-z0-9]{6}\n", demo.said)
    # Nothing half done is left beside it.
    assert [path.name for path in demo.folder.parent.iterdir()] == [demo.folder.name]
