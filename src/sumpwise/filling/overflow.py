"""Units without a dipstick: fluid runs out of an overflow plug until the level is right, within a temperature window."""

from __future__ import annotations

from typing import Any

from sumpwise import uncertainty
from sumpwise.errors import RangeError
from sumpwise.filling.level import ALUMINIUM, CASE, FILL, off_target
from sumpwise.fluid.density import ONE_DENSITY, ONE_TEMPERATURE, TEMPERATURE
from sumpwise.quantities.boundary import answer, argument, evaluate, worked_out
from sumpwise.quantities.telling import limit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.accepted import DensityLike, HeatingRateLike, NumberLike, SpanLike, TemperatureLike, VolumeLike

_RATE = argument("heating rate", above=0, scalar=True)


def _left_over(temperature: Any, fill: Any, density_15: Any, middle: Any, case: Any) -> Any:
    return off_target(0.0, temperature, 1.0, 1.0, fill, density_15, middle, case, -0.5)


def _until(temperature: Any, rate: Any, edge: Any) -> Any:
    return (edge - temperature) / rate


class OverflowPlug:
    """A level set by an overflow plug that is closed while fluid still trickles out, within a temperature window.

    Parameters
    ----------
    fill : volume
        All the fluid in the unit when correctly filled, at 20 °C.
    density_15 : density
        Density of the fluid at 15 °C.
    window : span of temperatures
        Temperatures at which the maker wants the plug closed, such as "40-45 °C".
    case_expansion : number
        Linear expansion of the case per °C; the default of 23e-6 for aluminium is an assumption that a sheet prints.

    Raises
    ------
    SumpwiseError
        For an argument that cannot be read or lies outside its range.

    Notes
    -----
    With the plug closed at t, the fill F g(m)(1 + 3a(t - m))/g(t) stays in, with g the expansion of the fluid from 20 °C (API MPMS 11.1,
    see `volume_correction_factor`), m the middle of the window and a the case's expansion. Above m too much has run out: closed late, the
    level is low; closed early, it is high.

    Examples
    --------
    >>> from sumpwise import OverflowPlug
    >>> plug = OverflowPlug("7.0 L", "850 kg/m³", "40-45 °C")
    >>> print(f"{plug.error('55 °C').m:.2f} L, {plug.time_left('41 °C', '2 °C/min').m:.0f} min left")
    -0.06 L, 2 min left
    """

    __slots__ = ("_asked", "_edges", "_held")

    def __init__(self, fill: VolumeLike, density_15: DensityLike, window: SpanLike, case_expansion: NumberLike = ALUMINIUM) -> None:
        self._edges = tuple(end.value for end in ONE_TEMPERATURE.read_span(window, "window"))
        middle = (self._edges[0] + self._edges[1]) / 2.0
        self._asked = FILL.read(fill, "fill")
        self._held = [
            self._asked.value, ONE_DENSITY.value(density_15, "density_15"), middle, CASE.value(case_expansion, "case_expansion"),
        ]  # fmt: skip

    def error(self, closed_at: TemperatureLike, *, errors: str = "raise") -> Any:
        """How far off the correct fill the unit is, as a volume at 20 °C, if the plug was closed at a temperature.

        Parameters
        ----------
        closed_at : temperature, scalar or array
            Temperature of the fluid when the plug was closed on the last trickle.
        errors : str
            What to do with bad rows of an array or a list: "raise" the first error, "mask" the rows with nan, or "collect" the errors
            beside the answer, as `.answer` and `.problems`: row, code and error of each.

        Returns
        -------
        Quantity
            In the unit of the fill; negative if closed late, positive if closed early.

        Raises
        ------
        SumpwiseError
            For an argument that cannot be read or lies outside its range.
        """
        return worked_out(
            "OverflowPlug.error", _left_over, {"closed_at": (TEMPERATURE, closed_at)},
            lambda off, reads, gaps: answer(off, "volume", self._asked, gaps=gaps), errors, held=self._held,
        )  # fmt: skip

    def time_left(self, temperature: TemperatureLike, heating_rate: HeatingRateLike) -> Any:
        """Time left until the fluid is too hot for the window.

        Parameters
        ----------
        temperature : temperature
            Temperature of the fluid now, below the window or in it.
        heating_rate : heating rate
            How fast the idling engine warms it.

        Returns
        -------
        Quantity
            In minutes.

        Raises
        ------
        SumpwiseError
            For an argument that cannot be read, or if the fluid is already hotter than the window.
        """
        now, end = ONE_TEMPERATURE.value(temperature, "temperature"), uncertainty.nominal(self._edges[1])
        if not uncertainty.nominal(now) <= end:
            raise RangeError(
                "is above the window", code="level.past_window", argument="temperature", value=temperature,
                allowed=limit("at most", end, "temperature", temperature), limits=(None, end, "°C"),
                hint="let it cool and start again: a plug closed now leaves too little fluid",
            )  # fmt: skip
        return answer(evaluate(_until, [now, _RATE.value(heating_rate, "heating_rate"), self._edges[1]], (False,)), "time")

    def __repr__(self) -> str:
        lower, upper = (uncertainty.nominal(edge) for edge in self._edges)
        return f"OverflowPlug({self._asked.given!r}, window {lower:g} to {upper:g} °C)"
