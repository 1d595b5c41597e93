"""Best use of the fluid in hand: the order of drains, bursts and drives that leaves the least old fluid, by trying every order."""

from __future__ import annotations

from sumpwise.errors import RangeError
from sumpwise.mixing.circuit.flow import drain as drained
from sumpwise.mixing.circuit.flow import flow, mix, pour
from sumpwise.mixing.circuit.history import nominal
from sumpwise.mixing.circuit.model import SLACK, Circuit, litres
from sumpwise.mixing.circuit.state import Parameters, each, resident
from sumpwise.quantities.boundary import answer, argument
from sumpwise.quantities.reading import asked
from sumpwise.quantities.telling import as_given

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from sumpwise.accepted import VolumeLike
    from sumpwise.mixing.circuit.state import State

VOLUME = argument("volume", above=0, scalar=True)
OPTIONAL = argument("volume", above=0, scalar=True, optional=True)
PRICE = argument("number", scalar=True, optional=True)
COUNT = argument("count", scalar=True, maximum=100)
MEANWHILE = argument("fraction", scalar=True)
MOST = 50_000
"""The most plans that are tried; more are refused."""
SAME = 1e-12
"""Old shares that differ by less than this are equal, and the plan with fewer moves is chosen."""
DRAIN, BURST, DRIVE = "drain and refill", "burst", "drive"


class Plan:
    """A sequence of moves and its result.

    Attributes
    ----------
    moves : tuple of (str, Quantity or None)
        "drain and refill" or "burst" (each with its volume, which is poured back at once), or "drive".
    circuit : Circuit
        The state at the end, with the uncertainties of the circuit it started from.
    litres : Quantity
        New fluid used.
    """

    __slots__ = ("circuit", "litres", "moves")

    def __init__(self, moves: tuple[tuple[str, Any], ...], circuit: Circuit, used: Any) -> None:
        self.moves = moves
        self.circuit = circuit
        self.litres = used

    @property
    def resident(self) -> Any:
        """Fresh fraction inside at the end."""
        return self.circuit.resident

    def __str__(self) -> str:
        words: list[tuple[str, int]] = []
        for name, volume in self.moves:
            word = name if volume is None else f"{name} {volume:.2f}"
            again = bool(words) and words[-1][0] == word
            words[len(words) - again :] = [(word, words[-1][1] + 1 if again else 1)]
        return ", ".join(word if times == 1 else f"{times} × {word}" for word, times in words)

    def __repr__(self) -> str:
        return f"<Plan: {self}>"


class BestUse:
    """The best plan, and what it was compared with.

    Attributes
    ----------
    best : Plan
        The plan that leaves the least old fluid.
    worst_resident : float
        Fresh fraction inside after the worst of the orders.
    by_kind : dict
        "drains only", "bursts only", "both" -> fresh fraction inside after the best plan of that kind.
    further : tuple of (Plan, float, float or None)
        The best plan with one more portion each time, the percentage points of freshness gained, and the cost of each point.
    plans : int
        How many plans were tried for the fluid in hand.
    searched : str
        Which plans those were.
    """

    best: Plan
    worst_resident: float
    by_kind: dict[str, float]
    further: tuple[tuple[Plan, float, float | None], ...]
    plans: int
    searched: str

    def __init__(self, **found: Any) -> None:
        self.__dict__.update(found)

    @property
    def resident(self) -> Any:
        """Fresh fraction inside after the best plan."""
        return self.best.resident

    def __repr__(self) -> str:
        return f"<BestUse: {self.best}; {self.searched}>"


