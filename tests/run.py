"""Set up what the tests need in `.venv`, then run every check and test: `python3 tests/run.py [pytest arguments]`.

Only the standard library is used here, so that a bare Python 3.11 can start it.
"""

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
COMPUTING = tuple(f"tests/{room}" for room in ("wire", "music", "band", "paper", "store", "demo"))
"""Rooms whose tests compute and wait for nothing. They run beside those that mostly wait, for hubs and browsers."""


def step(words: str, *command: str | Path) -> None:
    """Run one step; stop with its exit code and a sentence when it fails."""
    print(f"== {words}", flush=True)
    code = subprocess.run([str(part) for part in command], cwd=ROOT, check=False).returncode
    if code:
        print(f"The step “{words}” failed (exit code {code}); its output is above.", file=sys.stderr)
        raise SystemExit(code)


def tests() -> None:
    """All tests in two lanes; what computes gives way, so that what goes by a clock is as undisturbed as alone."""
    print(f"== Tests ({', '.join(COMPUTING)} beside the others, told after them)", flush=True)
    give_way = (lambda: os.nice(15)) if hasattr(os, "nice") else None
    command = [str(PYTHON), "-m", "pytest"]
    with tempfile.TemporaryFile() as said:
        beside = subprocess.Popen(
            [*command, "-p", "no:cacheprovider", *COMPUTING],
            cwd=ROOT,
            stdout=said,
            stderr=subprocess.STDOUT,
            preexec_fn=give_way,
        )
        others = subprocess.run([*command, *(f"--ignore={room}" for room in COMPUTING)], cwd=ROOT, check=False)
        code = beside.wait()
        said.seek(0)
        print(f"== {', '.join(COMPUTING)}", flush=True)
        sys.stdout.buffer.write(said.read())
        sys.stdout.flush()
    if code or others.returncode:
        print("Tests failed; their output is above.", file=sys.stderr)
        raise SystemExit(others.returncode or code)


def main() -> None:
    """Make the environment, check style, types and arrows, then test."""
    if sys.version_info < (3, 11):  # noqa: UP036 - this file is started by whatever Python there is
        raise SystemExit(f"Colla Parte needs Python 3.11 or later; this is {sys.version.split()[0]}.")
    if not PYTHON.exists():
        print("== Make .venv", flush=True)
        venv.create(VENV, with_pip=True)
    step("Install the hub and what its tests need", PYTHON, "-m", "pip", "install", "-q", "-e", ".[test]")
    step("Format", PYTHON, "-m", "ruff", "format", "--check", "server", "client", "tests")
    step("Lint", PYTHON, "-m", "ruff", "check", "server", "client", "tests")
    step("Types", PYTHON, "-m", "mypy")
    step("Import arrows", BIN / "lint-imports", "--no-cache")
    if sys.argv[1:]:
        step("Tests", PYTHON, "-m", "pytest", *sys.argv[1:])
    else:
        tests()


if __name__ == "__main__":
    main()
