"""Scores that the music21 package carries, read in place (its corpus has mixed licences and is not copied).

GOLDEN are the orders in which music21 10.5.1, verovio 6.4.1 and (but for repeat@times) partitura 1.9.0 play them.
DECIDED are those where the libraries differ from each other, with the reason for the reading that holds.
`python tests/music/corpus.py` goes through all.
"""

import random
import re

import pytest

from music.corpus import CORPUS, SUITE, by_music21, by_verovio, ours
from seeded import SEED

GOLDEN = {
    "leadSheet/berlinAlexandersRagtime.mxl": "1-33 2-32 34",
    "leadSheet/fosterBrownHair.mxl": "1-33 2-31 34-35",
    "joplin/maple_leaf_rag.mxl": "1-34 19-33 35-67 52-66 68-84 69-83 85",
    "bach/bwv8.6.mxl": "1-5 1-4 6-16",
    "bach/bwv2.6.mxl": "1-5 1-13",
    "bach/bwv104.6.mxl": "1-5 1-12",
    "bach/bwv345.mxl": "1-7 1-12",
    "bach/bwv245.22.mxl": "1-5 1-10",
    "handel/rinaldo/Lascia_chio_pianga.mxl": "1-54 13-42",
    "haydn/opus1no1/movement2.mxl": "1-10 1-34 11-62 35-62",
    # The words "M.D.C." and, further down, "Menuetto da Capo" without a Fine are left to the players by everyone.
    "haydn/opus1no1/movement4.mxl": "1-13 1-28 14-27 29-37 30-45 38-44 46",
    "haydn/opus74no1/movement2.mxl": "1-57 1-174 58-174",
    "beethoven/opus59no2/movement1.mxl": "1-70 2-68 71-214 74-210 215-261",
    "beethoven/opus59no3/movement1.mxl": "1-110 31-106 111-270",
    "beethoven/opus59no3/movement2.mxl": "1-6 1-4 7-22 9-21 23-207",
    "beethoven/opus59no3/movement3.mxl": "1-38 17-54 39-53 55-75 56-74 76-96",
    "schumann_robert/opus41no1/movement3.mxl": "1-16 1-32 17-31 33-114",
    "schumann_robert/opus41no1/movement5.mxl": "1-80 1-76 81-324",
    "mozart/k155/movement2.mxl": "1-20 1-50 21-50",
    "mozart/k156/movement3.mxl": "1-14 1-36 15-46 37-62 47-62",
    f"{SUITE}/45a-SimpleRepeat.xml": "1 1 1 1 1-2",
    f"{SUITE}/45b-RepeatWithAlternatives.xml": "1-2 1 3-4",
}