def best_use(
    circuit: Circuit, volume: VolumeLike, *, drain: VolumeLike | None = None, burst: VolumeLike | None = None, drains: int = 3,
    bursts: int = 20, drives: int = 1, meanwhile: VolumeLike = 0, portion: VolumeLike = "1 L", portions: int = 3,
    cost_per_litre: float | None = None,
) -> BestUse:  # fmt: skip
    """Find the order of drains, bursts and drives that leaves the least old fluid inside.

    Parameters
    ----------
    circuit : Circuit
        The fill as it is now, at the right level.
    volume : volume
        New fluid available.
    drain : volume, optional
        Volume of one drain through the plug; without it there are no drains.
    burst : volume, optional
        Volume of the largest burst; without it there are no bursts.
    drains, bursts, drives : int, optional
        The most of each that the job allows. A drive mixes everything.
    meanwhile : fraction, optional
        Share of a burst that is poured in while the pump runs; the rest is poured afterwards.
    portion, portions : volume, int, optional
        Size and number of further portions of fluid to consider.
    cost_per_litre : float, optional
        Price of new fluid, in any currency.

    Returns
    -------
    BestUse

    Raises
    ------
    SumpwiseError
        For neither drains nor bursts, a drain larger than the sump's volume, a burst that takes the sump below its floor, or more than
        50 000 plans.

    Notes
    -----
    Every plan of full drains and full bursts is run, with the rest of the fluid in the last one; each move pours back what it took, so the
    level stays the same. The answer is exact for these plans and says nothing about others. Among plans that agree to 1e-12, the one with
    the fewest moves is chosen. Plans are compared by nominal values; the best one is then run with the circuit's uncertainties.

    Examples
    --------
    >>> from sumpwise import Circuit, best_use
    >>> wagon = Circuit("3.9 L", "2.45 L", "0.62 L", "0.83 L", "1.05 L", "1.6 L", bypass=0.35, clutch_circulation=0.25)
    >>> use = best_use(wagon, "7 L", drain="3.24 L", burst="1.25 L", drains=1, drives=1)
    >>> print(use.best)
    drain and refill 3.24 liter, 3 × burst 1.25 liter, burst 0.01 liter
    >>> use.plans
    44
    """
    if not isinstance(circuit, Circuit) or any(hasattr(value, "ndim") for value in circuit.history.values):
        raise RangeError("must be one Circuit, not an array of them", code="list.unexpected", argument="circuit", value=circuit)
    reads = [VOLUME.read(volume, "volume"), OPTIONAL.read(drain, "drain"), OPTIONAL.read(burst, "burst"), VOLUME.read(portion, "portion")]
    in_hand, more = nominal(reads[0].value), nominal(reads[3].value)
    at_most = COUNT.value(drains, "drains"), COUNT.value(bursts, "bursts"), COUNT.value(drives, "drives")
    try:
        search = _Search(circuit, reads[1].value, reads[2].value, at_most, MEANWHILE.value(meanwhile, "meanwhile"))
        ends = search.run(in_hand)
    except RangeError as error:
        as_given(error, {"volume": volume, "drain": drain, "burst": burst})
        raise
    price = PRICE.value(cost_per_litre, "cost_per_litre")
    unit, registry = asked(reads, "volume")

    def plan(found: tuple[tuple[str, float], ...]) -> Plan:
        state, moves = circuit, []
        for name, size in found:
            state = search.carried_out(state, name, size)
            moves.append((name, answer(size, "volume", unit=unit, registry=registry) if size else None))
        return Plan(tuple(moves), state, answer(sum(size for _, size in found), "volume", unit=unit, registry=registry))

    best, least = _best(ends)
    further, before = [], least
    for step in range(1, COUNT.value(portions, "portions") + 1):
        found, old = _best(search.run(in_hand + step * more))
        gain = 100 * (before - old)
        further.append((plan(found), gain, nominal(price) * more / gain if price is not None and gain > 0 else None))
        before = old
    by_kind: dict[str, float] = {}
    for old, moves in ends:
        names = {name for name, _ in moves} - {DRIVE}
        kind = "both" if len(names) == 2 else "drains only" if DRAIN in names else "bursts only"
        by_kind[kind] = max(by_kind.get(kind, 0.0), 1 - old)
    return BestUse(
        best=plan(best), worst_resident=1 - max(old for old, _ in ends), by_kind=by_kind, further=tuple(further), plans=len(ends),
        searched=f"{len(ends)} plans for {litres(in_hand)}: {search.words}",
    )  # fmt: skip


def _best(ends: list[tuple[float, tuple[tuple[str, float], ...]]]) -> tuple[tuple[tuple[str, float], ...], float]:
    """The moves that leave the least old fluid (the fewest moves among equals), and the old share that they leave."""
    least = min(old for old, _ in ends)
    moves = min((moves for old, moves in ends if old <= least + SAME), key=len)
    return moves, least


