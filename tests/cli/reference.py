"""docs/reference/cli.md, made from the commands' own help: `python tests/cli/reference.py` writes it anew."""

import os
from pathlib import Path

from typer.testing import CliRunner

from collaparte.cli import VERBS, app_of

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "cli.md"
COLUMNS = "100"

HEAD = """# The command line

What `collaparte VERB --help` prints; made by `python tests/cli/reference.py`. A verb that cannot do what it is asked
says so in one sentence and ends with exit code 1, or 2 when the command itself is wrong. For a hub's address,
the name of a band that `find` lists will do. Codes may stand in the environment, so that they need not be typed.
"""


def page() -> str:
    """The whole page."""
    return "\n".join((HEAD, _help(()), *(f"## {verb}\n\n{_help((verb,))}" for verb in VERBS)))


def _help(words: tuple[str, ...]) -> str:
    environment = {"COLUMNS": COLUMNS, "TERMINAL_WIDTH": COLUMNS, "NO_COLOR": "1"}
    said = CliRunner().invoke(app_of(VERBS), [*words, "--help"], env=environment, prog_name="collaparte")
    lines = [line.rstrip() for line in said.output.strip().splitlines()]
    return "\n".join(("```text", *lines, "```", ""))


if __name__ == "__main__":
    os.environ["COLUMNS"] = COLUMNS
    PAGE.write_text(page(), encoding="utf-8")
