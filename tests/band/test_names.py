"""File names as bands really write them. The names are invented; how they are written is common practice."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte.band.hearing import ChairName, hear
from collaparte.band.instruments import INSTRUMENTS
from collaparte.band.names import (
    chair_of,
    hear_file_name,
    hear_folder,
    hear_head,
    same_title,
    sections_for,
)

FILES = [
    ("03 Blue Harbour - 2nd Alto.pdf", "Blue Harbour", "Alto 2"),
    ("Tbn1_BlueHarbour.pdf", "Blue Harbour", "Trombone 1"),
    ("Blue Harbour (Bb Trumpet 2) v3.pdf", "Blue Harbour", "Trumpet 2"),
    ("Blue Harbour - Tenor v2.pdf", "Blue Harbour", "Tenor"),
    ("Blue_Harbour_Tpt2_rev3.pdf", "Blue Harbour", "Trumpet 2"),
    ("1. Trompete in B.pdf", "", "Trumpet 1"),
    ("Blue Harbour - Trombone I.pdf", "Blue Harbour", "Trombone 1"),
    ("Blue Harbour - Trombone III.pdf", "Blue Harbour", "Trombone 3"),
    ("blue_harbour_2nd_alto.pdf", "Blue Harbour", "Alto 2"),
    ("BlueHarbour-AltoSax1.pdf", "Blue Harbour", "Alto 1"),
    ("blue-harbour-alto-1.pdf", "Blue Harbour", "Alto 1"),
    ("Blue.Harbour.Tenor.Sax.2.pdf", "Blue Harbour", "Tenor 2"),
    ("Bass Trombone.pdf", "", "Bass Trombone"),
    ("Blue Harbour - B. Tbn..pdf", "Blue Harbour", "Bass Trombone"),
    ("Blue Harbour Pno.pdf", "Blue Harbour", "Piano"),
    ("Blue Harbour - Gtr..pdf", "Blue Harbour", "Guitar"),
    ("Blue Harbour__Gtr.pdf", "Blue Harbour", "Guitar"),
    ("Blue Harbour Dr.pdf", "Blue Harbour", "Drums"),
    ("Flugel - Blue Harbour.pdf", "Blue Harbour", "Flugelhorn"),
    ("Vox Blue Harbour.pdf", "Blue Harbour", "Vocal"),
    ("Blue Harbour - Alto Sax 1.pdf", "Blue Harbour", "Alto 1"),
    ("Blue Harbour Alto Sax 2 Eb.pdf", "Blue Harbour", "Alto 2"),
    ("Blue Harbour - 1st Eb Alto Saxophone.pdf", "Blue Harbour", "Alto 1"),
    ("Blue Harbour - Horn in F 2.pdf", "Blue Harbour", "Horn 2"),
    ("Blue Harbour - Bass Clarinet.pdf", "Blue Harbour", "Bass Clarinet"),
    ("Blue Harbour - Bb Clarinet.pdf", "Blue Harbour", "Clarinet"),
    ("Blue Harbour - Trumpet in Bb 2.pdf", "Blue Harbour", "Trumpet 2"),
    ("Blue Harbour - Trumpet in B ﬂat.pdf", "Blue Harbour", "Trumpet"),
    ("Trombone Blues - Trumpet 1.pdf", "Trombone Blues", "Trumpet 1"),
    ("Harbour Drums - Alto 1.pdf", "Harbour Drums", "Alto 1"),
    ("Dr Lamp - Bari Sax.pdf", "Dr Lamp", "Baritone"),
    ("12 Blue Harbour Tpt 3.pdf", "Blue Harbour", "Trumpet 3"),
    ("07_Blue_Harbour_-_Tenor_2_(Clarinet).pdf", "Blue Harbour", "Tenor 2"),
    ("Tenor Sax 1 (Clarinet, Flute).pdf", "", "Tenor 1"),
    ("Reed 2.pdf", "", "Reed 2"),
    ("Blue Harbour - Lead Trumpet.pdf", "Blue Harbour", "Trumpet 1"),
    ("Blue Harbour - Lead Alto.pdf", "Blue Harbour", "Alto 1"),
    ("Blue Harbour, Posaune 3.pdf", "Blue Harbour", "Trombone 3"),
    ("Blue Harbour - Saxophone ténor 2.pdf", "Blue Harbour", "Tenor 2"),
    ("Blue Harbour - Flügelhorn.pdf", "Blue Harbour", "Flugelhorn"),
    ("Blue Harbour - Fluegelhorn.pdf", "Blue Harbour", "Flugelhorn"),
    ("Blue Harbour - 2ème trompette.pdf", "Blue Harbour", "Trumpet 2"),
    ("Blue Harbour - Batería.pdf", "Blue Harbour", "Drums"),
    ("Blue Harbour - Schlagzeug.pdf", "Blue Harbour", "Drums"),
    ("Blue Harbour - Klavier.pdf", "Blue Harbour", "Piano"),
    ("Blue Harbour - Chitarra.pdf", "Blue Harbour", "Guitar"),
    ("Blue Harbour - Full Score.pdf", "Blue Harbour", "Score"),
    ("Blue Harbour score.pdf", "Blue Harbour", "Score"),
    ("Blue Harbour - Partitur.pdf", "Blue Harbour", "Score"),
    ("01 Alto Sax 1.pdf", "", "Alto 1"),
    ("Alto2.pdf", "", "Alto 2"),
    ("BariSax.pdf", "", "Baritone"),
    ("TPT1.pdf", "", "Trumpet 1"),
    ("Blue Harbour - Lead Sheet.pdf", "Blue Harbour", "Lead Sheet"),
    ("Blue Harbour - Piano-Conductor.pdf", "Blue Harbour", "Piano"),
    ("Blue Harbour - E-Bass.pdf", "Blue Harbour", "Bass"),
    ("Blue Harbour - Double Bass.pdf", "Blue Harbour", "Bass"),
    ("Blue Harbour - Trombone 4 (Bass).pdf", "Blue Harbour", "Trombone 4"),
    ("Blue Harbour [Alto 1] (1).pdf", "Blue Harbour", "Alto 1"),
    ("2026-03-01 Blue Harbour - Alto 1 FINAL.pdf", "Blue Harbour", "Alto 1"),
    ("Alto 1 - Don't Wait Up.pdf", "Don't Wait Up", "Alto 1"),
    ("Blue Harbour - Violin II.pdf", "Blue Harbour", "Violin 2"),
    ("Blue Harbour - Backing Vocals.pdf", "Blue Harbour", "Backing Vocal"),
    ("Blue Harbour-Tpt.1.pdf", "Blue Harbour", "Trumpet 1"),
    ("Blue Harbour 4th Trombone.pdf", "Blue Harbour", "Trombone 4"),
    ("Blue Harbour - Tuba.pdf", "Blue Harbour", "Tuba"),
    ("Bossa for Two - Perc.pdf", "Bossa for Two", "Percussion"),
    ("Blue Harbour - Keys 2.pdf", "Blue Harbour", "Keyboard 2"),
    ("Blue Harbour - Trp 1 Flgh.pdf", "Blue Harbour", "Trumpet 1"),
    ("Take Four Trombone.pdf", "Take Four", "Trombone"),
    ("1 - Blue Harbour - Alto.pdf", "Blue Harbour", "Alto"),
    ("Blue Harbour - Alto 1 (bad copy).pdf", "Blue Harbour", "Alto 1"),
    ("Blue Harbour - Vibes.pdf", "Blue Harbour", "Vibraphone"),
]


@pytest.mark.parametrize(("name", "title", "chair"), FILES, ids=[name for name, _, _ in FILES])
def test_a_file_name_says_tune_and_chair(name: str, title: str, chair: str) -> None:
    heard = hear_file_name(name)
    assert heard.chair is not None
    assert (heard.title, heard.chair.labels) == (title, (chair,))


@pytest.mark.parametrize("name", ["scan0003.pdf", "IMG_2034.pdf", "Blue Harbour - all parts.pdf", "Blue Harbour.pdf"])
def test_a_name_without_a_chair_says_none(name: str) -> None:
    assert hear_file_name(name).chair is None


@pytest.mark.parametrize("name", ["Blue Harbour Trumpets 1 & 2.pdf", "Blue Harbour - Tpt 1-2.pdf", "Trumpet 1+2.pdf"])
def test_a_part_for_two_chairs_says_both(name: str) -> None:
    assert hear_file_name(name).chair == ChairName("Trumpet", (1, 2))


@pytest.mark.parametrize("name", ["The Long Horn.pdf", "Bass Street.pdf", "3 Trumpet.pdf", "Night Voices.pdf"])
def test_what_may_be_part_of_the_title_or_of_a_row_is_not_sure(name: str) -> None:
    assert not hear_file_name(name).sure


def test_doublings_are_heard_beside_the_chair() -> None:
    assert hear_file_name("Blue Harbour - Tenor 2 (Clarinet, Flute).pdf").also == ("Clarinet", "Flute")


@pytest.mark.parametrize(
    ("folder", "tune"),
    [("03 - Blue Harbour", "Blue Harbour"), ("blue_harbour", "Blue Harbour"), ("Parts", ""), ("Stimmen", ""), ("", "")],
)
def test_a_folder_is_a_tune_or_only_holds_parts(folder: str, tune: str) -> None:
    assert hear_folder(folder) == tune


def test_the_head_of_a_page_says_both() -> None:
    heard = hear_head([("Blue Harbour", 17.3), ("Trumpet in B ﬂat", 12.2), ("arr. A. Nother", 10.9)])
    assert (heard.title, heard.chair) == ("Blue Harbour", ChairName("Trumpet"))


def test_a_title_that_names_an_instrument_is_no_chair() -> None:
    heard = hear_head([("Drums at Midnight", 17.0), ("2nd Alto Saxophone", 11.0)])
    assert (heard.title, heard.chair) == ("Drums at Midnight", ChairName("Alto", (2,)))
    assert hear_head([("Drums at Midnight", 17.0)]).chair is None


def test_one_line_at_the_head_may_say_both() -> None:
    heard = hear_head([("Blue Harbour - Trombone 2", 14.0), ("Ballad", 9.0)])
    assert (heard.title, heard.chair) == ("Blue Harbour", ChairName("Trombone", (2,)))


@pytest.mark.parametrize(
    ("one", "other"),
    [("Don't Wait Up", "dont wait-up"), ("The Blue Harbour", "Blue Harbour"), ("Café Noir", "CAFE NOIR")],
)
def test_titles_are_the_same_however_they_are_spelt(one: str, other: str) -> None:
    assert same_title(one, other)
    assert not same_title(one, "Harbour Lights")
    assert not same_title("", "")


def test_two_trumpets_and_two_trombones_are_sections_of_their_own() -> None:
    big = [
        ChairName("Trumpet", (1,)),
        ChairName("Trumpet", (2,)),
        ChairName("Trombone", (1,)),
        ChairName("Bass Trombone"),
    ]
    assert list(sections_for(big).values()) == ["Trumpets", "Trumpets", "Trombones", "Trombones"]
    assert list(sections_for(big[1:]).values()) == ["Brass", "Brass", "Brass"]


@given(st.sampled_from([i.chair for i in INSTRUMENTS]), st.none() | st.integers(1, 6))
def test_every_chair_is_heard_from_its_own_name(instrument: str, number: int | None) -> None:
    chair = ChairName(instrument, (number,) if number else ())
    assert chair_of(chair.labels[0]) == chair
    assert hear_file_name(f"07 Blue Harbour - {chair.labels[0]}.pdf").title == "Blue Harbour"


@given(st.text(max_size=60))
def test_any_name_at_all_is_heard_without_trouble(text: str) -> None:
    for heard in (hear(text), hear_file_name(text), hear_head([(text, 10.0)])):
        assert heard.title == heard.title.strip()
        assert "\n" not in heard.title
