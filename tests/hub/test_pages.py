"""The hub's HTTP side over a real socket: headers, caching, refusals in words."""

import io
import socket
import xml.etree.ElementTree as ET
import zipfile
from collections.abc import AsyncIterator
from pathlib import Path

import httpx
import pytest

import collaparte
from collaparte.hub.addresses import Addresses, listen
from collaparte.hub.http import HttpServer
from collaparte.hub.pages import joining_url, pages

HASH = "0123456789abcdef" * 4
PNG = b"\x89PNG\r\n\x1a\n and so on"


@pytest.fixture
async def addresses(tmp_path: Path) -> AsyncIterator[Addresses]:
    """A served band without a hub behind it."""
    (tmp_path / "index.html").write_text("<!doctype html><title>Stand</title>")
    (tmp_path / "stand.js").write_text("export const x = 1;\n")
    (tmp_path / "sw.js").write_text("self.onfetch = null;\n")
    listening = listen(0)
    addresses = Addresses("night-owls-7f3k.local", listening.getsockname()[1], 9)

    async def fetch(hash_: str) -> bytes | None:
        return {HASH: PNG}.get(hash_)

    app = pages(addresses, lambda: "Night Owls", "epoch-1", fetch, tmp_path)
    server = HttpServer(app)
    await server.start(listening)
    yield addresses
    await server.stop()


@pytest.fixture
async def client(addresses: Addresses) -> AsyncIterator[httpx.AsyncClient]:
    async with httpx.AsyncClient(base_url=f"http://localhost:{addresses.port}", trust_env=False) as client:
        yield client


async def test_hub_json_says_where_the_sockets_are(client: httpx.AsyncClient, addresses: Addresses) -> None:
    info = (await client.get("/hub.json")).json()
    assert info == {
        "band": "Night Owls",
        "protocol": 1,
        "epoch": "epoch-1",
        "socket": 9,
        "canonical": f"http://night-owls-7f3k.local:{addresses.port}",
        "version": collaparte.__version__,
        "secure": None,
    }


async def test_own_pages_may_ask_and_no_other(client: httpx.AsyncClient, addresses: Addresses) -> None:
    own = f"http://localhost:{addresses.port}"
    answer = await client.get("/hub.json", headers={"Origin": own})
    assert answer.headers["access-control-allow-origin"] == own
    foreign = await client.get("/hub.json", headers={"Origin": "http://good.evil"})
    assert foreign.status_code == 403
    assert "access-control-allow-origin" not in foreign.headers


async def test_a_foreign_name_for_this_machine_is_not_answered(client: httpx.AsyncClient) -> None:
    # RFC 9110, 15.5.20: 421 when the request was directed at a server that cannot answer for that name.
    answer = await client.get("/", headers={"Host": "good.evil"})
    assert answer.status_code == 421
    assert "night-owls-7f3k.local" in answer.text


async def test_what_is_named_by_its_content_is_kept_for_ever(client: httpx.AsyncClient) -> None:
    answer = await client.get(f"/sheet/{HASH}")
    assert answer.content == PNG
    assert answer.headers["content-type"] == "image/png"
    assert "immutable" in answer.headers["cache-control"]
    again = await client.get(f"/sheet/{HASH}", headers={"If-None-Match": answer.headers["etag"]})
    assert again.status_code == 304


@pytest.mark.parametrize("path", ["/sheet/" + "f" * 64, "/laying/..%2f..%2fetc%2fpasswd", "/pieces/x", "/nothing"])
async def test_what_is_not_there_is_said_in_words(client: httpx.AsyncClient, path: str) -> None:
    answer = await client.get(path)
    assert answer.status_code == 404
    assert answer.text.endswith(".\n")
    assert answer.headers["content-type"].startswith("text/plain")


async def test_the_stand_is_asked_for_each_time_and_sent_when_it_changed(client: httpx.AsyncClient) -> None:
    page = await client.get("/")
    assert "<title>Stand</title>" in page.text
    script = await client.get("/tablet/stand.js")
    assert script.headers["content-type"].startswith("text/javascript")
    assert script.headers["cache-control"] == "no-cache"
    again = await client.get("/tablet/stand.js", headers={"If-None-Match": script.headers["etag"]})
    assert again.status_code == 304


async def test_only_the_service_worker_may_keep_the_page_above_its_folder(client: httpx.AsyncClient) -> None:
    # W3C, Service Workers, "Service-Worker-Allowed": the widest scope that a script may ask for.
    assert (await client.get("/tablet/sw.js")).headers["service-worker-allowed"] == "/"
    assert "service-worker-allowed" not in (await client.get("/tablet/stand.js")).headers


async def test_every_answer_keeps_browsers_to_this_hub(client: httpx.AsyncClient) -> None:
    # OWASP HTTP Headers Cheat Sheet, from memory.
    for path in ("/", "/hub.json", "/nothing", "/tablet/stand.js"):
        headers = (await client.get(path)).headers
        assert "default-src 'self'" in headers["content-security-policy"]
        assert "ws://localhost:9" in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "no-referrer"
        assert headers.get("access-control-allow-origin") != "*"
        assert "server" not in headers


async def test_the_pages_can_only_be_read(client: httpx.AsyncClient) -> None:
    answer = await client.post("/hub.json", content=b"{}")
    assert answer.status_code == 405


async def test_the_qr_code_is_a_picture_and_takes_only_codes(client: httpx.AsyncClient) -> None:
    answer = await client.get("/qr.svg", params={"code": "K7PQ2M"})
    assert ET.fromstring(answer.content).tag.endswith("svg")
    assert (await client.get("/qr.svg", params={"code": "javascript:alert(1)"})).status_code == 400


def test_the_code_rides_in_the_fragment(addresses: Addresses) -> None:
    # RFC 3986, section 3.5: a fragment is not sent to the server.
    assert httpx.URL(joining_url(addresses, "K7PQ2M")).fragment == "code=K7PQ2M"


async def test_the_source_comes_with_the_hub(client: httpx.AsyncClient) -> None:
    answer = await client.get("/source.zip")
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        names = archive.namelist()
        assert any(name.endswith("collaparte/hub/pages.py") for name in names)
        assert any(name.endswith("LICENSE") for name in names)
        assert not any("__pycache__" in name for name in names)


async def test_a_client_that_says_nothing_holds_nobody_up(client: httpx.AsyncClient, addresses: Addresses) -> None:
    with socket.create_connection(("127.0.0.1", addresses.port)) as silent:
        silent.sendall(b"GET / HTTP/1.1\r\n")
        assert (await client.get("/hub.json")).status_code == 200
