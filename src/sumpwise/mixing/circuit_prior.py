"""What nobody publishes about a circuit, as ranges with a stated prior, drawn many times and run as one batch."""

from __future__ import annotations

from sumpwise.errors import RangeError
from sumpwise.mixing.circuit_history import CIRCULATIONS, FLOOR, PARAMETERS, SLACK, litres, nominal, replayed, uncertain
from sumpwise.quantities.spans import Span

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from typing import Any, Final

    from sumpwise.mixing.circuit import Circuit
    from sumpwise.mixing.compartments import State

UNIFORM, LOG_UNIFORM = "uniform", "log-uniform"
UNPUBLISHED: Final[dict[str, tuple[float, float, str]]] = {
    "bypass": (0.0, 0.6, UNIFORM),
    "clutch_circulation": (0.05, 0.5, UNIFORM),
    "pocket_circulation": (0.003, 0.1, LOG_UNIFORM),
}
"""Ranges of the shares and circulations: a judgement, without a source."""
POCKETS: Final = (0.5, 1.5)
"""Range of the pockets' volume, in multiples of what the circuit says: a judgement, without a source."""
RESERVE: Final = (0.8, 2.0)
"""Range of the usable reserve in litres, from the sump at the start down to where the pump draws air: common practice, without a source."""


class Drawn:
    """Draws of a circuit's parameters and of the uncertain volumes of its history.

    Attributes
    ----------
    values : list of float or ndarray
        As `circuit.replayed` takes them; one element a draw.
    size : int
        How many draws could have run the history without drawing air; the others are left out.
    varied : dict
        Name of each parameter with a range -> its draws.
    assumptions : list of str
        Every range, and what is taken for granted.
    """

    __slots__ = ("assumptions", "size", "values", "varied")

    def __init__(self, circuit: Circuit, ranges: Mapping[str, Any], draws: int, rng: Any) -> None:
        import numpy

        names = list(PARAMETERS)
        self.assumptions: list[str] = []
        values = _measured(circuit._values, draws, rng)
        rules = _ranges(circuit, ranges)
        for name, (low, high, shape) in rules.items():
            unit = " L" if PARAMETERS[name].kind == "volume" else ""
            source = "as stated" if name in ranges else "nobody publishes it"
            if low == high:
                values[names.index(name)] = low
                self.assumptions.append(f"{name}: {low:.4g}{unit}, {source}")
                continue
            u = rng.random(draws)
            values[names.index(name)] = low + (high - low) * u if shape == UNIFORM else low * (high / low) ** u
            self.assumptions.append(f"{name}: anywhere from {low:.4g} to {high:.4g}{unit} ({shape}), {source}")
        best = [nominal(value) for value in circuit._values[:5]]
        moved = (names.index(name) for name in ("cooler", "clutches", "pockets") if name in rules)
        changed = [i for i in moved if rules[names[i]][:2] != (best[i], best[i])]
        if changed and "converter" not in rules:
            values[1] = values[1] + sum(best[i] - values[i] for i in changed)
            self.assumptions.append(f"converter: makes up the difference, so that all compartments hold {litres(sum(best))} at the start")
        possible = numpy.broadcast_to(_possible(circuit._plan, values), (draws,))
        self.size = int(possible.sum())
        if not self.size:
            raise RangeError(
                "no circuit within the ranges could have done this without drawing air", argument="ranges", value=self.assumptions,
                hint="the range of sump_floor is too high, or a volume is wrong",
            )  # fmt: skip
        if self.size < draws:
            ruled_out = f"{100 * (1 - self.size / draws):.0f} % of the circuits within the ranges"
            self.assumptions.append(f"the pump never drew air, which rules out {ruled_out}")
        self.values = [numpy.broadcast_to(v, (draws,))[possible] if getattr(v, "ndim", 0) else v for v in values]
        self.varied = {name: self.values[names.index(name)] for name, (low, high, _) in rules.items() if low < high}

    def run(self, circuit: Circuit) -> list[State]:
        """The states of all draws at the start and after each operation."""
        return list(replayed(circuit._tanks, circuit._plan, self.values))


