"""The set as a file of plain columns, CSV or JSON (docs/reference/set.md), written and read. Pure."""

import csv
import difflib
import io
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple, TypeVar

from collaparte.band import texts
from collaparte.wire.setlist import SetItem, Then

COLUMNS = ("row", "tune", "then", "key", "time", "notes", "id")
_ROWS = {"": "tune", "tune": "tune", "or": "or", "break": "break"}
_THEN: Mapping[str, Then] = {"": "", "on": "on", "segue": "segue", "attacca": "segue"}
Said = TypeVar("Said", bound=str)
_SEPARATORS = ",;\t"
_TIME = re.compile(r"(?:(\d{1,2}):)?(\d{1,3}):(\d{2})")
_VERSION = 1


class SetFileError(ValueError):
    """The file is no set of this band: one sentence."""


class Row(NamedTuple):
    """One row of a file, as it is written."""

    place: str
    """Where it stands ("row 3"), for sentences."""
    cells: Mapping[str, str]


def written_as_csv(items: Iterable[SetItem], titles: Mapping[str, str]) -> str:
    """The set as CSV (RFC 4180), with a header; `titles`: of every tune, by id."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, COLUMNS)
    writer.writeheader()
    writer.writerows(_cells(item, titles) for item in items)
    return out.getvalue()


def written_as_json(items: Iterable[SetItem], titles: Mapping[str, str]) -> str:
    """The set as JSON: `{"version": 1, "rows": [...]}` with the same columns; empty ones are left out."""
    rows = [{name: cell for name, cell in _cells(item, titles).items() if cell} for item in items]
    return json.dumps({"version": _VERSION, "rows": rows}, ensure_ascii=False, indent=2) + "\n"


def _cells(item: SetItem, titles: Mapping[str, str]) -> dict[str, str]:
    return {
        "row": ("or" if item.instead else "tune") if item.tune else "break",
        "tune": titles.get(item.tune, ""),
        "then": item.then,
        "key": item.key,
        "time": in_minutes(item.seconds) if item.seconds is not None else "",
        "notes": item.notes,
        "id": item.tune,
    }


def in_minutes(seconds: int) -> str:
    """A time as it is written in a set: "4:05", "1:02:30"."""
    minutes, rest = divmod(seconds, 60)
    hours, of_hour = divmod(minutes, 60)
    return f"{hours}:{of_hour:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"


def read(data: bytes, titles: Mapping[str, str]) -> tuple[SetItem, ...]:
    """The set that a file says, JSON or CSV. Raises `SetFileError`."""
    text = _text(data)
    rows = _json_rows(text) if text.lstrip()[:1] in ("{", "[") else _csv_rows(text)
    return tuple(_item(row, titles) for row in rows)


def _text(data: bytes) -> str:
    """The file's text: UTF-8, or UTF-16 with a byte order mark, as spreadsheets write them."""
    try:
        if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            return data.decode("utf-16")
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise SetFileError("The file is not in UTF-8: save it again as CSV in UTF-8.") from None


