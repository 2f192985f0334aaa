"""The hub over TLS beside plain http: real sockets, the standard library's TLS, and what happens when it cannot be."""

import asyncio
import contextlib
import datetime
import itertools
import re
import socket
import ssl
from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import pytest
from cryptography import x509
from websockets.asyncio.client import connect
from websockets.exceptions import InvalidStatus

from collaparte.hub.addresses import Addresses
from collaparte.hub.certificates import Root, make_root
from collaparte.hub.patience import Patience
from collaparte.hub.root_file import root_path
from collaparte.hub.secure import NotSecure, Secure
from collaparte.hub.serving import Hub, serve
from collaparte.store.folder import settings_of
from collaparte.store.settings import Ports
from collaparte.wire.messages import Welcome
from collaparte_client import NotIn, join
from hub.bands import HANGS, WAITS, Raw, address, certify, free_port, hello, make_band, small_band

SOON = Patience(look_every=0.05)
HALF = Patience(ping_every=1.0, answer_within=3.0)


@pytest.fixture(autouse=True)
def own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keys go where this test alone looks."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))


@dataclass
class Kept:
    """A band with a certificate, in its folder."""

    path: Path
    host: str
    root: Root
    ports: Ports
    trust: Path

    @property
    def tls(self) -> ssl.SSLContext:
        """A client's TLS that trusts this root alone: the chain is checked, and the name."""
        tls = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
        tls.load_verify_locations(self.trust)
        assert tls.verify_mode is ssl.CERT_REQUIRED and tls.check_hostname
        return tls

    async def shown(self, name: str = "localhost") -> x509.Certificate:
        """What the hub shows in a handshake that was checked."""
        _, writer = await asyncio.open_connection("127.0.0.1", self.ports.http, ssl=self.tls, server_hostname=name)
        der = writer.get_extra_info("ssl_object").getpeercert(binary_form=True)
        writer.close()
        return x509.load_der_x509_certificate(der)


@pytest.fixture
async def kept(tmp_path: Path) -> Kept:
    path, trust = tmp_path / "band", tmp_path / "root.crt"
    await make_band(path, small_band())
    root = await asyncio.to_thread(certify, path)
    trust.write_bytes(root.pem)
    own = await asyncio.to_thread(settings_of, path)
    assert own.secure is not None
    return Kept(path, own.host, root, own.secure, trust)


@contextlib.asynccontextmanager
async def serving(kept: Kept, patience: Patience = WAITS) -> AsyncIterator[Hub]:
    async with serve(kept.path, announced=False, workers=1, patience=patience) as hub:
        yield hub


async def asked(hub: Hub, path: str = "/hub.json") -> httpx.Response:
    """An answer over plain http."""
    async with httpx.AsyncClient(trust_env=False) as client:
        return await client.get(f"http://{address(hub)}{path}")


async def test_by_every_name_that_it_has_it_is_known(kept: Kept) -> None:
    async with serving(kept) as hub:
        for name in (hub.addresses.host, "localhost", "127.0.0.1"):
            assert (await kept.shown(name)).issuer == kept.root.certificate.subject
        with pytest.raises(ssl.SSLCertVerificationError, match="mismatch"):
            await kept.shown("other.local")


async def test_nobody_trusts_it_unasked(kept: Kept) -> None:
    async with serving(kept) as hub:
        with pytest.raises(NotIn, match=r"is not trusted .*give the band's own") as refused:
            async with join(f"https://localhost:{kept.ports.http}", hub.codes.join):
                pass
        assert "\n" not in str(refused.value)


async def test_the_pages_are_the_same_and_say_where_their_sockets_are(kept: Kept) -> None:
    async with serving(kept) as hub, httpx.AsyncClient(verify=kept.tls, trust_env=False) as client:
        answer = await client.get(f"https://localhost:{kept.ports.http}/hub.json")
        plain = (await asked(hub)).json()
        home = f"https://{hub.addresses.host}:{kept.ports.http}"
        assert answer.json() == {**plain, "socket": kept.ports.socket, "canonical": home}
        assert (plain["secure"]["origin"], plain["secure"]["port"]) == (home, kept.ports.http)
        assert plain["canonical"] == f"http://{hub.addresses.host}:{hub.addresses.port}"
        shown = await kept.shown()
        assert plain["secure"]["since"] == pytest.approx(shown.not_valid_before_utc.timestamp(), abs=1)
        assert plain["secure"]["until"] == pytest.approx(shown.not_valid_after_utc.timestamp(), abs=1)
        # What a page may speak to, as its browser will hold it to (CSP 3): its own sockets in either scheme.
        for headers in (answer.headers, (await asked(hub)).headers):
            assert f" wss://{'localhost' if headers is answer.headers else '127.0.0.1'}:{kept.ports.socket} " in (
                headers["content-security-policy"].replace(";", " ;")
            )


