"""A history run again, for one circuit or for many."""

from __future__ import annotations

from sumpwise._math import maximum, where
from sumpwise.inference.moves import driven, moves
from sumpwise.inference.swift import PLENTY, Batch, Tanks
from sumpwise.mixing.circuit.compartments import CIRCULATIONS
from sumpwise.mixing.circuit.flow import NEGLIGIBLE, drain, flow, pour
from sumpwise.mixing.circuit.history import DRAIN, POUR, PUMP
from sumpwise.mixing.circuit.state import Parameters, State, each

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from typing import Any

    from sumpwise.inference.moves import Move
    from sumpwise.mixing.circuit.history import History

WIDE = 10.0
"""Volume, in litres, of an imaginary sump of new fluid that models what is drawn in first; the size does not matter."""


def replayed(
    history: History, manners: Mapping[str, Any], negligible: float = NEGLIGIBLE, tanks: Tanks | None = None,
    halfway: dict[int, Any] | None = None, begun: State | None = None,
) -> Iterable[tuple[Parameters, State]]:  # fmt: skip
    """The parameters and the state of a circuit, or of a batch with such `tanks`, at the start and after each operation; see `flow`.

    Each burst that `halfway` has a key for, which is how many operations were before it, leaves there the old fraction at the outlet when
    half of it has been pumped. The first state is `begun`, by default that of the circuit as built. Of a batch that needs little precision,
    what has left is not reported.
    """
    state, halfway = begun or history.start(), {} if halfway is None else halfway
    led = list(moves(history, manners, state.sump_volume))
    if negligible >= PLENTY and tanks is None:
        sizes = [one.size for one in (*history.values, *manners.values()) if getattr(one, "ndim", 0)]
        tanks = Tanks([(history.tanks[0], max(sizes))]) if sizes else None
    if negligible < PLENTY or tanks is None:
        return _by_the_whole_series(history.built, state, led, halfway, negligible)
    batch = Batch(led, history.built, state, tanks)
    return batch.run(halfway) if batch.fit.all() else _by_number(history.built, state, led, halfway, tanks)


def part(x: Any, some: Any) -> Any:
    """Some elements of an array, given by a slice or by their places; a single number stands for all of them."""
    return x[some] if getattr(x, "ndim", 0) else x


def _by_the_whole_series(
    built: Parameters, state: State, led: Iterable[Move], halfway: dict[int, Any], negligible: float
) -> Iterator[tuple[Parameters, State]]:  # fmt: skip
    """For one circuit, for any precision, and for circuits whose series would not be short."""
    for place, move in enumerate(led):
        yield built, state
        if move.kind == PUMP:
            if move.share is not None:  # the pump refills what the converter lost to the sump while the engine was off
                converter = [old + move.share * (state.sump - old) for old in state.converter]
                built, state = built._replace(converter=move.converter), state._replace(converter=converter)
            seen, state = _burst(built, state, move, place in halfway, negligible)
            if place in halfway:
                halfway[place] = seen
        else:
            state = {POUR: pour, DRAIN: drain}[move.kind](state, move.volume) if move.kind in (POUR, DRAIN) else driven(built, state, move)
    yield built, state


def _burst(built: Parameters, state: State, move: Move, half: bool, negligible: float) -> tuple[Any, State]:
    """A burst, and the outlet when half of it has been pumped; circulation takes place in what is not drawn in first."""
    import numpy

    through = built._replace(bypass=move.bypass)
    before = state._replace(sump=state.sump * move.dilution, sump_volume=move.start)
    rest = move.volume - move.quick
    more = move.volume / where(rest > 0, rest, 1.0)
    busy = through._replace(**{name: getattr(built, name) * more for name in CIRCULATIONS.values()})
    quick = numpy.any(move.quick)
    well = _washed(through, before, move.quick, negligible) if quick else before
    seen = None
    if half:
        share = maximum(0.5 * move.volume - move.quick, 0.0) / where(rest > 0, rest, 1.0)
        seen = flow(busy, well, share * rest, share * move.poured, negligible=negligible).outlet
        if quick:
            seen = where(0.5 * move.volume < move.quick, _washed(through, before, 0.5 * move.volume, negligible).outlet, seen)
    return seen, flow(busy, well, rest, move.poured, negligible=negligible)


def _washed(built: Parameters, state: State, volume: Any, negligible: float) -> State:
    """After nothing but new fluid has come from the sump, which stays as it is with its clutches and pockets."""
    still = built._replace(**dict.fromkeys(CIRCULATIONS.values(), 0.0))
    new = state._replace(sump=0.0 * state.sump, sump_volume=0.0 * state.sump_volume + WIDE)
    fed = flow(still, new, volume, volume, negligible=negligible)
    return state._replace(converter=fed.converter, cooler=fed.cooler, discharged=fed.discharged)


def _by_number(
    built: Parameters, state: State, led: Sequence[Move], halfway: dict[int, Any], tanks: Tanks
) -> Iterator[tuple[Parameters, State]]:  # fmt: skip
    """The circuits with each number of tanks by the whole series, put together again."""
    import numpy

    def whole(*values: Any) -> Any:
        return numpy.concatenate([one + numpy.zeros(some.stop - some.start) for one, (_, some) in zip(values, tanks.groups, strict=True)])

    seen: list[dict[int, Any]] = [dict.fromkeys(halfway) for _ in tanks.groups]
    runs = [
        list(_by_the_whole_series(
            Parameters(*(part(one, some) for one in built)),
            each(lambda x, some=some: part(x, some), state._replace(converter=state.converter[:count])),
            [type(move)(*(part(one, some) for one in move)) for move in led], outlets, PLENTY,
        )) for (count, some), outlets in zip(tanks.groups, seen, strict=True)
    ]  # fmt: skip
    halfway.update({place: whole(*(outlets[place] for outlets in seen)) for place in halfway})
    for stages in zip(*runs, strict=True):
        converter = numpy.empty((len(state.converter), tanks.counts.size))
        for (_, end), (count, some) in zip(stages, tanks.groups, strict=True):
            for row, tank in zip(converter[:count], end.converter, strict=True):
                row[some] = tank
        now = each(whole, *(end._replace(converter=[]) for _, end in stages))._replace(converter=tanks.level(converter))
        yield Parameters(*map(whole, *(one for one, _ in stages))), now
