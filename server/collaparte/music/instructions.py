"""Words to a player that hold from where they stand until others of their kind: mutes, another instrument, a solo.

The trade's words (common practice); what a cut leaves out of them may still bind behind it.
"""

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache

_INSTRUMENTS = (
    r"fl(ute|\.)?|alto fl(ute|\.)?|picc(olo|\.)?|ob(oe|\.)?|english horn|eng\. hn\.?|cl(arinet|\.)?|"
    r"bass cl(arinet|\.)?|b\. ?cl\.?|(sop(rano|\.)?|alto|ten(or|\.)?|bari(tone)?|bass)( sax(ophone|\.)?)?|"
    r"sax(ophone|\.)?|"
    r"flug(el|elhorn|\.)?|trumpet|tpt\.?|cornet|bass (guitar|trombone)|tuba|euphonium|(upright|electric|acoustic) bass|"
    r"(acoustic|electric|nylon|banjo|12-string)( guitar| gtr\.?)?|piano|organ|rhodes|celesta|synth|vibes|marimba|"
    r"glock(enspiel|\.)?|xylophone|congas?|bongos?|shaker|tambourine|timpani"
)
_KINDS = tuple(
    (kind, re.compile(pattern, re.IGNORECASE))
    for kind, pattern in (
        (
            "mute",
            r"((in|to|with) )?((cup|straight|harmon|bucket|plunger|solotone|wah|pixie|practice|stem( in| out)?|hat) ?"
            r"(mute)?(,? (no|with) stem)?|mutes?( on| off| in| out)?|con sord(ino|ini|\.)?|senza sord(ino|ini|\.)?|"
            r"open|(in )?hats?|(in )?stand|unmuted|muted)",
        ),
        ("instrument", rf"((change )?to|take|muta in|switch to|on) (the )?({_INSTRUMENTS})"),
        ("solo", r"(end )?(solos?|soli|tutti|unis(on|\.)?|div(isi|\.)?|a ?2|a ?3)( \((ad lib\.?|open|fills?)\))?"),
        ("bow", r"arco|pizz(icato|\.)?|col legno|sul (pont|tasto)(\.|icello)?|ord(inario|\.)?|nat(urale|\.)?"),
        ("sticks", r"(with |to )?(brushes|sticks|mallets|rods|hands)"),
        ("feel", r"(straight|swing|swung|even)( 8ths| eighths| 16ths)?( feel)?|(double|half)[- ]time( feel)?"),
        ("tempo", r"a tempo|tempo (i|1|primo)|(meno|più|piu) mosso|l'istesso tempo|rubato|in (two|four|one|2|4|1)"),
        ("octave", r"8va|8vb|15ma|loco"),
    )
)
LONGEST = 40
"""Letters; longer words are a sentence, which is left to the player."""


def plain(words: str) -> str:
    """Words with one spacing, and without brackets around all of them."""
    said = " ".join(words.split())
    return said[1:-1].strip() if said[:1] + said[-1:] in ("()", "[]") else said


@lru_cache(4096)  # as many chord names as a page holds are asked again and again
def kind_of(words: str) -> str:
    """What kind of instruction these words are, nothing more or less; "" if they are none."""
    said = plain(words).rstrip(".,")
    if len(said) > LONGEST:
        return ""
    return next((kind for kind, pattern in _KINDS if pattern.fullmatch(said) or pattern.fullmatch(f"{said}.")), "")


def binding(left_out: Iterable[str], landing: Sequence[str]) -> tuple[str, ...]:
    """Of instructions left out, in order, those that still bind: the last of each kind, unless where one lands there is
    one of that kind."""
    last: dict[str, str] = {}
    for words in left_out:
        kind = kind_of(words)
        if kind:
            last.pop(kind, None)
            last[kind] = plain(words)
    there = {kind_of(words) for words in landing}
    return tuple(words for kind, words in last.items() if kind not in there)
