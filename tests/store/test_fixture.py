"""A log as the first release wrote it (fixtures/log-v1.sqlite) means for ever what it meant then (state-v1.json)."""

import json
import shutil
from pathlib import Path
from typing import Any, get_args

import msgspec

from collaparte.band import parts, views
from collaparte.store.log import Log
from collaparte.wire.events import Event, Unknown

FIXTURES = Path(__file__).parent / "fixtures"


def as_json(value: object) -> Any:
    return json.loads(msgspec.json.encode(value))


def still(then: Any, now: Any) -> None:
    """All that was said then is said now; a later release may say more."""
    if isinstance(then, dict):
        for key, value in then.items():
            still(value, now[key])
    elif isinstance(then, list):
        assert len(then) <= len(now)
        for one, other in zip(then, now, strict=False):
            still(one, other)
    else:
        assert then == now


async def test_the_first_releases_log_is_replayed(tmp_path: Path) -> None:
    then = json.loads((FIXTURES / "state-v1.json").read_text())
    shutil.copy(FIXTURES / "log-v1.sqlite", tmp_path / "log.sqlite")
    log = await Log.open(tmp_path / "log.sqlite", epoch="another")
    state = await log.state()
    assert (log.epoch, log.seq, state.seq) == (then["epoch"], then["seq"], then["seq"])
    kinds = {type(one.event) for one in await log.read()}
    assert {kind.__struct_config__.tag for kind in kinds} >= KINDS_OF_V1 and Unknown in kinds
    client, command, answer = then["answer"]
    assert await log.answers([(client, command)]) == {(client, command): answer}
    await log.close()

    band, order, position, *tunes = then["views"]
    still(band, as_json(views.band_view(state, {})))
    still(order, as_json(views.set_view(state)))
    still(position, as_json(views.position_view(state)))
    for tune in tunes:
        still(tune, as_json(views.tune_view(state, state.tunes[tune["tune"]])))
    for chair, markings in then["markings"].items():
        still(markings, as_json(views.markings_view(state, (chair,))))
    part = state.tunes["bus"].parts["q1"]
    assert [version.version for version in part.versions] == then["versions"]
    for step in then["part_order"]["steps"]:
        del step["label"]  # how a page says the time is for each release to say
    still(then["part_order"], as_json(parts.part_order(state.tunes["bus"], part.current)))


KINDS_OF_V1 = {
    *("band-named", "chair-added", "chair-renamed", "chair-moved", "chair-removed"),
    *("tune-added", "ruler-minted", "part-brought", "parts-seated", "set-put"),
    *("next-named", "called", "call-taken-back", "edit-made", "edit-taken-back", "marking-made", "marking-erased"),
}


def test_the_first_releases_kinds_are_all_known() -> None:
    assert {kind.__struct_config__.tag for kind in get_args(Event)} >= KINDS_OF_V1
