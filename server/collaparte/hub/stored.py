"""The band folder's files as the hub needs them: never on the event loop, and layings at once."""

import asyncio
import logging
from collections import OrderedDict

from collaparte.store.files import Files, FilesError, content_hash

log = logging.getLogger(__name__)

AT_HAND = 512
"""Layings kept in memory; each is a few tens of KB."""


class Stored:
    """Files by content hash."""

    def __init__(self, files: Files) -> None:
        self._files = files
        self._at_hand: OrderedDict[str, bytes] = OrderedDict()
        self._writing: set[asyncio.Task[None]] = set()

    async def get(self, hash_: str) -> bytes:
        """A file. Raises `FilesError`."""
        if hash_ in self._at_hand:
            return self._at_hand[hash_]
        return await asyncio.to_thread(self._files.get, hash_)

    async def find(self, hash_: str) -> bytes | None:
        """A file, or None when it is not there."""
        try:
            return await self.get(hash_)
        except FilesError:
            return None

    async def keep(self, laying: bytes) -> str:
        """Keep a laying and return its hash. Stands may have it at once; the disk has it a moment later.

        It can be made again from what is durable, so nobody waits for the disk.
        """
        hash_ = content_hash(laying)
        self._at_hand[hash_] = laying
        while len(self._at_hand) > AT_HAND:
            self._at_hand.popitem(last=False)
        writing = asyncio.create_task(self._write(laying))
        self._writing.add(writing)
        writing.add_done_callback(self._writing.discard)
        return hash_

    async def stop(self) -> None:
        """Wait until everything is on the disk."""
        await asyncio.gather(*self._writing)

    async def _write(self, laying: bytes) -> None:
        try:
            await asyncio.to_thread(self._files.lay_by, laying)
        except FilesError as error:
            log.warning("%s", error)
