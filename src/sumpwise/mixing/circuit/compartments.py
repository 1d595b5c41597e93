"""The compartments of a circuit, one row each: its state, equations, ranges and keys in a job follow from the rows.

What is pumped leaves the sump, passes the compartments on the way one after the other, and ends in the open return line. A compartment at
the side exchanges fluid with the sump meanwhile. A new compartment is a row, its equation in `series`, and in `Compartments` its arguments
and its fresh fraction.
"""

from __future__ import annotations

from operator import mul

from sumpwise._math import every, exp, largest
from sumpwise._record import Record
from sumpwise.quantities.boundary import argument

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, Final

    from sumpwise.accepted import FractionLike, VolumeLike
    from sumpwise.mixing.circuit.state import Parameters, Rates, State
    from sumpwise.quantities.boundary import Argument

UNIFORM, LOG_UNIFORM = "uniform", "log-uniform"


class Value(Record):
    """One value that a circuit is built from.

    `name` is that of the argument and of the key in a job, `symbol` its letter in the equations, `kind` what it may be, `meaning` what it
    is. What nobody publishes has a `range`, as a job would write it, `of` the total or by itself, with the `shape` of its distribution;
    `find` says where to find the value, or how to measure it.
    """

    name: str
    symbol: str
    kind: Argument
    meaning: str
    range: tuple[Any, Any] | None = None
    of: str = ""
    find: str = ""
    shape: str = UNIFORM


class Compartment(Record):
    """One compartment.

    On the way, `tanks` is how many equal tanks in series it acts like, and `flow`, if any, the share of what is pumped that bypasses it; at
    the side, `flow` is what it exchanges with the sump per volume pumped. A volume that is only guessed is drawn from a range, `drawn`, in
    multiples of the circuit's value.
    """

    volume: Value
    flow: Value | None = None
    tanks: Value | None = None
    drawn: tuple[float, float] | None = None


VIALS = "match vials at the outlet; nothing else shows it"
BOOK = "look in the maker's service information"

VOLUME: Final = argument("volume", minimum=0)
POSITIVE: Final = argument("volume", above=0)
SHARE: Final = argument("fraction")
CIRCULATION: Final = argument("number", minimum=0)
TANKS: Final = argument("count", minimum=1, maximum=200, scalar=True)

ON_THE_WAY: Final = (
    Compartment(
        Value("converter", "K", POSITIVE, "volume of the converter", ("0.25", "0.35"), "total",
              f"{BOOK}, or drain the converter if it has a plug"),
        flow=Value("bypass", "b", SHARE, "share of the flow that bypasses the converter", (0.0, 0.6), find=VIALS),
        tanks=Value("converter_tanks", "n", TANKS, "equal tanks in series that the converter acts like", ("1", "3"), find=VIALS),
    ),
    Compartment(
        Value("cooler", "L", POSITIVE, "volume of cooler and lines", ("0.3 L", "0.8 L"), find=BOOK),
        tanks=Value("cooler_tanks", "m", TANKS, "equal tanks in series that the cooler with its lines acts like"),
    ),
)
"""In the order of flow; the return line comes from the last."""
AT_THE_SIDE: Final = (
    Compartment(
        Value("clutches", "H", VOLUME, "volume of the clutch circuits", ("0.05", "0.13"), "total", VIALS),
        flow=Value("clutch_circulation", "c", CIRCULATION, "what the clutch circuits exchange with the sump, per volume pumped",
                   (0.05, 0.5), find=VIALS),
    ),
    Compartment(
        Value("pockets", "W", VOLUME, "volume of pockets that hardly exchange fluid", ("0.05", "0.17"), "total", VIALS),
        flow=Value("pocket_circulation", "e", CIRCULATION, "what the pockets exchange with the sump, per volume pumped",
                   (0.003, 0.1), find=VIALS, shape=LOG_UNIFORM),
        drawn=(0.5, 1.5),
    ),
)  # fmt: skip
"""Shares, circulations and multiples that are drawn are a judgement, without a source."""

COMPARTMENTS: Final = (*ON_THE_WAY, *AT_THE_SIDE)
NAMES: Final = tuple(one.volume.name for one in COMPARTMENTS)
FLOWS: Final = {one.flow.name: one.flow for one in COMPARTMENTS if one.flow}
"""What decides how fluid flows, by name: the bypasses, then the circulations."""
CIRCULATIONS: Final = {one.volume.name: one.flow.name for one in AT_THE_SIDE if one.flow}
"""Compartments that exchange with the sump, and the parameter that says how much."""
TANKS_ON_THE_WAY: Final = tuple(one.tanks for one in ON_THE_WAY if one.tanks)


SHARES = tuple(1 / j for j in range(1, 301))
"""1/1, 1/2, 1/3 and so on, for more terms than any series has: most have about forty."""
_as_arrays: tuple[Any, ...] = ()
_weights: dict[int, list[tuple[float, ...]]] = {}
_columns: dict[int, Any] = {}
"""What `_passing` gives, by number of tanks: for plain numbers, and for arrays."""


