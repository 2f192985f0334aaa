"""A tune that stands more than once in the set: its rows are told apart, whatever is done with them."""

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from band.bands import LEADER, MD, Band, small_band
from collaparte.band import setfile
from collaparte.wire import commands as c
from collaparte.wire.setlist import SetItem


def encore() -> Band:
    """bus, ember, bus again, coda: straight through."""
    band = small_band()
    band.do(c.AddTune("coda", "Coda"))
    rows = (SetItem("bus"), SetItem("ember"), SetItem("bus", notes="Encore"), SetItem("coda"))
    band.do(c.SetTheSet(tuple(SetItem(row.tune, then="on", notes=row.notes) for row in rows)), LEADER)
    return band


def on(band: Band) -> tuple[str | None, str]:
    return band.state.position.tune, band.state.position.item


def named(band: Band) -> tuple[str | None, str]:
    return band.state.position.next, band.state.position.next_item


def test_the_hub_tells_rows_apart_that_came_without_ids() -> None:
    band = encore()
    assert [(row.tune, row.id) for row in band.state.set.items] == [
        ("bus", ""),
        ("ember", ""),
        ("bus", "2"),
        ("coda", ""),
    ]
    assert band.do(c.SetTheSet(band.state.set.items), LEADER) == ()


def test_straight_through_goes_on_behind_each_row_of_its_own() -> None:
    band = encore()
    band.do(c.Call("bus"), LEADER)
    seen = [on(band)]
    while band.state.position.next:
        band.do(c.Call(band.state.position.next, "", band.state.position.next_item), LEADER)
        seen.append(on(band))
    assert seen == [("bus", ""), ("ember", ""), ("bus", "2"), ("coda", "")]


def test_a_call_without_a_row_means_what_is_next_then_what_is_on_then_what_comes() -> None:
    band = encore()
    band.do(c.Call("bus"), LEADER)
    band.do(c.Call("bus"), LEADER)
    assert on(band) == ("bus", ""), "the tune that is on, from its top"
    band.do(c.Next("bus"), LEADER)
    assert named(band) == ("bus", "2"), "the next time that it stands in the set"
    assert band.do(c.Next("bus"), LEADER) == ()
    band.do(c.Call("bus", "C"), LEADER)
    assert (on(band), named(band)) == (("bus", "2"), ("coda", ""))
    band.do(c.From("D"), MD)
    assert on(band) == ("bus", "2")
    band.do(c.Call("coda"), LEADER)
    band.do(c.Call("bus"), LEADER)
    assert on(band) == ("bus", ""), "none comes any more: the first"


def test_a_row_that_is_said_is_the_one_that_is_meant() -> None:
    band = encore()
    band.do(c.Next("bus", ""), LEADER)
    assert named(band) == ("bus", "")
    band.do(c.Call("ember"), LEADER)
    assert named(band) == ("bus", ""), "the leader's plan stays"
    band.do(c.Call("bus", "", "2"), LEADER)
    assert (on(band), named(band)) == (("bus", "2"), ("bus", ""))
    # Another took the row out meanwhile: the music is what was asked for.
    band.do(c.Call("coda", "", "gone"), LEADER)
    assert on(band) == ("coda", "")


def test_a_call_taken_back_returns_to_the_row_that_was_on() -> None:
    band = encore()
    band.do(c.Call("bus"), LEADER)
    band.do(c.Call("bus", "", "2"), LEADER)
    assert named(band) == ("coda", "")
    band.do(c.TakeBackCall(2), LEADER)
    assert (on(band), named(band)) == (("bus", ""), ("ember", ""))


def test_what_is_on_stays_on_when_rows_are_moved_or_taken_out() -> None:
    band = encore()
    band.do(c.Call("bus", "", "2"), LEADER)
    items = band.state.set.items
    band.do(c.SetTheSet((items[2], items[0], items[1], items[3])), LEADER)
    assert band.state.set.items[0].notes == "Encore" and on(band) == ("bus", "2")
    band.do(c.Call("bus", "", "2"), LEADER)
    assert named(band) == ("bus", "")
    band.do(c.SetTheSet((items[2], items[3])), LEADER)
    assert [row.id for row in band.state.set.items] == ["2", ""]
    band.do(c.Call("bus"), LEADER)
    assert on(band) == ("bus", "2"), "the only one left"


def test_an_edit_is_the_tunes_wherever_it_stands() -> None:
    band = encore()
    band.do(c.Call("bus", "", "2"), LEADER)
    band.do(c.MakeCut("e", "", "C", "D"), MD)
    assert band.state.tunes["bus"].played.cut


_TITLES = {"bus": "Night Bus", "ember": "Ember"}
_SETS = st.lists(
    st.builds(
        SetItem,
        tune=st.sampled_from(["bus", "ember", ""]),
        then=st.just(""),
        notes=st.sampled_from(["", "x", "y"]),
        id=st.sampled_from(["", "", "", "2", "3", "x"]),
    ).map(lambda row: row if row.tune else SetItem(notes=row.notes)),
    max_size=7,
    unique_by=lambda row: (row.tune, row.id) if row.id else object(),
)


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(_SETS, min_size=1, max_size=4))
def test_any_sets_one_after_the_other(sets: list[list[SetItem]]) -> None:
    """Each row of a tune has an id of its own; those that were said hold; a file that was written changes nothing."""
    band = small_band()
    for items in sets:
        band.do(c.SetTheSet(tuple(items)), LEADER)
        put = band.state.set.items
        rows = [(row.tune, row.id) for row in put if row.tune]
        assert len(set(rows)) == len(rows)
        assert [(row.tune, row.notes) for row in put] == [(row.tune, row.notes) for row in items]
        assert all(row.id == said.id for row, said in zip(put, items, strict=True) if said.id)
        for write in (setfile.written_as_csv, setfile.written_as_json):
            again = setfile.read(write(put, _TITLES).encode(), _TITLES)
            assert band.do(c.SetTheSet(again), LEADER) == ()


@given(st.lists(st.sampled_from(["bus", "ember"]), min_size=1, max_size=8))
def test_any_show_is_played_through_once_in_order(tunes: list[str]) -> None:
    band = small_band()
    band.do(c.SetTheSet(tuple(SetItem(tune, then="on") for tune in tunes)), LEADER)
    rows = [(row.tune, row.id) for row in band.state.set.items]
    band.do(c.Call(rows[0][0], "", rows[0][1]), LEADER)
    seen = [on(band)]
    while band.state.position.next and len(seen) <= len(rows):
        band.do(c.Call(band.state.position.next), LEADER)
        seen.append(on(band))
    assert seen == rows
