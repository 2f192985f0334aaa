"""The set: tunes in order with what may stand in for them, how it goes on after each, and the breaks.

A row is told by its tune and its id, since a tune may stand more than once.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import msgspec

from collaparte.band import texts
from collaparte.band.roles import LEADER, LIBRARIAN, Refusal, Who
from collaparte.band.state import State, TheSet
from collaparte.wire.commands import SetTheSet
from collaparte.wire.events import Event, SetPut
from collaparte.wire.setlist import SetItem

Command = SetTheSet

LONGEST = 4 * 3600
"""Seconds that a row of the set may take (common practice: nothing between two breaks is longer)."""
KEY_MOST, NOTES_MOST, ID_MOST = 24, 200, 64
"""Characters: a key beside a title, a line or two of notes, and a row's id."""


def decide(state: State, command: SetTheSet, who: Who) -> tuple[Event, ...] | Refusal:
    """What comes of putting the set in order."""
    if not who.may(LEADER, LIBRARIAN):
        return Refusal("Only the leader or the librarian may put the set in order.")
    if command.revision is not None and command.revision != state.set.revision:
        by = state.called(state.set.by) or "somebody"
        return Refusal(f"The set was changed by {by} since you looked at it: look again, then change it.")
    items = _told_apart(state.set.items, tuple(_tidied(item) for item in command.items))
    wrong = next(_faults(state, items), "")
    if wrong:
        return Refusal(wrong)
    if items == state.set.items:
        return ()
    tunes = tuple(item.tune for item in items if item.tune)
    return (SetPut(tunes=tunes, items=items, by=who.by(LEADER, LIBRARIAN)),)


def _tidied(item: SetItem) -> SetItem:
    return msgspec.structs.replace(item, key=texts.tidy(item.key), notes=texts.tidy(item.notes))


def _told_apart(before: Sequence[SetItem], items: Sequence[SetItem]) -> tuple[SetItem, ...]:
    """The rows with ids where a tune stands more than once.

    Rows that came without take those of the tune's rows that stood before and are not there otherwise, in order: a set
    that was written to a file, where rows have none, is the same when it is put again.
    """
    free: dict[str, list[str]] = {}
    for tune in {item.tune for item in items if item.tune}:
        given = {item.id for item in items if item.tune == tune and item.id}
        stood = [item.id for item in before if item.tune == tune and item.id not in given]
        fresh = ["", *(str(n) for n in range(2, len(items) + len(before) + 2))]
        free[tune] = stood + [id for id in fresh if id not in given and id not in stood]
    return tuple(
        msgspec.structs.replace(item, id=free[item.tune].pop(0)) if item.tune and not item.id else item
        for item in items
    )


def _faults(state: State, items: Sequence[SetItem]) -> Iterator[str]:
    """What is wrong with a set, in sentences."""
    rows: set[tuple[str, str]] = set()
    before = SetItem()
    for item in items:
        title = f'"{state.title(item.tune)}"' if item.tune else "A break"
        if item.tune and item.tune not in state.tunes:
            yield f'There is no tune "{item.tune}" in the library.'
        if (item.tune, item.id) in rows:
            yield f"{title} is in that set twice as the same row; give one of them another id, or none."
        if len(item.id) > ID_MOST:
            yield f"The id of a row of {title} is longer than {ID_MOST} characters; shorten it."
        if not item.tune and (item.instead or item.then or item.key or item.id):
            yield "A break has a name and a length only: no key, no segue, nothing instead."
        if item.instead and not before.tune:
            yield f"{title} stands in for the tune before it, but there is none before it."
        if len(item.key) > KEY_MOST:
            yield f"The key of {title} is longer than {KEY_MOST} characters; shorten it."
        if len(item.notes) > NOTES_MOST:
            yield f"The notes on {title} are longer than {NOTES_MOST} characters; shorten them."
        if item.seconds is not None and not 0 < item.seconds <= LONGEST:
            yield f"{title} cannot take {item.seconds} seconds: a row of the set takes up to {LONGEST // 3600} hours."
        yield from filter(None, (_unshowable(item.key, title), _unshowable(item.notes, title)))
        rows |= {(item.tune, item.id)} if item.tune else set()
        before = item


def _unshowable(text: str, title: str) -> str:
    return (
        f"What is said of {title} has characters that cannot be shown; type it again." if not text.isprintable() else ""
    )


def apply(state: State, event: SetPut) -> State:
    """The state with another set."""
    items = event.items or tuple(SetItem(tune) for tune in event.tunes)
    return msgspec.structs.replace(state, set=TheSet(items, state.set.revision + 1, event.by))


def following(items: Sequence[SetItem], tune: str, item: str = "") -> tuple[str, str] | None:
    """Tune and id of the row that is next by itself once this row is on; None: whatever the leader says."""
    at = _at(items, tune, item)
    if at is None or not items[at].then:
        return None
    after = next((one for one in items[at + 1 :] if not one.instead), None)
    return (after.tune, after.id) if after and after.tune else None


def _at(items: Sequence[SetItem], tune: str | None, item: str) -> int | None:
    return next((n for n, one in enumerate(items) if (one.tune, one.id) == (tune, item)), None)


def meant(state: State, tune: str, item: str | None, *, stay: bool = False) -> str:
    """The id of the set's row that is meant: the one said, if it is (still) there, or the one named next.

    Else, with `stay`, the one that is on; else the tune's next row from where the band is, or its first; "" where the
    tune is not in the set.
    """
    here, items = state.position, state.set.items
    plans = [(tune, item), (here.next, here.next_item)] + ([(here.tune, here.item)] if stay else [])
    for of, id in plans:
        if of == tune and id is not None and _at(items, tune, id) is not None:
            return id
    on = _at(items, here.tune, here.item)
    from_here = items if on is None else (*items[on + 1 :], *items[: on + 1])
    return next((one.id for one in from_here if one.tune == tune), "")


class Times(NamedTuple):
    """How long a set takes, in seconds: the music, and the breaks.

    `unknown`: tunes and breaks that no time is known of. `stretches`: the music from one break to the next.
    """

    music: int
    breaks: int
    unknown: int
    stretches: tuple[int, ...]


def times(items: Sequence[SetItem], lasts: Callable[[str], int | None]) -> Times:
    """How long a set takes; `lasts`: seconds of a tune as worked out. What may be played instead does not count."""
    stretches, breaks, unknown = [0], 0, 0
    for item in items:
        if item.instead:
            continue
        seconds = item.seconds if item.seconds is not None or not item.tune else lasts(item.tune)
        unknown += seconds is None
        if item.tune:
            stretches[-1] += seconds or 0
        else:
            breaks += seconds or 0
            stretches.append(0)
    return Times(sum(stretches), breaks, unknown, tuple(stretches))
