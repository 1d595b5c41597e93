"""How thick fluid is: at a temperature (ASTM D341), its viscosity index (ASTM D2270), in a blend. For information only."""

from __future__ import annotations

from sumpwise._math import every, exp, log, minimum, where
from sumpwise.errors import RangeError, SumpwiseError, expect_few, listed, shown
from sumpwise.fluid._d2270 import HIGH, LOW
from sumpwise.quantities.boundary import answer, argument, unit_aware, worked_out
from sumpwise.quantities.expected import past

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from sumpwise.accepted import FractionLike, NumberLike, TemperatureLike, ViscosityLike

THINNEST, THICKEST = 0.21, 2e7
"""ASTM D341 holds between these kinematic viscosities, mm²/s."""


def _double_log(viscosity: Any) -> Any:
    """ASTM D341, eq. 1: ln ln Z. The exponential is below 1e-3 from 2 mm²/s upwards, below 1e-11 from 5.4."""
    return log(log(viscosity + 0.7 + exp(-1.47 - 1.84 * viscosity - 0.51 * viscosity * viscosity)))


def _from_double_log(double_log: Any) -> Any:
    """The viscosity for a given ln ln Z: the standard's approximate inverse, refined by two Newton steps."""
    z = exp(exp(double_log)) - 0.7
    viscosity = z - exp(-0.7487 - 3.295 * z + 0.6119 * z * z - 0.3193 * z * z * z)
    for _ in range(2):
        tail = exp(-1.47 - 1.84 * viscosity - 0.51 * viscosity * viscosity)
        viscosity = viscosity - (viscosity + tail - z) / (1.0 - (1.84 + 1.02 * viscosity) * tail)
    return viscosity


def _thins_when_warm(temperature: Any, viscosity_40: Any, viscosity_100: Any, zero: Any) -> None:
    if not every(viscosity_40 > viscosity_100):
        raise past(
            "viscosity_40", viscosity_40, "above", "viscosity_100", viscosity_100, "viscosity", "must be thicker than at 100 °C",
            code="viscosity.order", hint="are the two swapped?",
        )  # fmt: skip
    if every((temperature >= 40.0) & (temperature <= 100.0)):
        return
    try:
        found = viscosity_at.kernel(temperature, viscosity_40, viscosity_100, zero)
        holds = every((found >= THINNEST) & (found <= THICKEST))
    except OverflowError:
        holds = False
    if not holds:
        raise RangeError(
            "gives a viscosity outside the range of ASTM D341", code="model.limit", argument="temperature", value=temperature,
            allowed=f"where the fluid has {THINNEST} to {THICKEST:.0f} mm²/s", hint="stay closer to 40 and 100 °C",
        )  # fmt: skip


@unit_aware(
    temperature=argument("temperature", minimum=-70.0, maximum=370.0),
    viscosity_40=argument("viscosity", minimum=THINNEST, maximum=THICKEST),
    viscosity_100=argument("viscosity", minimum=THINNEST, maximum=THICKEST),
    zero=argument("number", minimum=273.0, maximum=273.15),
    returns="viscosity",
    check=_thins_when_warm,
)
def viscosity_at(temperature: TemperatureLike, viscosity_40: ViscosityLike, viscosity_100: ViscosityLike, zero: NumberLike = 273.15) -> Any:
    r"""Kinematic viscosity of a fluid at a temperature, from the two figures on its data sheet.

    Parameters
    ----------
    temperature : temperature, scalar or array
        Temperature of the fluid, -70 to 370 °C. Between 40 and 100 °C this interpolates; far outside, especially cold, it is a guess.
    viscosity_40, viscosity_100 : viscosity, scalar or array
        Kinematic viscosity at 40 °C and at 100 °C.
    zero : number
        0 °C on the absolute scale: 273.15, or 273 as in older practice.

    Returns
    -------
    Quantity
        In the unit of `viscosity_40`.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read, a fluid that does not thin as it warms, or an answer outside 0.21 to 2e7 mm²/s.

    Notes
    -----
    ASTM D341 (after Walther), a straight line through the two points:

    .. math:: \log\log Z = A - B \log T, \qquad Z = \nu + 0.7 + \exp(-1.47 - 1.84\,\nu - 0.51\,\nu^2)

    with ν in mm²/s and T = t + 273.15 K. From 2 mm²/s up, Z is ν + 0.7, the short form. The older constant 273 changes an answer between
    the two points by less than its last printed digit. The inverse is more exact than the standard's own, so the line passes through its
    two points.

    Examples
    --------
    >>> from sumpwise import viscosity_at
    >>> print(f"{viscosity_at('80 °C', '32 mm²/s', '5.4 mm²/s').m:.2f} mm²/s")
    8.53 mm²/s
    """
    thin, thick = _double_log(viscosity_100), _double_log(viscosity_40)
    share = log((temperature + zero) / (40.0 + zero)) / log((100.0 + zero) / (40.0 + zero))
    return _from_double_log(thick + (thin - thick) * share)


