"""Set up what the tests need in `.venv`, then run every check and test: `python3 tests/run.py [pytest arguments]`.

Only the standard library is used here, so that a bare Python 3.11 can start it.
"""

import contextlib
import os
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")
BESIDE = ("wire", "music", "band", "paper", "store", "demo"), ("cli", "client", "bench")
"""Rooms whose tests run beside the others, in two lanes that give way: the first computes and waits for nothing, the
second waits for commands and hubs of its own."""


def step(words: str, *command: str | Path) -> None:
    """Run one step; stop with its exit code and a sentence when it fails."""
    print(f"== {words}", flush=True)
    code = subprocess.run([str(part) for part in command], cwd=ROOT, check=False).returncode
    if code:
        print(f"The step “{words}” failed (exit code {code}); its output is above.", file=sys.stderr)
        raise SystemExit(code)


def seed() -> str:
    """What charts and cases are drawn from: `COLLAPARTE_SEED`, or the state of the project that is checked in.

    So every change meets fresh ones, and what passed here passes wherever the same state is tested.
    """
    if said := os.environ.get("COLLAPARTE_SEED"):
        return said
    tree = ["git", "rev-parse", "HEAD^{tree}"]
    try:
        found = subprocess.run(tree, cwd=ROOT, check=True, capture_output=True, text=True).stdout
    except (OSError, subprocess.CalledProcessError):  # not a checkout: any number does
        found = os.urandom(4).hex()
    return str(int(found[:8], 16) % 10**6)


def pytest() -> list[str]:
    """The command, whose cases are drawn from the seed as well."""
    return [str(PYTHON), "-m", "pytest", f"--hypothesis-seed={os.environ['COLLAPARTE_SEED']}"]


def tests() -> None:
    """All tests in three lanes; two give way, so that what goes by a clock is as undisturbed as alone."""
    lanes = [[f"tests/{room}" for room in rooms] for rooms in BESIDE]
    aside = [room for lane in lanes for room in lane]
    print(f"== Tests ({', '.join(aside)} beside the others, told after them)", flush=True)
    give_way = (lambda: os.nice(15)) if hasattr(os, "nice") else None
    with contextlib.ExitStack() as files:
        beside = []
        for lane in lanes:
            said = files.enter_context(tempfile.TemporaryFile())
            started = subprocess.Popen(
                [*pytest(), "-p", "no:cacheprovider", *lane],
                cwd=ROOT,
                stdout=said,
                stderr=subprocess.STDOUT,
                preexec_fn=give_way,
            )
            beside.append((lane, started, said))
        code = subprocess.run([*pytest(), *(f"--ignore={room}" for room in aside)], cwd=ROOT, check=False).returncode
        for lane, started, said in beside:
            code = started.wait() or code
            said.seek(0)
            print(f"== {', '.join(lane)}", flush=True)
            sys.stdout.buffer.write(said.read())
            sys.stdout.flush()
    if code:
        print("Tests failed; their output is above.", file=sys.stderr)
        raise SystemExit(code)


def main() -> None:
    """Make the environment, check style, types and arrows, then test."""
    if sys.version_info < (3, 11):  # noqa: UP036 - this file is started by whatever Python there is
        raise SystemExit(f"Colla Parte needs Python 3.11 or later; this is {sys.version.split()[0]}.")
    # What is imported, and no more, is compiled once: hubs and workers are started by the hundred.
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    # As in the hub's workers: beside other lanes, threads of arithmetic wait for each other and cost thrice the time.
    os.environ |= {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    if not PYTHON.exists():
        print("== Make .venv", flush=True)
        venv.create(VENV, with_pip=True)
    step(
        "Install the hub and what its tests need", PYTHON, "-m", "pip", "install", "-q", "--no-compile", "-e", ".[test]"
    )
    step("Format", PYTHON, "-m", "ruff", "format", "--check", "server", "client", "tests")
    step("Lint", PYTHON, "-m", "ruff", "check", "server", "client", "tests")
    step("Types", PYTHON, "-m", "mypy")
    step("Import arrows", BIN / "lint-imports", "--no-cache")
    os.environ["COLLAPARTE_SEED"] = seed()
    print(f"== Seed {os.environ['COLLAPARTE_SEED']}: COLLAPARTE_SEED repeats it", flush=True)
    if sys.argv[1:]:
        step("Tests", *pytest(), *sys.argv[1:])
    else:
        tests()


if __name__ == "__main__":
    main()