def _csv_rows(text: str) -> list[Row]:
    if text[:4].lower() == "sep=":
        text = text.partition("\n")[2]
    head = text.partition("\n")[0]
    separator = max(_SEPARATORS, key=head.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        # The row of a spreadsheet, which is not the line of a file when a cell holds line ends.
        table = [(number, [cell.strip() for cell in cells]) for number, cells in enumerate(reader, 1)]
    except csv.Error as error:
        raise SetFileError(f"The file cannot be read as CSV: {error}.") from None
    table = [(number, cells) for number, cells in table if any(cells)]
    if not table:
        raise SetFileError(f"The file is empty: its first row must name the columns: {', '.join(COLUMNS)}.")
    names = [name.casefold() for name in table[0][1]]
    if "tune" not in names:
        raise SetFileError(f'The first row must name the columns, "tune" among them: {", ".join(COLUMNS)}.')
    twice = next((name for name in names if name in COLUMNS and names.count(name) > 1), None)
    if twice:
        raise SetFileError(f'There are two columns called "{twice}"; keep one of them.')
    for number, cells in table[1:]:
        if any(cells[len(names) :]):
            raise SetFileError(f"Row {number} has more cells than there are columns; quote a cell with {separator!r}.")
    return [Row(f"Row {number}", dict(zip(names, cells, strict=False))) for number, cells in table[1:]]


def _json_rows(text: str) -> list[Row]:
    try:
        said = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise SetFileError(f"The file cannot be read as JSON: {error}.") from None
    rows = said.get("rows") if isinstance(said, dict) else said
    if isinstance(said, dict) and said.get("version", _VERSION) != _VERSION:
        raise SetFileError(f"The file is of version {said['version']!r}; this release reads version {_VERSION}.")
    if not isinstance(rows, list):
        raise SetFileError('The file must be {"version": 1, "rows": [...]}, or the list of rows alone.')
    found = []
    for number, row in enumerate(rows, 1):
        if not isinstance(row, dict) or not all(isinstance(cell, str) for cell in row.values()):
            raise SetFileError(f'Row {number} must be an object whose values are strings, as {{"tune": "A title"}}.')
        found.append(Row(f"Row {number}", {name.casefold(): cell.strip() for name, cell in row.items()}))
    return found


def _item(row: Row, titles: Mapping[str, str]) -> SetItem:
    cell = row.cells.get
    kind = _one_of(row, "row", _ROWS)
    tune = "" if kind == "break" else _tune(row, titles)
    if kind == "break" and (cell("tune") or cell("id")):
        raise SetFileError(f'{row.place} is a break, so it names no tune; write its name under "notes".')
    return SetItem(
        tune=tune,
        instead=kind == "or",
        then=_one_of(row, "then", _THEN),
        key=cell("key", ""),
        notes=cell("notes", ""),
        seconds=_seconds(row),
    )


def _one_of(row: Row, column: str, meant: Mapping[str, Said]) -> Said:
    said = row.cells.get(column, "").casefold()
    if said not in meant:
        known = ", ".join(word for word in meant if word)
        raise SetFileError(f'{row.place} says "{row.cells[column]}" under "{column}"; it may say {known}, or nothing.')
    return meant[said]


def _seconds(row: Row) -> int | None:
    said = row.cells.get("time", "")
    if not said:
        return None
    found = _TIME.fullmatch(said)
    if not found or int(found[3]) > 59 or (found[1] and int(found[2]) > 59):
        raise SetFileError(f'{row.place} says "{said}" under "time"; write minutes and seconds, as 4:30.')
    return int(found[1] or 0) * 3600 + int(found[2]) * 60 + int(found[3])


def _tune(row: Row, titles: Mapping[str, str]) -> str:
    """The tune meant: by its id, else by its title."""
    id, said = row.cells.get("id", ""), texts.tidy(row.cells.get("tune", ""))
    if id in titles and (not said or said == texts.tidy(titles[id])):
        return id
    if not said:
        raise SetFileError(f'{row.place} has no title under "tune".')
    named = [tune for tune, title in titles.items() if _plain(title) == _plain(said)]
    if len(named) > 1:
        raise SetFileError(f'{row.place}: the library has {len(named)} tunes called "{said}"; say which by its id.')
    if not named:
        nearest = _nearest(said, list(titles.values()))
        raise SetFileError(f'{row.place}: there is no tune "{said}" in the library{nearest}.')
    return named[0]


def _plain(title: str) -> str:
    return texts.tidy(title).casefold()


def _nearest(said: str, titles: Sequence[str]) -> str:
    """The title that was probably meant."""
    plain = {_plain(title): title for title in titles}
    near = difflib.get_close_matches(_plain(said), list(plain), n=1, cutoff=0.5)
    return f'; the nearest is "{plain[near[0]]}"' if near else ""