def _shares(like: Any) -> tuple[Any, ...]:
    """`SHARES`; for arrays as arrays without dimensions, by which numpy multiplies in two thirds of the time."""
    global _as_arrays
    if isinstance(like, (int, float)):
        return SHARES
    if not _as_arrays:
        import numpy

        _as_arrays = tuple(map(numpy.array, SHARES))
    return _as_arrays


def series(
    built: Parameters, rates: Rates, sigma: Any, state: State, x: Any, growth: Any, inflow: Any, closed: bool, negligible: float
) -> tuple[Any, ...]:  # fmt: skip
    """One step of `flow`, the state after it in the order of `State`, but for what has left: sum the series term by term.

    The sums over the rows are written out, one compartment after the other: a loop over them takes a sixth longer.
    Terms and sums are overwritten in place, which saves most of the time for arrays; so each starts as a full-sized copy of its own.
    """
    (converter, cooler), (b, _), (h, w), (c, e) = state.way, built.bypasses, state.sides, built.circulations
    sump, s = state.sump_volume, state.sump
    part, z = x / sump, sigma * x
    empty = 0.0 * (z + s + h + w + sum(converter) + sum(cooler))
    clutch, pocket, change = c * part, e * part, growth * part
    shift, stay_s = z * change, z - (inflow + c + e) * part + empty
    turn_k, turn_l, turn_h, turn_w = (rate * x for rate in rates)
    stay_k, stay_l, stay_h, stay_w = z - turn_k, z - turn_l, z - turn_h, z - turn_w
    apart = not closed and every(stay_l == 0)  # nothing comes back from the cooler and nothing stays in it: its terms can wait
    sum_s, sum_h, sum_w, sum_ks, sum_ls = s + empty, h + empty, w + empty, [u + empty for u in converter], [u + empty for u in cooler]
    s, h, w, ks, ls = s + empty, h + empty, w + empty, [u + empty for u in converter], [u + empty for u in cooler]
    inlets: list[Any] = []
    before, weights = empty, _passing(len(ls), empty)
    most = largest(z)
    enough, late, plain = negligible * exp(z), 2 * most + 8, isinstance(empty, (int, float))
    passed = 0.0 if plain else weights[0] * empty
    tanks_k, tanks_l = range(len(ks)), range(len(ls))
    for j, share in enumerate(_shares(empty), 1):
        inlet = s - ks[-1]
        inlet *= b
        inlet += ks[-1]
        fresh = stay_s * s
        fresh += clutch * h
        fresh += pocket * w
        fresh += shift * before
        if closed:
            fresh += part * ls[-1]
        fresh *= share
        stay_s -= change
        before, s = s, fresh
        sum_s += s
        h *= stay_h
        h += turn_h * before
        h *= share
        sum_h += h
        w *= stay_w
        w += turn_w * before
        w *= share
        sum_w += w
        feed = before
        for i in tanks_k:
            u = ks[i]
            ks[i] = (stay_k * u + turn_k * feed) * share
            sum_ks[i] += ks[i]
            feed = u
        if apart:
            inlets.append(inlet)
            if not plain:  # at once, so that many circuits need no memory for all terms
                passed += weights[j - 1] * inlet
                del inlets[: -len(ls)]
        else:
            feed = inlet
            for i in tanks_l:
                u = ls[i]
                ls[i] = (stay_l * u + turn_l * feed) * share
                sum_ls[i] += ls[i]
                feed = u
        # From j = 2z + 8 on a term is at most nine tenths of the one before, so the remainder is at most ten times the last term.
        if j % 4 == 0 and j >= late:
            size = abs(s) + abs(h) + abs(w) + sum(map(abs, ks))
            size += _term_of(inlets, j, len(ls), most) if apart else sum(map(abs, ls))
            if every(size <= enough):
                break
    else:
        raise ArithmeticError("the series does not end")
    f = exp(-z)
    if apart:
        sum_ls = _passed(cooler, [sum(map(mul, row, inlets)) for row in weights] if plain else passed, j, turn_l)
    ends = [u * f for u in sum_ks], [u * f for u in sum_ls], sum_h * f, sum_w * f
    return sump + growth * x, sum_s * f, *ends, state.discharged


def _term_of(inlets: list[Any], number: int, tanks: int, turn: float) -> Any:
    """The size of the term of some number of all tanks in a row that `_passed` adds up; `inlets` has the last of what flows in first."""
    size, weight = 0.0, 1.0
    for i, inlet in zip(range(tanks), reversed(inlets), strict=False):
        weight *= turn / (number - i)
        size = size + weight * abs(inlet)
    return size + weight if tanks > number else size


