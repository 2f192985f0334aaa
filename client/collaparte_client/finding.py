"""Finding hubs on the network, by what they announce."""

import asyncio

import msgspec
from zeroconf import IPVersion, ServiceStateChange, Zeroconf
from zeroconf.asyncio import AsyncServiceBrowser, AsyncServiceInfo, AsyncZeroconf

from collaparte.wire.service import SERVICE, TXT_BAND, TXT_EPOCH, TXT_SOCKET, TXT_VERSION


class Found(msgspec.Struct, frozen=True):
    """A hub that answered."""

    name: str
    """Its name on the network, unique to the band ("night-owls-7f3k")."""
    band: str
    host: str
    addresses: tuple[str, ...]
    port: int
    socket_port: int
    protocol: str
    epoch: str

    @property
    def url(self) -> str:
        """Where a browser opens it."""
        return f"http://{self.host}:{self.port}"


async def find(seconds: float = 2.0) -> list[Found]:
    """Hubs that answer within this time, by name. OSError when this machine has no network at all."""
    names: set[str] = set()

    def heard(zeroconf: Zeroconf, service_type: str, name: str, state_change: ServiceStateChange) -> None:  # noqa: ARG001
        if state_change is ServiceStateChange.Removed:
            names.discard(name)
        else:
            names.add(name)

    async with AsyncZeroconf() as network:
        browser = AsyncServiceBrowser(network.zeroconf, SERVICE, handlers=[heard])
        await asyncio.sleep(seconds)
        infos = [AsyncServiceInfo(SERVICE, name) for name in sorted(names)]
        answered = await asyncio.gather(*(info.async_request(network.zeroconf, 1500) for info in infos))
        await browser.async_cancel()
    return [found for info, has in zip(infos, answered, strict=True) if has and (found := _found(info))]


def _found(info: AsyncServiceInfo) -> Found | None:
    words = {key: value or "" for key, value in info.decoded_properties.items()}
    if not words.get(TXT_SOCKET, "").isdigit() or info.port is None:
        return None
    return Found(
        name=info.name.removesuffix(f".{SERVICE}"),
        band=words.get(TXT_BAND, ""),
        host=(info.server or "").rstrip("."),
        addresses=tuple(info.parsed_addresses(IPVersion.V4Only) + info.parsed_addresses(IPVersion.V6Only)),
        port=info.port,
        socket_port=int(words[TXT_SOCKET]),
        protocol=words.get(TXT_VERSION, ""),
        epoch=words.get(TXT_EPOCH, ""),
    )
