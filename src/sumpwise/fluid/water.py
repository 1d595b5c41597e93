"""Volumes by weight: the density of water, and what a weighed amount of water or of drivetrain fluid takes."""

from __future__ import annotations

from sumpwise.fluid.density import DENSITY, volume_correction_factor
from sumpwise.fluid.density import TEMPERATURE as OF_FLUID
from sumpwise.quantities.boundary import argument, unit_aware

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from sumpwise.accepted import DensityLike, MassLike, TemperatureLike

AIR = 1.2
"""Density of air, kg/m³, in ordinary workshop conditions."""

WEIGHTS = 8000.0
"""Density that the weights of a balance are taken to have, kg/m³ (OIML D 28)."""

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
        Of the water, 0 to 40 °C.

    Returns
    -------
    Quantity
        In kg/m³.

    Raises
    ------
    SumpwiseError
        For a temperature that cannot be read or lies outside 0 to 40 °C.

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
    r"""Volume of water, and of water alone, from what a balance shows.

    Parameters
    ----------
    mass : mass, scalar or array
        As shown by a balance in air; the empty vessel taken off.
    temperature : temperature, scalar or array
        Of the water, 0 to 40 °C.
    air_density : density
        Of the air around, for the buoyancy.
    weights_density : density
        Of the weights that the balance was adjusted with.

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
    weighed_fluid : drivetrain fluid, which takes a sixth more.
    water_density : the density used.

    Notes
    -----
    ISO 4787 annex B, without the growth of the vessel:

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
    r"""Volume of drivetrain fluid from what a balance shows.

    Parameters
    ----------
    mass : mass, scalar or array
        As shown by a balance in air; the empty vessel taken off.
    temperature : temperature, scalar or array
        Of the fluid, -50 to 150 °C: at which its volume is wanted.
    density_15 : density, scalar or array
        Of the fluid at 15 °C, 800.9 to 1163.5 kg/m³; its data sheet gives it.
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
    weighed_water : water, the standard of volume.
    volume_at : to another temperature.

    Notes
    -----
    Own model, no outside value.

    As `weighed_water`, with the density of the fluid after API MPMS 11.1 in place of the water's:

    .. math:: V = \frac{m}{\rho_{15}\,VCF(t) - \rho_a}\left(1 - \frac{\rho_a}{\rho_b}\right)

    Examples
    --------
    >>> from sumpwise import weighed_fluid
    >>> weighed_fluid("1 kg", "20 °C", "847 kg/m³").magnitude
    1.18654
    """
    return _volume(mass, density_15 * volume_correction_factor.kernel(temperature, density_15), air_density, weights_density)


def _volume(mass: Any, density: Any, air_density: Any, weights_density: Any) -> Any:
    """Litres of a liquid from its apparent mass, the buoyancy of the air taken out."""
    return 1000 * mass * (1 - air_density / weights_density) / (density - air_density)
