"""Volumes by weighing: the density of water, and the volume of a weighed amount of water or drivetrain fluid."""

from __future__ import annotations

from sumpwise.fluid.density import DENSITY, volume_correction_factor
from sumpwise.fluid.density import TEMPERATURE as OF_FLUID
from sumpwise.quantities.boundary import argument, unit_aware

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from sumpwise.accepted import DensityLike, MassLike, TemperatureLike

AIR = 1.2
"""Density of air, kg/m³, under ordinary workshop conditions."""

WEIGHTS = 8000.0
"""Assumed density of the weights that a balance was adjusted with, kg/m³ (OIML D 28)."""

TEMPERATURE = argument("temperature", minimum=0.0, maximum=40.0)
MASS = argument("mass", minimum=0.0)
AIR_DENSITY = argument("density", minimum=0.0, below=10.0)
WEIGHTS_DENSITY = argument("density", above=100.0)


@unit_aware(temperature=TEMPERATURE, returns="density")
def water_density(temperature: TemperatureLike) -> Any:
    r"""Density of air-free water at one atmosphere.

    Parameters
    ----------
    temperature : temperature, scalar or array
        Temperature of the water, 0 to 40 °C.

    Returns
    -------
    Quantity
        In kg/m³.

    Raises
    ------
    SumpwiseError
        For a temperature that cannot be read or is outside 0 to 40 °C.

    See Also
    --------
    weighed_water : volume of water from its mass.
    weighed_fluid : volume of drivetrain fluid from its mass.

    Notes
    -----
    Tanaka et al., Metrologia 38 (2001) 301, equation 1, adopted by the CIPM; standard uncertainty below 0.001 kg/m³. Tap water
    differs by up to about 0.5 kg/m³.

    .. math:: \rho = a_5\left[1 - \frac{(t + a_1)^2 (t + a_2)}{a_3 (t + a_4)}\right]

    Examples
    --------
    >>> from sumpwise import water_density
    >>> water_density("20 °C").magnitude
    998.2067
    """
    away = temperature - 3.983035
    return 999.974950 * (1 - away * away * (temperature + 301.797) / (522528.9 * (temperature + 69.34881)))


@unit_aware(
    mass=MASS,
    temperature=TEMPERATURE,
    air_density=AIR_DENSITY,
    weights_density=WEIGHTS_DENSITY,
    returns="volume",
)
def weighed_water(
    mass: MassLike, temperature: TemperatureLike, air_density: DensityLike = f"{AIR} kg/m³",
    weights_density: DensityLike = f"{WEIGHTS:.0f} kg/m³",
) -> Any:  # fmt: skip
    r"""Volume of water, and only water, from the reading of a pair of scales.

    Parameters
    ----------
    mass : mass, scalar or array
        As the scales show it, in air, less the empty vessel.
    temperature : temperature, scalar or array
        Temperature of the water, 0 to 40 °C.
    air_density : density
        Density of the surrounding air, for the buoyancy.
    weights_density : density
        Density of the weights that the scales were adjusted with.

    Returns
    -------
    Quantity
        In litres.

    Raises
    ------
    SumpwiseError
        For a negative mass, or an argument that cannot be read or lies out of range.

    See Also
    --------
    weighed_fluid : drivetrain fluid, which takes up a sixth more.
    water_density : the density used.

    Notes
    -----
    ISO 4787 annex B, without the expansion of the vessel:

    .. math:: V = \frac{m}{\rho_w - \rho_a}\left(1 - \frac{\rho_a}{\rho_b}\right)

    Examples
    --------
    >>> from sumpwise import weighed_water
    >>> weighed_water("1 kg", "20 °C").magnitude
    1.00285
    """
    return _volume(mass, water_density.kernel(temperature), air_density, weights_density)


@unit_aware(
    mass=MASS, temperature=OF_FLUID, density_15=DENSITY, air_density=AIR_DENSITY, weights_density=WEIGHTS_DENSITY, returns="volume",
)  # fmt: skip
def weighed_fluid(
    mass: MassLike, temperature: TemperatureLike, density_15: DensityLike, air_density: DensityLike = f"{AIR} kg/m³",
    weights_density: DensityLike = f"{WEIGHTS:.0f} kg/m³",
) -> Any:  # fmt: skip
    r"""Volume of drivetrain fluid from the reading of a pair of scales.

    Parameters
    ----------
    mass : mass, scalar or array
        As the scales show it, in air, less the empty vessel.
    temperature : temperature, scalar or array
        Temperature of the fluid, -50 to 150 °C; the volume is that at this temperature.
    density_15 : density, scalar or array
        Density of the fluid at 15 °C, 800.9 to 1163.5 kg/m³, from its data sheet.
    air_density, weights_density : density
        As for `weighed_water`.

    Returns
    -------
    Quantity
        In litres.

    Raises
    ------
    SumpwiseError
        For a negative mass, or an argument that cannot be read or lies out of range.

    See Also
    --------
    weighed_water : the same for water, to calibrate a vessel.
    volume_at : converts the volume to another temperature.

    Notes
    -----
    As `weighed_water`, with the density of the fluid by API MPMS 11.1 in place of the water's:

    .. math:: V = \frac{m}{\rho_{15}\,VCF(t) - \rho_a}\left(1 - \frac{\rho_a}{\rho_b}\right)

    Examples
    --------
    >>> from sumpwise import weighed_fluid
    >>> weighed_fluid("1 kg", "20 °C", "847 kg/m³").magnitude
    1.18654
    """
    return _volume(mass, density_15 * volume_correction_factor.kernel(temperature, density_15), air_density, weights_density)


def _volume(mass: Any, density: Any, air_density: Any, weights_density: Any) -> Any:
    """Litres of a liquid from its apparent mass, corrected for the buoyancy of the air."""
    return 1000 * mass * (1 - air_density / weights_density) / (density - air_density)
