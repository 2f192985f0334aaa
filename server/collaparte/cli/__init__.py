"""The `collaparte` command: one file a verb.

A verb's module is named like it and holds a function of the same name, which is the command; the function's docstring
is its help (`from`, a word of the language, is `from_`). Only the module of the verb that is run is imported.
"""

import importlib
import keyword
import sys
from collections.abc import Iterable

import typer

from collaparte import __version__

VERBS = {
    "serve": "Serve a band to every stand in the room.",
    "demo": "Set up an invented band with its music, and serve it.",
    "bring": "Bring parts in: files, or folders of them.",
    "chairs": "List a band's chairs, or add, rename, move, remove them.",
    "certificate": "Have tablets keep the stand while the hub is off.",
    "find": "List the hubs that answer on this network.",
    "date": "Open or close a date: a rehearsal or a gig.",
    "set": "Print the set, or put it from a file of plain columns.",
    "next": "Name the next tune; nothing moves.",
    "call": "Call a tune: every stand goes there now; or take that back.",
    "from": "Turn every stand to a place of the tune that is on.",
    "lead": "Say who leads, or hand the lead on.",
    "cut": "Cut from one place to another on every part.",
    "edit": "Decide what is played tonight: so many times, open, tacet.",
    "cue": "Cue the last time through what is open.",
    "history": "Say what was decided, and when; or take it over again.",
    "watch": "Follow a band: calls, edits and who is there.",
    "read": "Say what is understood of a part: bars, marks, rests, signs.",
    "form": "Say in which order the bars of a tune are played.",
    "lay": "Lay a part on pages of a tablet's shape, as PDF.",
    "export": "Print a chair's book: the whole set as one PDF.",
}
"""Each verb, and what it does in a line that no terminal cuts off."""


def app_of(verbs: Iterable[str]) -> typer.Typer:
    """The command line with these verbs only."""
    app = typer.Typer(
        no_args_is_help=True,
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        help="A hub in the room that puts a band's parts on every stand and keeps them together.",
    )
    # Without a callback of its own, an app of one verb would take that verb's name for an argument.
    app.callback()(_collaparte)
    for verb in verbs:
        name = f"{verb}_" if keyword.iskeyword(verb) else verb
        module = importlib.import_module(f"collaparte.cli.{name}")
        app.command(verb, short_help=VERBS[verb])(getattr(module, name))
    return app


def _version(asked: bool) -> None:
    if asked:
        typer.echo(__version__)
        raise typer.Exit


def _collaparte(
    version: bool = typer.Option(
        False, "--version", help="Print the version and stop.", is_eager=True, callback=_version
    ),
) -> None:
    """A hub in the room that puts a band's parts on every stand and keeps them together."""


def main() -> None:
    """Run the command line."""
    named = next((word for word in sys.argv[1:] if not word.startswith("-")), "")
    app_of((named,) if named in VERBS else VERBS)()
