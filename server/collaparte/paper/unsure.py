"""What of a part's reading is not sure for its form, in sentences."""

from collaparte.music.jumpwords import about_jumps
from collaparte.music.scorerepeats import open_note
from collaparte.paper.reading import SURE, Reading, SignKind
from collaparte.paper.ruler import left_open

_NAMES = {
    SignKind.SEGNO: "segno",
    SignKind.CODA: "coda",
    SignKind.TO_CODA: "To Coda",
    SignKind.FINE: "Fine",
    SignKind.DS: "D.S.",
    SignKind.DS_AL_CODA: "D.S. al Coda",
    SignKind.DS_AL_FINE: "D.S. al Fine",
    SignKind.DC: "D.C.",
    SignKind.DC_AL_CODA: "D.C. al Coda",
    SignKind.DC_AL_FINE: "D.C. al Fine",
}


def unsure(reading: Reading) -> list[str]:
    """The reading's doubts, and the signs, endings and repeats whose place or kind is not sure, a sentence each."""
    said = [*reading.doubts, *(page.as_printed for page in reading.pages if page.as_printed)]
    said += [
        f"The {_NAMES[sign.kind]} at {_bar(sign.bar)} may stand elsewhere."
        for sign in reading.signs
        if sign.confidence < SURE
    ]
    said += [
        f"The ending over {_bar(ending.bar)} was not read for sure."
        for ending in reading.endings
        if ending.confidence < SURE
    ]
    said += [
        f'The words "{one.text}" at {_bar(one.bar)} speak of a jump but not which, so they are left to the players.'
        for one in reading.instructions
        if about_jumps(one.text)
    ]
    said += [open_note(words, _bar(last)) for words, last in left_open(reading)]
    for page in reading.pages:
        for system in page.systems:
            for barline in system.barlines:
                if barline.confidence < SURE and barline.kind.value.startswith("repeat") and system.bars:
                    near = min(system.bars, key=lambda bar: min(abs(bar.x0 - barline.x), abs(bar.x1 - barline.x)))
                    said.append(f"The repeat sign at {_bar(near.number)} was not read for sure.")
    return list(dict.fromkeys(said))


def _bar(number: int) -> str:
    return f"bar {number}" if number else "the pickup"
