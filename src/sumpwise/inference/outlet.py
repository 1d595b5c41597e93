"""What the outlet says about the inside: vial matches and clean looks, weighed against everything that has no published value."""

from __future__ import annotations

from math import ceil, erfc, hypot, log, sqrt

from sumpwise._math import every
from sumpwise.errors import RangeError, expect, listed
from sumpwise.inference.light import SHARE, LooksClean
from sumpwise.inference.outlet_answer import UNPUMPED, Estimate, OutletEvidence, estimates, percent, share
from sumpwise.inference.prior import Unknowns
from sumpwise.inference.replay import part, replayed
from sumpwise.inference.sample import Sample
from sumpwise.inference.swift import PLENTY
from sumpwise.measurement.joint import beyond
from sumpwise.mixing.circuit.flow import REACH, turnovers
from sumpwise.mixing.circuit.history import CIRCULATE, POUR, PUMP, History, Operation, nominal
from sumpwise.mixing.circuit.model import SLACK, Circuit
from sumpwise.mixing.circuit.state import Parameters, each, resident
from sumpwise.quantities.boundary import answer, argument

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from typing import Any

    from sumpwise.accepted import FractionLike, VolumeLike
    from sumpwise.quantities.reading import Read

NOISE = argument("number", above=0, maximum=1, scalar=True)
BIAS = argument("number", minimum=0, maximum=1, scalar=True)
STEP = argument("fraction", scalar=True)
PRICE = argument("number", scalar=True, optional=True)
PORTION = argument("volume", above=0, scalar=True)
DRAWS = argument("count", minimum=1000, maximum=1_000_000, scalar=True)

MOST_STEPS = 4_000_000
"""The most circuits drawn times steps of one: this decides how long an answer takes and how much memory it needs."""
FEWEST = 100
"""With fewer effective draws than this, no answer is given."""
SHAKY = 400
"""With fewer effective draws than this, the answer says that it is shaky."""
AGAIN = 1.2
"""How many times as many draws are made as seem to be needed."""
STARVING = 0.05
"""Above this probability of drawing air in the next burst the answer warns; above this probability that the sump does not even hold the
burst, further portions are not worked out."""
FARTHEST = 20
"""How many further portions are considered."""
SIGNIFICANT = 0.01
"""Matches contradict each other if the chance of a fit this bad is below this."""
HABITS = 0.25, 0.25, 0.5
"""How likely a person is to fill the vial at the start, in the middle or at the end of a burst if the log does not say: a judgement."""
ESTIMATED = "resident", "outlet", "darkening"
"""What all draws tell of the inside, with its uncertainty."""
WIDEST = 5.0
"""The most by which the uncertainty of matches that contradict each other is multiplied."""


