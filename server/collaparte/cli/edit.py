"""`collaparte edit`: change the order of a tune's bars, list what is decided, or take it back."""

import secrets
from enum import StrEnum
from typing import Annotated

import typer

from collaparte.cli.reaching import BandArgument, CodeOption, RoleOption, Wrong, joined, run, title_of, tune_of
from collaparte.music.breath import in_one_breath
from collaparte.wire.commands import SayEdit, TakeBackEdit, TakeRepeats
from collaparte.wire.views import TuneView
from collaparte_client import Band

HOW = {"taken": True, "left": False, "as-printed": None}
"""What can be said of the repeats after a D.S. or D.C."""


class Kind(StrEnum):
    """What can be decided, as it is typed."""

    LIST = "list"
    CUT = "cut"
    TIMES = "times"
    ONCE = "once"
    OPEN = "open"
    TACET = "tacet"
    GO_TO = "go-to"
    NO_REPEATS = "no-repeats"
    NO_JUMPS = "no-jumps"
    PICKUP = "pickup"
    REPEATS_AFTER_JUMP = "repeats-after-jump"
    TAKE_BACK = "take-back"


def edit(
    band: BandArgument,
    what: Annotated[Kind, typer.Argument(help="What is decided; `list` says what holds.")] = Kind.LIST,
    first: Annotated[
        str,
        typer.Argument(
            help='From where: "C", "4 before D", "bar 33"; or all of it, "C to D", "bars 33-40"; of take-back, the id '
            "or `last`; of repeats-after-jump, `taken`, `left` or `as-printed`."
        ),
    ] = "",
    until: Annotated[
        str, typer.Argument(help="Up to, not including; of go-to, where to. Empty: the end, or as `first` says.")
    ] = "",
    times: Annotated[int, typer.Option(help="How often in all, of times.")] = 2,
    who: Annotated[
        list[str] | None, typer.Option("--who", help="A chair or section that is tacet or keeps the pickup.")
    ] = None,
    tune: Annotated[str, typer.Option(help="A tune's title; else the tune that is on.")] = "",
    kept: Annotated[bool, typer.Option("--kept", help="Keep it for later dates.")] = False,
    code: CodeOption = "",
    role_code: RoleOption = "",
) -> None:
    """Decide what is played of a tune tonight: cut, so many times, open, tacet. For the MD.

    Whether its repeats are taken again after a D.S. or D.C. is said for good (repeats-after-jump).
    """
    said = SayEdit("", "", "cut", first, until, times=times, kept=kept)
    run(_edit(band, what, said, who or [], tune, code, role_code))


async def _edit(band: str, what: Kind, said: SayEdit, who: list[str], tune: str, code: str, role_code: str) -> None:
    async with joined(band, code, role_code) as there:
        which = tune_of(there, tune) if tune else there.position.tune
        if which is None:
            raise Wrong("No tune is on: say which with --tune.")
        if what is Kind.LIST:
            _list(there.tunes.get(which))
        elif what is Kind.TAKE_BACK:
            await there.do(TakeBackEdit(taken_back(there, which, said.first)))
            typer.echo("Taken back.")
        elif what is Kind.REPEATS_AFTER_JUMP:
            if said.first not in HOW:
                raise Wrong(f"Say how: collaparte edit BAND {what} {' or '.join(HOW)}.")
            await there.do(TakeRepeats(which, HOW[said.first]))
            typer.echo(f"{title_of(there, which)}: repeats after the D.S. or D.C. {said.first.replace('-', ' ')}.")
        else:
            made = secrets.token_hex(8)
            await there.do(_command(there, made, which, what, said, who))
            words = next((row.words for row in there.tunes[which].edits if row.id == made), what.value)
            typer.echo(f"{title_of(there, which)}: {words} (id {made}).")


def _command(band: Band, id: str, tune: str, what: Kind, said: SayEdit, who: list[str]) -> SayEdit:
    kind = "times" if what is Kind.ONCE else what.value
    places = what not in (Kind.NO_REPEATS, Kind.NO_JUMPS)
    if places and not said.first:
        raise Wrong(f"Say from where to where: collaparte edit BAND {what} C D.")
    one = what in (Kind.GO_TO, Kind.PICKUP) or in_one_breath(said.first)
    until = said.until or ("" if one else "end")
    sections = {section.name.casefold(): section.name for section in band.band.sections}
    chairs = {chair.name.casefold(): chair.id for section in band.band.sections for chair in section.chairs}
    unknown = next((name for name in who if name.casefold() not in sections and name.casefold() not in chairs), None)
    if unknown is not None:
        raise Wrong(f"The band has no chair or section {unknown!r}: see collaparte watch, or the hub's Door.")
    return SayEdit(
        id=id,
        tune=tune,
        kind=kind,  # type: ignore[arg-type]
        first=said.first,
        until=until,
        times=1 if what is Kind.ONCE else said.times,
        chairs=tuple(chairs[name.casefold()] for name in who if name.casefold() in chairs),
        sections=tuple(sections[name.casefold()] for name in who if name.casefold() in sections),
        kept=said.kept,
    )


def taken_back(band: Band, tune: str, id: str) -> str:
    """The id of the edit that is meant: `last`, or itself. Raises `Wrong`."""
    edits = band.tunes[tune].edits if tune in band.tunes else ()
    if not id:
        raise Wrong("Say which edit to take back: its id, or `last`.")
    if id != "last":
        return id
    if not edits:
        raise Wrong(f"Nothing is decided in {title_of(band, tune)}.")
    return edits[-1].id


def _list(view: TuneView | None) -> None:
    if view is None or not view.edits:
        typer.echo("Nothing is decided: the tune is played as written.")
        return
    for row in view.edits:
        when = f" at {row.at.replace('T', ' ')}" if row.at else ""
        kept = ", kept" if row.kept else ""
        typer.echo(f"{row.id}  {row.words}, by {row.by or 'nobody'}{when}{kept}")
        if row.why:
            typer.echo(f"  {row.why}")