class _Search:
    """Every order of moves, run together: all plans of equal length are one batch."""

    def __init__(self, circuit: Circuit, drain: Any, burst: Any, at_most: tuple[int, int, int], meanwhile: float) -> None:
        history = circuit.history.with_values([nominal(value) for value in circuit.history.values])
        self.built: Parameters = history.built
        *_, self.start = history.states()
        self.sizes = {name: nominal(size) for name, size in ((DRAIN, drain), (BURST, burst)) if size is not None}
        self.at_most: dict[str, int] = dict(zip((DRAIN, BURST, DRIVE), at_most, strict=True))
        self.meanwhile = meanwhile
        if not any(self.at_most[name] for name in self.sizes):
            raise RangeError(
                "allows neither drains nor bursts", code="argument.missing", argument="drain, burst",
                hint="give the volume of one drain or one burst",
            )  # fmt: skip
        for name, size in self.sizes.items():
            try:
                self.carried_out(circuit, name, size)
            except RangeError as error:
                error.argument = name.partition(" ")[0]
                if name == DRAIN:
                    error.bound = ("at most", "", "volume")
                raise
        if self.at_most[DRIVE]:
            circuit.mix()
        parts = [f"at most {self.at_most[name]} of {litres(size)} ({name})" for name, size in self.sizes.items()]
        drives = self.at_most[DRIVE]
        parts.append(f"at most {drives} drive{'' if drives == 1 else 's'} between them")
        if BURST in self.sizes:
            parts.append(f"{100 * meanwhile:.0f} % of a burst poured in while the pump runs")
        self.words = ", ".join([*parts, "in every order; the last move uses what is left; each move pours back what it took"])

    def carried_out(self, circuit: Circuit, name: str, size: float) -> Circuit:
        """The circuit after one move, with all checks."""
        volume = f"{size!r} L"
        if name == DRIVE:
            return circuit.mix()
        if name == DRAIN:
            return circuit.drain(volume).pour(volume)
        return circuit.pump(volume, poured=f"{size * self.meanwhile!r} L").pour(f"{size * (1 - self.meanwhile)!r} L")

    def run(self, in_hand: float) -> list[tuple[float, tuple[tuple[str, float], ...]]]:
        """Old share inside at the end of every plan that uses up the fluid, or all moves allowed, with its moves."""
        import numpy

        count = self._count(in_hand)
        if count > MOST:
            raise RangeError(
                f"gives {count} plans", code="limit.count", argument="volume", value=litres(in_hand), allowed=f"at most {MOST}",
                limits=(0, MOST, ""), hint="allow fewer drains or drives, or larger bursts",
            )  # fmt: skip
        ends: list[tuple[float, tuple[tuple[str, float], ...]]] = []
        paths: list[tuple[tuple[str, float], ...]] = [()]
        state = each(lambda x: numpy.full(1, float(x)), self.start)
        while paths:
            chosen: dict[str, list[tuple[int, float]]] = {}
            for i, path in enumerate(paths):
                following = self._following(path, in_hand)
                if not following:
                    ends.append((1 - float(resident(self.built, each(lambda x, i=i: x[i], state))), path))
                for name, size in following:
                    chosen.setdefault(name, []).append((i, size))
            paths_then, states = [], []
            for name, pairs in chosen.items():
                index = numpy.array([i for i, _ in pairs])
                states.append(self._moved(each(lambda x, index=index: x[index], state), name, numpy.array([size for _, size in pairs])))
                paths_then += [(*paths[i], (name, size)) for i, size in pairs]
            if states:
                state = each(lambda *parts: numpy.concatenate(parts), *states)
            paths = paths_then
        return ends

    def _following(self, path: tuple[tuple[str, float], ...], in_hand: float) -> list[tuple[str, float]]:
        """The moves that may come next; none at the end of a plan. A drive neither follows a drive nor comes last."""
        left = in_hand - sum(size for _, size in path)
        done = [name for name, _ in path]
        moves = [
            (name, min(size, left)) for name, size in self.sizes.items() if left > SLACK and done.count(name) < self.at_most[name]
        ]
        if moves and done.count(DRIVE) < self.at_most[DRIVE] and done[-1:] != [DRIVE]:
            moves.append((DRIVE, 0.0))
        return moves

    def _moved(self, state: State, name: str, size: Any) -> State:
        if name == DRIVE:
            return mix(self.built, state)
        if name == DRAIN:
            return pour(drained(state, size), size)
        return pour(flow(self.built, state, size, size * self.meanwhile), size * (1 - self.meanwhile))

    def _count(self, in_hand: float) -> int:
        """How many plans there are, without running them."""
        known: dict[tuple[int, int, int, bool], int] = {}

        def ahead(drains: int, bursts: int, drives: int, driven: bool) -> int:
            key = drains, bursts, drives, driven
            if key not in known:
                done = {DRAIN: drains, BURST: bursts}
                left = in_hand - sum(done[name] * size for name, size in self.sizes.items())
                total = 0
                for name, following in ((DRAIN, (drains + 1, bursts)), (BURST, (drains, bursts + 1))):
                    if name in self.sizes and left > SLACK and done[name] < self.at_most[name]:
                        total += ahead(*following, drives, False)
                if total and drives < self.at_most[DRIVE] and not driven:
                    total += ahead(drains, bursts, drives + 1, True)
                known[key] = total or 1
            return known[key]

        return ahead(0, 0, 0, False)
