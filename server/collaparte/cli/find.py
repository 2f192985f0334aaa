"""`collaparte find`: the hubs on this network."""

import asyncio
from typing import Annotated

import msgspec
import typer
from rich.console import Console
from rich.table import Table

from collaparte.cli.reaching import fail
from collaparte_client import find as find_hubs


def find(
    seconds: Annotated[float, typer.Option(help="How long to listen.")] = 2.0,
    json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """List the hubs that answer on this network."""
    try:
        hubs = asyncio.run(find_hubs(seconds))
    except OSError as error:
        fail(f"This machine has no network to look on ({error}): connect it, or give the hub's address.")
    if json:
        typer.echo(msgspec.json.encode(hubs).decode())
        return
    if not hubs:
        fail("No hub answers on this network: is one serving, and is this machine on the same network?")
    table = Table("Band", "Name", "Address")
    for hub in hubs:
        addresses = [f"http://{address}:{hub.port}" for address in hub.addresses if ":" not in address]
        table.add_row(hub.band, hub.name, "\n".join([*addresses, hub.url]))
    Console().print(table)
