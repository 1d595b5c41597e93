"""Water as the standard of volume: its density, and the volume of a weighed amount."""

from __future__ import annotations

from sumpwise.quantities.boundary import argument, unit_aware

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

AIR = 1.2
"""Density of air, kg/m³, in ordinary workshop conditions."""

WEIGHTS = 8000.0
"""Density that the weights of a balance are taken to have, kg/m³ (OIML D 28)."""

TEMPERATURE = argument("temperature", minimum=0.0, maximum=40.0)


@unit_aware(temperature=TEMPERATURE, returns="density")
def water_density(temperature: Any) -> Any:
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
    weighed_volume : volume of water from its mass.

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
    mass=argument("mass", minimum=0.0),
    temperature=TEMPERATURE,
    air_density=argument("density", minimum=0.0, below=10.0),
    weights_density=argument("density", above=100.0),
    returns="volume",
)
def weighed_volume(mass: Any, temperature: Any, air_density: Any = f"{AIR} kg/m³", weights_density: Any = f"{WEIGHTS:.0f} kg/m³") -> Any:
    r"""Volume of water from what a balance shows.

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
    water_density : the density used.

    Notes
    -----
    ISO 4787 annex B, without the growth of the vessel:

    .. math:: V = \frac{m}{\rho_w - \rho_a}\left(1 - \frac{\rho_a}{\rho_b}\right)

    Examples
    --------
    >>> from sumpwise import weighed_volume
    >>> weighed_volume("1 kg", "20 °C").magnitude
    1.00285
    """
    return 1000 * mass * (1 - air_density / weights_density) / (water_density.kernel(temperature) - air_density)
