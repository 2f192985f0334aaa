"""The number from which tests engrave, damage and draw their charts.

`COLLAPARTE_SEED=n` repeats a run. `tests/run.py` takes it from what is checked in: every change meets fresh charts, and
one state of the project the same wherever it is tested. A test run by itself draws a new number.
"""

import os
import random

SEED = int(os.environ.get("COLLAPARTE_SEED") or random.SystemRandom().randrange(10**6))
