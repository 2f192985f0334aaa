"""The reference page is what the commands themselves say."""

import re

from cli.reference import PAGE, page
from collaparte.cli import VERBS


def words(text: str) -> list[str]:
    """What is said, however the help's layout breaks it or shows types."""
    return re.sub(r"[\[\]{}]|<[^>]*>", " ", text).split()


def test_the_page_is_the_commands_own_help() -> None:
    assert words(PAGE.read_text(encoding="utf-8")) == words(page()), "run python tests/cli/reference.py"


def test_no_verbs_line_is_cut_off() -> None:
    listed = page().split("Commands:", 1)[1].split("```", 1)[0]
    assert len(listed.strip().splitlines()) == len(VERBS)
    assert "..." not in listed
