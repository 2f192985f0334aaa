"""The set as CSV and JSON: what is written is read again exactly, as spreadsheets save it too; faults are told."""

import csv
import io
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte.band import setfile, texts
from collaparte.wire.setlist import SetItem

TITLES = {
    "bus": "Night Bus",
    "ember": "Ember",
    "odd": 'Rain, "Check"; and more',
    "late": "Späte Straße – 夜",
    "twin1": "Twin",
    "twin2": "Twin",
}
ITEMS = (
    SetItem("bus", then="segue", key="Eb", notes='Horns "stand up"; then, sit', seconds=245),
    SetItem("ember", instead=True, then="on"),
    SetItem(notes="Break", seconds=1200),
    SetItem("odd"),
    SetItem("late", key="F♯ minor", seconds=3725),
    SetItem("twin2"),
)


@pytest.mark.parametrize("write", [setfile.written_as_csv, setfile.written_as_json])
def test_written_and_read_it_is_the_same(write: object) -> None:
    text = write(ITEMS, TITLES)  # type: ignore[operator]
    assert setfile.read(text.encode(), TITLES) == ITEMS
    assert write(setfile.read(text.encode(), TITLES), TITLES) == text  # type: ignore[operator]


_WORDS = st.text(max_size=20).map(texts.tidy).filter(str.isprintable)


@given(
    st.lists(
        st.builds(
            SetItem,
            tune=st.sampled_from(list(TITLES)),
            instead=st.booleans(),
            then=st.sampled_from(["", "on", "segue"]),
            key=_WORDS,
            notes=_WORDS,
            seconds=st.none() | st.integers(1, 14400),
        )
        | st.builds(SetItem, notes=_WORDS, seconds=st.none() | st.integers(1, 14400))
    ).map(tuple)
)
def test_any_set_is_the_same_again(items: tuple[SetItem, ...]) -> None:
    assert setfile.read(setfile.written_as_csv(items, TITLES).encode(), TITLES) == items
    assert setfile.read(setfile.written_as_json(items, TITLES).encode(), TITLES) == items


def test_it_is_csv_as_the_standard_says_and_as_the_standard_library_reads_it() -> None:
    # RFC 4180: CRLF after each record, quotes doubled; the header names the columns.
    text = setfile.written_as_csv(ITEMS, TITLES)
    assert text.startswith("row,tune,then,key,time,notes,id\r\n") and text.endswith("\r\n")
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert [row["tune"] for row in rows] == [TITLES.get(item.tune, "") for item in ITEMS]
    assert (rows[0]["then"], rows[0]["time"], rows[2]["row"], rows[4]["time"]) == ("segue", "4:05", "break", "1:02:05")
    assert json.loads(setfile.written_as_json(ITEMS, TITLES))["rows"][1] == {
        "row": "or",
        "tune": "Ember",
        "then": "on",
        "id": "ember",
    }


