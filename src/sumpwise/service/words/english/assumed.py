"""What was assumed because it was not written, why, and what it changes."""

from __future__ import annotations

from sumpwise.service.keys import COMMON, LOOSELY, UNPUBLISHED, UNSAID
from sumpwise.service.weights import DOUBT

WORDS: dict[str, str] = {
    # -- assumptions
    "assumptions.title": "Assumptions",
    "assumed.total": "Total {amount} (scope: {scope}).",
    "assumed.book": "The book's refill {amount} (scope: {scope}).",
    "assumed.no_scope": "not stated",
    "assumed.reference": "Volumes are compared at {reference}; expansion of lubricating oils after API MPMS 11.1.",
    "assumed.mixing": "A drive mixes the whole fill; the compartments inside are stirred tanks.",
    "assumed.rhythm": "Each method is repeated at the interval, the yearly drain every year.",
    "assumed.machine_fluid": "For a machine exchange only the fluid is counted, not the shop's labour.",
    "assumed.machine_quote": "A machine exchange costs what the quote says, including the fluid.",
    "assumed.no_prices": "The job has no prices for fluid, so the costs are without it.",
    "assumed.key": "{what}: {value} ({reason}).{matters}",
    "assumed.usually": "{what}: {value}, usually {low} to {high} ({reason}).{matters}",
    "assumed.between": "{what}: {low} to {high} ({shape}; {reason}).{matters}",
    "assumed.doubt": "{what}: good to {doubt}, one standard uncertainty ({reason}).{matters}",
    "assumed.moves": " Moves {effects}. To know better: {find}.",
    "assumed.moves_seen": " By the amounts alone it moves {effects}{seen}.",
    "assumed.seen": "; the matched vials put it at {value}",
    "assumed.seen_plain": "; the matched vials put it at {value} ± {give}",
    "assumed.mute_find": " To be sure: {find}.",
    "assumed.best": "**The measurement that helps most**: {what}. To know better: {find}. What is assumed instead moves {effects}.",
    "assumed.mute": "The rest moves no number above by an amount worth mentioning; some of it decides which steps and methods there are:",
    "assumed.whose": "{what} ({whose})",
    "assumed.of_total": "{share} of the total",
    "assumed.of_need": "{share} of the need",
    # -- what they move
    "effect.fresh": "fresh inside by ± {size} points",
    "effect.buy": "the amount to buy by ± {size}",
    "effect.level": "the level by ± {size}",
    "effect.air": "the time until the pump draws air by ± {size} s",
    # -- shapes of a range
    "shape.uniform": "any value equally likely",
    "shape.log-uniform": "any order of magnitude equally likely",
}  # fmt: skip

REASONS = (
    COMMON, UNPUBLISHED, UNSAID, LOOSELY, DOUBT.reason, "as old as the vehicle: no age was written", "new: no age was written",
    "usual in such a unit",
    "a book does not say how long it dripped, how level and warm it was, nor what drained back from the converter",
    "how long it dripped, and how level it was", "no pack is listed", "no uncertainty was written", "nobody weighed it",
    f"what ISO 6789 permits for its size: {UNSAID}",
    f"the pan stayed on; {UNPUBLISHED}", f"{COMMON}: it depends on the pan and on how long you wait",
    "what was in them, by the log", "the pan stayed on, by the log",
    f"{COMMON}: the maker's book or one drain tells you better",
    "half a division either way: a meniscus, a cloudy wall, an eye above it", "a floor that slopes by one in a hundred",
    "that of the new fluid: none was written", "treated as cold: none was written, and warm fluid is less than it looks",
    "not corrected: from none to 0.6 %, most of it has risen by the time it is read",
    "what has not run down the wall after half a minute, half more or less",
)  # fmt: skip
"""Reasons of the defaults that rules of the schema work out; the reasons of plain defaults are in the schema itself."""
