"""The parameters of a circuit, and the fluid in its compartments: plain records in litres and shares of one."""

from __future__ import annotations

from collections import namedtuple

from sumpwise.quantities.boundary import argument

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, Final, NamedTuple

    class Parameters(NamedTuple):
        """The parameters of a circuit: see below."""

        sump: Any
        converter: Any
        cooler: Any
        clutches: Any
        pockets: Any
        sump_floor: Any
        bypass: Any
        clutch_circulation: Any
        pocket_circulation: Any
        start: Any

    class State(NamedTuple):
        """The fluid in the compartments: see below."""

        sump_volume: Any
        sump: Any
        converter: list[Any]
        cooler: list[Any]
        clutches: Any
        pockets: Any
        discharged: Any

    class Answers(NamedTuple):
        """The answers for a state: see below."""

        resident: Any
        outlet: Any
        sump_fresh: Any
        converter_fresh: Any
        cooler_fresh: Any
        clutches_fresh: Any
        pockets_fresh: Any
        sump_volume: Any
        volume: Any
        discharged: Any

else:
    Parameters = namedtuple(
        "Parameters",
        "sump converter cooler clutches pockets sump_floor bypass clutch_circulation pocket_circulation start",
    )
    Parameters.__doc__ = """The parameters of a circuit.

    Volumes of the compartments and the sump volume at which the pump draws air, in litres; the share of the flow that bypasses the
    converter; volumes exchanged with the sump per volume pumped; the fresh fraction at the start.
    """
    State = namedtuple("State", "sump_volume sump converter cooler clutches pockets discharged")
    State.__doc__ = """The fluid in the compartments.

    The sump's volume; the **old** fractions of the sump, of the converter's and the cooler's tanks (lists in the order of flow), of the
    clutch circuits and the pockets; the fresh volume that has left. Old fractions are carried because new fluid adds nothing to them.
    """
    Answers = namedtuple(
        "Answers",
        "resident outlet sump_fresh converter_fresh cooler_fresh clutches_fresh pockets_fresh sump_volume volume discharged",
    )
    Answers.__doc__ = "The answers for a state: fresh fractions, then volumes in litres."

VOLUME: Final = argument("volume", minimum=0)
TANKS: Final = argument("count", minimum=1, maximum=200, scalar=True)
KINDS: Final[Parameters] = Parameters(
    sump=VOLUME,
    converter=argument("volume", above=0),
    cooler=argument("volume", above=0),
    clutches=VOLUME,
    pockets=VOLUME,
    sump_floor=VOLUME,
    bypass=argument("fraction"),
    clutch_circulation=argument("number", minimum=0),
    pocket_circulation=argument("number", minimum=0),
    start=argument("fraction"),
)
"""What each parameter may be."""
CIRCULATIONS: Final = {"clutches": "clutch_circulation", "pockets": "pocket_circulation"}
"""Compartments that exchange with the sump, and the parameter that says how much."""
COMPARTMENTS = ("converter", "cooler", "clutches", "pockets")
"""What the pump feeds besides the sump."""
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


def filled(sump_volume: Any, old: Any, converter_tanks: int, cooler_tanks: int, discharged: Any = 0.0) -> State:
    """The state in which every compartment holds the same mixture."""
    return State(sump_volume, old, [old] * converter_tanks, [old] * cooler_tanks, old, old, discharged)


def mean(tanks: list[Any]) -> Any:
    """The mean over equal tanks."""
    return tanks[0] if len(tanks) == 1 else sum(tanks) / len(tanks)


def present(built: Parameters, state: State) -> tuple[Any, Any]:
    """The volume inside, and the old volume in it."""
    volume = state.sump_volume + built.converter + built.cooler + built.clutches + built.pockets
    old = (
        state.sump_volume * state.sump + built.converter * mean(state.converter) + built.cooler * mean(state.cooler)
        + built.clutches * state.clutches + built.pockets * state.pockets
    )  # fmt: skip
    return volume, old


def resident(built: Parameters, state: State) -> Any:
    """Fresh fraction of all the fluid inside."""
    volume, old = present(built, state)
    return 1 - old / volume


def answers(built: Parameters, state: State) -> Answers:
    """All answers for a state."""
    return Answers(
        resident(built, state), 1 - state.cooler[-1], 1 - state.sump, 1 - mean(state.converter), 1 - mean(state.cooler),
        1 - state.clutches, 1 - state.pockets, state.sump_volume, present(built, state)[0], state.discharged,
    )  # fmt: skip


def each(change: Any, *states: State) -> State:
    """One state from several, entry by entry."""

    def tanks(lists: tuple[list[Any], ...]) -> list[Any]:
        return [change(*parts) for parts in zip(*lists, strict=True)]

    volumes, sumps, converters, coolers, clutches, pockets, gone = zip(*states, strict=True)
    return State(
        change(*volumes), change(*sumps), tanks(converters), tanks(coolers), change(*clutches), change(*pockets), change(*gone)
    )
