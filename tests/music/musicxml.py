"""One-part MusicXML scores written short: whole notes in 4/4, with what stands before and behind each bar's note."""

from collections.abc import Mapping

NOTE = "<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration><type>whole</type></note>"
FIRST = "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
HEAD = '<part-list><score-part id="P1"><part-name>Reed</part-name></score-part></part-list>'

START = '<barline location="left"><repeat direction="forward"/></barline>'
END = '<barline location="right"><repeat direction="backward"/></barline>'


def score(bars: int, before: Mapping[int, str] | None = None, behind: Mapping[int, str] | None = None) -> bytes:
    """A score by part; `before` and `behind`: what stands around the note of a bar, by its place."""
    return f'<score-partwise version="4.0">{HEAD}{part(bars, before, behind)}</score-partwise>'.encode()


def part(bars: int, before: Mapping[int, str] | None = None, behind: Mapping[int, str] | None = None) -> str:
    measures = (
        f'<measure number="{n}">{FIRST if n == 1 else ""}{(before or {}).get(n, "")}{NOTE}{(behind or {}).get(n, "")}'
        "</measure>"
        for n in range(1, bars + 1)
    )
    return f'<part id="P1">{"".join(measures)}</part>'


def end(times: str = "", after_jump: str = "") -> str:
    more = (f' times="{times}"' if times else "") + (f' after-jump="{after_jump}"' if after_jump else "")
    return f'<barline location="right"><repeat direction="backward"{more}/></barline>'


def direction(words: str = "", sound: str = "", glyph: str = "") -> str:
    """A direction with words, the attributes of its sound, and a sign."""
    types = f"<direction-type><words>{words}</words></direction-type>" if words else ""
    types += f"<direction-type><{glyph}/></direction-type>" if glyph else ""
    played = f"<sound {sound}/>" if sound else ""
    return f"<direction>{types}{played}</direction>"


def ending(number: str, kind: str, repeat: bool = False) -> str:
    side = "left" if kind == "start" else "right"
    again = '<repeat direction="backward"/>' if repeat else ""
    return f'<barline location="{side}"><ending number="{number}" type="{kind}"/>{again}</barline>'
