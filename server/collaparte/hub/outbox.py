"""What waits to be sent to one client: bounded, and a newer view takes the place of an older one of its kind."""

from collections import OrderedDict
from collections.abc import Hashable


class Outbox:
    """Messages in the order to be sent. `most_messages` and `most_bytes` bound it."""

    def __init__(self, most_messages: int, most_bytes: int) -> None:
        self._most_messages = most_messages
        self._most_bytes = most_bytes
        self._waiting: OrderedDict[Hashable, bytes] = OrderedDict()
        self._bytes = 0
        self._unkeyed = 0

    def __len__(self) -> int:
        return len(self._waiting)

    def put(self, message: bytes, key: Hashable | None = None, *, first: bool = False) -> bool:
        """Add a message, at the end or first; False when it does not fit any more. One with the same key is replaced.

        The replaced one's place is given up: `status` must stay behind the views that it speaks of.
        """
        if key is None:
            self._unkeyed += 1
            key = self._unkeyed
        old = self._waiting.pop(key, None)
        if old is not None:
            self._bytes -= len(old)
        if len(self._waiting) >= self._most_messages or self._bytes + len(message) > self._most_bytes:
            return False
        self._waiting[key] = message
        self._bytes += len(message)
        if first:
            self._waiting.move_to_end(key, last=False)
        return True

    def take(self) -> bytes:
        """The next message; KeyError when there is none."""
        _, message = self._waiting.popitem(last=False)
        self._bytes -= len(message)
        return message

    def clear(self) -> None:
        """Forget everything that waits."""
        self._waiting.clear()
        self._bytes = 0
