"""How finely a pour or a burst that is planned is measured: in whole divisions, and the plan computes with those."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise.service.facts.fact import OnScale
from sumpwise.uncertainty import nominal

if TYPE_CHECKING:
    from sumpwise.service.case import Case

FINELY = 4
"""Divisions below which a finer one is taken where no scale says."""
SLACK = 0.2
"""Of a division that nobody reads."""
CLOSE = 1e-9
"""Of a division: what arithmetic may leave a whole number of them short by."""


class Division(NamedTuple):
    """One division of what measures a volume.

    Attributes
    ----------
    litres : float
        How much.
    written : str
        The same as a person writes it.
    slack : float
        Litres by which a pour may be over what was meant: some of a division where no scale is read, none by a scale.
    """

    litres: float
    written: str
    slack: float = 0.0

    def below(self, litres: Any) -> OnScale:
        """So many whole divisions as do not come to more than some litres."""
        return OnScale("volume", floor(nominal(litres) / self.litres + CLOSE) * self.litres, self.written)


def division(case: Case, vessel: dict[str, Any] | None, litres: Any) -> Division:
    """What a volume is measured by: the scale of its vessel; without one, or with one that is coarser than the volume, as is common.

    Parameters
    ----------
    case : Case
        With the vessels as they are written, and the units of its reader.
    vessel : dict or None
        The vessel that it is caught in or poured from.
    litres : float or uncertain number
        About how much.
    """
    most = nominal(litres)
    if vessel is not None and "graduation" in vessel and nominal(vessel["graduation"]) <= most:
        written = next(one for one in case.job.written("vessel") if one["name"] == vessel["name"])
        return Division(nominal(vessel["graduation"]), str(written["graduation"]))
    usual = ((size * unit.factor, f"{size} {unit.symbol}") for size, unit in case.system.measured_by)
    marks = [Division(size, written, SLACK * size) for size, written in usual]
    return next((mark for mark in marks if most >= FINELY * mark.litres), marks[-1])
