"""Parameters of a circuit without published values: ranges with a stated prior, drawn many times and run as one batch."""

from __future__ import annotations

from itertools import pairwise

from sumpwise.errors import RangeError
from sumpwise.inference.replay import MANNERS, replayed
from sumpwise.inference.swift import Tanks
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

TANKS = "converter_tanks"
PLENTY = 1e-5
"""A negligible part of an old fraction that is compared with what a person saw."""
HARDLY = 0.02
"""If fewer of the circuits within the ranges than this share could have run a log, the ranges are wrong."""
UNPUBLISHED: Final = {name: (*flow.range, flow.shape) for name, flow in FLOWS.items() if flow.range}
"""Ranges of the shares and circulations: a judgement, without a source."""
RESERVE: Final = (0.8, 2.0)
"""Range of the usable reserve in litres, from the sump at the start down to where the pump draws air: common practice, without a source."""


class Drawn:
    """Draws of a circuit's parameters and of the uncertain volumes of its history.

    Attributes
    ----------
    history : History
        With plain values: floats, or arrays with one element for each draw.
    manners : dict
        Draws of what else is uncertain about the history, as in `replay.MANNERS`.
    tanks : Tanks
        Numbers of tanks of the converters, all possible ones equally often.
    size : int
        How many draws could have run the history without drawing air; the others are left out.
    varied : dict
        Name of each parameter with a range -> its draws.
    assumptions : list of str
        Every range, and everything else assumed.
    """

    __slots__ = ("assumptions", "history", "manners", "size", "tanks", "varied")

    def __init__(self, history: History, ranges: Mapping[str, Any], draws: int, rng: Any, lenient: bool = False) -> None:
        import numpy

        self.assumptions: list[str] = []
        known: dict[Any, Any] = {}
        drawn = _measured(history, draws, rng, known)
        best = Parameters(*map(nominal, history.built))
        rules = _ranges(history, {name: one for name, one in ranges.items() if name not in MANNERS and name != TANKS})
        changed: dict[str, Any] = {}
        for name, (low, high, shape) in rules.items():
            unit = " L" if getattr(KINDS, name).kind == "volume" else ""
            source = "as stated" if name in ranges else "no published value"
            if low == high:
                changed[name] = low
                self.assumptions.append(f"{name}: {low:.4g}{unit}, {source}")
                continue
            u = rng.random(draws)
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
        for name in [name for name in MANNERS if name in ranges]:
            unit, spec = " L" if name == "drain_back" else "", MANNERS[name]
            if uncertain(ranges[name]):
                manners[name] = numpy.clip(_one(ranges[name], draws, rng, known), spec.minimum, spec.maximum)
                low, high = (manners[name].min(), manners[name].max())
            else:
                low, high, _ = _read(name, ranges[name])
                manners[name] = low + (high - low) * rng.random(draws)
            if low == high:
                self.assumptions.append(f"{name}: {low:.4g}{unit}, as stated")
            else:
                self.assumptions.append(f"{name}: anywhere from {low:.2g} to {high:.2g}{unit}, no published value")
        back = manners.get("drain_back", 0.0)
        possible = numpy.broadcast_to(_possible(drawn, back), (draws,))
        if lenient and possible.mean() < HARDLY:
            drawn.built = drawn.built._replace(sump_floor=0.0)
            possible = numpy.broadcast_to(_possible(drawn, back), (draws,))
            self.assumptions.append("the sump holds more than the ranges say: hardly any circuit within them could have run this log")
        self.size = int(possible.sum())
        if not self.size:
            raise RangeError(
                "no circuit within the ranges could have done this without drawing air", code="evidence.no_circuit", argument="ranges",
                value=self.assumptions, hint="is the range of sump_floor too high, or a volume wrong?",
            )  # fmt: skip
        if self.size < draws:
            ruled_out = f"{100 * (1 - self.size / draws):.0f} % of the circuits within the ranges"
            self.assumptions.append(f"the pump never drew air, which rules out {ruled_out}")
        kept = [numpy.broadcast_to(v, (draws,))[possible] if getattr(v, "ndim", 0) else v for v in drawn.values]
        self.history = drawn.with_values(kept)
        self.manners = {name: one[possible] for name, one in manners.items()}
        first, last = ranges.get(TANKS, (history.tanks[0],) * 2)
        cuts = [round(self.size * i / (last - first + 1)) for i in range(last - first + 2)]
        self.tanks = Tanks([(first + i, after - before) for i, (before, after) in enumerate(pairwise(cuts)) if after > before])
        self.history.tanks = (last, *history.tanks[1:])
        if first < last:
            self.assumptions.append(f"converter: {first} to {last} tanks, all equally likely")
        self.varied = {name: getattr(self.history.built, name) for name, (low, high, _) in rules.items() if low < high}
        self.varied |= {name: one for name, one in self.manners.items() if numpy.ptp(one)}

    def runs(self, places: Container[int]) -> tuple[dict[int, Any], tuple[Parameters, State]]:
        """Run the draws.

        Parameters
        ----------
        places : container of int
            After how many operations to look at the outlet.

        Returns
        -------
        dict of int to array, (Parameters, State)
            The old fraction at the outlet of every draw at each of the places; the parameters of the draws and their states at the end.
        """
        import numpy

        seen: dict[int, Any] = {}
        for place, now in enumerate(replayed(self.history, self.manners, PLENTY, self.tanks)):
            if place in places:
                seen[place] = numpy.broadcast_to(now[1].outlet, (self.size,))
        return seen, now


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


def _measured(history: History, draws: int, rng: Any, known: dict[Any, Any]) -> History:
    """Plain values unchanged, uncertain ones drawn."""
    out = []
    for value in history.values:
        if hasattr(value, "ndim"):
            raise RangeError("must be one circuit, not an array of them", code="list.unexpected", argument="seen")
        out.append(_one(value, draws, rng, known) if uncertain(value) else value)
    return history.with_values(out)


def _one(value: Any, draws: int, rng: Any, known: dict[Any, Any]) -> Any:
    """Draws of an uncertain number, source by source; each source is `known` once it has been drawn, so that shared errors stay shared."""
    import numpy

    from sumpwise import uncertainty
    from sumpwise.measurement.sampling import _draw

    drawn: Any = uncertainty.nominal(value)
    for source, size in uncertainty.contributions(value):
        if source not in known:
            known[source] = numpy.empty(draws)
            _draw(known[source], getattr(source, "shape", "normal"), getattr(source, "dof", numpy.inf), rng)
        drawn = drawn + size * known[source]
    return drawn


def _possible(history: History, back: Any) -> Any:
    """Which draws are valid circuits that stay above their floor throughout; `back` goes to the converter when the pump starts."""
    import numpy

    built = history.built
    level, fine = built.sump, numpy.asarray(True)
    for value, spec in zip(built, KINDS, strict=True):
        fine = fine & (value > spec.above) & (value >= spec.minimum) & (value <= spec.maximum)
    stood: Any = 0.0
    for operation in history.operations:
        fine = fine & (operation.volume >= 0)
        if operation.kind == DRAIN:
            stood = back
        elif operation.kind == PUMP:
            level, stood = level - stood, 0.0
        before, level = level, level + raised(operation)
        if draws_air_below(operation):
            low = numpy.minimum(before, level)
            fine = fine & (low >= built.sump_floor - SLACK) & (low > SLACK)
        else:
            fine = fine & (level >= -SLACK)
    return fine
