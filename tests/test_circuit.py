"""The circuit: units, refusals, arrays, uncertainty, immutability."""

import pickle
import subprocess
import sys

import numpy as np
import pint
import pytest

from shared import wagon
from sumpwise import drain_refill, uncertainty
from sumpwise.errors import RangeError, SumpwiseError, UnitError
from sumpwise.mixing.circuit import Circuit, sensitivity
from sumpwise.mixing.circuit.flow import flow
from sumpwise.mixing.circuit.state import VOLUMES, Answers, Parameters, State

ANSWERS = Answers._fields
SHARES = [name for name in ANSWERS if name not in VOLUMES]


def test_every_operation_leaves_the_circuit_it_came_from_alone():
    start = wagon()
    before = [getattr(start, name) for name in ANSWERS]
    start.drain("1 L"), start.pour("1 L"), start.pump("1 L"), start.circulate("1 L"), start.mix(), start.pump("1 L", poured="1 L")
    assert [getattr(start, name) for name in ANSWERS] == before


def test_volumes_come_back_in_the_unit_and_registry_that_asked():
    registry = pint.UnitRegistry()
    circuit = wagon(sump=registry.Quantity(4.0, "quart")).drain("1 qt").pump("0.5 L")
    for volume in (circuit.sump_volume, circuit.volume, circuit.discharged):
        assert volume._REGISTRY is registry
        assert str(volume.units) == "quart"
    assert circuit.sump_volume.magnitude == pytest.approx(3 - 0.5 / 0.946352946, rel=1e-12)
    assert str(wagon(sump="4 qt").sump_volume.units) == "quart"
    only = wagon(sump="4 qt", bypass=registry.Quantity(35.0, "percent")).volume
    assert (only._REGISTRY, str(only.units)) == (registry, "quart")


def test_the_sump_empties_and_fills():
    empty = wagon(start=0.25).drain("3.9 L")
    assert empty.sump_volume.m_as("L") == 0
    assert empty.sump_fresh == 0.25
    assert empty.pour("0 L").sump_fresh == 0.25
    assert empty.pour("2 L").sump_fresh == 1
    assert empty.volume.m_as("L") == pytest.approx(4.95)
    assert empty.discharged.m_as("L") == pytest.approx(0.25 * 3.9)
    in_steps = wagon(sump="3.73 L").drain("3.24 L").drain("0.296 L").drain("0.11 L").drain("0.084 L")
    assert in_steps.sump_volume.m_as("L") == 0


def test_nothing_pumped_changes_nothing():
    circuit = wagon().drain("3 L").pour("3 L")
    for after in (circuit.pump("0 L"), circuit.pump("0 L", poured="0 L"), circuit.circulate("0 L")):
        assert [getattr(after, name) for name in SHARES] == [getattr(circuit, name) for name in SHARES]


def test_nothing_pumped_leaves_a_new_fill_new():
    for start in (1, [1, 1]):
        assert np.all(wagon(start=start).pump("0 L").resident == 1)


def test_a_circuit_without_pockets_and_clutch_circuits_needs_neither():
    bare = Circuit("3 L", "2 L", "1 L")
    assert bare.volume.m_as("L") == 6
    assert bare.pump("1 L", poured="1 L").clutches_fresh == 0


@pytest.mark.parametrize("part", range(1, 6))
def test_one_compartment_that_differs_is_enough_to_go_round(part):
    """Going round for long, every compartment comes to the mean, whichever one was the old one."""
    volumes = (3.0, 2.0, 0.5, 1.0, 0.25)  # sump, converter, cooler, clutches, pockets
    old = [float(k == part) for k in range(1, 6)]
    state = State(volumes[0], old[0], [old[1]], [old[2]] * 2, old[3], old[4], 0.0)
    built = Parameters(*volumes, sump_floor=0.0, bypass=0.2, clutch_circulation=0.3, pocket_circulation=0.4, start=0.0)
    sump, s, converter, cooler, h, w, left = flow(built, state, 300.0, closed=True)
    assert (sump, left) == (3, 0)
    assert [s, *converter, *cooler, h, w] == pytest.approx([volumes[part - 1] / sum(volumes)] * 6, abs=1e-13)


