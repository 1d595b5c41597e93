"""Parameters of a circuit without published values: ranges with a stated prior, drawn many times and run as one batch."""

from __future__ import annotations

from math import inf, pi, sqrt

from sumpwise._blocks import product
from sumpwise._math import minimum
from sumpwise.errors import RangeError
from sumpwise.inference.aim import evenly
from sumpwise.inference.moves import MANNERS
from sumpwise.inference.replay import replayed
from sumpwise.inference.swift import PLENTY, Tanks, filled_rows
from sumpwise.mixing.circuit.compartments import CIRCULATIONS, COMPARTMENTS, FLOWS, LOG_UNIFORM, NAMES, UNIFORM
from sumpwise.mixing.circuit.history import DRAIN, PUMP, draws_air_below, nominal, raised, uncertain
from sumpwise.mixing.circuit.model import SLACK, litres
from sumpwise.mixing.circuit.state import KINDS, Parameters
from sumpwise.quantities.spans import Span

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Container, Mapping
    from typing import Any, Final

    from sumpwise.mixing.circuit.history import History
    from sumpwise.mixing.circuit.state import State

NORMAL, RECTANGULAR = "normal", "rectangular"
TANKS = "converter_tanks"
HARDLY = 0.02
"""If fewer of the circuits within the ranges than this share could have run a log, the ranges are wrong."""
UNPUBLISHED: Final = {name: (*flow.range, flow.shape) for name, flow in FLOWS.items() if flow.range}
"""Ranges of the shares and circulations: a judgement, without a source."""
AT_ONCE = 10
"""Rows of scores worked on together: little enough memory to be used again."""
RESERVE: Final = (0.8, 2.0)
"""Range of the usable reserve in litres, from the sump at the start down to where the pump draws air: common practice, without a source."""


class Unknowns:
    """Everything that is drawn: the ranges, and the sources of the uncertain volumes, each with a standard normal score where it has one.

    Attributes
    ----------
    history : History
        As read.
    ranges : mapping
        As stated.
    rules : dict
        Name of a parameter -> its range.
    lenient : bool
        If hardly any circuit within the ranges could have run the history, the sump holds more than they say.
    numbers : sequence of int
        Possible numbers of tanks of the converter.
    scores : dict
        Source, or name of a range -> the place of its score. The sources of other shapes than normal and rectangular have none.
    even : int
        How many of them, the first, stand for something that is even between two limits.
    others : list
        The sources without a score.
    rows : dict
        Identity of an uncertain number -> its row in `means` and `effects`.
    least, effects : array
        The uncertain numbers where all that is even is at its lower limit, and how much each source adds to each: a row for each number, a
        column for each score, or from limit to limit for what is even, and then for each of the other sources.
    """

    __slots__ = ("effects", "even", "history", "least", "lenient", "numbers", "others", "ranges", "rows", "rules", "scores")

    def __init__(self, history: History, ranges: Mapping[str, Any], lenient: bool = False) -> None:
        if any(hasattr(value, "ndim") for value in history.values):
            raise RangeError("must be one circuit, not an array of them", code="list.unexpected", argument="seen")
        self.history, self.ranges, self.lenient = history, ranges, lenient
        self.rules = _ranges(history, {name: one for name, one in ranges.items() if name not in MANNERS and name != TANKS})
        first, last = ranges.get(TANKS, (history.tanks[0],) * 2)
        self.numbers = range(first, last + 1)
        even = dict.fromkeys(name for name, (low, high, _) in self.rules.items() if low < high)
        even |= dict.fromkeys(name for name in MANNERS if name in ranges and not uncertain(ranges[name]))
        normal: dict[Any, None] = {}
        others: dict[Any, None] = {}
        kinds = {NORMAL: normal, RECTANGULAR: even}
        parts: dict[int, tuple[float, list[tuple[Any, float]]]] = {}
        for value in filter(uncertain, (*history.values, *(ranges[name] for name in MANNERS if name in ranges))):
            if id(value) not in parts:
                from sumpwise import uncertainty

                parts[id(value)] = nominal(value), uncertainty.contributions(value)
                for source, _ in parts[id(value)][1]:
                    kinds.get(_shape(source), others).setdefault(source)
        import numpy

        self.even, self.others = len(even), list(others)
        self.scores: dict[Any, int] = {one: place for place, one in enumerate((*even, *normal))}
        columns = self.scores | {one: place for place, one in enumerate(others, len(self.scores))}
        self.rows = {number: row for row, number in enumerate(parts)}
        self.effects = numpy.zeros((len(parts), len(columns)))
        for row, (_, sources) in enumerate(parts.values()):
            for source, size in sources:
                self.effects[row, columns[source]] = size
        self.effects[:, : self.even] *= 2 * sqrt(3.0)
        means = numpy.array([mean for mean, _ in parts.values()])
        self.least = (means - self.effects[:, : self.even].sum(axis=1) / 2)[:, None]

    def draw(self, draws: int, rng: Any, most: int | None = None) -> Drawn:
        """Draw from the ranges as they are."""
        return Drawn(self, rng.standard_normal((len(self.scores), draws)), evenly(self.numbers, draws), rng, most)


