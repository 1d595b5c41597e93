"""What a plan predicts allows for the same unknowns of the pumping as what the outlet says afterwards."""

import random
from pathlib import Path

import numpy
import pytest

from sumpwise import Job, SumpwiseError
from sumpwise.inference.moves import MANNERS
from sumpwise.inference.prior import UNPUBLISHED, Unknowns
from sumpwise.inference.replay import replayed
from sumpwise.inference.swift import PLENTY, Tanks
from sumpwise.mixing.circuit.history import PUMP
from sumpwise.mixing.circuit.history import nominal as plain
from sumpwise.mixing.circuit.state import present, resident
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import inside
from sumpwise.service.case import Case
from sumpwise.service.methods.method import at_least
from sumpwise.service.methods.registry import BY_KEY
from sumpwise.service.reached import _Course, manner
from sumpwise.uncertainty import contributions, derivatives, nominal, source, standard

STILL = {"drawn_first": "0 %", "drain_back": "0 L", "bypass_drift": 0.0, "converter_tanks": 1}
BUILT = {
    "converter": "2.45(0) L", "cooler": "0.62(0) L", "clutches": "0.83(0) L", "pockets": "1.05(0) L", "bypass": "35.0(0) %",
    "clutch_circulation": 0.25, "pocket_circulation": 0.017, "left": "0.1(0) L",
}  # fmt: skip


def case_of(**circuit):
    """The demo before the work, with everything about its circuit stated except how it is pumped."""
    data = Job.demo().to_dict()
    data["log"] = []
    data["capacity"] |= {"total": "8.85(0) L", "plug_drain": "3.30(0) L", "pan_and_filter": "0.40(0) L"}
    data["circuit"] = circuit
    return Case(Job.from_dict(data))


def end_of(case):
    return case.course(BY_KEY["bursts"])[-1][1]


def test_nothing_is_added_where_the_pumping_holds_no_unknowns():
    """To a hundred-thousandth, as exactly as ways to pump are gone through."""
    case = case_of(**BUILT, **STILL)
    end, circuit = end_of(case), case.circuit
    for one in end.course.history.operations:
        circuit = getattr(circuit, one.kind)(inside(one.volume, "volume"))
    for told, known in ((end.resident, circuit.resident), (end.outlet, circuit.outlet)):
        assert nominal(told) == pytest.approx(nominal(known), abs=PLENTY)
        assert standard(told) == pytest.approx(standard(known), abs=PLENTY)
        assert standard(known) > 50 * PLENTY


@pytest.mark.parametrize(
    "pumped", [{"drawn_first": "40(0) %", "drain_back": "0.50(0) L", "converter_tanks": 3}, STILL], ids=["badly", "well"]
)
def test_a_volume_counts_for_what_it_does_where_the_fluid_is_pumped_as_it_is(pumped):
    """Each source of the volumes moved alone through the series to its last digit, with the manners as stated."""
    flows = {name: BUILT[name] for name in ("bypass", "clutch_circulation", "pocket_circulation")}
    end = end_of(case_of(**flows, **STILL | {"bypass_drift": "0.10(0)"} | pumped))
    history, values = end.course.history, end.course.history.values
    manners = {one.name: nominal(one.value) for one in end.course.manners if one.name in MANNERS}

    def at(cause, shift):
        moved = [nominal(value) + shift * dict(contributions(value)).get(cause, 0.0) for value in values]
        led = history.with_values(moved)
        led.tanks = (round(nominal(end.course.manners[3].value)), *history.tanks[1:])
        *_, last = replayed(led, manners, 1e-14)
        return numpy.array(shares(*last))

    causes = {cause for value in values for cause in derivatives(value)}
    assert len(causes) >= 8
    for cause in causes:
        for told, size in zip((end.resident, end.outlet), (at(cause, 0.01) - at(cause, -0.01)) / 0.02, strict=True):
            assert dict(contributions(told)).get(cause, 0.0) == pytest.approx(size, abs=PLENTY)


def test_the_planned_share_with_nothing_known_but_the_work_is_as_uncertain_as_draws_of_everything_say():
    """Forty thousand draws of all volumes, flows and manners of the demo."""
    end, count, rng = end_of(Case(Job.demo())), 40_000, numpy.random.default_rng(5)
    values = end.course.history.values
    off = {cause: rng.uniform(-1, 1, count) * 3**0.5 * cause.std_dev for value in values for cause in derivatives(value)}
    taken = {}
    for one in end.course.manners[:3]:
        (cause, slope), = derivatives(one.value).items()
        taken[one.name] = rng.uniform(one.low, one.high, count)
        off[cause] = (taken[one.name] - nominal(one.value)) / slope
    led = end.course.history.with_values([
        nominal(value) + sum((slope * off[cause] for cause, slope in derivatives(value).items()), 0.0 * rng.random(count))
        for value in values
    ])  # fmt: skip
    low, high = UNPUBLISHED["pocket_circulation"][:2]
    led.built = led.built._replace(pocket_circulation=low * (high / low) ** rng.random(count))
    led.tanks = (3, *led.tanks[1:])
    *_, (built, state) = replayed(led, taken, PLENTY, Tanks([(1, 13_333), (2, 13_333), (3, 13_334)]))
    drawn = resident(built, state)
    assert nominal(end.resident) == pytest.approx(drawn.mean(), abs=0.001)
    assert standard(end.resident) == pytest.approx(drawn.std(), rel=0.015)


