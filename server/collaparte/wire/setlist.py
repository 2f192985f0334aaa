"""The set as it is put in order: tunes, what may stand in for them, and breaks."""

from typing import Literal

import msgspec

Then = Literal["", "on", "segue"]
"""How it goes on after a tune: when the leader calls; the next is named by itself; straight into it without a pause."""


class SetItem(msgspec.Struct, frozen=True, omit_defaults=True):
    """One row of the set: a tune, or a break (`tune` is empty). A tune may come again (an encore, a reprise)."""

    tune: str = ""
    instead: bool = False
    """It may be played instead of the tune before it ("or")."""
    then: Then = ""
    key: str = ""
    """The key for the date, as it is said ("Eb", "down a tone")."""
    notes: str = ""
    """Words to the players; of a break, what it is called."""
    seconds: int | None = None
    """How long it takes, typed; None: worked out from tempo and played bars (a break: not known)."""
    id: str = ""
    """Tells rows of one tune apart; one of them may have none. The hub gives ids where they lack."""
