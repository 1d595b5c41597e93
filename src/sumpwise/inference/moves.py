"""What a history moves, with effects that cannot be measured: new fluid drawn in before it has mixed, a converter that has drained back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise._math import exp, maximum, minimum, where
from sumpwise.mixing.circuit.flow import mix
from sumpwise.mixing.circuit.history import CIRCULATE, DRAIN, POUR, PUMP, raised
from sumpwise.mixing.circuit.state import filled, present
from sumpwise.quantities.boundary import argument

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from typing import Final

    from sumpwise.mixing.circuit.history import History
    from sumpwise.mixing.circuit.state import Parameters, State
    from sumpwise.quantities.boundary import Argument


class Move(NamedTuple):
    """What one operation moves, in litres.

    `kind` and `volume` are those of the operation, `level` is what the sump holds afterwards. Of a burst, `quick` is new fluid that is
    drawn in first, unmixed; then the sump, of which it was a part, holds `start` and is as old as before times `dilution`; `poured` runs in
    during the rest. `share`, if not None, is the part of the converter that comes from the sump when the pump starts; `converter` is then
    its volume, and `bypass` the share of this burst that bypasses it.
    """

    kind: str
    volume: Any
    level: Any
    poured: Any = 0.0
    quick: Any = 0.0
    start: Any = 0.0
    dilution: Any = 1.0
    share: Any = None
    bypass: Any = 0.0
    converter: Any = 0.0


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


def moves(history: History, manners: Mapping[str, Any], level: Any = None) -> Iterator[Move]:
    """What each operation moves; `level` is what the sump holds at the start, by default as built."""
    first, back, drift = (manners.get(name, 0.0) for name in MANNERS)
    built = history.built
    level, converter, plume, stood = built.sump if level is None else level, built.converter, 0.0, False
    bursts, burst = sum(one.kind == PUMP for one in history.operations), 0
    for one in history.operations:
        kind, volume, poured = one
        if kind != PUMP:
            level = level + raised(one)
            plume = plume + first * volume if kind == POUR else 0.0
            stood = stood or kind == DRAIN
            yield Move(kind, volume, level)
            continue
        end, share = level + raised(one), None
        if stood:
            less = minimum(back, 0.5 * maximum(end, 0.0))
            converter, level, stood = converter + less, level - less, False
            share, end = less / converter, end - less
        bypass = built.bypass
        if bursts > 1:
            bypass = minimum(maximum(bypass + drift * (burst / (bursts - 1) - 0.5), 0.0), 0.95)
        burst += 1
        start, dilution = level, 1.0
        if poured.__class__ is not float or poured:  # what a helper pours meanwhile is drawn first as well
            direct = first * poured
            plume, poured, start = plume + direct, poured - direct, level + direct
        quick = minimum(plume, 0.98 * volume)
        if quick.__class__ is not float or quick:
            plume, start = plume - quick, start - quick
            dilution = level / start
        yield Move(kind, volume, end, poured, quick, start, dilution, share, bypass, converter)
        level = end


def driven(built: Parameters, state: State, move: Move) -> State:
    """A drive: everything except the pockets soon becomes one mixture, which the pockets approach as they exchange with it."""
    if move.kind != CIRCULATE:
        return mix(built, state)
    held, old = present(built, state)
    rest, mean = held - built.pockets, old / held
    mixture = (old - built.pockets * state.pockets) / rest
    apart = exp(-built.pocket_circulation * move.volume * (1 / where(built.pockets > 0, built.pockets, 1.0) + 1 / rest))
    well = filled(state.sump_volume, mean + (mixture - mean) * apart, map(len, state.way), state.discharged)
    return well._replace(pockets=mean + (state.pockets - mean) * apart)