def inside_from_outlet(
    seen: Iterable[tuple[Circuit, Any]], target: FractionLike, *, now: Circuit | None = None, ranges: Mapping[str, Any] | None = None,
    reading_noise: float = 0.05, observer_bias: float = 0.10, vial_step: FractionLike = 0, portion: VolumeLike = "1 L",
    cost_per_litre: float | None = None, confidence: FractionLike = 0.95, draws: int = 10_000, seed: int = 0,
) -> OutletEvidence:  # fmt: skip
    """Say how fresh the inside is, from everything seen at the outlet.

    Parameters
    ----------
    seen : iterable of (Circuit, old fraction or LooksClean)
        States of one circuit along one history, each with what was seen at its outlet: the old fraction of the vial that matched, or a
        `LooksClean`. If empty, the answer rests on the ranges alone.
    target : fraction
        Fresh fraction wanted inside.
    now : Circuit, optional
        The state asked about, further along the same history; the last one seen by default.
    ranges : mapping, optional
        Name of a `Circuit` parameter -> (lower, upper), (lower, upper, "log-uniform"), or one certain value. These replace the library's
        own ranges, which apply to parameters that have no published value and are plain numbers in the circuit: bypass, circulations, the
        volume of the pockets, the sump floor (`circuit_prior`). A parameter that is an uncertain number is drawn from its distribution.
    reading_noise, observer_bias : float
        Standard deviation of a single match, and of the error that one observer's matches share, as a share of absorbance (and so of the
        old fraction).
    vial_step : fraction, optional
        Step between vials in old fraction; a match is right to half a step.
    portion : volume, optional
        Size of the next portions of fluid, in bursts no larger than the largest of the history. If the sump holds too little to pump one
        with a probability above 5 %, what further fluid would bring is not worked out: `further` is empty, and a caution says so. Up to
        that, circuits that hold too little are left out of what it would bring, and an assumption says how many.
    cost_per_litre : float, optional
        Price of new fluid, in any currency.
    confidence : fraction, optional
        Probability of having reached the target at which to stop.
    draws : int, optional
        Circuits drawn from the ranges, 1000 to 1 000 000; up to ten times as many if few of them agree with what was seen. Draws times
        operations of the history may be at most 4 000 000.
    seed : int, optional
        Seed of the random numbers.

    Returns
    -------
    OutletEvidence

    Raises
    ------
    SumpwiseError
        For states of different histories, ranges that could not have run the history, fewer than 100 effective draws, or a history too
        long for the number of draws.

    Notes
    -----
    Bayes' rule by importance sampling: parameters are drawn from their ranges and uncertain volumes from their sources, the history is run
    as one batch, and each draw is weighted by the likelihood of the whole series. For matches mᵢ of outlets oᵢ, ln mᵢ = ln oᵢ + B + εᵢ with
    B ~ N(0, observer_bias²) common to all. B is integrated out exactly; for the clean looks it is drawn from its posterior, and each look
    has the likelihood Φ((ln threshold − ln o − B)/reading_noise). Fresh fluid seen leaving is not inside: with the litres known, a cleaner
    outlet means a staler inside, and a clean look on its own proves little. Effective sample size (Σw)²/Σw²: Kong, Liu and Wong, JASA 89
    (1994) 278.

    Examples
    --------
    >>> from sumpwise import Circuit, inside_from_outlet
    >>> now = Circuit("3.73 L", "2.45 L", "0.62 L", "0.83 L", "1.05 L").drain("3.65 L").pour("3.71 L")
    >>> seen = []
    >>> for match in (0.60, 0.45, 0.35, 0.30, 0.22, 0.19):
    ...     burst = now.pump("1.22 L")
    ...     seen.append((burst, match))
    ...     now = burst.pour("1.22 L")
    >>> told = inside_from_outlet(seen, 0.80, now=now)
    >>> told.verdict, round(told.resident.mean, 2)
    ('go on', 0.78)
    """
    wanted, sure = nominal(SHARE.value(target, "target")), nominal(SHARE.value(confidence, "confidence"))
    size, price = PORTION.read(portion, "portion"), PRICE.value(cost_per_litre, "cost_per_litre")
    noise, bias = nominal(NOISE.value(reading_noise, "reading_noise")), nominal(BIAS.value(observer_bias, "observer_bias"))
    step, count = nominal(STEP.value(vial_step, "vial_step")), DRAWS.value(draws, "draws")
    circuits, looks = _series(seen)
    if now is None:
        if not circuits:
            raise RangeError("is empty, so give the state asked about as `now`", code="argument.together", argument="seen")
        now = circuits[-1]
    expect(now, Circuit, "now")
    places = [(_place(circuit, now),) for circuit in circuits]
    return weighed(
        now.history, list(zip(places, looks, strict=True)), wanted, ranges=ranges or {}, noise=noise, bias=bias, step=step,
        portion=nominal(size.value), price=price, sure=sure, count=count, seed=seed, asked=size,
    )  # fmt: skip