@contextlib.asynccontextmanager
async def over_tls(kept: Kept, **how: Any) -> AsyncIterator[Raw]:
    url = f"wss://localhost:{kept.ports.socket}"
    async with connect(url, ssl=kept.tls, compression=None, ping_interval=None, proxy=None, **how) as connection:
        yield Raw(connection)


async def test_its_own_secure_pages_get_a_socket_and_no_other(kept: Kept) -> None:
    async with serving(kept) as hub:
        own = [f"https://localhost:{kept.ports.http}", f"https://{hub.addresses.host}:{kept.ports.http}"]
        for origin in (*own, None):
            async with over_tls(kept, origin=origin) as client:
                await client.say(hello(hub))
                assert isinstance(await client.hear(), Welcome)
        # OWASP WebSocket Security Cheat Sheet: an explicit allow-list on every handshake.
        foreign = ("https://good.evil", f"https://localhost:{kept.ports.socket}", "https://localhost", "null")
        for origin in (*foreign, f"https://localhost:{hub.addresses.port}", f"http://localhost:{kept.ports.http}"):
            with pytest.raises(InvalidStatus) as refused:
                async with over_tls(kept, origin=origin):
                    pass
            assert refused.value.response.status_code == 403


async def test_the_python_client_joins_with_the_certificate_in_hand(kept: Kept, tmp_path: Path) -> None:
    der = tmp_path / "root.der"
    der.write_bytes(kept.root.der)
    async with serving(kept) as hub:
        ways = [(f"https://localhost:{kept.ports.http}", kept.trust), (address(hub), kept.trust), (address(hub), der)]
        for where, trust in ways:
            async with join(where, hub.codes.join, chairs=["alto-1"], trust=trust) as band:
                assert band.band.name == "Night Owls"
                (stand,) = hub.room._stands
                assert stand._connection.transport.get_extra_info("ssl_object") is not None
        for trust, words in ((tmp_path / "none.crt", "No such file"), (tmp_path, "cannot be read")):
            with pytest.raises(NotIn, match=words):
                async with join(address(hub), hub.codes.join, trust=trust):
                    pass


async def test_with_a_certificate_in_hand_plain_http_is_not_taken_instead(kept: Kept, tmp_path: Path) -> None:
    await make_band(tmp_path / "plain", small_band())
    async with serve(tmp_path / "plain", announced=False, patience=WAITS, workers=1) as hub:
        with pytest.raises(NotIn, match="serves plain http only"):
            async with join(address(hub), hub.codes.join, trust=kept.trust):
                pass


async def test_another_address_needs_nothing_on_the_tablets(kept: Kept, monkeypatch: pytest.MonkeyPatch) -> None:
    async with serving(kept, SOON) as hub:
        with pytest.raises(ssl.SSLCertVerificationError, match="mismatch"):
            await kept.shown("10.20.30.40")
        # As after a new lease (RFC 2131) from the room's router.
        monkeypatch.setattr("collaparte.hub.addresses._bare_addresses", lambda: ("10.20.30.40",))
        async with asyncio.timeout(HANGS):
            while True:
                with contextlib.suppress(ssl.SSLCertVerificationError):
                    await kept.shown("10.20.30.40")
                    break
                await asyncio.sleep(0.05)
        assert (await kept.shown(hub.addresses.host)).issuer == kept.root.certificate.subject


async def test_who_knocks_while_the_certificate_changes_is_let_in(kept: Kept, monkeypatch: pytest.MonkeyPatch) -> None:
    bare = itertools.cycle([("10.20.30.40",), ("10.20.30.41",)])
    async with serving(kept, Patience(look_every=0.001)):
        first = (await kept.shown()).serial_number
        monkeypatch.setattr("collaparte.hub.addresses._bare_addresses", lambda: next(bare))
        # A handshake that falls between a certificate and its key fails; each one is checked here.
        shown = {(await kept.shown()).serial_number for _ in range(300)}
    assert len(shown - {first}) > 1


async def test_each_start_signs_anew_and_is_trusted_as_before(kept: Kept) -> None:
    keys = []
    for _ in range(2):
        async with serving(kept):
            keys.append((await kept.shown()).public_key())
    assert keys[0] != keys[1]


async def test_a_secure_stand_that_stops_reading_is_dropped(kept: Kept) -> None:
    async with serving(kept, HALF) as hub, over_tls(kept) as client:
        await client.say(hello(hub, "alto-2", client="deaf"))
        assert isinstance(await client.hear(), Welcome)
        client.connection.transport.pause_reading()  # type: ignore[attr-defined]
        assert "deaf" in hub.room.clients
        async with asyncio.timeout(HANGS):
            while "deaf" in hub.room.clients:  # noqa: ASYNC110 - the room tells nobody that one left
                await asyncio.sleep(0.1)


