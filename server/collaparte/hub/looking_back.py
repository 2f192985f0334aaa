"""What was decided, read from the log for one who asks."""

from collaparte.band import history
from collaparte.hub.writer import Writer
from collaparte.wire.messages import LookBack
from collaparte.wire.views import HistoryView

ROWS = 100
"""Rows a message; older ones are asked for by the sequence of the last."""
KINDS = tuple(str(kind.__struct_config__.tag) for kind in history.TOLD)


async def looked_back(writer: Writer, ask: LookBack) -> HistoryView:
    """The answer to one who looks back. Raises `store.log.LogError`."""
    state = writer.state
    dates = history.date_rows(state)
    date = state.dates.get(ask.date)
    if ask.date and date is None:
        return HistoryView(ask.id, (), dates=dates)
    since = date.first - 1 if date else 0
    end = date.last + 1 if date and date.last is not None else 0
    before = min(filter(None, (ask.before, end)), default=0)
    logged = await writer.decided(KINDS, since=since, before=before, most=ROWS + 1)
    rows = history.rows(state, ((one.seq, one.at, one.event) for one in logged[:ROWS]))
    stood = history.stood_rows(state, date.id) if date else ()
    return HistoryView(ask.id, rows, len(logged) > ROWS, dates, stood)
