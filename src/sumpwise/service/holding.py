"""Which vessel an entry of a log means: one that is described, a pack, or one that is not described."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import floor, hypot
from typing import Any

from sumpwise.buying.shortfall import tolerable_negative_error
from sumpwise.filling.vessel import SHORT
from sumpwise.uncertainty import is_uncertain, nominal, source

PAIL, JUG = "pail", "jug"
"""Names used if a job describes no vessel: for the one drained into, and the one poured from."""
WHOLE = 1e-3
"""How far, as a share of a pack, a reading may miss a whole number of them: someone rounded a conversion."""
LEAST, MOST = 0.005, 10.0
"""Pack sizes, in litres, for which the law says how short they may be."""
BY_EYE = 0.1
"""How accurately part of a pack without a scale is poured by eye, as a share of the pack, either way."""


def own_packs(packs: Iterable[Mapping[str, Any]], components: Iterable[Mapping[str, Any]], fluid: str) -> dict[str, float]:
    """The packs of the unit's own fluid, which may have no name: name -> litres in each; those for another fluid are never poured into
    it.
    """
    same = {component.get("name") for component in components if component.get("fluid") == fluid} | {fluid}
    return {pack["name"]: nominal(pack["volume"]) for pack in packs if "for" not in pack or pack["for"] in same}


def meant(entry: Mapping[str, Any], vessels: Iterable[str], packs: Mapping[str, float]) -> str | None:
    """The vessel of an entry that does not name one; None if it could be one of several.

    `vessels` are those that are described, `packs` the litres of each pack by name.
    """
    described = list(vessels)
    if entry["event"] == "poured":
        litres = nominal(entry.get("reading", 0.0))
        whole = [name for name, volume in packs.items() if _count(litres, volume)[1] < WHOLE]
        if whole:
            return max(whole, key=lambda name: packs[name])
        return None if described else min(packs, key=lambda name: packs[name], default=JUG)
    return None if described else PAIL


def _count(litres: float, volume: float) -> tuple[int, float]:
    """The number of whole packs, and the share of another."""
    count = floor(litres / volume + WHOLE)
    return count, max(0.0, litres / volume - count)


def poured(litres: Any, volume: float) -> Any:
    """A volume poured from packs: whole ones as full as the law requires, part of one judged by eye, unless the reading says how well."""
    if is_uncertain(litres):
        return litres
    whole, part = _count(litres, volume)
    short = tolerable_negative_error.kernel(volume) if LEAST <= volume <= MOST else BY_EYE * volume
    by_eye = BY_EYE * volume / 3**0.5 if part >= WHOLE else 0.0
    return source(litres, hypot(whole**0.5 * short / SHORT, by_eye), name="packs, what is in them")
