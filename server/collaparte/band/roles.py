"""Who asks, and what they may: roles are added to the chairs that a client holds, by a code or by hand."""

from typing import assert_never

import msgspec

from collaparte.band.state import State
from collaparte.wire.commands import GiveRole, TakeRole
from collaparte.wire.events import Event, RoleGiven, RoleTaken

Command = GiveRole | TakeRole

LEADER, MD, LIBRARIAN = "leader", "md", "librarian"
ROLES = (LEADER, MD, LIBRARIAN)


class Refusal(msgspec.Struct, frozen=True):
    """Nothing was decided: one sentence why."""

    why: str


class Who(msgspec.Struct, frozen=True):
    """Who asks: the chairs a client holds, the one it speaks for ("" for none), its roles, and its `device`, by which
    two who sign alike are told apart; and when, by the hub's clock: `at` for people ("2026-11-25T21:34", "" where
    nobody asked), `now` to compare (Unix time, s)."""

    chairs: tuple[str, ...] = ()
    chair: str = ""
    roles: frozenset[str] = frozenset()
    at: str = ""
    now: float = 0.0
    device: str = ""

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
        back = "the call was taken back" if state.position.returns_to is not None else "the date is another"
        where = called_since(state) or back
        return Refusal(f"{what} came too late: {where} since it was asked. Ask again if you still want it.")
    return None


def called_since(state: State) -> str:
    """What has been called, and by whom, as the start of "since ..."; empty where no call stands."""
    here = state.position
    title = state.title(here.tune)
    place = f" from {here.words}" if here.words else ""
    by = f" by {state.called(here.by)}" if here.by else ""
    return f'"{title}"{place} has been called{by}' if title else ""


def given(state: State, chairs: tuple[str, ...]) -> frozenset[str]:
    """The roles that these chairs were given."""
    return frozenset().union(*(state.given.get(chair, ()) for chair in chairs))


def decide(state: State, command: Command, who: Who) -> tuple[Event, ...] | Refusal:
    """What comes of giving a role to a chair, or taking it from it."""
    role, chair = command.role, command.chair
    name = {LEADER: "the leader", MD: "the MD"}[role]
    if not who.may(role, LIBRARIAN):
        return Refusal(f"Only {name} may hand that on.")
    if chair not in state.chairs:
        return Refusal(f'There is no chair "{chair}" in this band.')
    has = role in state.given.get(chair, ())
    match command:
        case GiveRole():
            return () if has else (RoleGiven(chair=chair, role=role, by=who.by(role, LIBRARIAN)),)
        case TakeRole():
            return (RoleTaken(chair=chair, role=role, by=who.by(role, LIBRARIAN)),) if has else ()
        case _:
            assert_never(command)


def apply(state: State, event: RoleGiven | RoleTaken) -> State:
    """The state after a role was given or taken."""
    before = state.given.get(event.chair, frozenset())
    after = before | {event.role} if isinstance(event, RoleGiven) else before - {event.role}
    others = {chair: roles for chair, roles in state.given.items() if chair != event.chair}
    return msgspec.structs.replace(state, given={**others, event.chair: after} if after else others)
