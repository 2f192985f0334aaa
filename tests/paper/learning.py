"""Nets of layers for scans, learned by gradient descent: the same things and seed give the same weights."""

import argparse
from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np
import numpy.typing as npt

BATCH, RATE = 256, 0.0012
DROPPED = 0.1
"""This share of the hidden cells is left out by lot in each step."""
EVEN = 0.03
"""This share of each thing's chance is spread over all classes: no net is to be quite sure."""

Weights = list[npt.NDArray[np.float32]]
Store = Mapping[str, npt.NDArray[np.generic]]


def asked(about: str, **numbers: int) -> argparse.Namespace:
    """What the command line says: some numbers, by name with what they are unsaid, and a file for the samples."""
    say = argparse.ArgumentParser(description=about, formatter_class=argparse.RawDescriptionHelpFormatter)
    for name, usual in numbers.items():
        say.add_argument(f"--{name}", type=int, default=usual)
    say.add_argument("--samples", type=Path)
    return say.parse_args()


def stored(file: Path | None, gathered: Callable[[], Store]) -> Store:
    """Samples gathered before, or now; kept where a file is named."""
    if file and file.exists():
        return dict(np.load(file))
    store = gathered()
    if file:
        np.savez(file, **store)  # type: ignore[arg-type]  # names are the samples' own
    return store


def trained(
    x: npt.NDArray[np.float32], labels: npt.NDArray[np.intp], sizes: Sequence[int], seed: int, epochs: int
) -> Weights:
    """Weights and biases of layers of these sizes, learned by Adam's rule with a falling rate."""
    dice = np.random.default_rng(seed)
    weights: Weights = []
    for a, b in pairwise(sizes):
        weights += [(dice.standard_normal((a, b)) * np.sqrt(2 / a)).astype(np.float32), np.zeros(b, np.float32)]
    first, second, step = [np.zeros_like(w) for w in weights], [np.zeros_like(w) for w in weights], 0
    total = epochs * (len(x) // BATCH)
    for epoch in range(epochs):
        order, loss = dice.permutation(len(x)), 0.0
        for at in range(0, len(x) - BATCH + 1, BATCH):
            some = order[at : at + BATCH]
            slopes, off = _slopes(weights, x[some], labels[some], dice)
            loss += off
            step += 1
            rate = RATE * (1 - step / (total + 1))
            for n, slope in enumerate(slopes):
                first[n] += 0.1 * (slope - first[n])
                second[n] += 0.001 * (slope**2 - second[n])
                weights[n] -= (
                    rate * (first[n] / (1 - 0.9**step)) / (np.sqrt(second[n] / (1 - 0.999**step)) + 1e-8)
                    + (1e-5 * weights[n] if n % 2 == 0 else 0)
                ).astype(np.float32)
        print(f"epoch {epoch + 1}: loss {loss / (len(x) // BATCH):.4f}", flush=True)
    return weights


def _slopes(
    weights: Weights, x: npt.NDArray[np.float32], labels: npt.NDArray[np.intp], dice: np.random.Generator
) -> tuple[Weights, float]:
    """How the loss changes with each weight, some hidden cells left out by lot, and the loss."""
    layers, kept = [x], []
    for n in range(0, len(weights) - 2, 2):
        hidden = layers[-1] @ weights[n] + weights[n + 1]
        on = (hidden > 0) & (dice.random(hidden.shape, dtype=np.float32) > DROPPED)
        kept.append(on)
        layers.append((hidden * on).astype(np.float32) / np.float32(1 - DROPPED))
    out = layers[-1] @ weights[-2] + weights[-1]
    out = np.exp(out - out.max(axis=1, keepdims=True))
    out /= out.sum(axis=1, keepdims=True)
    loss = float(-np.log(out[np.arange(len(x)), labels] + 1e-9).mean())
    wanted = np.full_like(out, EVEN / out.shape[1])
    wanted[np.arange(len(x)), labels] += 1 - EVEN
    back = (out - wanted) / len(x)
    slopes: Weights = []
    for n in range(len(weights) - 2, -1, -2):
        slopes = [layers[n // 2].T @ back, back.sum(axis=0), *slopes]
        if n:
            back = (back @ weights[n].T) * kept[n // 2 - 1] / np.float32(1 - DROPPED)
    return slopes, loss


def kept(weights: Weights, file: Path, **more: npt.NDArray[np.float16]) -> None:
    """Write the weights as the package reads them."""
    named = {f"layer{n}": w.astype(np.float16) for n, w in enumerate(weights)}
    np.savez_compressed(file, **named, **more)
    print(file, file.stat().st_size)
