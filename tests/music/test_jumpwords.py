"""Jump words to what they ask for (common practice; Italian terms as in any dictionary of music)."""

import pytest

from collaparte.music.jumpwords import Asked, about_jumps, asked, is_open, side_by_side, times_of

SAID = {
    "D.S. al Coda": Asked("ds-al-coda"),
    "D. S. al Coda": Asked("ds-al-coda"),
    "DS al Coda": Asked("ds-al-coda"),
    "Dal Segno e poi la Coda": Asked("ds-al-coda"),
    "Dal Segno (𝄋) al Coda (𝄌)": Asked("ds-al-coda"),
    "D.S. 2 al Coda 2": Asked("ds-al-coda", "2", "2"),
    "D.S.S. al Double Coda": Asked("ds-al-coda", "2", "2"),
    "D.S. 𝄋 al 𝄌𝄌": Asked("ds-al-coda", "", "2"),
    "D.S. al Coda (2nd time only)": Asked("ds-al-coda", passes=(2,)),
    "3rd time D.S. al Coda": Asked("ds-al-coda", passes=(3,)),
    "D.S. al Coda (take repeats)": Asked("ds-al-coda", again=True),
    "D.S. al Fine (no repeats)": Asked("ds-al-fine", again=False),
    "D.S. al 2nd ending": Asked("ds", ending=2),
    "D.S. (take the third ending)": Asked("ds", ending=3),
    "D.C. e poi la 2a volta": Asked("dc", ending=2),
    "D.S. last ending": Asked("ds"),
    "D.C. al Fine, 2nd ending": Asked("dc-al-fine", ending=2),
    "D.C.": Asked("dc"),
    "DA CAPO": Asked("dc"),
    "Da Capo senza replica": Asked("dc", again=False),
    "D.C. al Fine ma senza ripetizione": Asked("dc-al-fine", again=False),
    "D.C. sin' al Fine": Asked("dc-al-fine"),
    "D.C. al Fine con repetizione": Asked("dc-al-fine", again=True),
    "1st & 2nd time D.C.": Asked("dc", passes=(1, 2)),
    "To the top": Asked("dc"),
    "Back to top": Asked("dc"),
    "Go back to the top": Asked("dc"),
    "Repeat from the top": Asked("dc"),
    "To the top, then to Coda": Asked("dc-al-coda"),
    "Back to the top al Fine": Asked("dc-al-fine"),
    "D.C. to the end": Asked("dc"),
    "Back to the sign": Asked("ds"),
    "To 𝄋": Asked("ds"),
    "Repeat from 𝄋 al 𝄌": Asked("ds-al-coda"),
    "𝄋 al 𝄌": Asked("ds-al-coda"),
    "D. % al Coda": Asked("ds-al-coda"),
    "D.S. (no repeats) al Coda": Asked("ds-al-coda", again=False),
    "D.S. con rep. al Coda": Asked("ds-al-coda", again=True),
    "D.S. al Fine (w/rep.)": Asked("ds-al-fine", again=True),
    "After solos D.S. al Coda": Asked("ds-al-coda"),
    "To Coda": Asked("to-coda"),
    "𝄌 to Coda": Asked("to-coda"),
    # Common practice: taken so often. "2x" may be the second time as well; which, the repeats around it tell.
    "D.S. twice": Asked("ds", passes=(1, 2)),
    "D.S. (2 times)": Asked("ds", passes=(1, 2)),
    "D.S. 2x": Asked("ds", passes=(2,), often=True),
    "D.C. x2": Asked("dc", passes=(1, 2)),
    "D.S. al Coda three times": Asked("ds-al-coda", passes=(1, 2, 3)),
    # Back to a place that is no sign.
    "Back to A": Asked("ds", "mark A"),
    "Go back to letter B": Asked("ds", "mark B"),
    "Repeat from [C]": Asked("ds", "mark C"),
    "Repeat from A2": Asked("ds", "mark A2"),
    "Back to bar 5": Asked("ds", "bar 5"),
    "Back to A, then to Coda": Asked("ds-al-coda", "mark A"),
    "Back to A al Fine": Asked("ds-al-fine", "mark A"),
    "Back to AA (no repeats)": Asked("ds", "mark AA", again=False),
    "To 2nd Coda": Asked("to-coda", "", "2"),
    "Coda (1)": Asked("coda", "", "1"),
    "to the Coda": Asked("to-coda"),
    "Al Coda": Asked("to-coda"),
    "Go to Coda": Asked("to-coda"),
    "To Coda on D.S.": Asked("to-coda"),
    "To Coda II": Asked("to-coda", "", "2"),
    "2nd time to Coda": Asked("to-coda", passes=(2,)),
    "2x to Coda": Asked("to-coda", passes=(2,)),
    "To Coda after 3rd ending": Asked("to-coda", passes=(3,)),
    "Last time to Coda": Asked("to-coda", last=True),
    "Fine": Asked("fine"),
    "(FINE.)": Asked("fine"),
    "Fine (last time)": Asked("fine", last=True),
    "𝄌 Coda": Asked("coda"),
    "Coda 2": Asked("coda", "", "2"),
    "𝄋𝄋": Asked("segno", "2"),
    "Go back to the beginning": Asked("dc"),
    "D.S. al To Coda": Asked("ds-al-coda"),
    # Italian, French and German for "time" (dictionaries of music).
    "D.S. al Fine ultima volta": Asked("ds-al-fine", last=True),
    "1a volta D.C.": Asked("dc", passes=(1,)),
    "Fine la 2da volta": Asked("fine", passes=(2,)),
    "To Coda (2e fois)": Asked("to-coda", passes=(2,)),
    "beim letzten Mal to Coda": Asked("to-coda", last=True),
}