def _looked_up(table: tuple[float, ...], row: Any) -> Any:
    """Linear interpolation in a table at a fractional row."""
    if isinstance(row, float):
        below = min(int(row), len(table) - 2)
        return table[below] + (row - below) * (table[below + 1] - table[below])
    import numpy

    values, below = numpy.array(table), minimum(row, len(table) - 2.0).astype(int)
    lower = numpy.take(values, below)
    return lower + (row - below) * (numpy.take(values, below + 1) - lower)


@unit_aware(
    viscosity_40=argument("viscosity", above=0),
    viscosity_100=argument("viscosity", minimum=2.0),
    returns="number",
)
def viscosity_index(viscosity_40: ViscosityLike, viscosity_100: ViscosityLike) -> Any:
    r"""Viscosity index of a fluid: how little it thins between 40 and 100 °C.

    Parameters
    ----------
    viscosity_40 : viscosity, scalar or array
        Kinematic viscosity at 40 °C.
    viscosity_100 : viscosity, scalar or array
        Kinematic viscosity at 100 °C, at least 2 mm²/s: below that the index is not defined.

    Returns
    -------
    float, ndarray or uncertain number
        Not rounded; a report rounds it to a whole number. By procedure B from 100 up, else by procedure A.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read or lies outside its range.

    Notes
    -----
    ASTM D2270. U and Y are the viscosities at 40 and 100 °C, L and H those at 40 °C of oils of index 0 and 100 with the same Y (Table 1
    with linear interpolation up to 70 mm²/s; above that L = 0.8353 Y² + 14.67 Y - 216 and H = 0.1684 Y² + 11.85 Y - 97):

    .. math:: VI_A = 100\,\frac{L - U}{L - H} \quad (U \ge H), \qquad
              VI_B = 100 + \frac{10^N - 1}{0.00715},\; N = \frac{\log H - \log U}{\log Y} \quad (U < H)

    The standard's example of procedure B truncates H from 28.975 to 28.97 on the way and prints 156.37; without that it is 156.42.

    Examples
    --------
    >>> from sumpwise import viscosity_index
    >>> round(viscosity_index("73.30 mm²/s", "8.86 mm²/s"))
    92
    """
    y = viscosity_100
    row = minimum(minimum(10.0 * y - 20.0, 5.0 * y + 80.0), 2.0 * y + 170.0)
    low = where(y <= 70.0, _looked_up(LOW, row), (0.8353 * y + 14.67) * y - 216.0)
    high = where(y <= 70.0, _looked_up(HIGH, row), (0.1684 * y + 11.85) * y - 97.0)
    slope = log(high / viscosity_40) / log(y)
    return where(viscosity_40 < high, 100.0 + (exp(slope * log(10.0)) - 1.0) / 0.00715, 100.0 * (low - viscosity_40) / (low - high))


def _blending_number(viscosity: Any) -> Any:
    return 14.534 * log(log(viscosity + 0.8)) + 10.975


def _blend(mass_fractions: Any, viscosities: Any) -> Any:
    number: Any = sum(share * _blending_number(viscosity) for share, viscosity in zip(mass_fractions, viscosities, strict=True))
    return exp(exp((number - 10.975) / 14.534)) - 0.8


