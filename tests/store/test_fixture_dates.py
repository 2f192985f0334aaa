"""A log of dates, sets and roles as first written (fixtures/log-dates.sqlite) means for ever what it did then."""

import json
import shutil
from pathlib import Path
from typing import get_args

from collaparte.band import history, views
from collaparte.store.log import Log
from collaparte.wire.events import Event
from store.test_fixture import FIXTURES, as_json, still

KINDS = {"set-put", "date-begun", "date-ended", "edit-kept", "role-given", "role-taken"}


async def test_dates_and_sets_are_replayed(tmp_path: Path) -> None:
    then = json.loads((FIXTURES / "state-dates.json").read_text("utf-8"))
    shutil.copy(FIXTURES / "log-dates.sqlite", tmp_path / "log.sqlite")
    log = await Log.open(tmp_path / "log.sqlite", epoch="another")
    try:
        logged, state = await log.read(), await log.state()
    finally:
        await log.close()
    assert state.seq == then["seq"]
    assert {str(one.event.__struct_config__.tag) for one in logged} >= KINDS
    assert {str(kind.__struct_config__.tag) for kind in get_args(Event)} >= KINDS
    still(then["set"], as_json(views.set_view(state)))
    still(then["date"], as_json(views.date_view(state)))
    still(then["roles"], as_json(views.roles_view(state, (), ("alto2",))))
    still(then["position"], as_json(views.position_view(state)))
    for tune in then["tunes"]:
        still(tune, as_json(views.tune_view(state, state.tunes[tune["tune"]])))
    still(then["dates"], as_json(history.date_rows(state)))
    still(then["stood"], as_json(history.stood_rows(state, "d1")))
    still(then["history"], as_json(history.rows(state, ((one.seq, one.at, one.event) for one in logged))))
