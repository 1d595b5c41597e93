"""Heat and the life of fluid: a rule of thumb, always marked as one."""

from __future__ import annotations

from sumpwise._math import maximum
from sumpwise._record import Record
from sumpwise.ageing.rates import NOTE
from sumpwise.errors import RangeError
from sumpwise.quantities.boundary import argument, unit_aware

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from typing import Any

    from sumpwise.accepted import IntervalLike, TemperatureLike


class HeatAge(Record):
    """An `age` in equivalent time at the reference temperature, and a caution in `note`."""

    age: Any
    note: str


RULE = f"rule of thumb: fluid life is halved for every so many degrees of heat; an estimate of wear, not a measurement; {NOTE}"


@unit_aware(
    temperature=argument("temperature"),
    reference=argument("temperature"),
    halving=argument("interval", above=0),
    returns="number",
)
def heat_factor(temperature: TemperatureLike, reference: TemperatureLike = "80 °C", halving: IntervalLike = "11 Δ°C") -> Any:
    """How many times faster fluid ages at a temperature than at the reference: a rule of thumb.

    Parameters
    ----------
    temperature : temperature, scalar or array
        Running temperature of the fluid.
    reference : temperature, scalar or array
        Temperature above which the rule applies; cooler fluid ages at the reference rate, not more slowly.
    halving : temperature interval, scalar or array
        Rise in temperature that halves the life.

    Returns
    -------
    float, ndarray or uncertain number
        1 or more.

    Raises
    ------
    SumpwiseError
        For an interval that is not positive.

    Notes
    -----
    2 to the power max(t - t₀, 0)/h. Workshop charts halve the life for every 20 °F (11 °C) above about 175 °F (80 °C) and name no test
    behind it: common practice, not a law of oxidation. Percent fresh is never percent of life left.

    Examples
    --------
    >>> from sumpwise import heat_factor
    >>> heat_factor("102 °C")
    4.0
    """
    return 2 ** (maximum(temperature - reference, 0.0) / halving)


def clock(course: Sequence[Any], reference: Any, halving: Any, read: Callable[[Any, str], float]) -> Callable[[Any], Any]:
    """A clock that heat speeds up, for a list of (moment, temperature) pairs: what it shows at a moment; `read` makes a number of one.

    It starts at the first moment and shows less than nothing before it; each temperature holds from its moment on, the first one always.
    """
    moments: list[float] = []
    factors: list[float] = []
    for number, pair in enumerate(course):
        place = f"temperature[{number}]"
        if not isinstance(pair, (tuple, list)) or len(pair) != 2:
            raise RangeError("is not a pair (moment, temperature)", code="list.entry", argument=place, value=pair)
        factor = heat_factor(pair[1], reference, halving)
        if not isinstance(factor, float):
            raise RangeError(
                "must be one temperature without an uncertainty", code="uncertainty.unexpected", argument=place, value=pair[1],
                hint="multiply the age by heat_factor instead",
            )  # fmt: skip
        moment = read(pair[0], place)
        if moments and moment <= moments[-1]:
            raise RangeError("is earlier than the moment before it; moments must ascend", code="list.order", argument=place, value=pair[0])
        moments.append(moment)
        factors.append(factor)
    if not moments:
        raise RangeError("is an empty list", code="list.empty", argument="temperature", value=course)

    def shown(moment: Any) -> Any:
        total = (moment - moments[0]) * factors[0]
        for begin, slower, faster in zip(moments[1:], factors, factors[1:], strict=False):
            total = total + maximum(moment - begin, 0.0) * (faster - slower)
        return total

    return shown