def test_what_does_not_circulate_stays_old():
    circuit = wagon(clutch_circulation=0, pocket_circulation=0).pump("20 L", poured="20 L")
    assert (circuit.clutches_fresh, circuit.pockets_fresh) == (0, 0)
    assert circuit.sump_fresh > 0.99


def test_a_full_bypass_spares_the_converter():
    circuit = wagon(bypass=1).pump("20 L", poured="20 L")
    assert circuit.converter_fresh == 0
    assert circuit.outlet == pytest.approx(circuit.cooler_fresh, abs=0.01)
    assert circuit.outlet > 0.95


@pytest.mark.parametrize(
    ("refused", "says"),
    [
        (lambda: wagon().drain("4 L"), "more than the sump holds"),
        (lambda: wagon().drain("1 L").drain("2.91 L"), "at most 2.9 L"),
        (lambda: wagon().pump("2.31 L"), "draws air"),
        (lambda: wagon().pump("4 L", poured="1.69 L"), "floor of 1.6 L"),
        (lambda: wagon().drain("3 L").pump("0.1 L", poured="2 L"), "draws air"),
        (lambda: wagon().drain("3 L").circulate("1 L"), "draws air"),
        (lambda: wagon().drain("3 L").mix(), "draws air"),
        (lambda: wagon(sump_floor=0).pump("3.9 L"), "draws air"),
        (lambda: wagon(sump_floor=0).drain("3.9 L").mix(), "draws air"),
        (lambda: wagon().pump("0 L", poured="1 L"), "while nothing is pumped"),
        (lambda: wagon().pump("-1 L"), "out of range"),
        (lambda: wagon().pour("-1 L"), "out of range"),
        (lambda: wagon().drain("nan L"), "volume"),
        (lambda: wagon(clutches=0), "whose volume is zero"),
        (lambda: wagon(pockets=0), "pockets"),
        (lambda: wagon(converter="0 L"), "converter"),
        (lambda: wagon(cooler="0 L"), "cooler"),
        (lambda: wagon(sump="-1 L"), "sump"),
        (lambda: wagon(sump=3.9), "no unit"),
        (lambda: wagon(sump="3.9 N·m"), "sump"),
        (lambda: wagon(bypass=1.01), "bypass"),
        (lambda: wagon(bypass=35), "35 %"),
        (lambda: wagon(start=-0.1), "start"),
        (lambda: wagon(clutch_circulation=-0.1), "clutch_circulation: read"),
        (lambda: wagon(pocket_circulation=-0.1), "pocket_circulation: read"),
        (lambda: wagon(clutches="-0.1 L"), "clutches: read"),
        (lambda: wagon(pockets="-0.1 L"), "pockets: read"),
        (lambda: wagon(sump_floor="-0.1 L"), "sump_floor: read"),
        (lambda: wagon(bypass=-0.01), "bypass: read"),
        (lambda: wagon(start=1.01), "start: read"),
        (lambda: wagon(converter_tanks=0), "converter_tanks"),
        (lambda: wagon(cooler_tanks=0), "cooler_tanks"),
        (lambda: wagon(converter_tanks=201), "converter_tanks"),
        (lambda: wagon(cooler_tanks=201), "cooler_tanks"),
        (lambda: wagon(cooler_tanks=1.5), "whole"),
        (lambda: wagon(cooler_tanks=[1, 2]), "not an array"),
        (lambda: wagon(cooler="1e-6 L").drain("1 L").pour("1 L").circulate("100 L"), "too small"),
        (lambda: wagon(cooler="1e-310 L").pump("1 L"), "circuit: read '2.5e-311 L': is too small a compartment for 1 L to flow through"),
        # 200 tanks of a hundredth of a litre turn over 20 000 times a litre: 1250 steps of 16 turnovers through 201 tanks
        (lambda: wagon(cooler="0.01 L", cooler_tanks=200).pump("1 L"), "too small"),
    ],
)  # fmt: skip
def test_refusals_say_what_is_wrong(refused, says):
    with pytest.raises(SumpwiseError) as error:
        refused()
    assert says in str(error.value).replace("write a share as 0.5 or 50 %", "35 %")


