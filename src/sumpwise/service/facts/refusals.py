"""Why something could not be worked out, as words of the catalogue."""

from __future__ import annotations

from sumpwise.errors import SumpwiseError
from sumpwise.service.facts.fact import Name, Value, Word

KNOWN = {
    "than there was to drain": "refused.drained",
    "a cumulative reading cannot fall": "refused.falls",
    "has not been read since it was last emptied": "refused.emptied",
    " holds": "refused.holds",
    "leaves no room between starving": "refused.no_room",
    "leaves nothing for the": "refused.compartment",
    "draws air": "refused.air",
    "takes the sump to": "refused.sump",
    "draws bear on what was seen": "refused.matches",
    "no circuit within the ranges": "refused.matches",
    "empty": "refused.band",
    "cannot guarantee": "refused.band",
}
"""Part of a problem as the computing rooms word it -> the entry of the catalogue."""


def refused(error: SumpwiseError) -> Value:
    """The reason of an error in the words of the catalogue; as it is worded itself where the catalogue has none."""
    for part, word in KNOWN.items():
        if part in error.problem:
            return Word(word)
    return Name(str(error))