def _passing(tanks: int, like: Any) -> Any:
    """The weights of the terms of what flows into the first of some tanks in a row: for each tank, or for arrays for each term.

    The term of number j is that of number j - 1 in the tank before, times `turn`/j; so in tank i it is that of number j - i of what flows
    in, times turnⁱ·(j - i)!/j!, of which the power is left to `_passed`.
    """
    if tanks not in _weights:
        rows = [SHARES]
        for i in range(2, tanks + 1):
            rows.append(tuple(weight / (k + i) for k, weight in enumerate(rows[-1])))
        _weights[tanks] = rows
    if isinstance(like, (int, float)):
        return _weights[tanks]
    import numpy

    if tanks not in _columns:
        _columns[tanks] = numpy.array(_weights[tanks]).T.copy()
    return _columns[tanks].reshape(-1, tanks, *(1,) * like.ndim)


def _passed(tanks: list[Any], sums: Any, terms: int, turn: Any) -> Any:
    """The sums of so many terms of tanks in a row in which nothing stays: of what flows in, and of what the tanks hold at the start."""
    power = turn
    for i in range(len(tanks)):
        sums[i] *= power
        power = power * turn
    power = 1.0
    for j in range(min(len(tanks), terms)):
        for i in range(j, len(tanks)):
            sums[i] += power * tanks[i - j]
        power = power * turn * SHARES[j]
    return sums


class Compartments:
    """The fluid of a transmission in its compartments; every operation returns a new circuit.

    Parameters
    ----------
    sump : volume
        What the sump holds at the start; everything that can drain with the engine off is part of it.
    converter : volume
        Volume of the torque converter, above zero.
    cooler : volume
        Volume of the cooler and its lines, above zero.
    clutches : volume, optional
        Volume of the clutch circuits.
    pockets : volume, optional
        Volume of pockets that hardly exchange fluid.
    sump_floor : volume, optional
        Sump volume below which the pump draws air.
    converter_tanks, cooler_tanks : int, optional
        Number of equal tanks in series that model each, 1 to 200.
    bypass : fraction, optional
        Share of the pumped flow that bypasses the converter.
    clutch_circulation, pocket_circulation : float, optional
        Volume exchanged with the sump per volume pumped.
    start : fraction, optional
        Fresh fraction at the start, the same everywhere.

    Attributes
    ----------
    resident : float, ndarray or uncertain number
        Fresh fraction of all the fluid inside: the figure that matters.
    outlet : float, ndarray or uncertain number
        Fresh fraction at the end of the return line: what the hose shows.
    sump_fresh, converter_fresh, cooler_fresh, clutches_fresh, pockets_fresh : float, ndarray or uncertain number
        Fresh fraction of each compartment.
    sump_volume : Quantity
        Fluid in the sump.
    volume : Quantity
        All the fluid inside.
    discharged : Quantity
        The **fresh** volume that has left. Fresh fluid inside plus discharged equals what was poured plus what was fresh at the start.
    history : History
        The parameters of the circuit and the operations on it, in litres and shares of one.

    Raises
    ------
    SumpwiseError
        For a value without a unit or out of range, or circulation without its compartment.

    Notes
    -----
    Compartments are ideally stirred tanks; the return line comes from the last tank of the cooler. The equations are given in
    `sumpwise.mixing.circuit.flow`; tanks in series are those of Levenspiel, Chemical Reaction Engineering, 3rd ed., ch. 14. All volumes
    must be at the same temperature (the library's reference is 20 °C: see `volume_at`).

    Parameters and volumes may be arrays, with one element for each circuit. A single value is the same in all of them: if it is uncertain,
    one error moves them together, and their answers are correlated; the rows of a column of `measured` are independent. There is no
    `errors`: an operation needs the state of every circuit, so one bad element, or one circuit that cannot do it, refuses it for all, and
    the state before it stays as it was. The nominal state is computed at once; if a value is uncertain,
    the first answer works out how each operation depends on it (`sumpwise.mixing.circuit.sensitivity`), and later answers reuse that.

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

    __slots__ = ()

    if TYPE_CHECKING:

        def _begin(self, given: dict[str, Any]) -> None: ...

        def _answer(self, name: str) -> Any: ...

    def __init__(
        self, sump: VolumeLike, converter: VolumeLike, cooler: VolumeLike, clutches: VolumeLike = 0, pockets: VolumeLike = 0,
        sump_floor: VolumeLike = 0, converter_tanks: int = 1, cooler_tanks: int = 4, bypass: FractionLike = 0,
        clutch_circulation: FractionLike = 0, pocket_circulation: FractionLike = 0, start: FractionLike = 0,
    ) -> None:  # fmt: skip
        self._begin(locals())

    @property
    def converter_fresh(self) -> Any:
        """Fresh fraction of the converter, the mean over its tanks."""
        return self._answer("converter_fresh")

    @property
    def cooler_fresh(self) -> Any:
        """Fresh fraction of cooler and lines, the mean over their tanks."""
        return self._answer("cooler_fresh")

    @property
    def clutches_fresh(self) -> Any:
        """Fresh fraction of the clutch circuits."""
        return self._answer("clutches_fresh")

    @property
    def pockets_fresh(self) -> Any:
        """Fresh fraction of the pockets."""
        return self._answer("pockets_fresh")
