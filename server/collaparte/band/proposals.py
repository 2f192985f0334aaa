"""Which tune and which chair a part is for: what the page, the file's name and its folders say, weighed. Pure.

What was told by hand counts before everything. Where two of them say different things, the librarian is asked.
"""

import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from collaparte.band.hearing import ChairName, Heard, hear
from collaparte.band.instruments import plain
from collaparte.band.names import chair_of, hear_file_name, hear_folder, hear_head, same_title, title_key


class Clue(NamedTuple):
    """What is known of one part before it is read. `folders`: names from the innermost out."""

    file_name: str
    folders: tuple[str, ...] = ()
    head: tuple[tuple[str, float], ...] = ()
    """Lines at the head of its first page, with their sizes."""
    one_of_several: bool = False
    """The file holds other parts as well, so its name says no chair."""
    told_tune: str = ""
    told_chair: str = ""


class Proposal(NamedTuple):
    """The tune's title and the chair meant. `question`: what the librarian has to say first; "" if nothing."""

    title: str
    chair: ChairName | None
    chair_name: str = ""
    """A chair's name given by hand that says no instrument."""
    doubts: tuple[str, ...] = ()
    question: str = ""

    @property
    def part_name(self) -> str:
        """What the part is called: its chairs' names."""
        return self.chair_name or (" + ".join(self.chair.labels) if self.chair else "")


def propose(clue: Clue, tunes: Sequence[str] = ()) -> Proposal:
    """What a part is taken for; `tunes`: the titles of the library."""
    name, head = hear_file_name(clue.file_name), hear_head(clue.head)
    if head.title and not name.sure and name.title and same_title(head.title, hear_whole(clue.file_name)):
        # "The Long Horn.pdf": the page has it as a title.
        name = Heard(head.title, None)
    if clue.one_of_several:
        name = name._replace(chair=None)
    book = next((h for h in map(hear, clue.folders[:1]) if h.chair and h.whole and not h.title), None)
    folder = next(filter(None, map(hear_folder, clue.folders[1 if book else 0 :])), "")
    title, title_doubts = _title(clue, name, head, folder, tunes)
    chair, chair_name, chair_doubts, question = _chair(clue, name, head, book)
    if not title:
        question = "It is not clear which tune this is: tell it with --tune."
    return Proposal(title, chair, chair_name, (*title_doubts, *chair_doubts), question)


def hear_whole(file_name: str) -> str:
    """A file's name as if all of it were a title."""
    return hear_folder(file_name.rsplit(".", 1)[0].replace("-", " "))


def _title(clue: Clue, name: Heard, head: Heard, folder: str, tunes: Sequence[str]) -> tuple[str, tuple[str, ...]]:
    if clue.told_tune:
        return _known(clue.told_tune, tunes), ()
    said = [head.title, name.title if name.chair or not folder else "", folder]
    for title in said:
        if any(same_title(title, tune) for tune in tunes):
            return _known(title, tunes), ()
    if head.title:
        named = name.title if name.chair and re.search(r"[^\W\d_]", name.title) else ""
        if named and not any(_contained(head.title, other) for other in (named, folder) if other):
            return head.title, (f'The page is headed "{head.title}", the file is named after "{named}".',)
        return head.title, ()
    return said[1] or folder or name.title, ()


def _chair(
    clue: Clue, name: Heard, head: Heard, book: Heard | None
) -> tuple[ChairName | None, str, tuple[str, ...], str]:
    if clue.told_chair:
        told = chair_of(clue.told_chair)
        return told, "" if told else clue.told_chair, (), ""
    from_name, from_head = name.chair, head.chair
    if from_name and from_head:
        return _both(name, from_name, head, from_head)
    chair = from_head or from_name or (book.chair if book else None)
    if chair is None:
        return None, "", (), "It is not clear who plays this: tell it with --chair."
    sure = head.sure if from_head else name.sure if from_name else True
    doubt = () if sure else (f"Taken for {' and '.join(chair.labels)}, but the name may mean something else.",)
    return chair, "", doubt, ""


def _both(
    name: Heard, from_name: ChairName, head: Heard, from_head: ChairName
) -> tuple[ChairName | None, str, tuple[str, ...], str]:
    if from_name.instrument == from_head.instrument:
        if from_name.numbers and from_head.numbers and from_name.numbers != from_head.numbers and name.sure:
            return None, "", (), _disagree(from_name, from_head)
        return max(from_head, from_name, key=lambda c: bool(c.numbers)), "", (), ""
    if from_name.instrument in ("Reed", "Sax") or from_name.instrument in head.also:
        return from_name, "", (), ""
    if not name.sure or from_head.instrument in name.also:
        return from_head, "", (), ""
    if not head.sure:
        return from_name, "", (), ""
    return None, "", (), _disagree(from_name, from_head)


def _disagree(from_name: ChairName, from_head: ChairName) -> str:
    return (
        f"The file's name says {' and '.join(from_name.labels)}, the page says {' and '.join(from_head.labels)}: "
        "tell it with --chair."
    )


def _known(title: str, tunes: Sequence[str]) -> str:
    return next((tune for tune in tunes if same_title(tune, title)), title)


def _contained(one: str, other: str) -> bool:
    a, b = title_key(one), title_key(other)
    return a in b or b in a


def match_chair(wanted: ChairName, chairs: Mapping[str, Sequence[str]]) -> str | None:
    """The chair meant: `chairs` gives for each chair's id its name and the names of the parts that it plays.

    A part without a number is for number one, and one for number one fits a chair without a number.
    """
    said = {id: [chair for chair in map(chair_of, names) if chair] for id, names in chairs.items()}
    for fits in (_exactly, _as_first):
        for id, names in said.items():
            if any(fits(wanted, name) for name in names):
                return id
    return None


def chair_named(name: str, chairs: Mapping[str, str]) -> str | None:
    """The chair of this very name; `chairs`: id -> name."""
    return next((id for id, own in chairs.items() if plain(own) == plain(name)), None)


def _exactly(one: ChairName, other: ChairName) -> bool:
    return one == other


def _as_first(one: ChairName, other: ChairName) -> bool:
    return one.instrument == other.instrument and (one.numbers or (1,)) == (other.numbers or (1,))
