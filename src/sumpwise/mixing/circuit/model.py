"""A circuit of compartments: how fresh the inside is, and what the open return line shows meanwhile."""

from __future__ import annotations

from sumpwise._math import every, maximum, minimum
from sumpwise.errors import RangeError
from sumpwise.mixing.circuit.compartments import CIRCULATIONS, TANKS_ON_THE_WAY, VOLUME, Compartments
from sumpwise.mixing.circuit.history import (
    CIRCULATE,
    DRAIN,
    MIX,
    POUR,
    PUMP,
    History,
    Operation,
    after,
    draws_air_below,
    nominal,
    raised,
    uncertain,
)
from sumpwise.mixing.circuit.state import KINDS, Parameters, Stage, answers
from sumpwise.quantities.boundary import answer
from sumpwise.quantities.magnitudes import own_memory
from sumpwise.quantities.reading import Read, asked
from sumpwise.quantities.telling import in_unit, limit, unit_given

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from sumpwise.accepted import VolumeLike
    from sumpwise.mixing.circuit.sensitivity import Told
    from sumpwise.mixing.circuit.state import State

SLACK = 1e-9
"""How far, in litres, rounding may go past a level."""


def litres(volume: Any) -> str:
    """A volume for a message; for an array, the smallest."""
    return f"{_least(volume):.4g} L"


def _least(volume: Any) -> float:
    return float(volume if isinstance(volume, (int, float)) else volume.min())


class Circuit(Compartments):  # noqa: D101
    __doc__ = Compartments.__doc__
    __slots__ = ("_built", "_home", "_known", "_path", "_told", "history")

    _built: Parameters
    _home: Read
    _known: dict[str, Any]
    _path: tuple[Stage, ...]
    _told: Told | None
    history: History

    def _begin(self, given: dict[str, Any]) -> None:
        values = [given[name] for name in KINDS._fields]
        reads = [kind.read(value, name) for value, kind, name in zip(values, KINDS, KINDS._fields, strict=True)]
        read = Parameters(*(own_memory(one.value) for one in reads))
        best = Parameters(*map(nominal, read))
        tanks = tuple(tanks.kind.value(given[tanks.name], tanks.name) for tanks in TANKS_ON_THE_WAY)
        refuse_unlike(best, "circuit", values)
        for compartment, circulation in CIRCULATIONS.items():
            if not every((getattr(best, compartment) > 0) | (getattr(best, circulation) == 0)):
                raise RangeError(
                    "circulates through a compartment whose volume is zero", code="circuit.empty_compartment", argument=circulation,
                    value=getattr(best, circulation), hint=f"give the volume of the {compartment}",
                )  # fmt: skip
        self.history = History(read, tanks)
        self._home = Read(None, *asked(reads, "volume"))
        self._built = best
        self._path = (Stage(History(best, tanks).start()),)
        self._known = {}
        self._told = None

    def drain(self, volume: VolumeLike) -> Circuit:
        """Drain the sump with the engine off; what leaves is as fresh as the sump.

        Parameters
        ----------
        volume : volume, scalar or array
            What comes out at the drain plug or with the pan.

        Returns
        -------
        Circuit
            The circuit after draining.

        Raises
        ------
        SumpwiseError
            If it is more than the sump holds.

        Examples
        --------
        >>> from sumpwise import Circuit
        >>> Circuit("3.9 L", "2.4 L", "0.6 L").drain("3.6 L").sump_volume.m_as("L")
        0.3
        """
        return self._after(Operation(DRAIN, self._read(volume, "volume")), volume)

    def pour(self, volume: VolumeLike) -> Circuit:
        """Pour new fluid into the sump, where it mixes at once.

        Parameters
        ----------
        volume : volume, scalar or array
            New fluid.

        Returns
        -------
        Circuit
            The circuit after pouring.

        Raises
        ------
        SumpwiseError
            If it is not a volume.

        Examples
        --------
        >>> from sumpwise import Circuit
        >>> Circuit("3 L", "2 L", "1 L").pour("1 L").sump_fresh
        0.25
        """
        return self._after(Operation(POUR, self._read(volume, "volume")))

    def pump(self, volume: VolumeLike, poured: VolumeLike = 0) -> Circuit:
        """Pump fluid out of the open return line: a burst.

        Parameters
        ----------
        volume : volume, scalar or array
            What the pump delivers.
        poured : volume, scalar or array, optional
            New fluid that runs in evenly meanwhile.

        Returns
        -------
        Circuit
            The circuit after the burst; `outlet` is what the line shows at the end.

        Raises
        ------
        SumpwiseError
            If the sump falls below its floor or runs empty, so that the pump would draw air; or if fluid is poured while none is pumped.

        Notes
        -----
        See `sumpwise.mixing.circuit.flow` for the equations and how they are solved.

        Examples
        --------
        >>> from sumpwise import Circuit
        >>> matched = Circuit("3 L", "2 L", "1 L").pump("3 L", poured="3 L")
        >>> round(matched.sump_fresh, 4), round(matched.outlet, 4)
        (0.6321, 0.1982)
        """
        read, added = self._read(volume, "volume"), self._read(poured, "poured")
        if not every((nominal(read) > 0) | (nominal(added) == 0)):
            raise RangeError(
                "is poured while nothing is pumped", code="circuit.pour_alone", argument="poured", value=poured, hint="use pour()"
            )
        return self._after(Operation(PUMP, read, added), volume)

    def circulate(self, volume: VolumeLike) -> Circuit:
        """Pump fluid round with the return line closed: idling, or a drive.

        Parameters
        ----------
        volume : volume, scalar or array
            What the pump delivers.

        Returns
        -------
        Circuit
            The circuit afterwards: equally fresh as a whole, but more mixed.

        Raises
        ------
        SumpwiseError
            If the sump is below its floor.

        Examples
        --------
        >>> from sumpwise import Circuit
        >>> driven = Circuit("3 L", "2 L", "1 L").pour("1 L").circulate("40 L")
        >>> round(driven.sump_fresh, 3), round(driven.outlet, 3)
        (0.143, 0.143)
        """
        return self._after(Operation(CIRCULATE, self._read(volume, "volume")), volume)

    def mix(self) -> Circuit:
        """Mix everything with everything: the ideal end of a long drive.

        Returns
        -------
        Circuit
            The circuit with every compartment at the mean.

        Raises
        ------
        SumpwiseError
            If the sump is below its floor.

        Examples
        --------
        >>> from sumpwise import Circuit
        >>> Circuit("3 L", "2 L", "1 L").pour("1 L").mix().pockets_fresh
        0.1429
        """
        return self._after(Operation(MIX))

    # -- answers

    @property
    def resident(self) -> Any:
        """Fresh fraction of all the fluid inside."""
        return self._answer("resident")

    @property
    def outlet(self) -> Any:
        """Fresh fraction at the end of the return line."""
        return self._answer("outlet")

    @property
    def sump_fresh(self) -> Any:
        """Fresh fraction of the sump."""
        return self._answer("sump_fresh")

    @property
    def sump_volume(self) -> Any:
        """Fluid in the sump."""
        return answer(self._answer("sump_volume"), "volume", self._home)

    @property
    def volume(self) -> Any:
        """All the fluid inside."""
        return answer(self._answer("volume"), "volume", self._home)

    @property
    def discharged(self) -> Any:
        """The fresh volume that has left."""
        return answer(self._answer("discharged"), "volume", self._home)

    def __repr__(self) -> str:
        count = len(self.history.operations)
        done = f"{count} operation" if count == 1 else f"{count} operations"
        shape = next((value.shape for value in self.history.values if getattr(value, "ndim", 0)), None)
        if shape:
            return f"<Circuit: array of {' × '.join(map(str, shape))} circuits after {done}>"
        now = answers(self._built, self._state)
        inside, outlet = (maximum(share, 0.0) for share in (now.resident, now.outlet))
        return (
            f"<Circuit: {inside:.1%} fresh inside, outlet {outlet:.1%}, "
            f"sump {litres(now.sump_volume)}, after {done}>"
        )

    # -- internals

    def _read(self, volume: Any, name: str) -> Any:
        """Read a volume whose shape fits the circuit."""
        read = VOLUME.value(volume, name)
        if read.__class__ is float:  # a single one fits any circuit
            return read
        read = own_memory(read)
        refuse_unlike((*self._built, self._state.sump_volume, self._state.sump, nominal(read)), name, volume)
        return read

    def _after(self, operation: Operation, given: Any = None) -> Circuit:
        plain = Operation(operation.kind, *map(nominal, operation[1:]))
        level_after(plain, self._state.sump_volume, self._built.sump_floor, given)
        following = object.__new__(type(self))
        following.history = self.history.then(operation)
        following._home = self._home
        following._built = self._built
        following._path = (*self._path, Stage(after(self._built, self._state, plain)))
        following._known = {}
        following._told = None
        return following

    @property
    def _state(self) -> State:
        return self._path[-1].state

    def _answer(self, name: str) -> Any:
        if name not in self._known:
            if any(map(uncertain, self.history.values)):
                from sumpwise.mixing.circuit.sensitivity import Told

                if self._told is None:
                    self._told = Told(self.history, self._built, self._path)
                self._known[name] = self._told.answer(name)
            else:
                self._known[name] = maximum(getattr(answers(self._built, self._state), name), 0.0)
        return own_memory(self._known[name])


