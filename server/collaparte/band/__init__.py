"""What the band is and has decided: commands become events, events become state. Pure.

Entry points, in the order in which a hub meets them:

- `state.State()`: nothing decided yet. `apply.fold(events)`: the state at start; `apply.apply(state, event)`: later.
- `roles.Who(chairs, chair, roles)`: who asks; roles are "leader", "md", "librarian"; `roles.EVERY_ROLE` for whoever
  works at the machine itself.
- `decide.decide(state, command, who, call) -> tuple[Event, ...] | roles.Refusal`: () when it is so already.
  Several commands of one tick: decide the next on the state after the events of the one before, commit all, then keep
  the last state; if the commit fails, keep the first.
- `views.touched(before, after)`: which views changed; `views.band_view`, `set_view`, `position_view`, `tune_view`,
  `markings_view(state, chairs, since)`: the views; `views.slips(after, events)`: words for the foot of the page.
- `parts.part_order(tune, version) -> PartOrder`: the played order in a part's own bars, for laying, and what it can
  only be told; `tune.seated(chair)` are the parts a chair plays. A part's `position`s count in the played order.
"""
