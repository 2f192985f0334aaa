"""Where parts differ is said as one says it in the room; a majority, stretch by stretch, says what is right."""

import random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collaparte.music.agree import disagreements
from collaparte.music.consensus import consensus
from collaparte.wire.outline import Outline

MARKS = tuple((letter, 8 * n) for n, letter in enumerate("ABCDEFGH"))
SIGNS = (("repeat start", 8), ("repeat end", 16), ("segno", 24), ("ending 1", 14), ("ds-al-coda", 48), ("coda", 56))
TUNE = Outline(64, False, MARKS, SIGNS)
BAND = ("Alto 1", "Alto 2", "Tenor", "Trumpet 1", "Trombone 1", "Bass")


def band(**changed: Outline) -> list[tuple[str, Outline]]:
    return [(name, changed.get(name.replace(" ", "_"), TUNE)) for name in BAND]


def said(parts: list[tuple[str, Outline]]) -> list[str]:
    return [one.said for one in disagreements(parts)]


def lengthened(part: Outline, position: int, by: int) -> Outline:
    def moved(things: tuple[tuple[str, int], ...]) -> tuple[tuple[str, int], ...]:
        return tuple((text, at + by if at > position else at) for text, at in things)

    return Outline(part.bars + by, part.pickup, moved(part.marks), moved(part.signs))


def without(part: Outline, what: str) -> Outline:
    return part._replace(
        marks=tuple(mark for mark in part.marks if mark[0] != what),
        signs=tuple(sign for sign in part.signs if sign[0] != what),
    )


def test_parts_that_are_the_same_have_nothing_said_of_them() -> None:
    assert said(band()) == []
    assert said([("Alto 1", TUNE)]) == []
    assert said([("Alto 1", TUNE), ("Vocal", Outline(0))]) == []


def test_a_bar_left_out_is_said_with_the_marks_around_it() -> None:
    assert said(band(Trombone_1=lengthened(TUNE, 27, -1))) == [
        "Trombone 1 has one bar fewer than the others, between D and E. 5 of 6 parts have eight bars there: "
        "look for a bar left out."
    ]
    assert said(band(Bass=lengthened(TUNE, 60, 3))) == [
        "Bass has three bars more than the others, after H. 5 of 6 parts have eight bars there: "
        "look for a bar written twice."
    ]


def test_marks_and_signs_that_differ_are_said() -> None:
    assert said(band(Tenor=without(TUNE, "C"))) == [
        "Tenor has no mark C; the others have it at bar 17. 5 of 6 parts have it there: put it in."
    ]
    assert said(band(Tenor=TUNE._replace(marks=(*MARKS[:2], ("C", 18), *MARKS[3:])))) == [
        "In Tenor the mark C stands two bars later than in the others: at bar 19, not at bar 17. "
        "5 of 6 parts have it at bar 17: move it."
    ]
    assert said(band(Tenor=TUNE._replace(marks=(*MARKS[:2], ("K", 16), *MARKS[3:])))) == [
        "Tenor has a mark K at bar 17 where the others have C. 5 of 6 parts have C: rename it."
    ]
    assert said(band(Bass=without(TUNE, "repeat end"))) == [
        "Bass has no repeat end; the others have it at the end of bar 16. 5 of 6 parts have it there: put it in."
    ]
    assert said(band(Bass=without(TUNE, "ending 1"))) == [
        "Bass has no first ending; the others have it at bar 15. 5 of 6 parts have it there: put it in."
    ]
    ds = tuple(("ds", at) if kind == "ds-al-coda" else (kind, at) for kind, at in SIGNS)
    assert said(band(Bass=TUNE._replace(signs=ds))) == [
        "Bass has D.S. at the end of bar 48 where the others have D.S. al Coda. "
        "5 of 6 parts have D.S. al Coda: rename it."
    ]
    assert said(band(Bass=TUNE._replace(signs=(*SIGNS, ("fine", 32))))) == [
        "Bass has Fine at the end of bar 32; the others do not have it. 5 of 6 parts have none there: take it out."
    ]