def _ranges(circuit: Circuit, stated: Mapping[str, Any]) -> dict[str, tuple[float, float, str]]:
    """The default ranges of what the circuit has and gives as a plain number, under those that are stated."""
    values = dict(zip(PARAMETERS, circuit._values, strict=False))
    found = dict(UNPUBLISHED)
    for compartment, circulation in CIRCULATIONS.items():
        if not uncertain(values[compartment]) and values[compartment] == 0:
            del found[circulation]
        elif compartment == "pockets" and not uncertain(values["pockets"]):
            found["pockets"] = (POCKETS[0] * values["pockets"], POCKETS[1] * values["pockets"], UNIFORM)
    sump = nominal(values["sump"])
    found["sump_floor"] = (max(sump - RESERVE[1], 0.0), max(sump - RESERVE[0], 0.0), UNIFORM)
    found = {name: one for name, one in found.items() if not uncertain(values[name])}
    found |= {name: _read(name, one) for name, one in stated.items()}
    for compartment, circulation in CIRCULATIONS.items():
        volume = found.get(compartment, (nominal(values[compartment]),))[0]
        if volume == 0 and found.get(circulation, (0.0, nominal(values[circulation])))[1] > 0:
            raise RangeError(
                "circulates through a compartment of no volume", argument=circulation, hint=f"give the volume of the {compartment}"
            )
    return found


def _read(name: str, stated: Any) -> tuple[float, float, str]:
    if name not in PARAMETERS:
        raise RangeError("is no parameter of a circuit", argument="ranges", value=name, allowed=", ".join(PARAMETERS))
    spec, shape = PARAMETERS[name], UNIFORM
    if isinstance(stated, (tuple, list)) and len(stated) == 3 and stated[2] in (UNIFORM, LOG_UNIFORM):
        *stated, shape = stated
    ends = (stated.lower, stated.upper) if isinstance(stated, Span) else stated if isinstance(stated, (tuple, list)) else (stated, stated)
    if len(ends) != 2:
        raise RangeError("is no range", argument=name, value=stated, allowed="(lower, upper), (lower, upper, 'log-uniform') or one value")
    low, high = (spec.read(end, name) for end in ends)
    if uncertain(low) or uncertain(high) or hasattr(low, "ndim") or hasattr(high, "ndim"):
        raise RangeError("takes plain limits", argument=name, value=stated)
    if not low <= high:
        raise RangeError("is no range", argument=name, value=stated, hint="the lower limit first")
    if shape == LOG_UNIFORM and not low > 0:
        raise RangeError("must start above 0", argument=name, value=stated, hint="or leave out 'log-uniform'")
    return float(low), float(high), shape


def _measured(values: Sequence[Any], draws: int, rng: Any) -> list[Any]:
    """Plain values as they are; uncertain ones drawn source by source, so that what they share stays shared."""
    import numpy

    from sumpwise import _uncertain
    from sumpwise.measurement.sampling import _draw

    known: dict[Any, Any] = {}
    out = []
    for value in values:
        if hasattr(value, "ndim"):
            raise RangeError("takes one circuit, no arrays", argument="seen")
        drawn = _uncertain.nominal(value) if uncertain(value) else value
        for source, size in _uncertain.contributions(value) if uncertain(value) else ():
            if source not in known:
                known[source] = numpy.empty(draws)
                _draw(known[source], getattr(source, "shape", "normal"), getattr(source, "dof", numpy.inf), rng)
            drawn = drawn + size * known[source]
        out.append(drawn)
    return out


def _possible(plan: Sequence[str], values: Sequence[Any]) -> Any:
    """Which draws are circuits at all and run the whole history above their floor."""
    import numpy

    level, floor = values[0], values[FLOOR]
    fine = numpy.asarray(True)
    for value, spec in zip(values, PARAMETERS.values(), strict=False):
        fine = fine & (value > spec.above) & (value >= spec.minimum) & (value <= spec.maximum)
    volumes = iter(values[len(PARAMETERS) :])
    for operation in plan:
        if operation == "drain":
            level = level - next(volumes)
            fine = fine & (level >= -SLACK)
        elif operation == "pour":
            level = level + next(volumes)
        else:
            before = level
            if operation == "pump":
                level = level - next(volumes) + next(volumes)
            elif operation == "circulate":
                next(volumes)
            low = numpy.minimum(before, level)
            fine = fine & (low >= floor - SLACK) & (low > SLACK)
    return fine