@pytest.mark.parametrize("attribute", ["resident", "outlet"])
def test_the_planned_share_is_the_mean_over_the_unknowns_and_its_uncertainty_their_spread(attribute):
    """Against twenty thousand draws of the four of them, with the circuit itself certain."""
    case = case_of(**BUILT)
    end = end_of(case)
    history = end.course.history.with_values([plain(value) for value in end.course.history.values])
    rng, shown = numpy.random.default_rng(3), []
    for tanks in (1, 2, 3):
        history.tanks = (tanks, 4)
        first, back, drift = rng.uniform(0, 0.4, 7000), rng.uniform(0, 0.5, 7000), rng.uniform(-0.1, 0.1, 7000)
        # what has run back is missing from the converter
        history.built = history.built._replace(converter=2.45 - back)
        *_, (built, state) = replayed(history, {"drawn_first": first, "drain_back": back, "bypass_drift": drift}, 1e-8)
        shown.append(resident(built, state) if attribute == "resident" else 1 - state.cooler[-1])
    drawn = numpy.concatenate(shown)
    told = getattr(end, attribute)
    assert nominal(told) == pytest.approx(drawn.mean(), abs=0.003)
    assert standard(told) == pytest.approx(drawn.std(), rel=0.12)


def test_each_unknown_is_a_named_source_of_the_planned_share():
    named = {cause.tag for cause, size in contributions(end_of(case_of(**BUILT)).resident) if abs(size) > 1e-4}
    assert {"drawn first", "drain back", "bypass drift", "converter tanks"} <= named


def test_more_is_asked_where_new_fluid_is_drawn_first_and_the_converter_runs_back():
    """The same circuit pumped as in a book: fewer bursts meet the target with the same probability."""
    badly = STILL | {"drawn_first": "40 %", "drain_back": "0.5 L"}

    def bursts(target, **circuit):
        data = case_of(**circuit).job.to_dict()
        data["target"] = {"fresh": target, "probability": "95 %"}
        data["exchange"].pop("bursts")
        return BY_KEY["bursts"].count(Case(Job.from_dict(data)))

    targets = ("70 %", "74 %", "78 %", "82 %")
    counts = [(bursts(target, **BUILT, **badly), bursts(target, **BUILT, **STILL)) for target in targets]
    assert all(bad >= good for bad, good in counts)
    assert sum(bad - good for bad, good in counts) >= 2


def test_what_has_run_back_is_in_the_sump_and_missing_from_the_converter():
    """The plug drain includes it; with the engine running it is back in the converter, and all compartments hold the whole fill."""
    case = case_of(drain_back="0.5 L")
    stated = {"converter": "2.45 L", "sump": "3.9 L"}
    rest, runs = (case_of(drain_back=back, **stated).circuit.history.built for back in ("0.5 L", "0 L"))
    assert nominal(runs.sump) == pytest.approx(3.9)
    assert nominal(rest.sump) == pytest.approx(4.4)
    assert nominal(runs.converter) - nominal(rest.converter) == pytest.approx(0.5)
    assert nominal(number_in(case.circuit.volume, "L")) == pytest.approx(8.85)


def test_no_draw_of_the_evidence_holds_more_or_less_for_what_ran_back():
    """What the sump is known to hold at rest includes it; the compartments with the engine running make up the whole fill."""
    case = case_of()
    history = case.sampled.drain("3.7 L").pour("3.7 L").pump("1.2 L").history
    unknowns = Unknowns(history, {"drain_back": case.ask("circuit", "drain_back"), **case.stated})
    drawn = unknowns.draw(4000, numpy.random.default_rng(1))
    built, state = drawn.runs(())[1]
    back, at_rest = drawn.manners["drain_back"], drawn.history.built.converter
    assert numpy.ptp(back) > 0.3
    assert numpy.corrcoef(back, at_rest)[0, 1] < -0.25
    assert abs(numpy.corrcoef(back, present(built, state)[0])[0, 1]) < 0.06


def test_what_varies_does_not_depend_on_how_many_draws_are_short():
    """A history that few circuits could have run is topped up with as many draws as are short: one may be all, and it is no fixed value."""
    case = case_of()
    history = case.sampled.drain("3.7 L").pour("3.7 L").pump("1.2 L").history
    manners = {name: case.ask("circuit", name) for name in ("drawn_first", "drain_back", "bypass_drift")}
    unknowns, rng = Unknowns(history, {**manners, **case.stated}), numpy.random.default_rng(1)
    assert set(manners) < set(unknowns.draw(400, rng).varied) == set(unknowns.draw(400, rng, 1).varied)
    certain = Unknowns(history, {**manners, "drain_back": "0.2 L", **case.stated})
    assert "drain_back" not in certain.draw(400, rng).varied


