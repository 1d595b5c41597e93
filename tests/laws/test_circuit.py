"""Laws of the circuit, of what the outlet says, and of the best order."""

import itertools

import numpy as np
import pytest
from hypothesis import given, reject
from hypothesis import strategies as st

from laws.lawbook import examples, law
from sumpwise import drain_refill
from sumpwise.errors import RangeError
from sumpwise.inference.light import LooksClean, light_passed
from sumpwise.inference.outlet import inside_from_outlet
from sumpwise.mixing.best_order import best_use
from sumpwise.mixing.circuit import Circuit
from sumpwise.mixing.circuit.state import Answers

quick = examples(40)
shares = st.floats(0, 1)
parts = st.floats(0.05, 0.95)


@st.composite
def parameters(draw, start=shares):
    """Keyword arguments of a circuit, in plain litres."""
    clutches, pockets = draw(st.one_of(st.just(0.0), st.floats(0.1, 2))), draw(st.one_of(st.just(0.0), st.floats(0.1, 2)))
    return {
        "sump": draw(st.floats(0.5, 6)), "converter": draw(st.floats(0.3, 4)), "cooler": draw(st.floats(0.2, 1.5)),
        "clutches": clutches, "pockets": pockets, "converter_tanks": draw(st.integers(1, 4)), "cooler_tanks": draw(st.integers(1, 6)),
        "bypass": draw(shares), "clutch_circulation": draw(st.floats(0, 1)) if clutches else 0.0,
        "pocket_circulation": draw(st.floats(0, 0.5)) if pockets else 0.0, "start": draw(start),
    }  # fmt: skip


VOLUMES = ("sump", "converter", "cooler", "clutches", "pockets", "sump_floor")
PLAIN = ("bypass", "clutch_circulation", "pocket_circulation", "start", "converter_tanks", "cooler_tanks")


def built(given, unit="L", scale=1.0):
    return Circuit(**{name: f"{scale * v!r} {unit}" if name in VOLUMES else v for name, v in given.items()})


def litres(volume):
    return f"{volume!r} L"


operations = st.sampled_from(["drain", "pour", "pump", "matched", "rich", "circulate", "mix"])
moves = st.lists(st.tuples(operations, parts), min_size=1, max_size=6)


def moved(circuit, move):
    """One operation, its volume a part of what the sump allows; and the new fluid it brought."""
    what, part = move
    sump = circuit.sump_volume.m_as("L")
    volume = part * sump
    if what == "mix":
        return circuit.mix(), 0.0
    if what == "matched":
        return circuit.pump(litres(3 * part), poured=litres(3 * part)), 3 * part
    if what == "rich":
        return circuit.pump(litres(volume), poured=litres(2.5 * volume)), 2.5 * volume
    if what == "pour":
        return circuit.pour(litres(part)), part
    if what == "circulate":
        return circuit.circulate(litres(20 * part)), 0.0
    return getattr(circuit, what)(litres(volume)), 0.0


def states(circuit):
    return [getattr(circuit, name) for name in Answers._fields[:7]]


def fresh(circuit):
    return circuit.resident * circuit.volume.m_as("L") + circuit.discharged.m_as("L")


@law("Circuit")
@given(parameters(), moves)
@quick
def test_fresh_fluid_is_conserved(given_, series):
    """What was fresh at the start or poured is inside or has left, to 1e-12 at every step."""
    circuit = built(given_)
    account = fresh(circuit)
    for move in series:
        before = fresh(circuit)
        circuit, poured = moved(circuit, move)
        assert fresh(circuit) - before == pytest.approx(poured, abs=1e-12 * max(1, before))
        account += poured
    assert fresh(circuit) == pytest.approx(account, rel=1e-12, abs=1e-12)


@law("Circuit")
@given(parameters(), moves, parts, st.sampled_from([0, 0.5, 1, 1.5]))
@quick
def test_what_has_left_is_what_the_line_showed_meanwhile(given_, series, part, ratio):
    """The fresh volume that leaves with a burst is the integral of the outlet over it, by forty points of Gauss and Legendre."""
    circuit = built(given_)
    for move in series:
        circuit, _ = moved(circuit, move)
    quickest = min(given_["converter"] / given_["converter_tanks"], given_["cooler"] / given_["cooler_tanks"])
    volume = part * min(circuit.sump_volume.m_as("L"), 30 * quickest)
    points, weights = np.polynomial.legendre.leggauss(40)
    pumped = [0.5 * volume * (1 + float(point)) for point in points]
    shown = [circuit.pump(litres(x), poured=litres(ratio * x)).outlet for x in pumped]
    left = circuit.pump(litres(volume), poured=litres(ratio * volume)).discharged - circuit.discharged
    assert left.m_as("L") == pytest.approx(0.5 * volume * np.dot(weights, shown), abs=1e-11)


