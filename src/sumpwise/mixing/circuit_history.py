"""What describes a circuit and what was done with it: parameters, operations, the states they lead to."""

from __future__ import annotations

from sumpwise.errors import RangeError
from sumpwise.mixing import compartments
from sumpwise.quantities.boundary import argument

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from typing import Any, Final

    from sumpwise.mixing.compartments import State
    from sumpwise.quantities.boundary import Argument

SLACK = 1e-9
"""Litres by which rounding may overstep a level."""

VOLUME: Final = argument("volume", minimum=0)
TANKS: Final = argument("count", minimum=1, maximum=200, scalar=True)
PARAMETERS: Final[dict[str, Argument]] = {
    "sump": VOLUME,
    "converter": argument("volume", above=0),
    "cooler": argument("volume", above=0),
    "clutches": VOLUME,
    "pockets": VOLUME,
    "sump_floor": VOLUME,
    "bypass": argument("fraction"),
    "clutch_circulation": argument("number", minimum=0),
    "pocket_circulation": argument("number", minimum=0),
    "start": argument("fraction"),
}
"""What describes a circuit, in the order in which its values are kept."""
FLOOR = 5
CIRCULATIONS: Final = {"clutches": "clutch_circulation", "pockets": "pocket_circulation"}
ANSWERS = ("resident", "outlet", "sump", "converter", "cooler", "clutches", "pockets", "sump_volume", "volume", "discharged")


def uncertain(value: Any) -> bool:
    """Whether a value as read is an uncertain number or an array of them."""
    return hasattr(value, "nominal_value") or getattr(getattr(value, "dtype", None), "kind", "") == "O"


def nominal(value: Any) -> Any:
    """A value without its uncertainty."""
    if value.__class__ is float or not uncertain(value):
        return value
    from sumpwise import _uncertain

    return _uncertain.nominals(value)


def litres(volume: Any) -> str:
    """A volume for a message; of an array the smallest."""
    return f"{volume if isinstance(volume, (int, float)) else volume.min():.4g} L"


def constants(values: Any) -> Any:
    """The `Fixed` of compartments.py, from values in the order of `PARAMETERS`."""
    return (*values[1:5], *values[6:9])


def replayed(tanks: tuple[int, int], plan: tuple[str, ...], values: Any) -> Iterator[State]:
    """The states of a history: at the start and after each operation.

    Parameters
    ----------
    tanks : tuple of int
        Tanks of converter and cooler.
    plan : tuple of str
        The operations.
    values : sequence of float or ndarray
        In litres and shares of one: `PARAMETERS`, then the volumes of each operation.
    """
    unchanging = constants(values)
    state = compartments.filled(values[0], 1 - values[9], *tanks)
    yield state
    volumes = iter(values[len(PARAMETERS) :])
    for operation in plan:
        if operation == "drain":
            state = compartments.drain(state, next(volumes))
        elif operation == "pour":
            state = compartments.pour(state, next(volumes))
        elif operation == "pump":
            state = compartments.flow(unchanging, state, next(volumes), next(volumes))
        elif operation == "circulate":
            state = compartments.flow(unchanging, state, next(volumes), closed=True)
        else:
            state = compartments.mix(unchanging, state)
        yield state


def answers(unchanging: Any, state: State) -> tuple[Any, ...]:
    """The plain answers about one state, in the order of `ANSWERS`."""
    sump, s, converter, cooler, h, w, left = state
    volume, old = compartments.inside(unchanging, state)
    shares = old / volume, cooler[-1], s, compartments.mean(converter), compartments.mean(cooler), h, w
    return (*(1 - share for share in shares), sump, volume, left)


def refuse_unlike(values: Iterable[Any], name: str, given: Any) -> None:
    """Refuse arrays that do not fit each other in shape."""
    try:
        sum(0.0 * value for value in values)
    except ValueError:
        raise RangeError("does not fit the others in shape", argument=name, value=given, hint="arrays of one length") from None
