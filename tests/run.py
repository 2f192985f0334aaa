"""Set up what the tests need in `.venv`, then run every check and test: `python3 tests/run.py [pytest arguments]`.

Only the standard library is used here, so that a bare Python 3.11 can start it.
"""

import os
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")


def step(words: str, *command: str | Path) -> None:
    """Run one step; stop with its exit code and a sentence when it fails."""
    print(f"== {words}", flush=True)
    code = subprocess.run([str(part) for part in command], cwd=ROOT, check=False).returncode
    if code:
        print(f"The step “{words}” failed (exit code {code}); its output is above.", file=sys.stderr)
        raise SystemExit(code)


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
    step("Tests", PYTHON, "-m", "pytest", *sys.argv[1:])


if __name__ == "__main__":
    main()
