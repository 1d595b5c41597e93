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
    fit = batch.fit
    return batch.run(halfway) if fit.all() else _sorted(history.built, state, led, halfway, tanks, fit)


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


def _sorted(
    built: Parameters, state: State, led: Sequence[Move], halfway: dict[int, Any], tanks: Tanks, fit: Any
) -> list[tuple[Parameters, State]]:  # fmt: skip
    """Those that fit as a batch, the others by the whole series, by number of tanks."""
    import numpy

    def part_of(x: Any, chosen: Any) -> Any:
        return x[chosen] if getattr(x, "ndim", 0) else x

    size, sides = fit.size, len(state.sides)
    whole, now = [], built
    for move in (None, *led):
        now = now._replace(converter=move.converter) if move and move.share is not None else now
        rows = numpy.empty((2 + sides, size))
        ways = [numpy.empty((len(tanks), size)) for tanks in state.way]
        whole.append((now, State(rows[0], rows[1], *ways, *rows[2:], numpy.nan)))
    seen = {place: numpy.empty(size) for place in halfway}
    groups = [(count, numpy.flatnonzero(~fit[circuits]) + circuits.start) for count, circuits in tanks.groups]
    for count, chosen in ((None, numpy.flatnonzero(fit)), *groups):
        if not chosen.size:
            continue
        mid: dict[int, Any] = dict.fromkeys(halfway)
        begun = each(lambda x, chosen=chosen: part_of(x, chosen), state._replace(converter=state.converter[:count]))
        some = Parameters(*(part_of(x, chosen) for x in built))
        moved = [type(move)(*(part_of(x, chosen) for x in move)) for move in led]
        if count is None:
            batch = Batch(moved, some, begun, Tanks([(number, int(fit[circuits].sum())) for number, circuits in tanks.groups]))
            found: Iterable[tuple[Parameters, State]] = batch.run(mid)
        else:
            found = _by_the_whole_series(some, begun, moved, mid, PLENTY)
        for (_, into), (_, end) in zip(whole, found, strict=True):
            for name in ("sump_volume", "sump", *CIRCULATIONS):
                getattr(into, name)[chosen] = getattr(end, name)
            for row_of, tank_of in zip(into.way, end.way, strict=True):
                for row, tank in zip(row_of, tank_of, strict=False):
                    row[chosen] = tank
        for place, outlet in mid.items():
            seen[place][chosen] = outlet
    for _, into in whole:
        tanks.level(into.converter)
    halfway.update(seen)
    return whole
