"""A small net of layers: what it has learned is kept as weights in a file beside this module."""

from functools import lru_cache
from importlib import resources
from io import BytesIO

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]


@lru_cache(maxsize=4)
def weights(file: str) -> dict[str, Floats]:
    """The arrays of a file by name: layer0, layer1, ... are weights and biases in turn."""
    data = resources.files("collaparte.paper.scans").joinpath(file).read_bytes()
    store = np.load(BytesIO(data), allow_pickle=False)
    return {name: store[name].astype(np.float32) for name in store.files}


def chances(seen: Floats, file: str) -> Floats:
    """How likely each thing, by its features (one a row), is of each class."""
    kept = weights(file)
    count = sum(name.startswith("layer") for name in kept) // 2
    out = seen
    for n in range(count):
        out = out @ kept[f"layer{2 * n}"]
        out += kept[f"layer{2 * n + 1}"]
        if n + 1 < count:
            np.maximum(out, 0, out=out)
    out = np.exp(out - out.max(axis=1, keepdims=True))
    told: Floats = out / out.sum(axis=1, keepdims=True)
    return told