@law("Circuit")
@given(parameters(), moves)
@quick
def test_fractions_stay_between_old_and_new(given_, series):
    """No operation makes any compartment staler than the start or fresher than new fluid."""
    circuit = built(given_)
    for move in series:
        circuit, _ = moved(circuit, move)
        assert all(given_["start"] - 1e-13 <= share <= 1 for share in states(circuit))


@law("Circuit")
@given(parameters(), moves, st.floats(0, 60))
@quick
def test_driving_leaves_the_inside_mean_alone(given_, series, volume):
    """Neither mixing nor circulating changes the fresh fraction of the whole, and mixing makes every compartment alike."""
    circuit = built(given_)
    for move in series:
        circuit, _ = moved(circuit, move)
    assert circuit.circulate(litres(volume)).resident == pytest.approx(circuit.resident, abs=1e-12)
    mixed = circuit.mix()
    assert states(mixed) == pytest.approx([circuit.resident] * 7, abs=1e-14)
    assert mixed.discharged == circuit.discharged


@law("Circuit")
@given(parameters(), moves, parts, parts, st.sampled_from([0, 0.5, 1, 1.5]))
@quick
def test_pumping_in_two_parts_equals_once(given_, series, part, split, ratio):
    """A burst interrupted and resumed, poured at one rate, ends like the burst in one go."""
    circuit = built(given_)
    for move in series:
        circuit, _ = moved(circuit, move)
    volume = part * circuit.sump_volume.m_as("L")
    once = circuit.pump(litres(volume), poured=litres(ratio * volume))
    first, rest = split * volume, volume - split * volume
    twice = circuit.pump(litres(first), poured=litres(ratio * first)).pump(litres(rest), poured=litres(ratio * rest))
    assert states(twice) == pytest.approx(states(once), abs=1e-12)
    assert twice.discharged.m_as("L") == pytest.approx(once.discharged.m_as("L"), abs=1e-12)


@law("Circuit")
@given(parameters(), moves, parts, st.sampled_from([-1, 1]))
@quick
def test_a_nearly_matched_pour_is_continuous_with_a_matched_one(given_, series, part, side):
    """Pouring a billionth more or less than is pumped changes nothing by more than about a billionth."""
    circuit = built(given_)
    for move in series:
        circuit, _ = moved(circuit, move)
    if circuit.sump_volume.m_as("L") < 1e-3:  # hardly any is left: litres through a drop are refused
        reject()
    volume = part * 3
    matched = circuit.pump(litres(volume), poured=litres(volume))
    nearly = circuit.pump(litres(volume), poured=litres(volume * (1 + side * 1e-9)))
    assert states(nearly) == pytest.approx(states(matched), abs=1e-7)


@law("Circuit")
@given(parameters(), parts, parts)
@quick
def test_a_bigger_matched_exchange_never_leaves_it_staler(given_, volume, more):
    """Fresh inside rises with the volume pumped and poured together."""
    circuit = built(given_)
    one, two = (circuit.pump(litres(v), poured=litres(v)) for v in (5 * volume, 5 * (volume + more)))
    assert two.resident >= one.resident - 1e-14


@law("Circuit", "drain_refill")
@given(parameters(start=st.just(0.0)), parts, st.integers(1, 5))
@quick
def test_in_the_stirred_limit_a_burst_is_a_drain(given_, part, times):
    """With a drive before each, bursts poured back and drains poured back both follow 1 − (1 − v/V)ⁿ."""
    circuit = by_bursts = by_drains = built(given_)
    volume = litres(part * given_["sump"])
    for _ in range(times):
        by_bursts = by_bursts.mix().pump(volume).pour(volume)
        by_drains = by_drains.mix().drain(volume).pour(volume)
    expected = drain_refill(volume, circuit.volume, times=times)
    assert [by_bursts.resident, by_drains.resident] == pytest.approx([expected] * 2, abs=1e-12)


