"""What is doubtful about one reading on a vessel, and what all its readings share."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise import _uncertain
from sumpwise.errors import RangeError
from sumpwise.filling._single import one_read
from sumpwise.quantities.boundary import answer, argument

if TYPE_CHECKING:
    from sumpwise.filling.vessel import Vessel
    from sumpwise.quantities.reading import Read

READING = argument("volume", minimum=0.0, scalar=True)

REFERENCE = 20.0
"""Temperature, °C, at which the scale of a vessel holds and the contents of a pack are defined."""


class Doubt(NamedTuple):
    """One independent doubt about a reading: its standard uncertainty in litres, how it is distributed, what a budget calls it."""

    size: float
    shape: str
    name: str


def read_on(vessel: Vessel, reading: Any, name: str) -> Read:
    """A reading, refused when it is above what the vessel holds."""
    read = one_read(READING, reading, name)
    if vessel.capacity is not None and _uncertain.nominal(read.value) > vessel.capacity * (1 + 1e-12):
        most = shown(vessel, vessel.capacity)
        raise RangeError(f"is more than the {vessel.name} holds", argument=name, value=reading, allowed=f"up to {most}")
    return read


def scale_error(vessel: Vessel) -> Any:
    """The error of the scale, around zero: one source for one name, wherever it is asked for; 0.0 when it is exactly known."""
    uid = f"vessel scale:{vessel.name}:{vessel.scale!r}:{vessel.scale_uncertainty!r}:{vessel.scale_dof!r}"
    return _uncertain.source(0.0, vessel.scale_uncertainty, dof=vessel.scale_dof, name=f"{vessel.name}, scale", uid=uid)


def residue_error(vessel: Vessel) -> Any:
    """The error of the residue, around zero: one source for one name; 0.0 when it is exactly known."""
    u = vessel.residue_uncertainty
    return _uncertain.source(0.0, u, name=f"{vessel.name}, film left in it", uid=f"vessel residue:{vessel.name}:{u!r}")


def growth_error(vessel: Vessel) -> Any:
    """The error of its growth per °C, around zero: one source for one name; 0.0 when it is exactly known."""
    u = vessel.expansion_uncertainty
    return _uncertain.source(0.0, u, name=f"{vessel.name}, growth", uid=f"vessel growth:{vessel.name}:{u!r}")


def air_error(vessel: Vessel) -> Any:
    """The error of the share of air in what it catches, around zero: one source for one name; 0.0 when it is exactly known."""
    u = vessel.air_uncertainty
    return _uncertain.source(0.0, u, name=f"{vessel.name}, air", uid=f"vessel air:{vessel.name}:{u!r}")


def tilt_error(vessel: Vessel) -> Any:
    """The error of standing off level, around zero: one source for one name, as a vessel is read on one spot; 0.0 when it stands level."""
    if not vessel.tilt or vessel.width is None:
        return 0.0
    height = vessel.width / 2 * math.tan(math.radians(vessel.tilt))
    u = height * math.pi * vessel.width**2 / 4e6 / math.sqrt(2.0)
    return _uncertain.source(0.0, u, shape="arcsine", name=f"{vessel.name}, tilt", uid=f"vessel tilt:{vessel.name}:{u!r}")


def doubts(vessel: Vessel, read: Any, plain: float, what: str) -> list[Doubt]:
    """What is doubtful about one reading alone, in litres as read: its noise.

    A reading that brings its own uncertainty has no reading noise beside it.
    """
    found = []
    if not _uncertain.is_uncertain(read):
        noise, shape = vessel.noise
        if noise:
            found.append(Doubt(noise, shape, f"{vessel.name}, {what} {shown(vessel, plain)}"))
    return found


def in_its_unit(vessel: Vessel, litres: float) -> Any:
    """A volume in the unit and registry of the vessel's graduation."""
    return answer(litres, "volume", unit=vessel.unit, registry=vessel.registry)


def shown(vessel: Vessel, litres: float) -> str:
    """A volume as text in the unit of the vessel's graduation."""
    return f"{litres / vessel.unit.factor:.4g} {vessel.unit.symbol}"
