"""Figures and how they are printed."""

import os
import platform
import statistics
from dataclasses import dataclass, field
from math import ceil
from pathlib import Path


@dataclass
class Figure:
    """One measured ratio: ours over the floor, medians in ms, with the goal in words (empty: none is set)."""

    name: str
    ours: list[float]
    floor: list[float]
    goal: str
    note: str = ""
    extra: dict[str, float] = field(default_factory=dict)

    @property
    def ratio(self) -> float:
        """Median of ours over median of the floor."""
        return statistics.median(self.ours) / statistics.median(self.floor)

    def as_json(self) -> dict[str, object]:
        """Numbers in ms."""
        return {
            "ratio": round(self.ratio, 3),
            "ours_ms": {"p50": round(statistics.median(self.ours), 3), "p95": round(percentile(self.ours, 95), 3)},
            "floor_ms": {"p50": round(statistics.median(self.floor), 3), "p95": round(percentile(self.floor, 95), 3)},
            "runs": len(self.ours),
            "goal": self.goal,
            "note": self.note,
            **self.extra,
        }


def percentile(values: list[float], q: float) -> float:
    """The nearest-rank percentile: the least value that at least q percent of all do not exceed."""
    ordered = sorted(values)
    return ordered[max(0, ceil(len(ordered) * q / 100) - 1)]


def machine() -> dict[str, object]:
    """What it was measured on."""
    return {
        "system": platform.platform(),
        "python": platform.python_version(),
        "processor": processor(),
        "cores": os.cpu_count(),
    }


def processor() -> str:
    """The processor's name where the system tells it."""
    try:
        with Path("/proc/cpuinfo").open(encoding="utf-8") as file:
            return next(line.split(":", 1)[1].strip() for line in file if line.startswith("model name"))
    except (OSError, StopIteration):
        return platform.processor() or "unknown"
