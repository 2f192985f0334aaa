"""Names that people give: trimmed, of a length that fits a screen, without control characters."""

import unicodedata

MOST = 120
"""Characters of a name or title (common practice: more does not fit a line of a tablet)."""


def tidy(text: str) -> str:
    """A name as it is kept: one spacing, composed letters."""
    return " ".join(unicodedata.normalize("NFC", text).split())


def fault(text: str, what: str) -> str:
    """What is wrong with a name, in one sentence; "" if nothing is."""
    if not tidy(text):
        return f"{what} needs a name."
    if len(tidy(text)) > MOST:
        return f"The name of {what[0].lower()}{what[1:]} is longer than {MOST} characters; shorten it."
    if any(unicodedata.category(letter) in ("Cc", "Cs") for letter in tidy(text)):
        return f"The name of {what[0].lower()}{what[1:]} has characters that cannot be shown; type it again."
    return ""
