"""`collaparte watch`: follow a band, a line a change."""

from typing import Annotated

import typer

from collaparte.cli.reaching import BandArgument, CodeOption, RoleOption, joined, run, title_of
from collaparte.wire.codec import encode
from collaparte.wire.views import (
    BandView,
    DateView,
    DeskView,
    HistoryView,
    MarkingsView,
    PartView,
    PositionView,
    PresenceView,
    RolesView,
    SetView,
    Slip,
    StatusView,
    TuneView,
    View,
)
from collaparte_client import Band


def watch(
    band: BandArgument,
    json: Annotated[bool, typer.Option("--json", help="Print every view as a line of JSON.")] = False,
    code: CodeOption = "",
    role_code: RoleOption = "",
) -> None:
    """Follow a band: calls, edits and who is there, a line each, until stopped."""
    run(_watch(band, json, code, role_code))


async def _watch(band: str, json: bool, code: str, role_code: str) -> None:
    async with joined(band, code, role_code) as there:
        async for view in there:
            line = encode(view).decode() if json else in_words(there, view)
            if line:
                typer.echo(line)


def in_words(band: Band, view: View) -> str:
    """One line for a view; empty for one that says nothing to a reader."""
    match view:
        case BandView():
            chairs = sum(len(section.chairs) for section in view.sections)
            return f"{view.name}: {chairs} chairs, {sum(c.stands for s in view.sections for c in s.chairs)} stands"
        case SetView():
            return "set: " + ", ".join(title_of(band, item.tune) for item in view.items if item.tune)
        case DateView():
            return f"date: {view.name} ({view.kind})" if view.date else "date: none is open"
        case RolesView():
            return f"roles: {', '.join(view.roles)}" if view.roles else ""
        case PositionView():
            on = title_of(band, view.tune) + (f", from {view.words}" if view.words else "")
            return f"call {view.call}: {on}" + (f"; next: {title_of(band, view.next)}" if view.next else "")
        case TuneView():
            held = "; ".join(edit.words for edit in view.edits)
            return f"{view.title}, revision {view.revision}: {held or 'as written'}"
        case PartView():
            return f"{title_of(band, view.tune)} for {view.chair}: {view.part or 'tacet'}"
        case Slip():
            return f"{title_of(band, view.tune)}: {view.words}"
        case MarkingsView():
            return f"markings: {len(view.made)} made, {len(view.erased)} erased" if view.made or view.erased else ""
        case PresenceView():
            return (
                f"stands: {sum(stand.here for stand in view.stands)} here of {len(view.stands)}" if view.stands else ""
            )
        case HistoryView() | StatusView() | DeskView():
            return ""