@pytest.mark.parametrize(
    ("name", "value", "ends"),
    [
        ("drawn_first", source(0.2, 0.4 / 12**0.5), (0.0, 0.4)), ("drawn_first", source(0.9, 0.2), (0.9 - 0.2 * 3**0.5, 0.95)),
        ("drain_back", 0.3, (0.3, 0.3)), ("bypass_drift", source(0.0, 0.2), (-0.2 * 3**0.5, 0.2 * 3**0.5)),
        ("converter_tanks", source(2.0, 1 / 3**0.5), (1, 3)), ("converter_tanks", 4.0, (4, 4)),
    ],
)  # fmt: skip
def test_an_unknown_lies_between_the_ends_of_its_range(name, value, ends):
    one = manner(name, value)
    assert (one.low, one.high) == pytest.approx(ends, abs=1e-12)
    assert name in (*MANNERS, "converter_tanks")


def test_a_small_sump_is_not_emptied_by_what_the_converter_takes_first():
    data = case_of().job.to_dict()
    data["capacity"] = {"total": "8.85 L", "plug_drain": "1.0 L"}
    data["circuit"] = {"left": "0.10 L", "drain_back": "0.5 L"}
    data["exchange"] = {"burst": "0.8 L", "bursts": 3, "reserve": "1.1 L"}
    end = end_of(Case(Job.from_dict(data)))
    assert 0 < nominal(end.resident) < 1


def test_a_course_is_gone_through_once_whatever_is_asked_of_its_states(monkeypatch):
    times, gone_through = [], _Course.gone_through

    def counted(self, ways):
        times.append(1)
        return gone_through(self, ways)

    monkeypatch.setattr(_Course, "gone_through", counted)
    course = case_of().course(BY_KEY["bursts"])
    assert times == []
    assert all(standard(after.resident) > 0 and standard(after.outlet) > 0 for one, after in course if one.kind == PUMP)
    assert times == [1]


def courses():
    """The results of the demo, the job files, and similar jobs with other circuits, bursts and logs."""
    files = sorted((Path(__file__).parent / "files" / "jobs").glob("*.toml"))
    whole = [Job.demo().to_dict(), *(Job.from_toml(path).to_dict() for path in files)]
    rng = random.Random(7)
    jobs = [*whole, *(data | {"log": data.get("log", [])[: rng.randint(0, 25)]} for data in [*whole, *[whole[0]] * 20])]
    for data in jobs[len(whole) :]:
        data["exchange"] = data.get("exchange", {}) | {"burst": f"{rng.randint(3, 15) / 10} L", "bursts": rng.randint(1, 9)}
        data["circuit"] = data.get("circuit", {}) | {
            "drawn_first": f"{rng.randint(0, 80)}(9) %", "drain_back": f"{rng.randint(0, 60) / 100} L",
            "bypass": f"{rng.randint(0, 60)}(9) %", "cooler": f"0.{rng.randint(3, 9)} L", "converter_tanks": rng.randint(1, 4),
        }  # fmt: skip
    for data in jobs:
        case = Case(Job.from_dict(data))
        for found in (lambda case=case: case.followed, lambda case=case: case.course(BY_KEY["bursts"])):
            try:
                yield found()
            except SumpwiseError:
                continue


def shares(built, state):
    """Fresh inside and leaving the line."""
    return resident(built, state), 1 - state.outlet


def test_ways_to_pump_side_by_side_come_to_what_each_comes_to_alone():
    """The series end where no eye could see a difference, at a hundred-thousandth of an old fraction."""
    compared = 0
    for *_, (_, end) in filter(None, courses()):
        course = end.course
        ways, stages = course.gone_through(course.weights)
        shown = numpy.array([[numpy.zeros(len(ways)) + share for share in shares(*stage)] for stage in stages])
        for k, way in enumerate(ways):
            _, alone = course.gone_through([way])
            assert numpy.abs(shown[..., k] - [shares(*stage) for stage in alone]).max() < 5e-6
            compared += len(alone)
    assert compared > 1000


@pytest.mark.parametrize(("entries", "target", "probability"), [
    (5, "70 %", "95 %"), (0, "60 %", "80 %"), (0, "70 %", "50 %"), (5, "77 %", "80 %"), (0, "85 %", "90 %"), (0, "92 %", "95 %"),
])  # fmt: skip
def test_the_number_of_bursts_is_the_fewest_that_meet_the_target_when_each_number_is_planned_by_itself(entries, target, probability):
    data = Job.demo().to_dict()
    data["log"], data["target"] = data["log"][:entries], {"fresh": target, "probability": probability}
    data["exchange"].pop("bursts")
    bursts, case = BY_KEY["bursts"], Case(Job.from_dict(data))

    def chance(count):
        data["exchange"]["bursts"] = count
        return at_least(end_of(Case(Job.from_dict(data))).resident, case.target)

    count = bursts.count(case)
    if chance(40) < case.probability:
        assert chance(count) < case.probability
    else:
        assert chance(count) >= case.probability > chance(count - 1)
