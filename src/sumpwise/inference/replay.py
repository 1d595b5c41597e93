"""A history run again with effects that cannot be measured: new fluid drawn in before it has mixed, a converter that has drained back."""

from __future__ import annotations

from sumpwise._math import exp, maximum, minimum, where
from sumpwise.inference.swift import partway, washed
from sumpwise.mixing.circuit.compartments import CIRCULATIONS
from sumpwise.mixing.circuit.flow import NEGLIGIBLE, pour
from sumpwise.mixing.circuit.history import CIRCULATE, DRAIN, POUR, PUMP, after
from sumpwise.mixing.circuit.state import filled, present
from sumpwise.quantities.boundary import argument

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from typing import Any, Final

    from sumpwise.inference.swift import Tanks
    from sumpwise.mixing.circuit.history import History
    from sumpwise.mixing.circuit.state import Parameters, State
    from sumpwise.quantities.boundary import Argument

MANNERS: Final[dict[str, Argument]] = {
    "drawn_first": argument("fraction", minimum=0, maximum=0.95),
    "drain_back": argument("volume", minimum=0),
    "bypass_drift": argument("number", minimum=-1, maximum=1),
}
"""The manners of pumping: what else may be uncertain about a history.

`drawn_first`: share of a pour that the pump draws in before it has mixed; `drain_back`: litres that drain from the converter into the
sump while the engine is off before the first burst, and that it takes back when the pump starts, at most half of what that burst would
leave in the sump; `bypass_drift`: how much the bypass grows from the first burst to the last.
"""
HARDLY_BEGUN = 1e-6
"""Share of a burst that is as good as nothing: the outlet is then that of its start."""


def replayed(
    history: History, manners: Mapping[str, Any], negligible: float = NEGLIGIBLE, tanks: Tanks | None = None,
    halfway: dict[int, Any] | None = None,
) -> Iterator[tuple[Parameters, State]]:  # fmt: skip
    """The parameters and the state of a circuit, or of a batch with such `tanks`, at the start and after each operation; see `flow`.

    Each burst that `halfway` has a key for, which is how many operations were before it, leaves there the old fraction at the outlet when
    half of it has been pumped.
    """
    first, back, drift = (manners.get(name, 0.0) for name in MANNERS)
    built, state = history.built, history.start()
    yield built, state
    bursts, burst = sum(one.kind == PUMP for one in history.operations), 0
    stood, plume = False, 0.0
    halfway = {} if halfway is None else halfway
    for place, one in enumerate(history.operations):
        if one.kind == POUR:
            plume = plume + first * one.volume
        elif one.kind == PUMP:
            if stood:
                built, state = _started(built, state, minimum(back, 0.5 * maximum(state.sump_volume - one.volume + one.poured, 0.0)))
                stood = False
            through = built
            if bursts > 1:
                share = burst / (bursts - 1) - 0.5
                through = built._replace(bypass=minimum(maximum(built.bypass + drift * share, 0.0), 0.95))
            burst += 1
            direct = 0.0
            if one.poured.__class__ is not float or one.poured:  # what a helper pours meanwhile is drawn first as well
                direct = first * one.poured
                state, plume = pour(state, direct), plume + direct
            quick = minimum(plume, 0.98 * one.volume)
            plume = plume - quick
            seen, state = _burst(through, state, one.volume, one.poured - direct, quick, place in halfway, negligible, tanks)
            if place in halfway:
                halfway[place] = seen
            yield built, state
            continue
        else:
            plume = 0.0
            stood = stood or one.kind == DRAIN
        state = _driven(built, state, one.volume) if one.kind == CIRCULATE else after(built, state, one, negligible)
        yield built, state


def _driven(built: Parameters, state: State, volume: Any) -> State:
    """A drive: everything except the pockets soon becomes one mixture, which the pockets approach as they exchange with it."""
    held, old = present(built, state)
    rest, mean = held - built.pockets, old / held
    mixture = (old - built.pockets * state.pockets) / rest
    apart = exp(-built.pocket_circulation * volume * (1 / where(built.pockets > 0, built.pockets, 1.0) + 1 / rest))
    well = filled(state.sump_volume, mean + (mixture - mean) * apart, map(len, state.way), state.discharged)
    return well._replace(pockets=mean + (state.pockets - mean) * apart)


def _started(built: Parameters, state: State, back: Any) -> tuple[Parameters, State]:
    """The pump refills what the converter lost to the sump while the engine was off."""
    held = built.converter
    share = back / (held + back)
    converter = [old + share * (state.sump - old) for old in state.converter]
    return built._replace(converter=held + back), state._replace(converter=converter, sump_volume=state.sump_volume - back)


def _burst(
    built: Parameters, state: State, volume: Any, poured: Any, quick: Any, half: bool, negligible: float, tanks: Tanks | None
) -> tuple[Any, State]:  # fmt: skip
    """A burst whose first part, `quick`, is new fluid that has not mixed; circulation takes place in the rest of the burst.

    With `half`, also the outlet when half of it has been pumped.
    """
    import numpy

    if not numpy.any(quick):
        return partway(built, state, volume, poured, 0.5 if half else None, negligible, tanks)
    # the new fluid was counted into the mixed sump: take it out again, leaving the old fluid as it was
    mixed = state.sump_volume - quick
    before = state._replace(sump=state.sump * state.sump_volume / mixed, sump_volume=mixed)
    state = washed(built, before, quick, negligible, tanks)
    rest = volume - quick
    more = volume / rest
    busy = built._replace(**{name: getattr(built, name) * more for name in CIRCULATIONS.values()})
    until = (0.5 * volume - quick) / rest
    seen, state = partway(busy, state, rest, poured, maximum(until, HARDLY_BEGUN) if half else None, negligible, tanks)
    if half and numpy.any(until < 0):
        seen = where(until < 0, washed(built, before, 0.5 * volume, negligible, tanks).outlet, seen)
    return seen, state