@law("Circuit")
@given(parameters(), st.lists(st.tuples(st.sampled_from(["drain", "burst", "matched"]), parts), min_size=2, max_size=4), st.randoms())
@quick
def test_in_the_stirred_model_the_order_makes_no_difference(given_, series, shuffle):
    """With a drive after each, drains, bursts and matched exchanges leave the same in any order."""

    def after(order):
        circuit = built(given_)
        for what, part in order:
            volume = litres(part * given_["sump"])
            circuit = {
                "drain": lambda c, v=volume: c.drain(v).pour(v),
                "burst": lambda c, v=volume: c.pump(v).pour(v),
                "matched": lambda c, v=volume: c.pump(v, poured=v),
            }[what](circuit).mix()
        return circuit.resident

    mixed = list(series)
    shuffle.shuffle(mixed)
    assert after(mixed) == pytest.approx(after(series), abs=1e-12)


@law("Circuit")
@given(st.floats(0.2, 2), st.integers(150, 200), st.floats(0.05, 0.72), st.floats(1.3, 2.5))
@quick
def test_in_the_plug_limit_the_front_arrives_with_the_volume(cooler, tanks, early, late):
    """Through very many tanks the outlet stays old before the cooler's volume has passed and is new after it."""
    circuit = Circuit("9 L", "1 L", litres(cooler), cooler_tanks=tanks, bypass=1).drain("9 L").pour("9 L")
    assert circuit.pump(litres(early * cooler)).outlet < 1e-3
    assert circuit.pump(litres(late * cooler)).outlet > 1 - 1e-3


@law("Circuit")
@given(parameters(), moves)
@quick
def test_old_fluid_is_linear(given_, series):
    """Old fractions are proportional to the old fraction at the start."""
    one, all_old = built(given_), built(given_ | {"start": 0.0})
    for move in series:
        (one, _), (all_old, _) = moved(one, move), moved(all_old, move)
    expected = [(1 - given_["start"]) * (1 - share) for share in states(all_old)]
    assert [1 - share for share in states(one)] == pytest.approx(expected, abs=1e-12)


@law("Circuit")
@given(parameters(), moves, st.floats(0.2, 5))
@quick
def test_only_ratios_of_volumes_matter(given_, series, scale):
    """A circuit of quarts through which quarts are pumped is as fresh as one of litres through which litres are."""
    litre, quart, big = built(given_), built(given_, "qt"), built(given_, scale=scale)
    for what, part in series:
        if what in ("drain", "pour", "circulate", "pump"):
            volume = part * litre.sump_volume.m_as("L")
            litre = getattr(litre, what)(f"{volume!r} L")
            quart = getattr(quart, what)(f"{volume!r} qt")
            big = getattr(big, what)(f"{scale * volume!r} L")
    assert states(quart) == pytest.approx(states(litre), abs=1e-12)
    assert states(big) == pytest.approx(states(litre), abs=1e-12)


@law("Circuit")
@given(st.lists(parameters(), min_size=2, max_size=4), parts, parts)
@quick
def test_an_array_of_circuits_is_the_circuits(several, drained, pumped):
    """Ten thousand circuits at once give the same answers as one after another."""
    several = [one | {"converter_tanks": 2, "cooler_tanks": 3} for one in several]

    def through(circuit, sump):
        out = drained * sump
        return circuit.drain(litres(out)).pour("1 L").pump(litres(pumped * (sump - out + 1)), poured="0.3 L").circulate("4 L")

    least = min(one["sump"] for one in several)
    columns = {name: [one[name] for one in several] for name in several[0]}
    together = through(
        Circuit(
            **{name: [litres(v) for v in columns[name]] for name in VOLUMES[:5]},
            **{name: columns[name][0] if "tanks" in name else np.array(columns[name]) for name in PLAIN},
        ),
        least,
    )  # fmt: skip
    alone = [states(through(built(one), least)) for one in several]
    for i, expected in enumerate(alone):
        assert [share[i] for share in states(together)] == pytest.approx(expected, abs=1e-13)


@law("light_passed")
@given(shares, st.floats(0.1, 100), st.floats(0.1, 100), st.floats(0.1, 5))
@quick
def test_depths_of_fluid_multiply(old, first, second, absorbance):
    """Two layers let through the product of what each lets through, and new fluid lets all light through."""
    one, two, both = (light_passed(old, f"{depth!r} mm", absorbance) for depth in (first, second, first + second))
    assert both == pytest.approx(one * two, rel=1e-9)
    assert light_passed(0, f"{first!r} mm", absorbance) == 1


