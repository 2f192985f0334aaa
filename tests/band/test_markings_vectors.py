"""The fold of markings as hub and stands share it: vectors that the stand's code runs too."""

import json
from pathlib import Path
from typing import Any

import pytest

from collaparte.band.apply import apply
from collaparte.band.state import State
from collaparte.band.views import markings_view
from collaparte.wire.codec import decode_event, decode_from_hub
from collaparte.wire.views import MarkingsView

CASES = json.loads((Path(__file__).parent.parent / "vectors" / "markings.json").read_text(encoding="utf-8"))["cases"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_what_is_shown_and_what_stands(case: dict[str, Any]) -> None:
    states = [State()]
    for event in case["events"]:
        states.append(apply(states[-1], decode_event(json.dumps(event))))
    chairs, since, standing = tuple(case["chairs"]), 0, dict[str, object]()
    for vector in case["views"]:
        view = decode_from_hub(json.dumps(vector))
        assert isinstance(view, MarkingsView)
        assert markings_view(states[view.seq], chairs, since) == view
        if view.whole:
            standing.clear()
        standing |= {marking.id: marking for marking in view.made}
        for id in view.erased:
            standing.pop(id, None)
        since = view.seq
    assert sorted(standing) == case["stands"] == sorted(m.id for m in markings_view(states[-1], chairs).made)
