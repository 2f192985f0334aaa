"""Dates: a rehearsal or gig, opened and closed by hand, so that "tonight" may pass midnight."""

from typing import Literal

DateKind = Literal["rehearsal", "gig"]
Role = Literal["leader", "md"]
"""A role that a chair can be given for a date."""