def weighed(
    history: History, seen: Sequence[tuple[tuple[float, ...], Any]], wanted: float, *, ranges: Mapping[str, Any], portion: float,
    price: Any, sure: float, step: float, count: int, noise: float = 0.05, bias: float = 0.10, seed: int = 0,
    lenient: bool = False, longest: float | None = None, asked: Read | None = None, first: int | None = None, near: int = 0,
) -> OutletEvidence:  # fmt: skip
    """As `inside_from_outlet`, with plain numbers, for a history that perhaps no single circuit could have run.

    Parameters
    ----------
    history : History
        All the operations.
    seen : sequence
        Pairs: after how many operations something was seen (a half is half-way through a burst), and the old fraction or the look. The
        first may be three numbers, if it is not
        known whether the vial was filled at the start, the middle or the end of a burst (one person always does the same, and the end is
        twice as likely as either of the others).
    ranges : mapping
        As for `inside_from_outlet`; also `drawn_first`, `drain_back` and `bypass_drift` (`moves.MANNERS`), which may be uncertain numbers
        and then share their sources with the history, and `converter_tanks`, the smallest and largest number.
    lenient : bool
        Instead of refusing: take a history that hardly any circuit could have run without drawing air as proof that the sump holds more,
        and matches that hardly fit each other as more uncertain than stated.
    longest : float, optional
        Litres of the largest burst with nothing poured meanwhile; by default that of the history.
    asked : Read, optional
        The portion as it was given, for the unit and the registry of the answer.
    first : int, optional
        Of the draws from the ranges no more than these are run, the others only tell how many could have run the history; by default all.
    near : int
        If further draws are needed, so many at a time are drawn near what was matched (`aim`); by default there are none of these, but ever
        more from the ranges.
    """
    import numpy

    looks, length = [one for _, one in seen], _steps(history)
    if count * length > MOST_STEPS:
        raise RangeError(
            f"takes {count * length} steps for {count} draws of {length} each", code="limit.count", argument="draws", value=count,
            allowed=f"at most {MOST_STEPS} steps", limits=(1000, MOST_STEPS // length, ""),
            hint="use fewer draws or a shorter history, or add a very small compartment to its neighbour",
        )  # fmt: skip
    most = max(count, min(10 * count, MOST_STEPS // max(length, 1)))
    habits = HABITS if any(len(places) > 1 for places, _ in seen) else (1.0,)
    unknowns, places = Unknowns(history, ranges, lenient), [there for there, _ in seen]
    matched = [i for i, one in enumerate(looks) if isinstance(one, float)]
    sample = Sample(unknowns, places, len(habits), seed)
    sample.draw(count, first)
    while True:
        wider, found = 1.0, _likelihood(looks, sample.logs, noise, bias, step, *sample.chances[:2])
        if lenient and matched:
            fits, _ = found if len(matched) == len(looks) else _likelihood(
                [looks[i] for i in matched], sample.logs[matched], noise, bias, step, *sample.chances[:2]
            )  # fmt: skip
            wider = min(_misfit(float(fits.max()), len(matched)), WIDEST)
        while True:
            errors = noise * wider, bias * wider, step
            each, bent = found if wider == 1 else _likelihood(looks, sample.logs, *errors, *sample.chances[:2])
            each = each + numpy.log(habits)[:, None]
            best = each.max(axis=0)
            shares = numpy.exp(each - best)
            total = shares.sum(axis=0)
            likely = best + numpy.log(total / sample.often())
            weights = numpy.exp(likely - likely.max())
            weights /= weights.sum()
            effective = float(1 / (weights @ weights))
            if effective >= FEWEST or sample.asked < most or wider >= WIDEST or not lenient:
                break
            wider = min(1.5 * wider, WIDEST)
        if effective >= SHAKY or sample.asked >= most:
            break
        more = min(near, most - sample.asked, sample.asked * (AGAIN * SHAKY / effective - 1))
        if not near:
            count = min(most, ceil(1.5 * count * SHAKY / effective))
            sample = Sample(unknowns, places, len(habits), seed)
            sample.draw(count)
        elif matched:
            aim = sample.aim(matched, *_matched([looks[i] for i in matched], *errors), likely, habits)
            sample.draw_near(aim, ceil(more))
        else:
            sample.draw(ceil(more))
    if not effective >= FEWEST:
        raise RangeError(
            f"only {effective:.0f} of {sample.asked:.0f} draws agree with what was seen", code="evidence.contradicts", argument="seen",
            value=looks, allowed=f"at least {FEWEST}", hint="use more draws or wider ranges, or check the matches",
        )  # fmt: skip
    habit = (shares.cumsum(axis=0)[:-1] < total * sample.chances[2]).sum(axis=0)  # one, as likely as it is
    order = numpy.arange(sample.size)
    expected = sample.shown[:, habit, order] * numpy.exp(bent[habit, order])
    burst = history.longest_burst() if longest is None else longest
    inside, way = _inside(burst, sample, weights, wanted, sure, portion)
    numbers = [*ESTIMATED, *sample.varied, *matched]
    draws = [*map(inside.get, ESTIMATED), *sample.varied.values(), *expected[matched]]
    told = dict(zip(numbers, estimates(draws, weights), strict=True))
    inside |= {name: told[name] for name in ESTIMATED}
    matches = [(looks[i], told[i]) for i in matched]
    odd = [
        place for place, (one, there) in enumerate(matches)
        if abs(log(one / there.mean)) > 3 * hypot(noise, step / one / sqrt(12), there.standard / there.mean)
    ]
    cautions = [
        f"the match of {percent(one)} does not fit the others: {percent(there.mean)} old was expected"
        for one, there in (matches[place] for place in odd)
    ]
    if wider > 1:
        cautions.append(f"the matches hardly fit each other and the litres, so their uncertainty is multiplied by {wider:.2g}")
    if effective < SHAKY:
        cautions.append(f"only {effective:.0f} draws agree with what was seen: use more draws")
    if not inside["further_litres"]:
        cautions.append(
            f"the next {portion:.3g} L {UNPUMPED}, so what it would add is not worked out: pour first, or ask about a smaller portion"
        )
    elif inside["starving"] > STARVING:
        cautions.append(f"the pump draws air in the next burst with probability {percent(inside['starving'])}: pump less at a time")
    assumptions = [
        *sample.assumptions,
        f"standard uncertainty of a match: {percent(noise)} of the old fraction; all of one observer's matches together: {percent(bias)}",
        *([f"vials {100 * step:.3g} percentage points apart"] if step else []),
        *(["the vial is always filled at the same stage of a burst, at the start, the middle or the end: the end as likely as not"]
          if len(habits) > 1 else []),
        *(f"the look at the outlet: {one.text}" for one in looks if isinstance(one, LooksClean)),
        "absorbance is proportional to the old fraction and to the depth looked through (Beer–Lambert)",
        *way,
        "a long drive mixes everything with everything",
    ]  # fmt: skip
    gain = inside["next_portion"].mean if inside["next_portion"] else 0.0
    return OutletEvidence(
        asked, **inside, target=wanted, confidence=sure, matches=tuple(matches), odd=tuple(odd),
        cost_per_point=None if price is None or not gain > 0 else answer(nominal(price) * portion / gain, "number"),
        parameters={name: told[name] for name in sample.varied},
        effective_draws=effective, wider=wider, assumptions=tuple(assumptions), cautions=tuple(cautions),
    )  # fmt: skip


def _steps(history: History) -> int:
    """How many steps a series takes through a history: one for each operation, more where a small compartment turns over many times."""
    built = Parameters(*map(nominal, history.built))
    fastest = max(turnovers(built, History(built, history.tanks).start()))
    return sum(max(1, ceil(fastest * nominal(one.volume) / REACH)) if one.kind in (PUMP, CIRCULATE) else 1 for one in history.operations)


def _series(seen: Any) -> tuple[list[Circuit], list[Any]]:
    """The circuits, and what was seen at their outlets: an old fraction as a float, or a look."""
    circuits, looks = [], []
    for pair in listed(seen, "seen", "pairs of a Circuit and what was seen at its outlet"):
        if not (isinstance(pair, (tuple, list)) and len(pair) == 2 and isinstance(pair[0], Circuit)):
            raise RangeError("must be pairs of a Circuit and what was seen at its outlet", code="list.entry", argument="seen", value=pair)
        circuit, one = pair
        if not isinstance(one, LooksClean):
            one = SHARE.value(one, "seen")
            if not isinstance(one, float):
                raise RangeError(
                    "must be a plain old fraction, without an uncertainty", code="list.entry", argument="seen", value=one,
                    hint="its uncertainty is reading_noise",
                )  # fmt: skip
        circuits.append(circuit)
        looks.append(one)
    return circuits, looks


def _place(circuit: Circuit, now: Circuit) -> int:
    """How many operations of the history lead to a state."""
    if not circuit.history.begins(now.history):
        raise RangeError(
            "is not an earlier state of the circuit asked about", code="evidence.other_history", argument="seen", value=circuit,
            hint="use one circuit with one history",
        )  # fmt: skip
    return len(circuit.history.operations)


def _likelihood(looks: Sequence[Any], logs: Any, noise: float, bias: float, step: float, bend: Any, notice: Any) -> tuple[Any, Any]:
    """Log-likelihood of every draw, and the observer's bias, drawn (using `bend`, standard normal) from its posterior given the matches.

    `logs` are the logarithms of the outlets: an array (looks, draws), or (looks, habits, draws) for an answer for each habit. `notice` is
    where in the range of a clean look this eye's threshold is, 0 to 1.
    """
    import numpy

    likely, pull, weight = numpy.zeros(logs.shape[1:]), numpy.zeros(logs.shape[1:]), 0.0
    matched = [i for i, one in enumerate(looks) if isinstance(one, float)]
    if matched:
        found, variances = _matched([looks[i] for i in matched], noise, 0.0, step)
        sharp = 1 / variances.diagonal()
        off = (found - logs[matched].T).T
        each = (off.T * sharp).T
        pull, weight = each.sum(axis=0), float(sharp.sum())
        likely = (each * off).sum(axis=0) / -2
    width = bias**2 / (1 + weight * bias**2)
    likely = likely + pull**2 * width / 2
    bent = pull * width + sqrt(width) * bend
    for one, outlet in zip(looks, logs, strict=True):
        if isinstance(one, LooksClean):
            z = (numpy.log(one.lower + (one.upper - one.lower) * notice) - outlet - bent) / noise
            likely = likely + _log_probability(z if one.clean else -z)
    return likely, bent


def _matched(matches: Sequence[float], noise: float, bias: float, step: float) -> tuple[Any, Any]:
    """The logarithms of matches, and the covariance of their errors."""
    import numpy

    own = [noise**2 + (step / one) ** 2 / 12 for one in matches]
    return numpy.log(matches), numpy.diag(own) + bias**2


def _misfit(best: float, matches: int) -> float:
    """The factor on the uncertainty of the matches that makes the best-fitting draw agree with them: 1 if chance alone explains the misfit.

    `best` is its log-likelihood. The square root of chi squared per degree of freedom, one of which goes to the bias: R. T. Birge, Phys.
    Rev. 40 (1932) 207.
    """
    misfit, freedom = -2 * best, max(1, matches - 1)
    return sqrt(misfit / freedom) if beyond(misfit, freedom) < SIGNIFICANT else 1.0


def _log_probability(z: Any) -> Any:
    """Logarithm of Φ(z), with z cut off at −37: a weight of e⁻⁶⁹⁰ is nothing either way."""
    import numpy

    return numpy.array([log(erfc(-one / sqrt(2)) / 2) for one in numpy.maximum(z, -37.0).ravel().tolist()]).reshape(z.shape)


def _inside(
    longest: float, sample: Sample, weights: Any, wanted: float, sure: float, portion: float
) -> tuple[dict[str, Any], list[str]]:
    """What the draws say about the inside now, not yet estimated, and after further portions; and how those are pumped.

    There are no further portions if the sump hardly holds what the first burst of them takes.
    """
    built, state, tanks = sample.built, sample.state, sample.tanks
    bursts = ceil(portion / longest - 1e-9) if longest else 1
    size = portion / bursts
    low = state.sump_volume - (size if longest else 0.0)
    lost = share(low <= SLACK, weights)
    pumped = lost <= STARVING
    if longest:
        way = f"every further {portion:.3g} L is pumped in {bursts} burst{'s' if bursts > 1 else ''} of {size:.3g} L, refilled after each"
    else:
        way = "further fluid is poured while as much is pumped"
    fresh = resident(built, state)
    inside = {
        "resident": fresh,
        "outlet": 1 - state.outlet,
        "darkening": 1 - state.outlet - fresh,
        "probability": share(fresh >= wanted, weights),
        "portion_litres": portion,
        "starving": share((low <= SLACK) | (built.sump_floor > low + SLACK), weights),
    }
    if pumped and not every(low > SLACK):
        able = (low > SLACK).nonzero()[0]
        built, state, tanks = Parameters(*(part(one, able) for one in built)), each(lambda x: part(x, able), state), tanks.only(able)
        fresh, weights = fresh[able], weights[able] / weights[able].sum()
        way += f"; circuits whose sump does not hold that are left out ({percent(lost) if lost >= 0.005 else 'less than 1 %'})"
    once = (Operation(PUMP, size), Operation(POUR, size)) if longest else (Operation(PUMP, size, size),)
    again = History(built, tuple(map(len, state.way)), once * bursts)
    further: list[tuple[float, float, float]] = []
    gain: Estimate | None = None
    for portions in range(1, FARTHEST + 1 if pumped else 1):
        *_, (_, state) = replayed(again, {}, PLENTY, tanks, begun=state)
        then = resident(built, state)
        if gain is None:
            [gain] = estimates([100 * (then - fresh)], weights)
        further.append((portions * portion, float(weights @ then), share(then >= wanted, weights)))
        if further[-1][2] >= sure:
            break
    return inside | {"next_portion": gain, "further_litres": tuple(further)}, [way] if pumped else []