def test_a_circuit_at_the_ends_of_its_limits():
    small = Circuit("0 L", "0.5 L", "0.5 L", "0 L", "0 L", "0 L", 200, 200, bypass=1, clutch_circulation=0, pocket_circulation=0, start=1)
    assert (small.volume.m_as("L"), small.resident) == (1, 1)


def test_one_circuit_of_an_array_that_starves_is_enough_for_a_refusal():
    with pytest.raises(RangeError, match="draws air"):
        wagon(sump=["3.9 L", "2 L"]).pump("1 L")
    with pytest.raises(RangeError, match="at most 2 L"):
        wagon(sump=["3.9 L", "2 L"]).drain("3 L")


def test_a_missing_argument_stays_a_type_error():
    with pytest.raises(TypeError):
        Circuit("3 L", "2 L")
    with pytest.raises(TypeError):
        wagon().drain()


def test_down_to_the_floor_is_allowed_whatever_rounding_does():
    for burst in ("2.3 L", "1.15 L"):
        circuit = wagon()
        for _ in range(1 if burst == "2.3 L" else 2):
            circuit = circuit.pump(burst)
        assert circuit.sump_volume.m_as("L") == pytest.approx(1.6)


def test_ten_thousand_circuits_at_once():
    rng = np.random.default_rng(7)
    bypass, sump = rng.uniform(0, 1, 10_000), pint.get_application_registry().Quantity(rng.uniform(3.5, 4.5, 10_000), "litre")
    many = wagon(sump=sump, bypass=bypass).drain("1 L").pour("1 L").pump("1.2 L").pour("1.2 L").circulate("3 L")
    assert many.resident.shape == (10_000,)
    for i in (0, 5000, 9999):
        one = wagon(sump=sump[i], bypass=float(bypass[i])).drain("1 L").pour("1 L").pump("1.2 L").pour("1.2 L").circulate("3 L")
        assert many.resident[i] == pytest.approx(one.resident, abs=1e-14)
        assert many.discharged[i].m_as("L") == pytest.approx(one.discharged.m_as("L"), abs=1e-14)
    assert repr(many) == "<Circuit: array of 10000 circuits after 5 operations>"


def test_a_table_of_circuits_broadcasts():
    table = wagon(bypass=np.array([[0.0], [0.5]]), start=np.array([0.0, 0.1, 0.2])).pump("1 L", poured="1 L")
    assert table.resident.shape == (2, 3)
    assert table.resident[1, 2] == pytest.approx(wagon(bypass=0.5, start=0.2).pump("1 L", poured="1 L").resident, abs=1e-14)


def test_uncertainty_follows_the_derivatives():
    def run(bypass, poured):
        return wagon(bypass=bypass).drain("3.2 L").pour(poured).pump("1.2 L").pour("1.2 L")

    bypass = uncertainty.source(0.35, 0.03)
    told = run(bypass, "3.20(5) L")
    step = 1e-4
    by_bypass = (run(0.35 + step, "3.2 L").resident - run(0.35 - step, "3.2 L").resident) / (2 * step)
    by_pour = (run(0.35, f"{3.2 + step} L").resident - run(0.35, f"{3.2 - step} L").resident) / (2 * step)
    assert uncertainty.standard(told.resident) == pytest.approx(((by_bypass * 0.03) ** 2 + (by_pour * 0.05) ** 2) ** 0.5, rel=1e-6)
    assert uncertainty.nominal(told.resident) == pytest.approx(run(0.35, "3.2 L").resident, abs=1e-14)
    assert uncertainty.standard(told.sump_volume.magnitude) == pytest.approx(0.05, rel=1e-9)