async def test_the_certificate_and_how_to_trust_it_are_had_over_plain_http(kept: Kept) -> None:
    async with serving(kept) as hub:
        file = await asked(hub, "/band.crt")
        assert file.headers["content-type"] == "application/x-x509-ca-cert"
        assert x509.load_der_x509_certificate(file.content) == kept.root.certificate
        page = await asked(hub, "/trust")
        assert page.headers["content-type"] == "text/html; charset=utf-8"
        assert kept.root.fingerprint in page.text.replace("<wbr>", "")
        assert "<h2>What trusting it means</h2>" in page.text
        assert f'href="https://{hub.addresses.host}:{kept.ports.http}/"' in page.text


async def test_the_key_is_in_nothing_that_leaves_the_machine(kept: Kept) -> None:
    async with serving(kept) as hub:
        for path in ("/band.crt", "/trust", "/hub.json", "/source.zip"):
            assert b"PRIVATE KEY" not in (await asked(hub, path)).content
        written = [one for one in kept.path.rglob("*") if one.is_file()]
        assert len(written) > 2
        assert not [one for one in written if b"PRIVATE KEY" in one.read_bytes()]
    key = root_path(kept.host)
    assert key.stat().st_mode & 0o777 == 0o600
    assert key.parent.stat().st_mode & 0o777 == 0o700


# When it cannot be


def spoil_missing(kept: Kept, key: Path) -> None:
    key.unlink()


def spoil_readable_by_others(kept: Kept, key: Path) -> None:
    key.chmod(0o644)


def spoil_damaged(kept: Kept, key: Path) -> None:
    key.write_bytes(key.read_bytes()[:-200])


def spoil_a_folder(kept: Kept, key: Path) -> None:
    key.unlink()
    key.mkdir(mode=0o700)


def spoil_clock(kept: Kept, key: Path) -> None:
    """The root was made when the clock ran eight years ahead: to it, today is long before."""
    ahead = datetime.datetime.now(datetime.UTC) + datetime.timedelta(days=3000)
    key.write_bytes(make_root("Night Owls", kept.host, ahead).whole)


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (spoil_missing, r"is not on this machine .*--anew"),
        (spoil_readable_by_others, r"Others on this machine may read the band's key: .*chmod 600"),
        (spoil_damaged, r"are damaged: make another .*--anew"),
        (spoil_a_folder, r"cannot be read .*--anew"),
        (spoil_clock, r"This machine's clock says .*set the clock and serve again"),
    ],
)
async def test_without_it_plain_http_goes_on_and_one_sentence_says_why(kept: Kept, spoil: Any, words: str) -> None:
    spoil(kept, root_path(kept.host))
    async with serving(kept) as hub:
        await goes_on_plainly(hub, words)


async def test_a_port_that_is_taken(kept: Kept) -> None:
    for port in (kept.ports.http, kept.ports.socket):
        with socket.create_server(("", port)):
            async with serving(kept) as hub:
                await goes_on_plainly(hub, rf"Port {port} cannot be used .*`collaparte certificate BAND_FOLDER --port`")


async def goes_on_plainly(hub: Hub, words: str) -> None:
    (notice,) = hub.notices
    assert notice.endswith("plain http only.") and "\n" not in notice
    assert re.search(words, notice), notice
    assert (await asked(hub)).json()["secure"] is None
    assert (await asked(hub, "/trust")).status_code == 404
    assert not hub.addresses.knows_origin(f"https://{hub.addresses.host}:{hub.addresses.port}")
    async with join(address(hub), hub.codes.join) as band:
        assert band.band.name == "Night Owls"


async def test_a_leaf_is_signed_anew_in_time(kept: Kept) -> None:
    addresses = Addresses(kept.host, free_port(), free_port())
    now = datetime.datetime.now(datetime.UTC)

    def go_by() -> None:
        secure = Secure.start(kept.ports, addresses, now)
        try:
            first = secure.leaf
            secure.look(now + datetime.timedelta(days=7))
            assert secure.leaf is first
            secure.look(now + datetime.timedelta(days=80))
            assert secure.leaf.until > first.until
            # A clock that jumped out of the root's time changes nothing: there is nothing better to show.
            last = secure.leaf
            for days in (-4000, 4000):
                secure.look(now + datetime.timedelta(days=days))
            assert secure.leaf is last
        finally:
            secure.close()
        with pytest.raises(NotSecure, match=r"clock says .* holds from .* to .*--anew"):
            Secure.start(kept.ports, addresses, now + datetime.timedelta(days=4000))
        with socket.create_server(("", kept.ports.http)), socket.create_server(("", kept.ports.socket)):
            pass

    await asyncio.to_thread(go_by)
