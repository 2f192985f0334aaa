"""Whether a part that comes is one of its own, a new version of one that is there, or a question."""

import asyncio
import secrets

import msgspec

from collaparte.band.corrections import in_words
from collaparte.band.names import chair_of
from collaparte.band.state import Part, Tune
from collaparte.hub.incoming import Became, Incoming, Told
from collaparte.music.align import AGREES, align
from collaparte.paper.corrected import corrected
from collaparte.paper.followed import followed
from collaparte.paper.reading import Reading
from collaparte.paper.ruler import outline
from collaparte.store.files import Files, FilesError
from collaparte.wire.corrections import Correction


class Replacing:
    """What is kept of the parts that are there, and what the librarian said of those that come."""

    def __init__(self, kept: Files, told: Told) -> None:
        self.kept = kept
        self.told = told

    async def settle(self, tune: Tune, part: Incoming, taken: dict[str, Incoming]) -> None:
        """Whether it is a part of its own, a new version of one that is there, or a question."""
        twin = taken.get(part.name)
        if twin and not self.told.as_new:
            part.became = Became.ASKED
            part.why = (
                f"{part.name} of {tune.title} came twice, in {twin.file} as well: "
                "bring the one that counts, or bring this one with --chair or --as-new."
            )
            return
        taken[part.name] = part
        there = None if self.told.as_new else same_part(tune, part)
        if there is None:
            part.part = secrets.token_hex(4)
            return
        part.part = there.id
        same_pages = there.current.original == part.original and there.current.pages == part.pages
        if same_pages and part.half:
            part.became = Became.VERSION
            return
        if same_pages:
            if await self._is_read_now(there, part):
                part.became = Became.VERSION
            else:
                part.became = Became.AGAIN
            return
        part.became = Became.VERSION
        await self._take_over(there, part)
        if not (self.told.take or (self.told.tune and self.told.chair)) and not await self._agrees(there, part):
            part.became = Became.ASKED
            part.why = (
                f"{part.name} of {tune.title} is there already and this one differs much: "
                "bring it with --tune and --chair if it replaces it, or with --as-new if it is another part."
            )

    async def _take_over(self, there: Part, part: Incoming) -> None:
        """Corrections of the pages that are replaced, put on the new ones; which could not follow is said."""
        old = await self.kept_reading(there)
        if old is None or part.reading is None:
            return
        part.corrections, lost = followed([one.said for one in there.holding], old, part.reading)
        part.doubts += [
            f"A correction of the pages before could not follow, as their lines are not the same: {in_words(said)}."
            for said in lost
        ]

    async def _agrees(self, there: Part, part: Incoming) -> bool:
        old = await self.kept_reading(there)
        if old is None or part.reading is None:
            return False
        old = corrected(old, there.holding)
        new = corrected(part.reading, [Correction(str(n), part.version, s) for n, s in enumerate(part.corrections)])
        if not (new.positions and old.positions):
            return False
        return align(outline(new), outline(old)).agreement >= AGREES

    async def _is_read_now(self, there: Part, part: Incoming) -> bool:
        """Whether bars are found on the same pages on which none were found when they were first brought."""
        old = await self.kept_reading(there)
        return bool(old and not old.positions and part.reading and part.reading.positions)

    async def kept_reading(self, part: Part) -> Reading | None:
        """A part's reading as it was read; None when it cannot be had."""
        try:
            return msgspec.json.decode(await asyncio.to_thread(self.kept.get, part.current.reading), type=Reading)
        except (FilesError, msgspec.DecodeError):
            return None


def same_part(tune: Tune, incoming: Incoming) -> Part | None:
    """The tune's part that this one would replace: of the same name, or for the same instrument and number."""
    wanted = incoming.proposal.chair
    for part in tune.parts.values():
        if part.name == incoming.name or (wanted and chair_of(part.name) == wanted):
            return part
    return next((part for chair in incoming.chairs for part in tune.seated(chair)[:1] if wanted is None), None)