def test_an_uncertain_history_replays_every_operation():
    def run(bypass):
        after = wagon(bypass=bypass, start=0.1).drain("1 L").pour("1.1 L").pump("1 L", poured="0.4 L").circulate("3 L").pump("0.5 L")
        return [getattr(circuit, name) for circuit in (after, after.mix().pump("0.2 L")) for name in SHARES]

    told, plain = run(uncertainty.source(0.35, 1e-3)), run(0.35)
    assert [uncertainty.nominal(one) for one in told] == pytest.approx(plain, abs=1e-14)
    step = 1e-4
    slopes = [(up - down) / (2 * step) for up, down in zip(run(0.35 + step), run(0.35 - step), strict=True)]
    assert [uncertainty.standard(one) for one in told] == pytest.approx([1e-3 * abs(slope) for slope in slopes], rel=1e-5, abs=1e-13)


def test_what_is_poured_while_pumping_counts_in_all_that_follows():
    def run(poured):
        return wagon(start=0.1).pump("1 L", poured=poured).pump("0.7 L").pour("1.1 L")

    told, step = run("0.60(5) L"), 1e-4
    for name in SHARES:
        slope = (getattr(run(f"{0.6 + step} L"), name) - getattr(run(f"{0.6 - step} L"), name)) / (2 * step)
        assert uncertainty.standard(getattr(told, name)) == pytest.approx(0.05 * abs(slope), rel=1e-6, abs=1e-13)
    assert uncertainty.standard(told.sump_volume.magnitude) == pytest.approx(0.05, rel=1e-9)


def test_a_burst_that_may_be_more_than_the_sump_holds_is_answered():
    """A step of a difference that is a share of its uncertainty would run dry."""
    litre, step = pint.get_application_registry().Quantity, 1e-7

    def run(burst):
        return Circuit("1.3 L", "2.45 L", "0.62 L", clutches="0.83 L", clutch_circulation=0.25, start=0.2).pour("0.1 L").pump(burst)

    told = run(litre(uncertainty.source(1.3999, 0.5), "litre"))
    slope = (run(f"{1.3999 + step} L").resident - run(f"{1.3999 - step} L").resident) / (2 * step)
    assert uncertainty.standard(told.resident) == pytest.approx(0.5 * abs(slope), rel=1e-4)


def test_a_drive_on_a_sump_that_holds_next_to_nothing():
    """Old fluid of V litres thinned by p, drained to r and brought to one mixture with the C litres around it: by hand.

    The share left old is (r V/(V + p) + C)/(r + C), and with V grows r.
    """
    sump, poured, left, around = 3.73, 1.0, 1e-9, 2.45 + 0.62
    litre = pint.get_application_registry().Quantity
    circuit = Circuit(litre(uncertainty.source(sump, 0.03), "litre"), "2.45 L", "0.62 L").pour("1 L").drain(f"{sump + poured - left!r} L")
    old, slope = sump / (sump + poured), poured / (sump + poured) ** 2
    by_hand = ((old + left * slope) * (left + around) - (left * old + around)) / (left + around) ** 2
    assert uncertainty.standard(circuit.mix().resident) == pytest.approx(0.03 * abs(by_hand), rel=1e-6)


def test_many_rows_of_uncertain_circuits_are_the_circuits():
    """So many that the operations are taken one at a time."""
    bypass = np.linspace(0.1, 0.6, 1500)
    doubtful = np.array([uncertainty.source(share, 0.3) for share in bypass], dtype=object)

    def run(bypass):
        return wagon(bypass=bypass).drain("3.2 L").pour("3.2 L").pump("1.2 L").pour("1.2 L").outlet

    told = run(doubtful)
    for row in (0, 750, 1499):
        alone = run(uncertainty.source(bypass[row], 0.3))
        assert uncertainty.standard(told[row]) == pytest.approx(uncertainty.standard(alone), rel=1e-6)
        assert uncertainty.caution(told[row]) == uncertainty.caution(alone)