def demo(matches, seen=()):
    circuit = Circuit("3.73 L", "2.45 L", "0.62 L", "0.83 L", "1.05 L", "1.6 L").drain("3.65 L").pour("3.71 L")
    seen = list(seen)
    for match in matches:
        circuit = circuit.pump("1.2 L")
        seen.append((circuit, match))
        circuit = circuit.pour("1.2 L")
    return seen, circuit


@law("inside_from_outlet")
@given(st.lists(st.floats(-0.1, 0.1), min_size=3, max_size=3), st.floats(0.75, 0.97), st.integers(0, 5))
@examples(10)
def test_what_comes_out_fresh_is_not_inside(errors, factor, seed):
    """With the litres known, a fresher outlet all along means a staler inside: a clean hose is no good news."""
    matches = [old * (1 + error) for old, error in zip((0.597, 0.457, 0.36), errors, strict=True)]
    told = []
    for scale in (1.0, factor):
        seen, now = demo([scale * m for m in matches])
        told.append(inside_from_outlet(seen, 0.65, now=now, draws=3000, seed=seed))
    assert told[1].resident.mean < told[0].resident.mean
    assert told[1].probability <= told[0].probability + 1e-3


@law("inside_from_outlet", "LooksClean")
@given(st.floats(0.3, 0.6), st.floats(6, 10), st.integers(0, 5))
@examples(10)
def test_a_clean_look_and_a_dirty_one_average_to_no_look(threshold, path, seed):
    """What is expected without a look lies between what is expected after a clean look and after a dirty one."""
    seen, now = demo([0.6, 0.45])
    place = seen.pop()[0]
    before = inside_from_outlet(seen, 0.6, now=now, draws=3000, seed=seed).resident.mean
    after = []
    for clean in (True, False):
        look = LooksClean(threshold, f"{path!r} mm", "8 mm", clean=clean)
        try:
            after.append(inside_from_outlet([*seen, (place, look)], 0.6, now=now, draws=3000, seed=seed).resident.mean)
        except RangeError:  # hardly any circuit looks like that
            reject()
    assert min(after) - 1e-9 <= before <= max(after) + 1e-9


@law("best_use")
@given(parameters(start=st.just(0.0)), st.floats(0.3, 0.9), st.floats(0.3, 0.9), st.floats(1.2, 2.5), st.integers(0, 1))
@examples(15)
def test_more_freedom_never_leaves_more(given_, drain, burst, times, drives):
    """Another drain, another drive or another litre allowed never leaves more old fluid."""
    circuit = built(given_)
    volumes = {"drain": litres(drain * given_["sump"]), "burst": litres(burst * given_["sump"]), "portions": 0}
    fluid = times * given_["sump"]
    base = best_use(circuit, litres(fluid), drains=1, drives=drives, **volumes).resident
    assert best_use(circuit, litres(fluid), drains=1, drives=drives + 1, **volumes).resident >= base - 1e-12
    assert best_use(circuit, litres(fluid), drains=2, drives=drives, **volumes).resident >= base - 1e-12
    assert best_use(circuit, litres(1.2 * fluid), drains=1, drives=drives, **volumes).resident >= base - 1e-12


@law("best_use")
@given(parameters(), st.floats(0.3, 0.9), st.floats(0.3, 0.9), st.floats(0, 1))
@examples(15)
def test_the_best_plan_beats_every_order(given_, drain, burst, meanwhile):
    """No order of one drain, two bursts and a drive leaves less old fluid than the plan that is called best."""
    circuit = built(given_)
    d, b = drain * given_["sump"], burst * given_["sump"]
    best = best_use(
        circuit, litres(d + 2 * b), drain=litres(d), burst=litres(b), drains=1, bursts=2, drives=1, meanwhile=meanwhile, portions=0
    )
    orders = set(itertools.permutations(["drain", "burst", "burst", "drive"])) | set(itertools.permutations(["drain", "burst", "burst"]))
    found = []
    for order in orders:
        state = circuit
        for move in order:
            if move == "drain":
                state = state.drain(litres(d)).pour(litres(d))
            elif move == "burst":
                state = state.pump(litres(b), poured=litres(b * meanwhile)).pour(litres(b - b * meanwhile))
            else:
                state = state.mix()
        found.append(state.resident)
    assert best.resident == pytest.approx(max(found), abs=1e-12)
    assert best.worst_resident == pytest.approx(min(found), abs=1e-12)
