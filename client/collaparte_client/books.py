"""A chair's book from a running hub: the set as it stands, with what was decided and marked so far, as PDF."""

import asyncio
import urllib.request
from pathlib import Path
from urllib.error import HTTPError
from urllib.parse import unquote, urlencode

import msgspec

from collaparte.wire.book import HEADER, AboutBook
from collaparte_client.band import NotIn, Refused
from collaparte_client.finding import Found
from collaparte_client.places import Place, no_hub_at, places_of

PRINTED_WITHIN = 300.0
"""Seconds that a hub may take over a book before it has failed: forty tunes take a slow machine a minute."""


class Book(msgspec.Struct, frozen=True):
    """A book: the PDF, and what is said of it."""

    pdf: bytes
    about: AboutBook


async def fetch_book(
    hub: str | Found,
    code: str,
    chair: str,
    *,
    paper: str = "A4",
    stave: float = 7.0,
    markings: bool = True,
    trust: Path | None = None,
) -> Book:
    """The book of the chair that people call so; `trust` as for `join`. Raises `NotIn`, `Refused` (its sentence)."""
    said = {"chair": chair, "paper": paper, "stave": f"{stave:g}", "markings": str(int(markings))}
    for place in await places_of(hub, trust):
        request = urllib.request.Request(
            f"{place.url}/book?{urlencode(said)}", headers={"Authorization": f"Bearer {code}"}
        )
        try:
            return await asyncio.to_thread(_get, request, place)
        except HTTPError as error:
            raise Refused(await asyncio.to_thread(_sentence, error)) from error
        except TimeoutError as error:
            raise NotIn(f"The hub did not finish the book within {PRINTED_WITHIN:.0f} s: try again.") from error
        except OSError:
            continue
    raise no_hub_at(hub.url if isinstance(hub, Found) else hub)


def _get(request: urllib.request.Request, place: Place) -> Book:
    with urllib.request.urlopen(request, timeout=PRINTED_WITHIN, context=place.tls) as answer:
        pdf: bytes = answer.read()
        about = unquote(answer.headers.get(HEADER, ""))
        return Book(pdf, msgspec.json.decode(about or '{"name": "Book", "tunes": 0}', type=AboutBook))


def _sentence(error: HTTPError) -> str:
    return error.read(4096).decode("utf-8", "replace").strip() or f"The hub refused with {error.code}."