@pytest.mark.parametrize("wide", [0.03, 0.5])
def test_answers_on_the_way_are_those_of_the_whole_way(wide):
    """Asking after every operation, or backwards, gives one and the same uncertain number, with the same caution."""

    def path():
        circuit = wagon(bypass=bypass, pockets=pockets)
        found = [circuit]
        done = [("drain", "3.2 L"), ("pour", "3.10(4) L"), ("pump", burst), ("pour", burst), ("circulate", "2 L"), ("mix",)]
        for what, *volume in done:
            circuit = getattr(circuit, what)(*volume)
            found.append(circuit)
        return found

    litres = pint.get_application_registry().Quantity
    bypass, pockets = uncertainty.source(0.35, wide), litres(uncertainty.source(1.05, 0.1), "litre")
    burst, cautions = litres(uncertainty.source(1.2, 0.02), "litre"), set()
    for name in SHARES:
        forwards, backwards = path(), path()
        one = [getattr(circuit, name) for circuit in forwards]
        other = [getattr(circuit, name) for circuit in reversed(backwards)][::-1]
        for now, then in zip(one, other, strict=True):
            assert uncertainty.nominal(now) == pytest.approx(uncertainty.nominal(then), abs=1e-15)
            mine, theirs = (dict(uncertainty.contributions(x)) for x in (now, then))
            shared = {source: size for source, size in mine.items() if source in (bypass, pockets.magnitude, burst.magnitude)}
            assert shared == pytest.approx({source: theirs.get(source, 0.0) for source in shared}, abs=1e-14)
            assert uncertainty.caution(now) == uncertainty.caution(then)
            cautions.add(uncertainty.caution(then))
    assert wide < 0.1 or uncertainty.CURVED in cautions


@pytest.mark.parametrize("way", [lambda after: after.resident, lambda after: 0.0], ids=["asked after each", "asked at the end"])
def test_twice_the_bursts_take_twice_the_work(monkeypatch, way):
    """Counted in columns of arrays that go through a step of the flow: one more burst never runs the earlier ones again."""
    from sumpwise.mixing.circuit import flow as kernels

    work, step = [], kernels.series

    def counted(built, rates, sigma, state, x, *rest):
        work.append(np.size(sigma * x))
        return step(built, rates, sigma, state, x, *rest)

    monkeypatch.setattr(kernels, "series", counted)
    columns = []
    for bursts in (8, 16):
        circuit = wagon(bypass=uncertainty.source(0.35, 0.03), start=uncertainty.source(0.1, 0.01))
        work.clear()
        for _ in range(bursts):
            circuit = circuit.pump("1 L").pour("1 L")
            way(circuit)
        assert uncertainty.standard(circuit.resident) > 0
        columns.append(sum(work))
    assert columns[1] <= 2.05 * columns[0]


DOUBTED = {
    "sump": 3.73, "converter": 2.45, "cooler": 0.62, "clutches": 0.83, "pockets": 1.05, "bypass": 0.35, "clutch_circulation": 0.25,
    "pocket_circulation": 0.017, "first": 3.0, "burst": 1.25, "poured": 0.6,
}  # fmt: skip


def service(unit="litre", **changed):
    """Drained, filled and pumped out four times, once while pouring, with a drive in between; the sump may be given in another unit."""
    volume = pint.get_application_registry().Quantity
    given = DOUBTED | changed
    given |= {name: volume(value, unit if name == "sump" else "litre") for name, value in given.items()
              if name != "bypass" and not name.endswith("circulation")}  # fmt: skip
    first, burst, poured = given.pop("first"), given.pop("burst"), given.pop("poured")
    circuit = Circuit(**given).drain(first).pour(first)
    for _ in range(2):
        circuit = circuit.pump(burst).pour(burst)
    return circuit.pump(burst, poured=poured).circulate("1 L").pour("0.6 L").pump(burst)


