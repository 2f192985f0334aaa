"""The hub on the network, seen by the zeroconf library's own checks and an independent browser of services."""

import asyncio
import socket
import threading

import pytest
import zeroconf

from collaparte.hub.addresses import Addresses
from collaparte.hub.discovery import Announcement, NameTaken, service_info
from collaparte.hub.stand import shortened
from collaparte.wire.service import SERVICE, TXT_MOST
from collaparte_client import Found, find
from hub.bands import HANGS

LONG = "The Extraordinarily Long-Winded Ninth Street Äöü Ragtime & Swing Orchestra of Lower Upper Middletown" * 3


def addresses_of(name: str) -> Addresses:
    return Addresses(f"{name}.local", 8650, 8651)


async def found(name: str) -> Found:
    """The hub of this name, looked for until it answers: how soon is the network's and the machine's affair."""
    async with asyncio.timeout(HANGS):
        while True:
            if answered := [hub for hub in await find(1) if hub.name == name]:
                return answered[0]


def test_the_type_is_valid() -> None:
    # RFC 6335, section 5.1 and RFC 6763, section 7, as the zeroconf library checks them.
    assert zeroconf.service_type_name(SERVICE) == SERVICE
    assert service_info(addresses_of("night-owls-7f3k"), "Night Owls", "e").type == SERVICE


def test_txt_is_small() -> None:
    # RFC 6763: 6.2, the whole within 200 bytes; 6.4, keys of at most 9 characters, printable ASCII without "=".
    info = service_info(addresses_of("night-owls-7f3k"), LONG, "e" * 100)
    assert info.text is not None
    assert len(info.text) <= TXT_MOST
    for key in info.decoded_properties:
        assert 1 <= len(key) <= 9
        assert key.isascii() and key.isprintable() and "=" not in key


def test_a_text_is_cut_between_characters() -> None:
    assert shortened("aä", 2) == "a"
    assert shortened("aä", 3) == "aä"


async def test_an_independent_browser_finds_it_and_hears_its_goodbye() -> None:
    announcement = Announcement(addresses_of("browsed-4q2z"), "epoch-1")
    came, left = threading.Event(), threading.Event()
    name = f"browsed-4q2z.{SERVICE}"

    def heard(
        zeroconf: zeroconf.Zeroconf, service_type: str, name: str, state_change: zeroconf.ServiceStateChange
    ) -> None:
        if name.startswith("browsed-4q2z."):
            (left if state_change is zeroconf_removed else came).set()

    zeroconf_removed = zeroconf.ServiceStateChange.Removed

    def browse() -> zeroconf.ServiceInfo | None:
        # A browser of its own, in a thread of its own.
        with zeroconf.Zeroconf() as network:
            zeroconf.ServiceBrowser(network, SERVICE, handlers=[heard])
            assert came.wait(HANGS)
            info = network.get_service_info(SERVICE, name, 1000 * HANGS)
            browsed.set()
            assert left.wait(HANGS)
            return info

    browsed = threading.Event()
    browsing = asyncio.create_task(asyncio.to_thread(browse))
    await announcement.start("Night Owls")
    await asyncio.to_thread(browsed.wait, 3 * HANGS)
    await announcement.stop()
    info = await browsing
    assert info is not None
    assert info.server == "browsed-4q2z.local."
    assert info.port == 8650
    assert info.decoded_properties == {"v": "1", "ws": "8651", "band": "Night Owls", "epoch": "epoch-1"}
    assert socket.inet_aton("127.0.0.1") not in info.addresses or len(info.addresses) == 1


async def test_our_own_client_finds_it() -> None:
    announcement = Announcement(addresses_of("found-4q2z"), "epoch-1")
    await announcement.start("Night Owls")
    try:
        hub = await found("found-4q2z")
    finally:
        await announcement.stop()
    assert (hub.band, hub.port, hub.socket_port, hub.host) == ("Night Owls", 8650, 8651, "found-4q2z.local")


async def test_a_second_hub_of_the_same_band_is_refused_in_words() -> None:
    first = Announcement(addresses_of("twice-4q2z"), "epoch-1")
    await first.start("Night Owls")
    try:
        with pytest.raises(NameTaken, match=r"Another hub of this band answers as twice-4q2z\.local.*stop it"):
            await Announcement(addresses_of("twice-4q2z"), "epoch-2").start("Night Owls")
    finally:
        await first.stop()


async def test_with_no_network_but_loopback_it_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("collaparte.hub.addresses._bare_addresses", tuple)
    announcement = Announcement(addresses_of("alone-4q2z"), "epoch-1")
    words = await announcement.start("Night Owls")
    await announcement.stop()
    assert words.endswith(".")
    assert "network" in words


async def test_a_new_name_is_announced_under_the_same_host() -> None:
    announcement = Announcement(addresses_of("renamed-4q2z"), "epoch-1")
    await announcement.start("Night Owls")
    try:
        await announcement.renew("Early Birds")
        hub = await found("renamed-4q2z")
    finally:
        await announcement.stop()
    assert (hub.band, hub.host) == ("Early Birds", "renamed-4q2z.local")
