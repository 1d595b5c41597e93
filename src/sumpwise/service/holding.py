"""Which vessel an entry of a log means: one that is described, a pack, or one that nobody described."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import floor, hypot
from typing import Any

from sumpwise.buying.shortfall import tolerable_negative_error
from sumpwise.filling.vessel import SHORT
from sumpwise.uncertainty import is_uncertain, nominal, source

PAIL, JUG = "pail", "jug"
"""What is called so where a job describes no vessel: what is drained into, what is poured from."""
WHOLE = 1e-3
"""Share of a pack by which a reading may miss a whole number of them: a conversion that somebody rounded."""
LEAST, MOST = 0.005, 10.0
"""Litres for which the law says how short a pack may be."""
BY_EYE = 0.1
"""Share of a pack to which one without a scale is poured by eye, either way."""


def meant(entry: Mapping[str, Any], vessels: Iterable[str], packs: Mapping[str, float]) -> str | None:
    """The vessel of an entry that names none; nothing where it could be one of several.

    Parameters
    ----------
    entry : mapping
        What happened, and the reading in litres.
    vessels : iterable of str
        The vessels that are described.
    packs : mapping of str to float
        Packs by name, and the litres in each.
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
    """Whole packs, and the share of another."""
    count = floor(litres / volume + WHOLE)
    return count, max(0.0, litres / volume - count)


def poured(litres: Any, volume: float) -> Any:
    """What is poured from packs: each as full as the law has it, of the last one what the eye tells; a reading may say its own doubt."""
    if is_uncertain(litres):
        return litres
    whole, part = _count(litres, volume)
    short = tolerable_negative_error.kernel(volume) if LEAST <= volume <= MOST else BY_EYE * volume
    by_eye = BY_EYE * volume / 3**0.5 if part >= WHOLE else 0.0
    return source(litres, hypot(whole**0.5 * short / SHORT, by_eye), name="packs, what is in them")
