"""Placing a part on the ruler: whatever was left out or written twice between two marks is found there."""

from hypothesis import given
from hypothesis import strategies as st

from collaparte.music.align import AGREES, PLACEABLE, Difference, agreeing, align
from collaparte.wire.outline import Outline

LETTERS = "ABCDEFGHJKLM"
TUNE = Outline(96, marks=(("A", 0), ("B", 16), ("C", 32), ("D", 48), ("E", 64), ("F", 80)))


@st.composite
def tunes(draw: st.DrawFn) -> Outline:
    lengths = draw(st.lists(st.integers(2, 24), min_size=2, max_size=12))
    starts = [sum(lengths[:n]) for n in range(len(lengths))]
    intro = draw(st.integers(0, 8))
    pickup = draw(st.booleans())
    begin = intro + pickup
    marks = tuple((LETTERS[n], begin + start) for n, start in enumerate(starts))
    return Outline(begin + sum(lengths), pickup, marks)


def changed(tune: Outline, after: int, by: int) -> Outline:
    """The tune with `by` bars more (or fewer) in the stretch that mark number `after` begins."""
    marks = tuple((text, at + (by if n > after else 0)) for n, (text, at) in enumerate(tune.marks))
    return Outline(tune.bars + by, tune.pickup, marks)


@given(tunes())
def test_a_part_like_the_ruler_lies_on_it_bar_by_bar(tune: Outline) -> None:
    alignment = align(tune, tune)
    assert alignment.bars == tuple(range(tune.bars))
    assert not alignment.differences
    assert alignment.agreement == 1


@given(st.data(), tunes(), st.integers(1, 3), st.booleans())
def test_bars_dropped_or_inserted_between_two_marks_are_found_there(
    data: st.DataObject, tune: Outline, many: int, more: bool
) -> None:
    after = data.draw(st.integers(0, len(tune.marks) - 1))
    ends = [at for _, at in tune.marks[1:]] + [tune.bars]
    by = many if more else -min(many, ends[after] - tune.marks[after][1] - 1)
    part = changed(tune, after, by)
    alignment = align(part, tune)
    before = tune.marks[after + 1][0] if after + 1 < len(tune.marks) else ""
    assert alignment.differences == (Difference("more" if more else "fewer", abs(by), tune.marks[after][0], before),)
    if alignment.agreement >= PLACEABLE:
        first, last = tune.marks[after][1], ends[after]
        assert alignment.bars[: first + 1] == tuple(range(first + 1))
        assert alignment.bars[last + by :] == tuple(range(last, tune.bars))


@given(tunes(), tunes())
def test_places_lie_on_the_ruler_and_never_go_back(part: Outline, ruler: Outline) -> None:
    alignment = align(part, ruler)
    assert len(alignment.bars) == part.bars
    placed = [bar for bar in alignment.bars if bar is not None]
    assert placed == sorted(set(placed))
    assert all(0 <= bar < ruler.bars for bar in placed)
    assert 0 <= alignment.agreement <= 1


def test_a_missing_bar_lies_between_two_marks() -> None:
    alignment = align(changed(TUNE, 3, -1), TUNE)
    assert alignment.differences == (Difference("fewer", 1, "D", "E"),)
    assert alignment.agreement > AGREES


def test_signs_between_the_marks_say_more_nearly_where_a_bar_is_missing() -> None:
    ruler = Outline(16, marks=(("A", 0),), signs=(("repeat-end", 8), ("double", 12)))
    part = Outline(15, marks=(("A", 0),), signs=(("repeat-end", 8), ("double", 11)))
    assert align(part, ruler).bars == (*range(11), *range(12, 16))


def test_a_mark_that_alone_stands_elsewhere_moves_no_bar() -> None:
    part = Outline(96, marks=(("A", 0), ("B", 16), ("C", 33), ("D", 48), ("E", 64), ("F", 80)))
    alignment = align(part, TUNE)
    assert alignment.bars == tuple(range(96))
    assert alignment.differences == (Difference("later", 1, mark="C"),)


def test_a_mark_that_one_side_lacks_is_no_difference() -> None:
    part = Outline(96, marks=tuple(mark for mark in TUNE.marks if mark[0] != "C"))
    assert align(part, TUNE).bars == tuple(range(96))
    assert align(TUNE, part).bars == tuple(range(96))


def test_marks_of_other_names_at_the_same_bars_are_the_same_marks() -> None:
    part = Outline(96, marks=tuple((str(at + 1), at) for _, at in TUNE.marks))
    alignment = align(part, TUNE)
    assert alignment.bars == tuple(range(96))
    assert alignment.agreement == 1
    assert alignment.differences == (Difference("named", 6, after="A", mark="1"),)


def test_a_pickup_that_only_one_side_knows_of_is_counted_from_bar_one() -> None:
    ruler = Outline(33, True, (("A", 9),))
    assert align(Outline(33, False, (("A", 9),)), ruler).bars == tuple(range(33))
    without = align(Outline(32, False, (("A", 8),)), ruler)
    assert without.bars == tuple(range(1, 33))
    assert [d.kind for d in without.differences] == ["no-pickup"]
    back = align(ruler, Outline(32, False, (("A", 8),)))
    assert back.bars == (None, *range(32))
    assert [d.kind for d in back.differences] == ["pickup"]


def test_another_tune_is_not_placed() -> None:
    other = Outline(40, marks=(("A", 0), ("B", 4), ("C", 30)))
    alignment = align(other, TUNE)
    assert alignment.agreement < PLACEABLE
    assert alignment.bars == (None,) * 40


def test_the_majority_of_parts_is_right_and_the_odd_one_out_is_not_in_it() -> None:
    odd = changed(TUNE, 3, -1)
    assert agreeing([odd, TUNE, TUNE, odd, TUNE]) == [1, 2, 4]
    assert agreeing([odd]) == [0]
    assert agreeing([odd, TUNE]) == [0]
    assert agreeing([]) == []
