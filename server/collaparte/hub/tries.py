"""Wrong codes are allowed a few at a time and an address: guessing one takes longer than the gig."""

import ipaddress
import math
from collections import OrderedDict


class Tries:
    """A bucket of tries an address, refilled with time. Only wrong codes cost one; time is an argument, in seconds."""

    def __init__(self, most: int = 10, seconds_each: float = 6.0, addresses: int = 4096) -> None:
        self._most = most
        self._seconds_each = seconds_each
        self._addresses = addresses
        self._spent: OrderedDict[str, tuple[float, float]] = OrderedDict()

    def wait(self, address: str, now: float) -> int:
        """Seconds until this address may try again: 0 when it may now."""
        spent = self._now_spent(whose(address), now)
        if spent <= self._most - 1:
            return 0
        return max(1, math.ceil((spent - (self._most - 1)) * self._seconds_each))

    def wrong(self, address: str, now: float) -> None:
        """Note a wrong code from this address."""
        who = whose(address)
        self._spent[who] = (self._now_spent(who, now) + 1, now)
        self._spent.move_to_end(who)
        while len(self._spent) > self._addresses:
            self._spent.popitem(last=False)

    def _now_spent(self, who: str, now: float) -> float:
        spent, at = self._spent.get(who, (0.0, now))
        return max(0.0, spent - (now - at) / self._seconds_each)


def whose(address: str) -> str:
    """The address to count by: an IPv6 host may take any address of its /64 (RFC 4291, section 2.5.4)."""
    try:
        parsed = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if isinstance(parsed, ipaddress.IPv6Address):
        if parsed.ipv4_mapped is not None:
            return str(parsed.ipv4_mapped)
        return str(ipaddress.ip_network((parsed, 64), strict=False))
    return str(parsed)
