"""How finely a planned pour or burst is measured: in whole divisions of a scale; the plan computes with the same volumes."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise.service.facts.fact import OnScale
from sumpwise.uncertainty import nominal

if TYPE_CHECKING:
    from sumpwise.service.case import Case

FINELY = 4
"""Without a scale, a volume of fewer divisions than this is measured in finer ones."""
SLACK = 0.2
"""The slack, as a share of a division, if no scale is read."""
CLOSE = 1e-9
"""The rounding error, as a share of a division, that may leave a whole number of them short."""


class Division(NamedTuple):
    """One division of whatever measures a volume.

    Attributes
    ----------
    litres : float
        How much.
    written : str
        The same as a person writes it.
    slack : float
        Litres by which a pour may exceed what was meant: part of a division if no scale is read, none with a scale.
    """

    litres: float
    written: str
    slack: float = 0.0

    def below(self, litres: Any) -> OnScale:
        """The most whole divisions that do not exceed some litres."""
        return OnScale("volume", floor(nominal(litres) / self.litres + CLOSE) * self.litres, self.written)


def division(case: Case, vessel: dict[str, Any] | None, litres: Any) -> Division:
    """The division that about so many litres are measured in: that of the vessel they are caught in or poured from.

    Without a scale, or with one coarser than the volume, it is a usual one in the units of the reader.
    """
    most = nominal(litres)
    if vessel is not None and "graduation" in vessel and nominal(vessel["graduation"]) <= most:
        written = next(one for one in case.job.written("vessel") if one["name"] == vessel["name"])
        return Division(nominal(vessel["graduation"]), str(written["graduation"]))
    usual = ((size * unit.factor, f"{size} {unit.symbol}") for size, unit in case.system.measured_by)
    marks = [Division(size, written, SLACK * size) for size, written in usual]
    return next((mark for mark in marks if most >= FINELY * mark.litres), marks[-1])
