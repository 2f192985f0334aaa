"""What a part is taken for, when name, folder and page say the same thing, different things or nothing."""

import pytest

from collaparte.band.hearing import ChairName
from collaparte.band.proposals import Clue, chair_named, match_chair, propose

HEAD = (("Blue Harbour", 20.0), ("2nd Alto", 13.0), ("arr. A. Nother", 10.0))


def test_page_and_name_say_the_same() -> None:
    proposal = propose(Clue("03 blue_harbour - 2nd alto.pdf", ("Charts",), HEAD))
    assert (proposal.title, proposal.part_name, proposal.doubts, proposal.question) == (
        "Blue Harbour",
        "Alto 2",
        (),
        "",
    )


def test_without_words_on_the_page_the_name_and_its_folder_speak() -> None:
    assert propose(Clue("2nd Alto.pdf", ("03 - Blue Harbour",)))[:2] == ("Blue Harbour", ChairName("Alto", (2,)))
    assert propose(Clue("2nd Alto.pdf", ("Parts", "Blue Harbour")))[:2] == ("Blue Harbour", ChairName("Alto", (2,)))
    assert propose(Clue("Blue Harbour - 2nd Alto.pdf", ("Charts of 2026",)))[0] == "Blue Harbour"


def test_a_folder_may_be_a_book() -> None:
    assert propose(Clue("Blue Harbour.pdf", ("Trumpet 1",)))[:2] == ("Blue Harbour", ChairName("Trumpet", (1,)))


def test_a_title_with_an_instrument_in_it_is_a_title() -> None:
    proposal = propose(Clue("The Long Horn.pdf", (), (("The Long Horn", 20.0), ("Tenor Sax", 12.0))))
    assert proposal[:2] == ("The Long Horn", ChairName("Tenor"))
    assert propose(Clue("The Long Horn.pdf", (), (("The Long Horn", 20.0),))).question


def test_the_page_says_which_of_a_row_it_is() -> None:
    proposal = propose(Clue("3 Trumpet.pdf", (), (("Blue Harbour", 20.0), ("Trumpet 2", 12.0))))
    assert proposal.chair == ChairName("Trumpet", (2,))


def test_a_number_that_only_one_of_them_says_counts() -> None:
    assert propose(Clue("Blue Harbour - Alto.pdf", (), HEAD)).chair == ChairName("Alto", (2,))


def test_a_reed_book_keeps_its_name_whatever_it_doubles() -> None:
    head = (("Blue Harbour", 20.0), ("Flute, Clarinet, Alto Sax", 12.0))
    assert propose(Clue("Blue Harbour - Reed 2.pdf", (), head)).chair == ChairName("Reed", (2,))


@pytest.mark.parametrize("name", ["Blue Harbour - 1st Alto.pdf", "Blue Harbour - Trumpet 2.pdf"])
def test_when_name_and_page_disagree_the_librarian_is_asked(name: str) -> None:
    proposal = propose(Clue(name, (), HEAD))
    assert proposal.chair is None
    assert "the page says Alto 2" in proposal.question
    assert "--chair" in proposal.question


def test_what_says_nothing_is_asked_for() -> None:
    assert "--chair" in propose(Clue("scan0001.pdf", ("Blue Harbour",))).question
    assert propose(Clue("scan0001.pdf", ("Blue Harbour",))).title == "Blue Harbour"
    assert "--tune" in propose(Clue("2nd Alto.pdf", ("Parts",))).question


def test_what_is_told_by_hand_counts() -> None:
    proposal = propose(
        Clue("scan0001.pdf", ("x",), HEAD, told_tune="blue harbour", told_chair="Bone 3"), ["Blue Harbour"]
    )
    assert proposal[:2] == ("Blue Harbour", ChairName("Trombone", (3,)))
    assert propose(Clue("a.pdf", told_tune="X", told_chair="Steve")).part_name == "Steve"


def test_a_tune_of_the_library_is_recognised_by_any_of_them() -> None:
    head = (("Blue Harbour (ballad)", 20.0), ("Tenor", 12.0))
    assert propose(Clue("blue harbour tenor.pdf", (), head), ["Blue Harbour"]).title == "Blue Harbour"


def test_a_page_under_another_title_than_its_name_is_doubted() -> None:
    assert propose(Clue("Slow Train - 2nd Alto.pdf", (), HEAD)).doubts == (
        'The page is headed "Blue Harbour", the file is named after "Slow Train".',
    )


def test_chairs_are_matched_by_what_their_names_mean() -> None:
    chairs = {"a": ["2nd Alto Saxophone"], "t": ["Trumpet"], "b": ["Bone 2"], "s": ["Steve", "Drums"]}
    assert match_chair(ChairName("Alto", (2,)), chairs) == "a"
    assert match_chair(ChairName("Trumpet", (1,)), chairs) == "t"
    assert match_chair(ChairName("Trumpet", (2,)), chairs) is None
    assert match_chair(ChairName("Trombone", (2,)), chairs) == "b"
    assert match_chair(ChairName("Trombone"), chairs) is None
    assert match_chair(ChairName("Drums"), chairs) == "s"
    assert chair_named("steve", {"s": "Steve"}) == "s"