@pytest.mark.parametrize("share", [0.02, 0.1, 0.3, 0.45])
@pytest.mark.parametrize("name", DOUBTED)
def test_what_bends_over_a_standard_uncertainty_is_said(name, share):
    """Judged by plain circuits built one standard uncertainty off; near the limit either answer is right."""
    best = DOUBTED[name]
    size = share * best * (0.3 if name in ("sump", "first", "burst") else 1.0)
    doubtful = uncertainty.source(best, size)
    told, here, up, down = (service(**{name: value}) for value in (doubtful, best, best + size, best - size))
    for answer in SHARES:
        one, value = getattr(told, answer), getattr(here, answer)
        first = uncertainty.derivatives(one).get(doubtful, 0.0) * size
        off = max(abs(getattr(up, answer) - value - first), abs(getattr(down, answer) - value + first))
        if off > 0.36 * abs(first) and off > 1e-8:
            assert uncertainty.caution(one) == uncertainty.CURVED, (answer, off, first)
        elif off < 0.2 * abs(first):
            assert uncertainty.caution(one) != uncertainty.CURVED, (answer, off, first)


def test_whether_an_answer_bends_is_worked_out_when_somebody_asks(monkeypatch):
    """And once for all answers; it survives a change of unit and a pickle, and what is computed from it says it too."""
    asked, curved = [], sensitivity.Course.curved
    monkeypatch.setattr(sensitivity.Course, "curved", lambda course, told: asked.append(course) or curved(course, told))
    told = service(clutch_circulation=uncertainty.source(0.25, 0.1), sump=3730, unit="mL")
    gone, clutches = told.discharged, told.clutches_fresh
    assert str(gone.units) == "milliliter"
    assert f"{gone:.3f} {clutches}".count("+/-") == 2
    assert asked == []
    assert uncertainty.caution(clutches) == uncertainty.CURVED
    again = pickle.loads(pickle.dumps(clutches))
    assert (again.nominal_value, again.std_dev, again.caution) == (clutches.nominal_value, clutches.std_dev, uncertainty.CURVED)
    assert uncertainty.caution(drain_refill("1 L", "8 L", start=clutches)) == uncertainty.CURVED
    assert uncertainty.caution(gone.magnitude) == uncertainty.CURVED
    assert len(asked) == 1


@pytest.mark.parametrize(("sump", "standard", "burst"), [(1.3, 1.5, "0.6 L"), (1.3, 1.1, "0.9 L"), (1.3, 0.01, "1.29999 L")])
def test_a_sump_that_may_hold_nothing_is_answered(sump, standard, burst):
    """One standard uncertainty or one difference step lower it would run dry: that is not a valid circuit, and no answer needs it."""
    litre = pint.get_application_registry().Quantity
    doubtful = litre(uncertainty.source(sump, standard), "litre")
    circuit = Circuit(doubtful, "2.45 L", "0.62 L", clutches="0.83 L", clutch_circulation=0.25).pour("0.1 L").pump("0.1 L")
    told, step = circuit.pump(burst), 1e-7
    up, down = (Circuit(f"{sump + sign * step} L", "2.45 L", "0.62 L", clutches="0.83 L", clutch_circulation=0.25)
                .pour("0.1 L").pump("0.1 L").pump(burst).resident for sign in (1, -1))  # fmt: skip
    assert uncertainty.standard(told.resident) == pytest.approx(abs(up - down) / (2 * step) * standard, rel=1e-4)


def test_what_two_volumes_share_stays_shared():
    """Pour and burst measured with one pail: its scale error changes both alike."""
    registry = pint.get_application_registry()
    scale = uncertainty.source(1.0, 0.02, name="pail")
    litre = registry.Quantity(1.0 * scale, "litre")
    told = wagon().pump(litre).pour(litre)
    assert uncertainty.standard(told.volume.magnitude) == pytest.approx(0, abs=1e-9)
    apart = wagon().pump("1.00(2) L").pour("1.00(2) L")
    assert uncertainty.standard(apart.volume.magnitude) == pytest.approx(0.02 * 2**0.5, rel=1e-9)


