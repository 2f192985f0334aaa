"""An order of bars as one musician would read it to another."""

from collections.abc import Sequence

from collaparte.music.form import Step
from collaparte.music.places import say, say_step
from collaparte.music.ruler import indices
from collaparte.wire.chart import Chart


def aloud(chart: Chart, order: Sequence[Step]) -> str:
    """ "The top to bar 34; C second time to bar 33; bar 35 to the end."

    Runs of bars that follow in print; a run starts at a place's name and ends with its last bar.
    """
    if not order:
        return "Nothing."
    at = indices(chart)
    runs: list[list[Step]] = []
    for step in order:
        if runs and at[runs[-1][-1].bar] + 1 == at[step.bar]:
            runs[-1].append(step)
        else:
            runs.append([step])
    said = []
    for n, run in enumerate(runs):
        first = "the top" if n == 0 and at[run[0].bar] == 0 else say_step(chart, run[0])
        last = "the end" if at[run[-1].bar] == len(chart.bars) - 1 else say(chart, run[-1].bar)
        said.append(first if len(run) == 1 else f"{first} to {last}")
    words = "; ".join(said)
    return f"{words[0].upper()}{words[1:]}."
