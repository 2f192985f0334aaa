"""What a band folder keeps for ever beside its log: who it is, where it is found, and its codes."""

import re
import secrets
import unicodedata
from pathlib import Path

import msgspec

from collaparte.store.files import write_whole

FORMAT = 1

HTTP_PORT = 8760
SOCKET_PORT = 8761
"""Fixed ports of a new band folder: the pages' origin must not change later (RFC 6335: 1024-49151 are user ports)."""

_LETTERS = "23456789abcdefghjkmnpqrstuvwxyz"
"""No 0, 1, i, l, o: codes are read off a wall and typed with a thumb."""


class SettingsError(Exception):
    """The settings cannot be read: one sentence."""


class Ports(msgspec.Struct, frozen=True):
    """Two listeners of the hub's: pages and sockets."""

    http: int = HTTP_PORT
    socket: int = SOCKET_PORT


class Codes(msgspec.Struct, frozen=True):
    """The code to join, and a code for each role."""

    join: str
    leader: str
    md: str
    librarian: str

    def roles(self, codes: tuple[str, ...]) -> frozenset[str]:
        """The roles that these codes give."""
        said = {plain_code(code) for code in codes}
        own = {"leader": self.leader, "md": self.md, "librarian": self.librarian}
        return frozenset(role for role, code in own.items() if code in said)


class Settings(msgspec.Struct, frozen=True):
    """A band folder's own: `host` is `<band>-<id>.local`, minted once and never renamed."""

    format: int
    band: str
    """Id, minted once."""
    host: str
    ports: Ports
    codes: Codes
    made: str
    """When, for people to read."""
    secure: Ports | None = None
    """Two further listeners, over TLS, once the band has a certificate of its own."""


def mint(name: str, made: str, ports: Ports) -> Settings:
    """Settings for a new band folder called `name`, with codes that nobody can guess."""
    band = _code(4)
    slug = host_label(name)
    codes = Codes(join=_code(6), leader=_code(8), md=_code(8), librarian=_code(8))
    return Settings(FORMAT, band, f"{slug}-{band}.local", ports, codes, made)


def with_ports(settings: Settings, ports: Ports) -> Settings:
    """The same band at other ports."""
    return msgspec.structs.replace(settings, ports=ports)


def with_secure(settings: Settings, secure: Ports | None) -> Settings:
    """The same band with these ports over TLS, or none."""
    return msgspec.structs.replace(settings, secure=secure)


def host_label(name: str) -> str:
    """A band's name as the first half of a host label: letters, digits and hyphens (RFC 952), with room for the id."""
    letters = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", letters)[:40].strip("-") or "band"


def plain_code(code: str) -> str:
    """A code as it is compared, however it was typed."""
    return "".join(code.lower().split()).replace("-", "")


def _code(length: int) -> str:
    return "".join(secrets.choice(_LETTERS) for _ in range(length))


def save(path: Path, settings: Settings) -> None:
    """Write the settings, whole; they hold codes, so for the owner only. Raises `files.FilesError`."""
    write_whole(path, msgspec.json.format(msgspec.json.encode(settings), indent=2) + b"\n", mode=0o600)


def load(path: Path) -> Settings:
    """The settings as saved. Raises `SettingsError`."""
    try:
        head = msgspec.json.decode(path.read_bytes(), type=_Format)
        if head.format > FORMAT:
            raise SettingsError(f"{path} was written by a newer release; start that one.")
        return msgspec.json.decode(path.read_bytes(), type=Settings)
    except (OSError, msgspec.DecodeError) as error:
        raise SettingsError(f"{path} cannot be read ({error}); restore it from a copy.") from error


class _Format(msgspec.Struct):
    format: int