def test_uncertainty_agrees_with_many_draws():
    rng = np.random.default_rng(3)
    bypass, pumped = rng.normal(0.35, 0.02, 20_000), rng.normal(1.2, 0.03, 20_000)
    litres = pint.get_application_registry().Quantity(pumped, "litre")
    drawn = wagon(bypass=bypass).drain("3.2 L").pour("3.2 L").pump(litres).pour("1.2 L")
    told = wagon(bypass=uncertainty.source(0.35, 0.02)).drain("3.2 L").pour("3.2 L").pump("1.20(3) L").pour("1.2 L")
    assert uncertainty.standard(told.resident) == pytest.approx(drawn.resident.std(), rel=0.03)
    assert uncertainty.standard(told.outlet) == pytest.approx(drawn.outlet.std(), rel=0.03)


def test_arrays_of_uncertain_numbers():
    bypass = np.array([uncertainty.source(0.2, 0.02), uncertainty.source(0.4, 0.02)], dtype=object)
    told = wagon(bypass=bypass).drain("3.2 L").pour("3.2 L").pump("1.2 L").outlet
    for one, value in zip(told, (0.2, 0.4), strict=True):
        alone = wagon(bypass=uncertainty.source(value, 0.02)).drain("3.2 L").pour("3.2 L").pump("1.2 L").outlet
        assert uncertainty.nominal(one) == pytest.approx(uncertainty.nominal(alone), abs=1e-13)
        assert uncertainty.standard(one) == pytest.approx(uncertainty.standard(alone), rel=1e-6)


def test_without_uncertainty_answers_are_plain_floats():
    circuit = wagon().drain("3.2 L").pour("3.2 L").pump("1.2 L").mix()
    assert all(type(getattr(circuit, name)) is float for name in SHARES)
    assert all(type(getattr(circuit, name).magnitude) is float for name in VOLUMES)


def test_a_circuit_survives_pickling():
    circuit = wagon(bypass=uncertainty.source(0.35, 0.03)).pump("1.2 L")
    again = pickle.loads(pickle.dumps(circuit)).pour("1.2 L")
    difference = again.resident - circuit.pour("1.2 L").resident
    assert uncertainty.standard(difference) == pytest.approx(0, abs=1e-12)


def test_it_shows_what_matters():
    assert repr(wagon()) == "<Circuit: 0.0% fresh inside, outlet 0.0%, sump 3.9 L, after 0 operations>"
    assert repr(wagon().mix()).endswith(", after 1 operation>")
    assert "-0.0%" not in repr(Circuit("3.9 L", "2.45 L", "0.62 L").pump("3 L").pour("3 L"))


def test_zero_needs_no_unit_and_a_plain_volume_does():
    assert wagon(sump_floor=0).pump("3 L", poured=0).sump_volume.m_as("L") == pytest.approx(0.9)
    with pytest.raises(UnitError):
        wagon().pump(1)


def test_six_bursts_on_plain_numbers_load_neither_numpy_nor_pint():
    code = (
        "import sys; from sumpwise.mixing.circuit import Circuit; c = Circuit('3.9 L', '2.45 L', '0.62 L').drain('3.2 L').pour('3.2 L')\n"
        "for _ in range(6): c = c.pump('1.2 L').pour('1.2 L')\n"
        "assert 0.5 < c.resident < 1; print(sorted({'numpy', 'pint', 'uncertainties'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=None)
    assert done.stdout.strip() == "[]"


def test_litres_through_what_four_drains_leave_are_refused_by_name():
    left = Circuit("0.5 L", "1 L", "1.07 L", cooler_tanks=6)
    for share in (0.9375, 0.9375, 0.9375, 0.875):
        left = left.drain(f"{share * left.sump_volume.m_as('L')!r} L")
    for poured in (1.5, 1.5 * (1 - 1e-9)):
        with pytest.raises(RangeError, match=r"too small a compartment for 1\.5 L"):
            left.pump("1.5 L", poured=f"{poured!r} L")
