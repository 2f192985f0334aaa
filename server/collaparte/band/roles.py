"""Who asks, and what they may: roles are added to whatever chair a client holds."""

import msgspec

from collaparte.band.state import State

LEADER, MD, LIBRARIAN = "leader", "md", "librarian"
ROLES = (LEADER, MD, LIBRARIAN)


class Refusal(msgspec.Struct, frozen=True):
    """Nothing was decided: one sentence why."""

    why: str


class Who(msgspec.Struct, frozen=True):
    """Who asks: the chairs a client holds, the one it speaks for ("" for none), and its roles."""

    chairs: tuple[str, ...] = ()
    chair: str = ""
    roles: frozenset[str] = frozenset()

    def may(self, *roles: str) -> bool:
        """Whether it has one of these roles."""
        return not self.roles.isdisjoint(roles)

    def by(self, *roles: str) -> str:
        """How it signs what it does under one of these roles: its chair, or the role."""
        return self.chair or next((role for role in roles if role in self.roles), "")


EVERY_ROLE = Who(roles=frozenset(ROLES))
"""Who works on the band folder itself, at the hub's own machine."""


def stranger(state: State, who: Who) -> Refusal | None:
    """Refuses one who speaks for a chair that is not theirs or not there."""
    if not who.chair:
        return None
    if who.chair not in state.chairs:
        return Refusal(f'There is no chair "{who.chair}" in this band; choose a chair at the door.')
    if who.chair not in who.chairs:
        return Refusal(f"You do not sit at {state.chairs[who.chair].name}, so you cannot speak for it.")
    return None


def stale(state: State, call: int | None, what: str) -> Refusal | None:
    """Refuses what was asked under a call that has passed: it was meant for another moment."""
    if call is None:
        return Refusal(f"{what} must say under which call it was asked.")
    if call != state.position.call:
        title = state.title(state.position.tune)
        where = f'"{title}" has been called' if title else "the call was taken back"
        return Refusal(f"{what} came too late: {where} since it was asked. Ask again if you still want it.")
    return None