class Drawn:
    """Draws of a circuit's parameters and of the uncertain volumes of its history.

    Attributes
    ----------
    history : History
        With plain values: floats, or arrays with one element for each draw.
    manners : dict
        Draws of what else is uncertain about the history, as in `moves.MANNERS`.
    tanks : Tanks
        Numbers of tanks of the converters.
    size : int
        How many draws could have run the history without drawing air; the others are left out.
    asked : float
        Of how many draws they are left.
    scores : array (scores, size)
        Their scores.
    varied : dict
        Name of each parameter with a range -> its draws.
    assumptions : list of str
        Every range, and everything else assumed.
    """

    __slots__ = ("asked", "assumptions", "history", "manners", "scores", "size", "tanks", "varied")

    def __init__(self, unknowns: Unknowns, scores: Any, groups: list[tuple[int, int]], rng: Any, most: int | None = None) -> None:
        """From scores, and pairs of a number of tanks and how many draws in a row have it; at most so many are kept."""
        import numpy

        history, ranges, rules, draws = unknowns.history, unknowns.ranges, unknowns.rules, scores.shape[1]
        self.assumptions: list[str] = []
        under = below(scores[: unknowns.even])
        known = dict(zip(unknowns.scores, under, strict=False))
        numbers = _numbers(unknowns, under, scores, rng)
        drawn = history.with_values([numbers.get(id(value), value) for value in history.values])
        best = Parameters(*map(nominal, history.built))
        changed: dict[str, Any] = {}
        for name, (low, high, shape) in rules.items():
            unit = " L" if getattr(KINDS, name).kind == "volume" else ""
            source = "as stated" if name in ranges else "no published value"
            if low == high:
                changed[name] = low
                self.assumptions.append(f"{name}: {low:.4g}{unit}, {source}")
                continue
            u = known[name]
            changed[name] = low + (high - low) * u if shape == UNIFORM else low * (high / low) ** u
            self.assumptions.append(f"{name}: anywhere from {low:.4g} to {high:.4g}{unit} ({shape}), {source}")
        moved = [name for name in NAMES[1:] if name in rules and rules[name][:2] != (getattr(best, name),) * 2]
        if moved and "converter" not in rules:
            changed["converter"] = drawn.built.converter + sum(getattr(best, name) - changed[name] for name in moved)
            self.assumptions.append(
                "converter: takes up the difference, so that all compartments together hold "
                f"{litres(sum(best.volumes, best.sump))} at the start"
            )
        drawn.built = drawn.built._replace(**changed)
        manners: dict[str, Any] = {}
        varied = [name for name, (low, high, _) in rules.items() if low < high]
        for name in [name for name in MANNERS if name in ranges]:
            unit, spec = " L" if name == "drain_back" else "", MANNERS[name]
            if uncertain(ranges[name]):
                manners[name] = numpy.clip(numbers[id(ranges[name])], spec.minimum, spec.maximum)
                low, high = (manners[name].min(), manners[name].max())
            else:
                low, high, _ = _read(name, ranges[name])
                manners[name] = low + (high - low) * known[name]
            if low < high or uncertain(ranges[name]):  # a single draw of it looks like a fixed value
                varied.append(name)
            if low == high:
                self.assumptions.append(f"{name}: {low:.4g}{unit}, as stated")
            else:
                self.assumptions.append(f"{name}: anywhere from {low:.2g} to {high:.2g}{unit}, no published value")
        back = manners.get("drain_back", 0.0)
        possible = numpy.broadcast_to(_possible(drawn, back), (draws,))
        if unknowns.lenient and possible.mean() < HARDLY:
            drawn.built = drawn.built._replace(sump_floor=0.0)
            possible = numpy.broadcast_to(_possible(drawn, back), (draws,))
            self.assumptions.append("the sump holds more than the ranges say: hardly any circuit within them could have run this log")
        able = int(possible.sum())
        if not able:
            raise RangeError(
                "no circuit within the ranges could have done this without drawing air", code="evidence.no_circuit", argument="ranges",
                value=self.assumptions, hint="is the range of sump_floor too high, or a volume wrong?",
            )  # fmt: skip
        if able < draws:
            ruled_out = f"{100 * (1 - able / draws):.0f} % of the circuits within the ranges"
            self.assumptions.append(f"the pump never drew air, which rules out {ruled_out}")
        chosen = numpy.flatnonzero(possible)
        if most is not None and able > most:
            chosen = chosen[numpy.arange(most) * able // most]
        self.size = chosen.size
        self.asked = draws * self.size / able
        kept = {id(value): value[chosen] for value in drawn.values if getattr(value, "ndim", 0)}
        self.history = drawn.with_values([kept.get(id(value), value) for value in drawn.values])
        self.manners = {name: one[chosen] for name, one in manners.items()}
        self.scores = scores[:, chosen]
        self.tanks = Tanks(groups).only(chosen)
        self.history.tanks = (unknowns.numbers[-1], *history.tanks[1:])
        if len(unknowns.numbers) > 1:
            self.assumptions.append(f"converter: {unknowns.numbers[0]} to {unknowns.numbers[-1]} tanks, all equally likely")
        self.varied = {name: self.manners[name] if name in self.manners else getattr(self.history.built, name) for name in varied}

    def runs(self, places: Container[float]) -> tuple[dict[float, Any], tuple[Parameters, State]]:
        """Run the draws.

        Parameters
        ----------
        places : container of int or float
            After how many operations to look at the outlet; a half is half-way through a burst.

        Returns
        -------
        dict of float to array or float, (Parameters, State)
            The old fraction at the outlet of every draw at each of the places; the parameters of the draws and their states at the end.
        """
        seen: dict[float, Any] = {}
        halfway: dict[int, Any] = {place: None for place in range(len(self.history.operations)) if place + 0.5 in places}
        for place, now in enumerate(replayed(self.history, self.manners, PLENTY, self.tanks, halfway)):
            if place in places:
                seen[place] = now[1].outlet
        return seen | {place + 0.5: outlet for place, outlet in halfway.items()}, now


def _ranges(history: History, stated: Mapping[str, Any]) -> dict[str, tuple[float, float, str]]:
    """The default ranges for parameters that the circuit gives as plain numbers, overridden by the stated ones."""
    values = history.built._asdict()
    found = dict(UNPUBLISHED)
    for compartment, one in zip(NAMES, COMPARTMENTS, strict=True):
        volume = values[compartment]
        if not uncertain(volume) and volume == 0:
            found.pop(one.flow.name if one.flow else "", None)
        elif one.drawn and not uncertain(volume):
            found[compartment] = (one.drawn[0] * volume, one.drawn[1] * volume, UNIFORM)
    sump = nominal(values["sump"])
    found["sump_floor"] = (max(sump - RESERVE[1], 0.0), max(sump - RESERVE[0], 0.0), UNIFORM)
    found = {name: one for name, one in found.items() if not uncertain(values[name])}
    found |= {name: _read(name, one) for name, one in stated.items()}
    for compartment, circulation in CIRCULATIONS.items():
        volume = found.get(compartment, (nominal(values[compartment]),))[0]
        if volume == 0 and found.get(circulation, (0.0, nominal(values[circulation])))[1] > 0:
            raise RangeError(
                "circulates through a compartment whose volume is zero", code="circuit.empty_compartment", argument=circulation,
                hint=f"give the volume of the {compartment}",
            )  # fmt: skip
    return found


def _read(name: str, stated: Any) -> tuple[float, float, str]:
    if name not in KINDS._fields and name not in MANNERS:
        known = ", ".join((*KINDS._fields, *MANNERS))
        raise RangeError("is not a parameter of a circuit", code="argument.unknown", argument="ranges", value=name, allowed=known)
    spec, shape = MANNERS.get(name) or getattr(KINDS, name), UNIFORM
    if isinstance(stated, (tuple, list)) and len(stated) == 3 and stated[2] in (UNIFORM, LOG_UNIFORM):
        *stated, shape = stated
    ends = (stated.lower, stated.upper) if isinstance(stated, Span) else stated if isinstance(stated, (tuple, list)) else (stated, stated)
    if len(ends) != 2:
        raise RangeError(
            "is not a range", code="range.reversed", argument=name, value=stated,
            allowed="(lower, upper), (lower, upper, 'log-uniform'), one value",
        )  # fmt: skip
    low, high = (spec.value(end, name) for end in ends)
    if uncertain(low) or uncertain(high) or hasattr(low, "ndim") or hasattr(high, "ndim"):
        raise RangeError("must have plain limits", code="uncertainty.unexpected", argument=name, value=stated)
    if not low <= high:
        raise RangeError("is not a range", code="range.reversed", argument=name, value=stated, hint="the lower limit first")
    if shape == LOG_UNIFORM and not low > 0:
        raise RangeError("must start above 0", code="range.outside", argument=name, value=stated, hint="or leave out 'log-uniform'")
    return float(low), float(high), shape


def _numbers(unknowns: Unknowns, under: Any, scores: Any, rng: Any) -> dict[int, Any]:
    """Draws of each uncertain number, by its identity, from those of its sources; errors that numbers share are the same in both.

    `under` is the probability below the scores of what is even.
    """
    import numpy

    from sumpwise.measurement.sampling import draw_into

    effects, even, last = unknowns.effects, len(under), len(scores)
    drawn = product(effects[:, even:last], scores[even:])
    drawn += product(effects[:, :even], under)
    drawn += unknowns.least
    if unknowns.others:
        others = numpy.empty((len(unknowns.others), scores.shape[1]))
        for source, row in zip(unknowns.others, others, strict=True):
            draw_into(row, getattr(source, "shape", NORMAL), getattr(source, "dof", inf), rng)
        drawn += effects[:, last:] @ others
    return {number: drawn[row] for number, row in unknowns.rows.items()}


def _shape(source: Any) -> str:
    """The shape of a source; empty if its standard uncertainty is itself in doubt."""
    return str(getattr(source, "shape", NORMAL)) if getattr(source, "dof", inf) == inf else ""


def below(scores: Any) -> Any:
    """The probability of a standard normal number below each score, to 1e-7: M. Abramowitz and I. A. Stegun (1964), 26.2.17."""
    import numpy

    found = numpy.empty_like(scores)
    for first in range(0, len(scores), AT_ONCE):
        rows, above = scores[first : first + AT_ONCE], found[first : first + AT_ONCE]
        size = abs(rows)
        t = 0.2316419 * size
        t += 1
        numpy.divide(1, t, out=t)
        numpy.multiply(t, 1.330274429, out=above)
        for factor in (-1.821255978, 1.781477937, -0.356563782, 0.319381530):
            above += factor
            above *= t
        size *= size
        size *= -0.5
        above *= numpy.exp(size, out=size)
        above *= 1 / sqrt(2 * pi)
        above -= 0.5
        numpy.copysign(above, rows, out=above)
        above += 0.5
    return found


def _possible(history: History, back: Any) -> Any:
    """Which draws are valid circuits that stay above their floor throughout; `back` goes to the converter when the pump starts."""
    import numpy

    built, operations = history.built, history.operations
    size = max((one.size for one in (*history.values, back) if getattr(one, "ndim", 0)), default=1)
    above, least, most = numpy.array([(spec.above, spec.minimum, spec.maximum) for spec in KINDS]).T[..., None]
    values, volumes = filled_rows(built, size), filled_rows([one.volume for one in operations], size)
    fine = ((values > above) & (values >= least) & (values <= most)).all(axis=0) & (volumes >= 0).all(axis=0)
    level, lowest, pumped, stood = built.sump, 0.0, inf, False
    for one in operations:
        if one.kind == PUMP and stood:
            level = level - back
        before, level = level, level + raised(one)
        if one.kind == DRAIN:
            lowest = minimum(lowest, level)
        elif draws_air_below(one):
            pumped = minimum(pumped, level if one.poured.__class__ is float and not one.poured else minimum(before, level))
        stood = one.kind == DRAIN or (stood and one.kind != PUMP)
    return fine & (pumped >= built.sump_floor - SLACK) & (pumped > SLACK) & (lowest >= -SLACK)
