"""What most parts have is offered as one correction, which makes the part agree: each kind of thing that differs."""

from random import Random

import pytest

from collaparte.music.agree import Disagreement, disagreements
from collaparte.paper.reading import BarlineKind, Reading
from collaparte.paper.ruler import outline
from collaparte.paper.suggested import shown, suggested
from collaparte.wire.corrections import (
    BarlineHere,
    EndingHere,
    MarkHere,
    NoMark,
    NoSign,
    NumberHere,
    Place,
    RestHere,
    SignHere,
)
from paper.test_corrected import bar_at, bar_start, centre, plain, reading_of, said, systems
from seeded import SEED

PART = "*1st Alto.pdf"


def differing(wrong: Reading, right: Reading) -> list[Disagreement]:
    """What is said of a part beside three that are right; the sentences are test_agree's affair."""
    others = [(f"Part {n}", outline(right)) for n in range(3)]
    return [one for one in disagreements([("Odd", outline(wrong)), *others]) if one.part == "Odd"]


def mended(wrong: Reading, right: Reading) -> list[str]:
    """The words of the corrections that are taken one after the other until nothing differs."""
    words = []
    while differs := differing(wrong, right):
        found = next(able for one in differs if (able := suggested(wrong, one)))
        words.append(found.words)
        before, wrong = wrong, said(wrong, found.said)
        assert len(differing(wrong, right)) < len(differing(before, right)), found.words
    assert outline(wrong) == outline(right)
    return words


def over(place: Place) -> Place:
    return Place(place.page, place.x, place.y - 26)


def mark(reading: Reading, n: int) -> tuple[str, int, Place]:
    one = reading.marks[n]
    return one.text, one.bar, centre(one.page, one.box)


def test_marks_are_put_in_taken_out_moved_and_renamed() -> None:
    right = reading_of(PART)
    text, bar, at = mark(right, 2)
    assert mended(said(right, NoMark(at)), right) == [f"Put in mark {text} at bar {bar}"]
    assert mended(said(right, MarkHere(at, "Q")), right) == [f"Call it {text}"]
    assert mended(said(right, MarkHere(at, text, bar_at(right, bar + 2))), right) == [f"Move mark {text} to bar {bar}"]
    extra = said(plain(), MarkHere(over(bar_start(5)), "X"))
    assert mended(extra, plain()) == ["Take mark X out"]


def test_signs_are_put_in_taken_out_moved_and_renamed() -> None:
    right = reading_of(PART)
    for sign in right.signs:
        assert len(mended(said(right, NoSign(centre(sign.page, sign.box))), right)) == 1
    jump = next(one for one in right.signs if one.kind.startswith(("ds", "dc")))
    other = said(right, SignHere(centre(jump.page, jump.box), "dc-al-fine", jump.at))
    (words,) = mended(other, right)
    assert words.startswith("Call it ")
    assert mended(said(plain(), SignHere(over(bar_at(plain(), 5)), "fine", "end")), plain()) == ["Take Fine out"]
    segno = next(one for one in right.signs if one.kind == "segno")
    to = bar_at(right, segno.bar + 1)
    (words,) = mended(said(right, SignHere(centre(segno.page, segno.box), "segno", "start", to)), right)
    assert words == f"Move segno at bar {segno.bar}"


def test_repeats_and_endings_come_right() -> None:
    right = reading_of(PART)
    repeats = [
        (page, system, line) for page, system in systems(right) for line in system.barlines if "repeat" in line.kind
    ]
    for page, system, line in repeats:
        at = Place(page, line.x, (system.bbox[1] + system.bbox[3]) / 2)
        assert len(mended(said(right, BarlineHere(at, "single")), right)) == 1 + (line.kind == BarlineKind.REPEAT_BOTH)
    twice = said(plain(), BarlineHere(bar_start(9), "repeat-start"), BarlineHere(bar_start(12), "repeat-end"))
    assert len(mended(twice, plain())) == 2
    assert mended(said(plain(), EndingHere(bar_at(plain(), 7), bar_at(plain(), 8), (1,))), plain()) == [
        "Take the first ending out"
    ]


@pytest.mark.parametrize("count", [3, 5, 16])
@pytest.mark.parametrize("by", [-1, 2])
def test_the_one_rest_of_a_stretch_is_counted_by_the_others(count: int, by: int) -> None:
    bar = Random(SEED).choice([3, 10, 20, 30])
    right = said(plain(), RestHere(bar_at(plain(), bar), count))
    wrong = said(plain(), RestHere(bar_at(plain(), bar), count + by))
    assert mended(wrong, right) == [f"The rest at bar {bar} is {count} bars, not {count + by}"]


def test_where_it_may_be_one_of_several_nothing_is_offered() -> None:
    right = said(plain(), RestHere(bar_at(plain(), 10), 4), RestHere(bar_at(plain(), 12), 6))
    wrong = said(plain(), RestHere(bar_at(plain(), 10), 4), RestHere(bar_at(plain(), 12), 5))
    (one,) = differing(wrong, right)
    assert suggested(wrong, one) is None and shown(wrong, one) == bar_at(wrong, 9)


def test_a_pickup_is_one() -> None:
    wrong = said(plain(), NumberHere(bar_at(plain(), 1), 0))
    kinds = [one.kind for one in differing(wrong, plain())]
    if kinds:
        assert mended(wrong, plain()) and mended(plain(), wrong)
