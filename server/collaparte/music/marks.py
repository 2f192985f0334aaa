"""Rehearsal marks as they are called: "verse two" and "second verse" for "Verse 2", "solo" for "Solos", "V2"."""

import re
from collections.abc import Callable

from collaparte.music.wording import plain
from collaparte.music.words import number_of, ordinal_of
from collaparte.wire.chart import BarId, Chart


def marked(said: str, chart: Chart) -> list[BarId]:
    """The bars where a mark with this text (as `plain` gives it) stands; the closest way of calling it holds."""
    texts = [(plain(mark.text), mark.bar) for mark in chart.marks]
    for alike in _ALIKE:
        if found := [bar for text, bar in texts if alike(text) == alike(said) != ""]:
            return list(dict.fromkeys(found))
    return list(dict.fromkeys(bar for text, bar in texts if _short(said, text)))


def _digits(said: str) -> str:
    """Words with numbers as figures, where there is more than a number: "verse two" and "second verse" as "verse 2"."""
    words = said.split()
    if len(words) < 2:
        return said
    if len(words) == 2 and (nth := ordinal_of(words[0])) and words[1] not in ("time", "bar", "ending"):
        return f"{words[1]} {nth}"
    numbers = (number_of(word) for word in words)
    return " ".join(word if number is None else str(number) for word, number in zip(words, numbers, strict=True))


def _run_together(said: str) -> str:
    """Without spaces and points, and not in the plural."""
    letters = re.sub(r"[\s.\-_'’]+", "", _digits(said))
    return letters.removesuffix("s") if len(letters) > 3 else letters


def _short(said: str, text: str) -> bool:
    """Whether "v2" is short for "verse 2"."""
    short, long = re.fullmatch(r"([a-z]{1,2}) ?(\d+)", said), re.fullmatch(r"([a-z]+) (\d+)", _digits(text))
    return bool(short and long and long[1].startswith(short[1]) and long[2] == short[2])


_ALIKE: tuple[Callable[[str], str], ...] = (str, _digits, _run_together)
