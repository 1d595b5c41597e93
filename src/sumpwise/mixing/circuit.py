"""A circuit of compartments: what is fresh inside, and what the open return line shows meanwhile."""

from __future__ import annotations

from sumpwise._math import every, maximum, minimum
from sumpwise.errors import RangeError
from sumpwise.mixing import compartments
from sumpwise.quantities.boundary import answer, argument, evaluate

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator
    from typing import Any, Final

    from sumpwise.mixing.compartments import Fixed, State
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


class Circuit:
    """The fluid of a gearbox in its compartments; every operation returns a new circuit.

    Parameters
    ----------
    sump : volume
        What the sump holds at the start; what can drain with the engine off belongs to it.
    converter, cooler : volume
        Torque converter; cooler with its lines. Greater than zero.
    clutches, pockets : volume, optional
        Clutch circuits, and pockets that hardly exchange.
    sump_floor : volume, optional
        Sump volume below which the pump draws air.
    converter_tanks, cooler_tanks : int, optional
        Equal tanks in series that stand for each, 1 to 200.
    bypass : fraction, optional
        Share of the pumped flow that passes the converter by.
    clutch_circulation, pocket_circulation : float, optional
        Volume exchanged with the sump per volume pumped.
    start : fraction, optional
        Fresh fraction at the start, the same everywhere.

    Attributes
    ----------
    resident : float, ndarray or uncertain number
        Fresh fraction of all fluid present: what counts.
    outlet : float, ndarray or uncertain number
        Fresh fraction at the end of the return line: what the hose shows.
    sump, converter, cooler, clutches, pockets : float, ndarray or uncertain number
        Fresh fraction of each compartment.
    sump_volume, volume, discharged : Quantity
        Fluid in the sump; all fluid present; the **fresh** volume that has left, so that fresh inside and discharged add up to
        what was poured and what was fresh at the start.

    Raises
    ------
    SumpwiseError
        A value without unit or out of range; circulation without its compartment.

    Notes
    -----
    Compartments are ideally stirred tanks, the return line ends in the last of the cooler's. The equations stand in
    `sumpwise.mixing.compartments.flow`; tanks in series are those of Levenspiel, Chemical Reaction Engineering, 3rd ed., ch. 14. All
    volumes are meant at one temperature (the library's reference is 20 °C: see `volume_at`).

    Parameters and volumes may be arrays, one element a circuit. The nominal state is computed at once; where a value is uncertain, an
    answer replays the history with each uncertain value moved, the way every function here carries uncertainty.

    Examples
    --------
    >>> from sumpwise import Circuit
    >>> wagon = Circuit(
    ...     "3.73 L", "2.45 L", "0.62 L", clutches="0.83 L", pockets="1.05 L", sump_floor="1.6 L",
    ...     bypass=0.35, clutch_circulation=0.25, pocket_circulation=0.017,
    ... )
    >>> now = wagon.drain("3.646 L").pour("3.71 L")
    >>> print(f"{now.resident:.1%} fresh inside")
    42.4% fresh inside
    >>> for _ in range(6):
    ...     burst = now.pump("1.25 L")
    ...     now = burst.pour("1.25 L")
    >>> print(f"{now.resident:.1%} fresh inside, the hose showed {burst.outlet:.1%}; the sump holds {now.sump_volume:.2f}")
    77.9% fresh inside, the hose showed 82.0%; the sump holds 3.79 liter
    """

    __slots__ = ("_answers", "_askers", "_fixed", "_floor", "_plan", "_state", "_tanks", "_values")

    _answers: dict[str, Any]
    _askers: tuple[Any, ...]
    _fixed: Fixed
    _floor: Any
    _plan: tuple[str, ...]
    _state: State
    _tanks: tuple[int, int]
    _values: tuple[Any, ...]

    def __init__(
        self, sump: Any, converter: Any, cooler: Any, clutches: Any = 0, pockets: Any = 0, sump_floor: Any = 0,
        converter_tanks: int = 1, cooler_tanks: int = 4, bypass: Any = 0, clutch_circulation: Any = 0,
        pocket_circulation: Any = 0, start: Any = 0,
    ) -> None:  # fmt: skip
        given = (sump, converter, cooler, clutches, pockets, sump_floor, bypass, clutch_circulation, pocket_circulation, start)
        values = tuple(kind.read(value, name) for value, (name, kind) in zip(given, PARAMETERS.items(), strict=True))
        self._tanks = TANKS.read(converter_tanks, "converter_tanks"), TANKS.read(cooler_tanks, "cooler_tanks")
        self._values = values
        best = [nominal(value) for value in values]
        named = dict(zip(PARAMETERS, best, strict=True))
        for compartment, circulation in CIRCULATIONS.items():
            if not every((named[compartment] > 0) | (named[circulation] == 0)):
                raise RangeError(
                    "circulates through a compartment of no volume", argument=circulation, value=named[circulation],
                    hint=f"give the volume of the {compartment}",
                )  # fmt: skip
        self._askers = given[:6]
        self._fixed = constants(best)
        self._floor = best[FLOOR]
        self._plan = ()
        self._state = compartments.filled(best[0], 1 - best[9], *self._tanks)
        self._answers = {}

    def drain(self, volume: Any) -> Circuit:
        """Let `volume` out of the sump, engine off; it is as fresh as the sump.

        Raises
        ------
        RangeError
            When it is more than the sump holds.
        """
        read = VOLUME.read(volume, "volume")
        taken, held = nominal(read), self._state[0]
        if not every(taken <= held + SLACK):
            raise RangeError("is more than the sump holds", argument="volume", value=volume, allowed=f"at most {litres(held)}")
        return self._after("drain", compartments.drain(self._state, taken), read)

    def pour(self, volume: Any) -> Circuit:
        """Pour `volume` of new fluid into the sump, where it mixes at once."""
        read = VOLUME.read(volume, "volume")
        return self._after("pour", compartments.pour(self._state, nominal(read)), read)

    def pump(self, volume: Any, poured: Any = 0) -> Circuit:
        """Pump `volume` out of the open return line while `poured` runs in, evenly spread.

        Raises
        ------
        RangeError
            When the sump falls below its floor, or empties: the pump would draw air.
        """
        read, added = VOLUME.read(volume, "volume"), VOLUME.read(poured, "poured")
        out, into = nominal(read), nominal(added)
        if not every((out > 0) | (into == 0)):
            raise RangeError("is poured while nothing is pumped", argument="poured", value=poured, hint="use pour()")
        held = self._state[0]
        self._refuse_air(held - out + into, volume)
        return self._after("pump", self._flow(out, into, False), read, added)

    def circulate(self, volume: Any) -> Circuit:
        """Pump `volume` round with the return line closed: a drive, or idling."""
        read = VOLUME.read(volume, "volume")
        self._refuse_air(self._state[0], volume)
        return self._after("circulate", self._flow(nominal(read), 0.0, True), read)

    def mix(self) -> Circuit:
        """Mix everything with everything: the ideal end of a long drive."""
        self._refuse_air(self._state[0], None)
        return self._after("mix", compartments.mix(self._fixed, self._state))

    # -- answers

    @property
    def resident(self) -> Any:
        """Fresh fraction of all fluid present."""
        return self._answer("resident")

    @property
    def outlet(self) -> Any:
        """Fresh fraction at the end of the return line."""
        return self._answer("outlet")

    @property
    def sump(self) -> Any:
        """Fresh fraction of the sump."""
        return self._answer("sump")

    @property
    def converter(self) -> Any:
        """Fresh fraction of the converter, the mean over its tanks."""
        return self._answer("converter")

    @property
    def cooler(self) -> Any:
        """Fresh fraction of cooler and lines, the mean over their tanks."""
        return self._answer("cooler")

    @property
    def clutches(self) -> Any:
        """Fresh fraction of the clutch circuits."""
        return self._answer("clutches")

    @property
    def pockets(self) -> Any:
        """Fresh fraction of the pockets."""
        return self._answer("pockets")

    @property
    def sump_volume(self) -> Any:
        """Fluid in the sump."""
        return answer(self._answer("sump_volume"), "volume", *self._askers)

    @property
    def volume(self) -> Any:
        """All fluid present."""
        return answer(self._answer("volume"), "volume", *self._askers)

    @property
    def discharged(self) -> Any:
        """The fresh volume that has left."""
        return answer(self._answer("discharged"), "volume", *self._askers)

    def __repr__(self) -> str:
        shape = next((value.shape for value in self._values if getattr(value, "ndim", 0)), None)
        if shape:
            return f"<Circuit: array of {' × '.join(map(str, shape))} circuits after {len(self._plan)} operations>"
        values = dict(zip(ANSWERS, answers(self._fixed, self._state), strict=True))
        return (
            f"<Circuit: {values['resident']:.1%} fresh inside, outlet {values['outlet']:.1%}, "
            f"sump {litres(values['sump_volume'])}, after {len(self._plan)} operations>"
        )

    # -- how it is done

    def _flow(self, volume: Any, poured: Any, closed: bool) -> State:
        try:
            return compartments.flow(self._fixed, self._state, volume, poured, closed)
        except OverflowError as error:
            raise RangeError(str(error), argument="volume", value=volume) from None

    def _refuse_air(self, end: Any, volume: Any) -> None:
        floor = self._floor
        low = minimum(end, self._state[0])
        if not every((low >= floor - SLACK) & (low > SLACK)):
            raise RangeError(
                f"takes the sump to {litres(low)}, and the pump draws air", argument="volume", value=volume,
                allowed=f"a sump above 0 L and not below its floor of {litres(floor)}", hint="pour first, or pump less at a time",
            )  # fmt: skip

    def _after(self, operation: str, state: State, *volumes: Any) -> Circuit:
        following = object.__new__(type(self))
        following._tanks = self._tanks
        following._askers = self._askers
        following._fixed = self._fixed
        following._floor = self._floor
        following._values = self._values + volumes
        following._plan = (*self._plan, operation)
        following._state = state
        following._answers = {}
        return following

    def _answer(self, name: str) -> Any:
        known = self._answers
        if not known:
            if any(uncertain(value) for value in self._values):
                tanks, plan = self._tanks, self._plan

                def replay(*values: Any) -> tuple[Any, ...]:
                    for state in replayed(tanks, plan, values):
                        last = state
                    shape = sum(0.0 * value for value in values if getattr(value, "ndim", 0))
                    return tuple(one + shape for one in answers(constants(values), last))

                found = evaluate(replay, list(self._values), tuple(name not in ANSWERS[7:] for name in ANSWERS))
            else:
                found = [maximum(value, 0.0) for value in answers(self._fixed, self._state)]
            known.update(zip(ANSWERS, found, strict=True))
        return known[name]


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
