"""Announcing the hub on the network (multicast DNS, RFC 6762; service discovery, RFC 6763)."""

import asyncio
import logging

from zeroconf import Error, InterfaceChoice, IPVersion, NonUniqueNameException
from zeroconf.asyncio import AsyncServiceInfo, AsyncZeroconf

from collaparte.hub.addresses import Addresses
from collaparte.hub.stand import shortened
from collaparte.wire.messages import PROTOCOL
from collaparte.wire.service import SERVICE, TXT_BAND, TXT_EPOCH, TXT_SOCKET, TXT_VERSION

log = logging.getLogger(__name__)

BAND_MOST = 100
"""Bytes of the band's name in the TXT record: with the other strings it stays within `TXT_MOST`."""
EPOCH_MOST = 40


class NameTaken(RuntimeError):
    """Another hub of the same band answers on the network; the text is one sentence."""


def service_info(addresses: Addresses, band: str, epoch: str) -> AsyncServiceInfo:
    """The record set to announce. The instance is named like the host, which is unique to the band folder."""
    label = addresses.host.removesuffix(".local")
    found = addresses.bare or ("127.0.0.1",)
    return AsyncServiceInfo(
        SERVICE,
        f"{label}.{SERVICE}",
        port=addresses.port,
        server=f"{addresses.host}.",
        parsed_addresses=list(found),
        properties={
            TXT_VERSION: str(PROTOCOL),
            TXT_SOCKET: str(addresses.socket_port),
            TXT_BAND: shortened(band, BAND_MOST),
            TXT_EPOCH: shortened(epoch, EPOCH_MOST),
        },
    )


class Announcement:
    """The hub's presence on the network, from `start` to `stop`."""

    def __init__(self, addresses: Addresses, epoch: str) -> None:
        self._addresses = addresses
        self._epoch = epoch
        self._zeroconf: AsyncZeroconf | None = None
        self._info: AsyncServiceInfo | None = None

    async def start(self, band: str) -> str:
        """Announce a band. Returns "" or a sentence why the hub cannot be found by name; raises `NameTaken`."""
        try:
            self._zeroconf = AsyncZeroconf(interfaces=self._interfaces(), ip_version=self._ip_version())
            self._info = service_info(self._addresses, band, self._epoch)
            await self._zeroconf.async_register_service(self._info, allow_name_change=False)
        except NonUniqueNameException as error:
            where = await self._other()
            await self.stop()
            raise NameTaken(
                f"Another hub of this band answers as {self._addresses.host}{where}: "
                "stop it first, or a copy of the band folder is being served twice."
            ) from error
        except (OSError, Error) as error:
            await self.stop()
            return f"The hub cannot be announced on this network ({error}): join by address."
        return "" if self._addresses.bare else "There is no network but this machine's own: only it can join."

    async def renew(self, band: str) -> None:
        """Announce again after the addresses or the band's name changed."""
        if self._zeroconf is None or self._info is None:
            return
        try:
            await self._zeroconf.async_update_interfaces(self._interfaces(), self._ip_version())
            self._info = service_info(self._addresses, band, self._epoch)
            await self._zeroconf.async_update_service(self._info)
        except (OSError, Error):
            log.warning("the hub could not be announced again", exc_info=True)

    async def stop(self) -> None:
        """Say goodbye and fall silent."""
        if self._zeroconf is not None:
            zeroconf, self._zeroconf = self._zeroconf, None
            try:
                async with asyncio.timeout(3):
                    await zeroconf.async_unregister_all_services()
            except (TimeoutError, OSError):
                log.info("no goodbye could be sent")
            await zeroconf.async_close()

    def _interfaces(self) -> InterfaceChoice | list[str]:
        # With no network there is only loopback left; multicast on it still serves this machine.
        return InterfaceChoice.All if self._addresses.bare else ["127.0.0.1"]

    def _ip_version(self) -> IPVersion:
        # Where there is IPv4 every browser of services hears it; a second family only doubles the traffic.
        only_six = self._addresses.bare and all(":" in address for address in self._addresses.bare)
        return IPVersion.All if only_six else IPVersion.V4Only

    async def _other(self) -> str:
        assert self._zeroconf is not None
        assert self._info is not None
        other = AsyncServiceInfo(SERVICE, self._info.name)
        if await other.async_request(self._zeroconf.zeroconf, 1000):
            return "".join(f" ({address}, port {other.port})" for address in other.parsed_addresses()[:1])
        return ""
