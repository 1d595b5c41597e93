"""The scale of a vessel, from weighing water at some of its marks."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from sumpwise import uncertainty
from sumpwise.errors import RangeError, listed
from sumpwise.fluid.water import weighed_water
from sumpwise.quantities.boundary import argument, inside

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sumpwise.accepted import MassLike, TemperatureLike, VolumeLike

_MARK = argument("volume", above=0.0, scalar=True)
_MASS = argument("mass", above=0.0, scalar=True)
_WATER = argument("temperature", minimum=0.0, maximum=40.0, scalar=True)


class Weighed(NamedTuple):
    """True volume over volume read, at the `temperature` of the water, with its standard uncertainty and degrees of freedom."""

    scale: float
    standard_uncertainty: float
    dof: float
    temperature: float


def weighed_scale(
    readings: Sequence[VolumeLike], masses: Sequence[MassLike], water_temperature: TemperatureLike, grain: float
) -> Weighed:
    """The scale by least squares through the origin, as `Vessel.calibrated` describes it; `grain` is the noise of a reading, in litres."""
    read, weighed = (listed(values, name, "one value for each mark") for values, name in ((readings, "readings"), (masses, "masses")))
    if len(read) != len(weighed) or not read:
        raise RangeError(
            f"{len(read)} readings and {len(weighed)} masses: each mark needs both", code="list.length", argument="masses", value=masses
        )
    marks = [uncertainty.nominal(_MARK.value(r, f"readings[{i}]")) for i, r in enumerate(read)]
    water = _WATER.value(water_temperature, "water_temperature")
    warm = inside(water, "temperature")
    volumes = [weighed_water(inside(_MASS.value(m, f"masses[{i}]"), "mass"), warm).value for i, m in enumerate(weighed)]
    plain = [uncertainty.nominal(v) for v in volumes]
    square, product = math.fsum(v * v for v in plain), math.fsum(r * v for r, v in zip(marks, plain, strict=True))
    slope = product / square
    scatter, dof = grain, math.inf
    if len(marks) > 1:
        found = math.sqrt(math.fsum((r - slope * v) ** 2 for r, v in zip(marks, plain, strict=True)) / (len(marks) - 1))
        if found > grain:
            scatter, dof = found, float(len(marks) - 1)
    # d(scale)/dVᵢ of scale = Σ V² / Σ r·V
    slopes = [(2 * v - r / slope) / product for r, v in zip(marks, plain, strict=True)]
    given = uncertainty.standard(uncertainty.combine(0.0, list(zip(slopes, volumes, strict=True))))
    fitted = scatter / math.sqrt(square) / slope**2
    total = math.hypot(given, fitted)
    if total and dof < math.inf:
        dof *= (total / fitted) ** 4
    return Weighed(1.0 / slope, total, dof, uncertainty.nominal(water))

