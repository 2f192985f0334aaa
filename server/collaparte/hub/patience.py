"""How long the hub waits for its clients, and how much it keeps for one that lags."""

import msgspec


class Patience(msgspec.Struct, frozen=True):
    """Times in seconds. A client that stops reading is gone after `ping_every` + `answer_within` + 2 `beat` at most."""

    hello_within: float = 5.0
    """From the socket's opening to the first message."""
    ping_every: float = 2.0
    answer_within: float = 6.0
    """From asking "are you there?" to the answer; the promise is ten seconds in all."""
    beat: float = 0.25
    """How finely these two are kept."""
    close_within: float = 1.0
    """For a polite close; then the connection is cut."""
    presence_every: float = 0.2
    """Who is where is told at most this often."""
    look_every: float = 5.0
    """How often the machine's own addresses are looked at."""
    most_messages: int = 2048
    """Waiting for one client; its whole state on joining must fit: three messages a tune and chair."""
    most_bytes: int = 4 * 1024 * 1024
    write_limit: int = 64 * 1024
    """Bytes in a connection's write buffer above which messages wait in its outbox, where views replace each other."""
