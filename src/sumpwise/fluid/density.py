"""How fluid expands with temperature: volume correction by API MPMS 11.1 / ASTM D1250, lubricating-oil group."""

from __future__ import annotations

from sumpwise._math import exp
from sumpwise.quantities.boundary import argument, unit_aware

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from sumpwise.accepted import DensityLike, TemperatureLike, VolumeLike

EXPANSION = 0.6278
"""K1 of the lubricating-oil group, kg/m³ per °C: the expansion coefficient at 15 °C is K1 divided by the density at 15 °C."""

REFERENCE = 20.0
"""Temperature, °C, at which volumes are compared: the contents of packs and the scales of vessels are true at it."""

DENSITY = argument("density", minimum=800.9, maximum=1163.5)
"""Densities at 15 °C for which the group is defined."""

TEMPERATURE = argument("temperature", minimum=-50.0, maximum=150.0)
"""Temperatures for which the group is defined."""

ONE_DENSITY, ONE_TEMPERATURE = DENSITY.single(), TEMPERATURE.single()
"""The same, for places where an array would make no sense."""


@unit_aware(
    temperature=TEMPERATURE,
    density_15=DENSITY,
    returns="number",
)
def volume_correction_factor(temperature: TemperatureLike, density_15: DensityLike) -> Any:
    r"""Factor that converts a volume at a temperature to the volume of the same fluid at 15 °C.

    Parameters
    ----------
    temperature : temperature, scalar or array
        Temperature of the fluid, -50 to 150 °C.
    density_15 : density, scalar or array
        Density of the fluid at 15 °C, 800.9 to 1163.5 kg/m³.

    Returns
    -------
    float, ndarray or uncertain number
        1 at 15 °C, less if warmer, more if cooler.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read or lies outside the standard's range.

    See Also
    --------
    volume_at : converts a volume from one temperature to another.

    Notes
    -----
    API MPMS 11.1 / ASTM D1250, generalised lubricating oils (Table 54D): with Δ = t - 15 °C and α = 0.6278/ρ₁₅,

    .. math:: VCF = \exp(-\alpha\Delta\,(1 + 0.8\,\alpha\Delta))

    The factor is not rounded to the five decimals of custody transfer.

    Examples
    --------
    >>> from sumpwise import volume_correction_factor
    >>> volume_correction_factor("80 °C", "850 kg/m³")
    0.95137
    """
    swelling = EXPANSION / density_15 * (temperature - 15.0)
    return exp(-swelling * (1.0 + 0.8 * swelling))


def growth(start: Any, end: Any, density_15: Any) -> Any:
    """Volume at one temperature over the volume at another, in plain numbers: the factor to 15 °C of one over that of the other."""
    expansion = EXPANSION / density_15
    return exp(expansion * (end - start) * (1.0 + 0.8 * expansion * (end + start - 30.0)))


@unit_aware(
    volume=argument("volume"),
    from_temperature=TEMPERATURE,
    to_temperature=TEMPERATURE,
    density_15=DENSITY,
    returns="volume",
)
def volume_at(volume: VolumeLike, from_temperature: TemperatureLike, to_temperature: TemperatureLike, density_15: DensityLike) -> Any:
    """Volume at one temperature of fluid that was measured at another.

    Parameters
    ----------
    volume : volume, scalar or array
        As measured; negative for missing fluid.
    from_temperature : temperature, scalar or array
        Temperature at which it was measured, -50 to 150 °C.
    to_temperature : temperature, scalar or array
        Temperature to convert to, -50 to 150 °C.
    density_15 : density, scalar or array
        Density of the fluid at 15 °C, 800.9 to 1163.5 kg/m³.

    Returns
    -------
    Quantity
        In the unit of `volume`.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read or lies outside the standard's range.

    See Also
    --------
    volume_correction_factor : the factor to 15 °C, with its source.

    Notes
    -----
    V·VCF(from)/VCF(to) by API MPMS 11.1 / ASTM D1250. The container's own expansion is not included.

    Examples
    --------
    Ten litres drained at 80 °C and replaced by ten litres at 20 °C overfill by

    >>> from sumpwise import volume_at
    >>> print(f"{10 - volume_at('10 L', '80 °C', '20 °C', '850 kg/m³').m_as('L'):.2f} L")
    0.45 L
    """
    return volume * growth(from_temperature, to_temperature, density_15)
