"""The `collaparte` command: one file a verb."""

import typer

app = typer.Typer(no_args_is_help=True, add_completion=False, rich_markup_mode=None)


def main() -> None:
    """Run the command line."""
    app()