def as_spreadsheet(separator: str, quoting: int, end: str) -> str:
    """The set as another program would save it: without ids, with columns in another order and some of its own."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=separator, quoting=quoting, lineterminator=end)  # type: ignore[arg-type]
    rows = csv.DictReader(io.StringIO(setfile.written_as_csv(ITEMS[:5], TITLES), newline=""))
    writer.writerow(["Notes", "Tune", "TIME", "", "Row", "then", "Key", "Who sings"])
    for row in rows:
        writer.writerow([row["notes"], row["tune"], row["time"], "", row["row"], row["then"], row["key"], "Kim"])
    writer.writerow([""] * 8)
    return out.getvalue()


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("quoting", [csv.QUOTE_MINIMAL, csv.QUOTE_ALL])
@pytest.mark.parametrize("end", ["\r\n", "\n"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_as_spreadsheets_save_it(separator: str, quoting: int, end: str, encoding: str) -> None:
    data = as_spreadsheet(separator, quoting, end).encode(encoding)
    assert setfile.read(data, TITLES) == ITEMS[:5]


@pytest.mark.parametrize(
    ("text", "item"),
    [
        ("tune\nnight bus\n", SetItem("bus")),
        ("TUNE,then\n  Night   Bus  ,Attacca", SetItem("bus", then="segue")),
        ("sep=;\ntune;time\nEmber;04:30\n", SetItem("ember", seconds=270)),
        ('[{"tune": "ember"}]', SetItem("ember")),
        ("tune,id\n,ember\n", SetItem("ember")),
        ("tune,id\nTwin,twin1\n", SetItem("twin1")),
        # From another band's library: an id that is not known here, and its title.
        ("tune,id\nEmber,x77\n", SetItem("ember")),
        ('tune,notes\nEmber,"two\nlines"\n', SetItem("ember", notes="two\nlines")),
    ],
)
def test_typed_by_hand(text: str, item: SetItem) -> None:
    assert setfile.read(text.encode(), TITLES) == (item,)


def test_a_set_without_tunes() -> None:
    assert setfile.read(b"tune\n", TITLES) == () == setfile.read(b"[]", TITLES)


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "The file is empty"),
        (b"\r\n\r\n", "The file is empty"),
        (b"title\nEmber\n", 'The first row must name the columns, "tune" among them'),
        (b"tune,tune\na,b\n", 'There are two columns called "tune"'),
        (b"tune\nNight Buss\n", 'Row 2: there is no tune "Night Buss" in the library; the nearest is "Night Bus".'),
        (b"tune\n\n\nPolka\n", 'Row 4: there is no tune "Polka" in the library.'),
        (b"tune\nTwin\n", 'Row 2: the library has 2 tunes called "Twin"; say which by its id.'),
        (b"tune,id\nEmber,bus\n", None),
        (b"tune,time\nEmber,four\n", 'Row 2 says "four" under "time"; write minutes and seconds, as 4:30.'),
        (b"tune,time\nEmber,4:75\n", 'Row 2 says "4:75"'),
        (b"tune,time\nEmber,1:75:00\n", 'Row 2 says "1:75:00"'),
        (b"tune,then\nEmber,later\n", 'Row 2 says "later" under "then"; it may say on, segue, attacca, or nothing.'),
        (b"tune,row\nEmber,pause\n", 'Row 2 says "pause" under "row"; it may say tune, or, break, or nothing.'),
        (b"tune,row\nEmber,break\n", "Row 2 is a break, so it names no tune"),
        (b"tune,key\n,Eb\n", 'Row 2 has no title under "tune".'),
        (b"tune\nEmber,4:30\n", "Row 2 has more cells than there are columns"),
        (b'tune\n"Ember\n', "The file cannot be read as CSV"),
        (b"tune\nSp\xe4te\n", "The file is not in UTF-8: save it again as CSV in UTF-8."),
        (b"{", "The file cannot be read as JSON"),
        (b"[" * 100_000, "The file cannot be read as JSON"),
        (b'{"version": 2, "rows": []}', "The file is of version 2; this release reads version 1."),
        (b'{"rows": {}}', "the list of rows alone"),
        (b'[{"tune": 7}]', "Row 1 must be an object whose values are strings"),
        (b'["Ember"]', "Row 1 must be an object"),
    ],
)
def test_what_is_wrong_is_one_sentence(data: bytes, why: str | None) -> None:
    if why is None:
        # The title counts when an id belongs to another tune.
        assert setfile.read(data, TITLES) == (SetItem("ember"),)
        return
    with pytest.raises(setfile.SetFileError) as told:
        setfile.read(data, TITLES)
    assert why in str(told.value)
    assert str(told.value).endswith(".") and "\n" not in str(told.value)


@given(st.binary(max_size=60) | st.text(max_size=60).map(str.encode))
def test_any_bytes_are_a_set_or_a_sentence(data: bytes) -> None:
    try:
        setfile.read(data, TITLES)
    except setfile.SetFileError as error:
        assert str(error).endswith(".")
