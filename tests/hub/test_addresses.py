"""Which pages are the hub's own: an explicit list of origins, compared whole."""

import pytest

from collaparte.hub.addresses import Addresses, PortTaken, listen


@pytest.fixture
def addresses() -> Addresses:
    return Addresses("night-owls-7f3k.local", 8650, 8651)


def test_own_origins(addresses: Addresses) -> None:
    own = ["http://night-owls-7f3k.local:8650", "http://Night-Owls-7f3k.local:8650", "http://localhost:8650"]
    own += [url for url in addresses.urls() if url]
    assert all(addresses.knows_origin(origin) for origin in own)


@pytest.mark.parametrize(
    "origin",
    [
        # OWASP WebSocket Security Cheat Sheet: an explicit allow-list on every handshake, no wildcard or substring.
        "http://good.evil",
        "null",
        "",
        "https://night-owls-7f3k.local:8650",
        "http://night-owls-7f3k.local",
        "http://night-owls-7f3k.local:8651",
        "http://night-owls-7f3k.local:8650.good.evil",
        "http://night-owls-7f3k.local.good.evil:8650",
        "http://good.evil@night-owls-7f3k.local:8650",
        "http://night-owls-7f3k.local:8650/",
        "http://night-owls-7f3k.local:port",
        "http://203.0.113.9:8650",
        "http://[::1:8650",
    ],
)
def test_foreign_origins(addresses: Addresses, origin: str) -> None:
    assert not addresses.knows_origin(origin)


def test_a_host_is_known_by_port_as_well(addresses: Addresses) -> None:
    assert addresses.knows_host("night-owls-7f3k.local:8650")
    assert addresses.knows_socket_host("night-owls-7f3k.local:8651")
    assert not addresses.knows_host("night-owls-7f3k.local:8651")
    assert not addresses.knows_host("good.evil:8650")


def test_a_port_in_use_is_a_sentence() -> None:
    with listen(0) as taken, pytest.raises(PortTaken, match=r"Port \d+ cannot be used .*--port"):
        listen(taken.getsockname()[1])
