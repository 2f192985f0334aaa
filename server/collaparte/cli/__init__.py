"""The `collaparte` command: one file a verb.

A verb's module is named like it and holds a function of the same name, which is the command; the function's docstring
is its help (`from`, a word of the language, is `from_`). Only the module of the verb that is run is imported.
"""

import importlib
import keyword
import sys

import typer

from collaparte import __version__

VERBS = (
    "serve",
    "demo",
    "bring",
    "chairs",
    "certificate",
    "find",
    "date",
    "set",
    "next",
    "call",
    "from",
    "cut",
    "edit",
    "cue",
    "history",
    "watch",
    "read",
    "form",
    "lay",
    "export",
)


def app_of(verbs: tuple[str, ...]) -> typer.Typer:
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
        app.command(verb)(getattr(module, name))
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