_share, _thickness = argument("fraction"), argument("viscosity", above=0.2)


def blend_viscosity(mass_fractions: Sequence[FractionLike], viscosities: Sequence[ViscosityLike], *, errors: str = "raise") -> Any:
    r"""Kinematic viscosity of a blend of fluids at one temperature.

    This says how thick a blend is, never whether it may be used: see `safe_to_mix`.

    Parameters
    ----------
    mass_fractions : sequence of fractions
        Share of each fluid by mass, adding up to 1; at most 500 fluids.
    viscosities : sequence of viscosities
        Viscosity of each fluid, all at the same temperature, above 0.2 mm²/s. Arrays in the sequence are blended elementwise.
    errors : str
        What to do with bad rows of the arrays: "raise" the first error, "mask" the rows with nan, or "collect" the errors beside the
        answer, as `.answer` and `.problems`. One row is a blend with all its fluids.

    Returns
    -------
    Quantity
        In the unit of the first viscosity.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read, sequences of different lengths, more than 500 fluids, or shares that do not add up to 1.

    Notes
    -----
    Blending numbers (Refutas; R. E. Maples, Petroleum Refinery Process Economics, 2nd ed., 2000), ν in mm²/s and w shares by mass:

    .. math:: VBN = 14.534\,\ln\ln(\nu + 0.8) + 10.975, \qquad VBN_{blend} = \sum w_i\,VBN_i

    Examples
    --------
    >>> from sumpwise import blend_viscosity
    >>> print(f"{blend_viscosity(['60 %', '40 %'], ['5 mm²/s', '20 mm²/s']).m:.3f} mm²/s")
    8.109 mm²/s
    """
    parts, fluids = (
        listed(given, name, "a list with one entry for each fluid", "sequence")
        for given, name in ((mass_fractions, "mass_fractions"), (viscosities, "viscosities"))
    )
    expect_few(parts, "mass_fractions", "fluids")
    if len(parts) != len(fluids) or not fluids:
        raise RangeError(
            f"has {len(parts)} entries, but there are {len(fluids)} viscosities", code="list.length", argument="mass_fractions",
            value=mass_fractions, allowed="one share for each fluid",
        )  # fmt: skip
    given = {f"mass_fractions[{i}]": (_share, share) for i, share in enumerate(parts)}
    given |= {f"viscosities[{i}]": (_thickness, fluid) for i, fluid in enumerate(fluids)}
    count = len(fluids)

    def whole(*values: Any) -> None:
        if not every(abs(sum(values[:count]) - 1.0) < 1e-6):
            raise RangeError(
                "does not add up to 1", code="fraction.sum", argument="mass_fractions", value=mass_fractions,
                hint="divide each mass by the total",
            )  # fmt: skip

    def back(blended: Any, reads: Any, gaps: bool) -> Any:
        return answer(blended, "viscosity", *reads, gaps=gaps)

    return worked_out("blend_viscosity", lambda *values: _blend(values[:count], values[count:]), given, back, errors, judge=whole)


blend_viscosity.kernel = _blend  # type: ignore[attr-defined]


def safe_to_mix(*specifications: str) -> None:
    """Refuse to call a mixture of specifications safe, whatever they are.

    Parameters
    ----------
    *specifications : str
        What the bottles say.

    Raises
    ------
    SumpwiseError
        Always.

    Notes
    -----
    Friction behaviour follows no mixing rule: two fluids of equal viscosity may let a clutch grip or slip, and additives may work against
    each other. Only the vehicle's own service information can allow a fluid.

    Examples
    --------
    >>> from sumpwise import safe_to_mix
    >>> safe_to_mix("specification A", "specification B")
    Traceback (most recent call last):
        ...
    sumpwise.errors.SumpwiseError: specifications: ...
    """
    raise SumpwiseError(
        "no mixture of specifications can be called safe: friction behaviour follows no mixing rule", code="specification.mixture",
        argument="specifications", value=", ".join(s if isinstance(s, str) else shown(s) for s in specifications) or None,
        hint="use the one fluid that the vehicle's service information names",
    )  # fmt: skip