def level_after(operation: Operation, level: Any, floor: Any, given: Any) -> Any:
    """What the sump holds after an operation, in plain numbers; `given` is its volume as it was given.

    Raises
    ------
    RangeError
        If the sump holds less than is drained, or the pump would draw air.
    """
    end = level + raised(operation)
    if operation.kind == DRAIN and not every(operation.volume <= level + SLACK):
        raise RangeError(
            "is more than the sump holds", code="sump.holds_less", argument="volume", value=given,
            allowed=limit("at most", _least(level), "volume", given), limits=(0.0, _least(level), "L"),
        )  # fmt: skip
    low = minimum(end, level)
    if draws_air_below(operation) and not every((low >= floor - SLACK) & (low > SLACK)):
        unit = unit_given(given, "volume")
        raise RangeError(
            f"takes the sump down to {in_unit(_least(low), unit)}, where the pump draws air", code="pump.draws_air", argument="volume",
            value=given, allowed=f"a sump above {in_unit(0.0, unit)} and no lower than its floor of {in_unit(_least(floor), unit)}",
            hint="pour first, or pump less at a time",
            limits=(max(_least(floor), 0.0), None, "L"),
        )  # fmt: skip
    return end


def refuse_unlike(values: Any, name: str, given: Any) -> None:
    """Refuse arrays that do not have the same shape."""
    try:
        sum(0.0 * value for value in values)
    except ValueError:
        raise RangeError(
            "does not have the same shape as the others", code="list.length", argument=name, value=given, hint="arrays of one length"
        ) from None