BACK_TO_THE_PREVIOUS_END = "an end without a start goes back behind the end before it (Humdrum list of op. 18/1 iii)"
SEVERAL_IN_ONE = (
    "several movements in one file: an end without a start goes back behind the end before it, the printed Da Capo is "
    "followed to the first bar of the file, a start that is never closed repeats nothing and is told"
)
NUMBERED_BY_PLACE = "an ending without a number, or that begins nowhere, is taken by its place, and that is told"
DECIDED = {
    "beethoven/opus18no1/movement3.mxl": ("1-10 1-85 11-101 86-145", BACK_TO_THE_PREVIOUS_END),
    "mozart/k80/movement1.mxl": ("1-28 1-67 29-67", BACK_TO_THE_PREVIOUS_END),
    "mozart/k156/movement2.mxl": ("1-14 1-37 15-37", BACK_TO_THE_PREVIOUS_END),
    "schumann_robert/opus41no1/movement2.mxl": ("1-35 28-51 36-47 52-83", BACK_TO_THE_PREVIOUS_END),
    "schumann_clara/polonaise_op1n1.mxl": ("1-8 1-28 9-40 1-20", BACK_TO_THE_PREVIOUS_END),
    "schumann_clara/polonaise_op1n2.mxl": ("1-8 1-16 9-24 17-32 25-32 1-16", BACK_TO_THE_PREVIOUS_END),
    "schumann_clara/polonaise_op1n3.mxl": ("1-8 1-48 41-48 1-24", "the D.C. is a sound, its words are over two lines"),
    "schumann_clara/polonaise_op1n4.mxl": ("1-8 1-16 9-32 17-40 33-40 1-16", "as in the third"),
    "beethoven/opus59no2/movement3.mxl": (
        "1-9 2-7 10-55 12-51 56-142 1-7 10-51 56-142",
        'the printed "Da Capo" is followed, without first endings (High-Yield Music Theory vol. 1, 1.8)',
    ),
    "schumann_robert/opus41no1/movement1.mxl": ("1-150 36-128 151-374", "an ending's stop need not name its number"),
    "haydn/opus74no1/movement3.mxl": ("1-14 1-60 15-74 61-73 75-97 76-113", NUMBERED_BY_PLACE),
    "mozart/k458/movement1.mxl": ("1-91 1-233 92-232 234-283", NUMBERED_BY_PLACE),
    "mozart/k80/movement3.mxl": ("1-8 1-28 9-36 29-52 37-52", BACK_TO_THE_PREVIOUS_END),
    "mozart/k80/movement4.mxl": ("1-9 1-34 10-43 35-71", BACK_TO_THE_PREVIOUS_END),
    "trecento/PMFC_06_Giovanni-04_De_Come_Dolce_Mente.xml": ("1-44 1-60 45-58 61", BACK_TO_THE_PREVIOUS_END),
    "trecento/PMFC_06_Piero_1-All_onbra d_un perlato.xml": ("1-35 1-49 36-48 50", BACK_TO_THE_PREVIOUS_END),
    "trecento/PMFC_06_Piero_6a-Quando_laire_comenca.xml": ("1-41 1-55 42-53 56", BACK_TO_THE_PREVIOUS_END),
    "trecento/PMFC_23_22-Kyrie Summe Clementissime.xml": ("1-9 1-16 10-25 17-25", BACK_TO_THE_PREVIOUS_END),
    f"{SUITE}/45c-RepeatMultipleTimes.xml": ("1-3 2-3 2-3 2-3 2-7 4-7 4-8", BACK_TO_THE_PREVIOUS_END),
    f"{SUITE}/45g-Repeats-NotEnded.xml": ("1-2", "a start that is never closed repeats nothing"),
    "haydn/opus74no1/movement4.mxl": ("1-107 1-287", "a start that is never closed repeats nothing"),
}


LARGE = {
    "beethoven/opus132.mxl": (
        "1-286 265-285 287-368 290-363 369-509 1-285 287-363 369-389",
        SEVERAL_IN_ONE,
    ),
    "beethoven/opus18no3.mxl": (
        "1-109 3-107 110-486 432-499 487-715 597-708 716-966",
        SEVERAL_IN_ONE,
    ),
    "beethoven/opus18no4.mxl": (
        "1-78 2-77 79-303 222-491 483-534 492-533 535-555 536-610 602-627 611-626 628-667 661-676 668-675 "
        "677-685 678-684 686-809",
        SEVERAL_IN_ONE,
    ),
    "beethoven/opus18no5.mxl": (
        "1-79 1-78 80-221 82-219 222-310 254-309 311-320 312-346 321-355 347-364 356-373 365-382 374-391 "
        "383-400 393-408 401-407 409-418 410-427 419-436 429-435 437-445 438-444 446-584 447-582 585-793",
        SEVERAL_IN_ONE,
    ),
}
"""Decided too; they take seconds each to read, so only the command does."""


@pytest.mark.parametrize("file", GOLDEN)
def test_where_the_libraries_agree(file: str) -> None:
    assert ours(file)[0] == GOLDEN[file]


@pytest.mark.parametrize("file", DECIDED)
def test_where_they_do_not(file: str) -> None:
    expected, why = DECIDED[file]
    assert ours(file)[0] == expected, why


SENSELESS = (
    "mozart/k458/movement2.mxl",
    f"{SUITE}/45d-Repeats-Nested-Alternatives.xml",
    f"{SUITE}/45f-Repeats-InvalidEndings.xml",
)


@pytest.mark.parametrize("file", SENSELESS)
def test_nonsense_is_told_and_stands_as_printed(file: str) -> None:
    """No two libraries agree on these; the suite itself calls the last one senseless."""
    said, diagnosis = ours(file)
    assert re.fullmatch(r"1-\d+", said) and diagnosis.endswith("The bars stand in printed order.")


CHORALES = sorted(file.name for file in (CORPUS / "bach").glob("bwv*.mxl"))


@pytest.mark.parametrize("place", range(12))
def test_chorales_as_both_libraries_play_them(place: int) -> None:
    """Many have bars that a repeat splits."""
    file = f"bach/{random.Random(f'{SEED} {place}').choice(CHORALES)}"
    print(f"COLLAPARTE_SEED={SEED}: {file}")
    assert ours(file) == (by_verovio(file), "")
    if place < 2:
        assert by_music21(file) == by_verovio(file)
