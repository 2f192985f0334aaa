"""Sayings that are decisions and not places ("repeat C twice", "cut the D.S."), answered with what to choose for them.

"Repeat C twice" may be twice in all or twice more; nobody guesses on stage, so that is told (common practice).
"""

import re

_LEAVE = r"(?:cut|skip|omit|drop|lose|ignore|leave out|take out|miss out|don't play|no|without)"
_OF = r"(?: at| on| out at)?(?: the)? (?P<what>.+)"
_OFTEN = r"(?:twice|thrice|once|\w+ (?:more )?times?|[x×] ?\d+|\d+ ?[x×]|\d+th time)(?: more)?"
_ANSWERS = tuple(
    (re.compile(pattern, re.IGNORECASE), answer)
    for pattern, answer in (
        (
            rf"{_LEAVE}(?: the| any| all)* (?:repeats?|rpts?)|straight through|play (?:it )?straight",
            'Choose "No repeats" for the tune, "Once only" for one of them.',
        ),
        (
            rf"{_LEAVE}(?: the| any)? (?:d\.? ?[sc]\.?|dal segno|da capo)(?: al (?:coda|fine))?",
            'Choose "No D.S., D.C." for the tune.',
        ),
        (
            rf"(?:repeat|play|do|take) (?P<what>.+?) {_OFTEN}|(?P<alone>.+) (?:twice|thrice|{_OFTEN})",
            'Say "{what}" and choose Times: 2 is twice in all, 3 twice more.',
        ),
        (
            r"(?:cut|skip|jump|go) (?:straight )?to(?: the)? (?P<what>.+)",
            'Say from where, up to "{what}", and choose Cut.',
        ),
        (rf"{_LEAVE}(?: the)? (?P<what>.+)", 'Say "{what}", up to where, and choose Cut.'),
        (rf"(?:open|vamp|loop)(?: up)?{_OF}", 'Say "{what}", up to where, and choose Open.'),
        (rf"(?:tacet|lay out|sit out|rest){_OF}", 'Say "{what}", up to where, and choose Tacet.'),
        (rf"repeat(?! sign){_OF}", 'Say "{what}", up to where, and choose Times.'),
        (r"(?:.* )?(?:the )?repeat(?: sign)?", 'Say of what, as "B second time", or "4 before the repeat".'),
        (
            r"(?:.* )?(?:page|line|system|stave|staff|row)s?(?: .*)?",
            "Pages and lines differ from stand to stand; say a mark or a bar.",
        ),
    )
)


def answer(said: str) -> str:
    """What to choose for what was said, in one sentence; "" if it is no decision."""
    for pattern, words in _ANSWERS:
        if found := pattern.fullmatch(" ".join(said.split())):
            part = found.groupdict()
            what = part.get("what") or part.get("alone") or ""
            return words.format(what=what.upper() if len(what) == 1 else what)
    return ""
