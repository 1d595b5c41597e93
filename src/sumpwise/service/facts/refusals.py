"""Why something could not be worked out, as words of the catalogue."""

from __future__ import annotations

from sumpwise.errors import SumpwiseError
from sumpwise.service.facts.fact import Name, Value, Word

KNOWN = {
    "ledger.too_much_drained": "refused.drained",
    "count.reading_falls": "refused.falls",
    "count.not_read": "refused.emptied",
    "count.no_room": "refused.no_room",
    "vessel.overfull": "refused.holds",
    "pail.too_small": "refused.pail",
    "sump.holds_less": "refused.sump",
    "circuit.no_volume": "refused.compartment",
    "pump.draws_air": "refused.air",
    "pump.no_reserve": "refused.air",
    "evidence.contradicts": "refused.matches",
    "evidence.no_circuit": "refused.matches",
    "wrench.window": "refused.band",
}
"""The code of an error -> the entry of the catalogue."""


def refused(error: SumpwiseError, placed: bool = False) -> Value:
    """The reason for an error in words of the catalogue; if it has none for it, in the words of the error, without a place if `placed`."""
    if error.code in KNOWN:
        return Word(KNOWN[error.code])
    return Name(str(error).removeprefix(f"{error.argument}: ") if placed else str(error))
