"""The parameters of a circuit, and the fluid in its compartments: plain records in litres and shares of one.

Their fields follow from the rows of `compartments`.
"""

from __future__ import annotations

from collections import namedtuple

from sumpwise.mixing.circuit.compartments import AT_THE_SIDE, COMPARTMENTS, FLOWS, NAMES, ON_THE_WAY, SHARE, VOLUME

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from typing import Any, Final, Self

    class Named(tuple[Any, ...]):
        """A named tuple whose fields follow from the rows."""

        _fields: tuple[str, ...]

        def __new__(cls, *values: Any, **named: Any) -> Self: ...  # noqa: D102

        def __getattr__(self, name: str) -> Any: ...

        def _replace(self, **changed: Any) -> Self: ...

        def _asdict(self) -> dict[str, Any]: ...

        @classmethod
        def _make(cls, values: Iterable[Any]) -> Self: ...

    class _Parameters(Named): ...

    class _State(Named): ...

    class Answers(Named):
        """The answers for a state: see below."""

    class Rates(Named):
        """Turnovers of one tank of each compartment per litre pumped."""

else:
    _optional = len(NAMES) + len(FLOWS)
    _Parameters = namedtuple("_Parameters", ("sump", *NAMES, "sump_floor", *FLOWS, "start"), defaults=(0.0,) * _optional)
    _State = namedtuple("_State", ("sump_volume", "sump", *NAMES, "discharged"))
    Answers = namedtuple(
        "Answers", ("resident", "outlet", "sump_fresh", *(f"{name}_fresh" for name in NAMES), "sump_volume", "volume", "discharged")
    )
    Rates = namedtuple("Rates", NAMES)
    Rates.__doc__ = "Turnovers of one tank of each compartment per litre pumped."
    Answers.__doc__ = "The answers for a state: fresh fractions, then volumes in litres."

_WAY, _SIDES = len(ON_THE_WAY), len(AT_THE_SIDE)
_FIELDS = _Parameters._fields
WAY = tuple((_FIELDS.index(one.volume.name), _FIELDS.index(one.flow.name) if one.flow else None) for one in ON_THE_WAY)
"""For each compartment on the way, the places of its volume and its bypass in `Parameters`; in a `State` its tanks stand one further."""
SIDES = tuple((_FIELDS.index(one.volume.name), _FIELDS.index(one.flow.name)) for one in AT_THE_SIDE if one.flow)
"""For each compartment at the side, those of its volume and of its circulation."""


class Parameters(_Parameters):
    """The parameters of a circuit.

    Volumes of the compartments and the sump volume at which the pump draws air, in litres; the shares of the flow that bypass a
    compartment; volumes exchanged with the sump per volume pumped; the fresh fraction at the start.
    """

    __slots__ = ()

    @property
    def volumes(self) -> tuple[Any, ...]:
        """Volumes of the compartments."""
        return self[1 : 1 + _WAY + _SIDES]

    @property
    def way(self) -> tuple[Any, ...]:
        """Volumes of the compartments on the way."""
        return self[1 : 1 + _WAY]

    @property
    def bypasses(self) -> list[Any]:
        """For each of them, the share of the flow that bypasses it; None where nothing does."""
        return [None if bypass is None else self[bypass] for _, bypass in WAY]

    @property
    def sides(self) -> tuple[Any, ...]:
        """Volumes of the compartments at the side."""
        return self[1 + _WAY : 1 + _WAY + _SIDES]

    @property
    def circulations(self) -> tuple[Any, ...]:
        """What each of them exchanges with the sump per volume pumped."""
        return self[-1 - _SIDES : -1]


class State(_State):
    """The fluid in the compartments.

    The sump's volume; the **old** fractions of the sump, of the tanks of each compartment on the way (lists in the order of flow) and of
    each compartment at the side; the fresh volume that has left. Old fractions are carried because new fluid adds nothing to them.
    """

    __slots__ = ()

    @property
    def way(self) -> tuple[list[Any], ...]:
        """The tanks of each compartment on the way."""
        return self[2 : 2 + _WAY]

    @property
    def outlet(self) -> Any:
        """The last tank on the way, which the return line comes from."""
        return self[1 + _WAY][-1]

    @property
    def sides(self) -> tuple[Any, ...]:
        """Each compartment at the side."""
        return self[2 + _WAY : -1]


KINDS: Final = Parameters(
    sump=VOLUME, **{one.volume.name: one.volume.kind for one in COMPARTMENTS}, sump_floor=VOLUME,
    **{name: flow.kind for name, flow in FLOWS.items()}, start=SHARE,
)  # fmt: skip
"""What each parameter may be."""
VOLUMES = ("sump_volume", "volume", "discharged")
"""The entries of `Answers` that are volumes."""


class Stage:
    """One state in the course of a circuit.

    Attributes
    ----------
    state : State
        In plain numbers.
    slopes : ndarray or None
        Its derivatives by the uncertain values, once they are needed.
    by_state : ndarray or None
        Its derivatives by the state before it, likewise.
    missed : ndarray or None
        The error of the linear answer if an input is one standard uncertainty above or below its best value, once that is needed.
    """

    __slots__ = ("by_state", "missed", "slopes", "state")

    def __init__(self, state: State) -> None:
        self.state = state
        self.slopes: Any = None
        self.by_state: Any = None
        self.missed: Any = None


def filled(sump_volume: Any, old: Any, tanks: Iterable[int], discharged: Any = 0.0) -> State:
    """The state in which every compartment holds the same mixture, each on the way in so many tanks."""
    return State(sump_volume, old, *([old] * count for count in tanks), *(old,) * _SIDES, discharged)


def mean(tanks: Sequence[Any]) -> Any:
    """The mean over equal tanks."""
    return tanks[0] if len(tanks) == 1 else sum(tanks) / len(tanks)


def present(built: Parameters, state: State) -> tuple[Any, Any]:
    """The volume inside, and the old volume in it."""
    volume, old = state.sump_volume, state.sump_volume * state.sump
    for held, share in zip(built.volumes, (*map(mean, state.way), *state.sides), strict=True):
        volume = volume + held
        old = old + held * share
    return volume, old


def resident(built: Parameters, state: State) -> Any:
    """Fresh fraction of all the fluid inside."""
    volume, old = present(built, state)
    return 1 - old / volume


def answers(built: Parameters, state: State) -> Answers:
    """All answers for a state."""
    volume, old = present(built, state)
    shares = (state.outlet, state.sump, *map(mean, state.way), *state.sides)
    return Answers(1 - old / volume, *(1 - share for share in shares), state.sump_volume, volume, state.discharged)


def each(change: Any, *states: State) -> State:
    """One state from several, entry by entry."""
    volume, sump, *parts = zip(*states, strict=True)
    way = [[change(*tank) for tank in zip(*tanks, strict=True)] for tanks in parts[:_WAY]]
    return State(change(*volume), change(*sump), *way, *(change(*part) for part in parts[_WAY:]))