def test_double_bars_are_the_copyists_own_affair() -> None:
    assert said(band(Bass=TUNE._replace(signs=(*SIGNS, ("double bar", 32))))) == []


def test_each_part_may_have_its_own_mistake() -> None:
    found = disagreements(
        [
            ("Alto 1", lengthened(TUNE, 3, -1)),
            ("Alto 2", lengthened(TUNE, 20, 1)),
            ("Tenor", without(TUNE, "E")),
            ("Trumpet 1", lengthened(TUNE, 44, 2)),
            ("Bass", without(TUNE, "segno")),
        ]
    )
    assert [(d.part, d.kind, d.after or d.what) for d in found] == [
        ("Alto 1", "fewer", "A"),
        ("Alto 2", "more", "C"),
        ("Tenor", "missing", "E"),
        ("Trumpet 1", "more", "F"),
        ("Bass", "missing", "segno"),
    ]


def test_bars_are_named_as_the_parts_print_them() -> None:
    """A movement that is numbered from 101 on, and a first ending of two bars that the second is numbered like."""
    printed = ((0, -100), (40, 2))
    parts = band(Bass=lengthened(without(TUNE, "E"), 0, 0))
    assert said([(name, part._replace(fewer=printed)) for name, part in parts]) == [
        "Bass has no mark E; the others have it at bar 133. 5 of 6 parts have it there: put it in."
    ]
    late = TUNE._replace(marks=tuple((text, at + 2 * (text == "G")) for text, at in MARKS), fewer=printed)
    at = dict(MARKS)["G"]
    assert said(band(Bass=late)) == [
        f"In Bass the mark G stands two bars later than in the others: at bar {at + 2 + 99}, not at bar {at + 99}."
        f" 5 of 6 parts have it at bar {at + 99}: move it."
    ]


def test_of_two_parts_neither_is_called_right() -> None:
    assert said([("Alto 1", TUNE), ("Bass", lengthened(TUNE, 27, -1))]) == [
        "Bass has one bar fewer than Alto 1, between D and E."
    ]


def test_a_part_unlike_the_others_gets_one_sentence() -> None:
    assert said(band(Bass=Outline(12, False, (("X", 2), ("Y", 8))))) == [
        "Bass has 12 bars where the others have 64, and they cannot be matched."
    ]
    assert said(band(Bass=TUNE._replace(marks=()))) == ["Bass has no rehearsal marks; the others have 8 (A to H)."]


def test_marks_under_other_names_throughout_are_one_sentence() -> None:
    numbered = TUNE._replace(marks=tuple((str(n), at) for n, (_, at) in enumerate(MARKS, 1)))
    assert said(band(Bass=numbered)) == [
        "Bass has a mark 1 at bar 1 where the others have A, and 7 more under other names. "
        "5 of 6 parts have A: rename it."
    ]


def test_a_part_is_held_against_a_score() -> None:
    found = disagreements([("Bass", lengthened(TUNE, 27, -1))], TUNE, "the score")
    assert [one.said for one in found] == ["Bass has one bar fewer than the score, between D and E."]
    assert disagreements([("Bass", TUNE)], TUNE, "the score") == ()


MISTAKES = st.tuples(st.integers(0, 63), st.sampled_from([-1, 1, 2]))


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(MISTAKES, max_size=4), st.integers(1, 4), st.randoms())
def test_what_most_parts_have_is_found_whoever_is_wrong(
    mistakes: list[tuple[int, int]], more: int, lot: random.Random
) -> None:
    parts = [*(lengthened(TUNE, at, by) for at, by in mistakes), *[TUNE] * (len(mistakes) + more)]
    lot.shuffle(parts)
    assert consensus(parts) == TUNE._replace(signs=tuple(sorted(SIGNS, key=lambda sign: (sign[1], sign[0]))))
    blamed = {one.part for one in disagreements([(str(n), part) for n, part in enumerate(parts)])}
    assert blamed == {str(n) for n, part in enumerate(parts) if part != TUNE}