@pytest.mark.parametrize(("words", "meant"), SAID.items(), ids=SAID.keys())
def test_what_they_ask_for(words: str, meant: Asked) -> None:
    assert asked(words) == meant


@pytest.mark.parametrize(
    "words",
    [
        "con sord.",
        "fine brush",
        "coda alla marcia",
        "D major",
        "to flute",
        "al niente",
        "2nd x only",
        "2nd time coda",
        "back to alto",
        "go to flute",
        "back to Bb",
        "back to cl.",
        "play twice",
        "tacet 1st time",
        "play 2nd time only",
    ],
)
def test_other_words_ask_for_nothing(words: str) -> None:
    assert asked(words) is None and not about_jumps(words)


@pytest.mark.parametrize(
    "words",
    [
        "Menuetto da capo senza Ritornello.",
        "M.D.C. al fine",
        "D.C. al Segno, then Coda",
        "Go to B",
        "Repeat from A to B",
        "From A to Fine",
        "Take 2nd ending",
        "On cue to D",
        "Vom Zeichen bis zum Kopf",
    ],
)
def test_words_that_speak_of_a_jump_but_not_plainly(words: str) -> None:
    assert asked(words) is None and about_jumps(words)


@pytest.mark.parametrize(
    ("words", "times"),
    [
        ("3x", 3),
        ("Play 4 times", 4),
        ("(three times)", 3),
        ("x3", 3),
        ("Vamp (4x)", 4),
        ("2nd x only", None),
        ("8 bars", None),
    ],
)
def test_how_often(words: str, times: int | None) -> None:
    assert times_of(words) == times


@pytest.mark.parametrize(
    ("words", "open_"),
    [
        ("Vamp", True),
        ("Repeat till cue", True),
        ("Open solos", True),
        ("Repeat & fade", True),
        ("Vamp 4x", False),
        # The note without a mute; and where one leaves.
        ("open", False),
        ("On cue", False),
    ],
)
def test_what_leaves_a_repeat_to_a_cue(words: str, open_: bool) -> None:
    assert is_open(words) == open_


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("D.S. al Coda", "To Coda"),
        ("To Coda (2nd time)", "D.C. al Fine"),
        ("To ⊕", "D.S. al ⊕"),
        ("To Coda 2", "D. S. al Coda 2"),
        ("Fine", "D.C."),
        ("(Fine)", "(D.S. al Coda)"),
    ],
)
def test_two_in_a_row_are_two(first: str, second: str) -> None:
    assert side_by_side(f"{first} {second}") == len(first) + 1


@pytest.mark.parametrize(
    "words", ["D.S. to Coda", "D.S. al Fine", "To the top, then to Coda", "Fine (after D.C.)", "To Coda on D.S. only"]
)
def test_one_that_goes_on_is_one(words: str) -> None:
    assert side_by_side(words) is None
