"""The reference page is what the commands themselves say."""

import re

from cli.reference import PAGE, page


def words(text: str) -> list[str]:
    """What is said, however the help's layout breaks it or shows types."""
    return re.sub(r"[\[\]{}]|<[^>]*>", " ", text).split()


def test_the_page_is_the_commands_own_help() -> None:
    assert words(PAGE.read_text(encoding="utf-8")) == words(page()), "run python tests/cli/reference.py"
