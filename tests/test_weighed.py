"""Fluid that was weighed: a mass in a log or a job is a volume by the density that the job gives."""

import re

import pytest

from sumpwise import Job, Ledger, SumpwiseError, Vessel, plan
from sumpwise.service.case import Case
from sumpwise.service.facts.causes import measured
from sumpwise.service.learning import learned_from
from sumpwise.service.measures import measures
from sumpwise.service.movements import movements
from sumpwise.service.words.english import WORDS
from sumpwise.uncertainty import nominal, standard

AT_20 = 850 * 0.99630
"""Density at 20 °C of a fluid of 850 kg/m³ at 15 °C, by the printed factor of API MPMS 11.1."""


def litres(kilograms):
    """What weighs so much in air (1.2 kg/m³), by scales that were adjusted with steel (8000 kg/m³)."""
    return 1000 * kilograms * (1 - 1.2 / 8000) / (AT_20 - 1.2)


def job(*log, density="850 kg/m³", **tables):
    data = {"vehicle": {"name": "example wagon"}, "capacity": {"total": "8.85 L"}, "log": list(log)}
    data["vessel"] = [{"name": "pail"}, {"name": "jug"}]
    data |= tables
    if density:
        data["fluid"] = {"density_15": density}
    return data


def entry(event, reading, **more):
    return {"event": event, "vessel": "pail", "reading": reading, "temperature": "60 °C", **more}


def moved(*log, **tables):
    return [move.moved for move in movements(Case(Job.from_dict(job(*log, **tables)))) if move.litres]


LB = 0.45359237


@pytest.mark.parametrize(("text", "kilograms"), [("3.20 kg", 3.2), ("7.05 lb", 7.05 * LB), ("320 g", 0.32), ("3 lb 4 oz", 3.25 * LB)])
def test_a_weight_is_a_volume_by_the_density_whatever_the_temperature_and_the_scale_of_the_pail(text, kilograms):
    for vessel in ([{"name": "pail"}], [{"name": "pail", "graduation": "0.5 L", "reads_high": "4 %"}]):
        (found,) = moved(entry("drained", text), vessel=vessel)
        assert -nominal(found) == pytest.approx(litres(kilograms), rel=2e-5)


def test_what_is_weighed_is_as_uncertain_as_its_density_and_its_last_digit():
    (fine,) = moved(entry("drained", "3.200 kg"), density="850(8) kg/m³")
    assert standard(fine) / abs(nominal(fine)) == pytest.approx(8 / 850, rel=0.01)
    (coarse,) = moved(entry("drained", "3 kg"), density="850.0(1) kg/m³")
    assert standard(coarse) == pytest.approx(litres(0.5) / 3**0.5, rel=0.01)
    (stated,) = moved(entry("drained", "3.0(2) kg"), density="850.0(1) kg/m³")
    assert standard(stated) == pytest.approx(litres(0.2), rel=0.01)


def test_the_error_of_the_density_is_shared_by_all_that_was_weighed():
    log = [entry("drained", "3.200 kg"), {"event": "emptied", "vessel": "pail"}, entry("poured", "3.200 kg", vessel="jug")]
    last = movements(Case(Job.from_dict(job(*log, density="850(8) kg/m³"))))[-1]
    assert nominal(last.balance) == pytest.approx(0, abs=1e-9)
    assert standard(last.balance) < 0.002  # the last digits alone


def test_a_density_written_without_an_uncertainty_is_assumed_to_be_a_typical_figure_and_that_is_said():
    weighed, read = (plan(Job.from_dict(job(entry("drained", text)))).to_markdown() for text in ("3.20 kg", "3.20 L"))
    assert "density of the fluid, by its data sheet: good to" in weighed.lower()
    assert "density of the fluid, by its data sheet: good to" not in read.lower()
    assert "Nobody weighed it" not in weighed


def test_what_was_lost_may_be_weighed_too():
    found = moved(entry("drained", "3 L"), {"event": "lost", "volume": "0.150 kg", "what": "rags", "temperature": "60 °C"})
    assert -nominal(found[1]) == pytest.approx(litres(0.15), rel=2e-5)


def test_the_sheet_shows_the_weight_as_written_and_goes_on_in_both():
    log = [entry("drained", "7.05 lb"), entry("poured", "2.00 lb", vessel="jug")]
    sheet = plan(Job.from_dict(job(*log, capacity={"total": "9.4 qt"})), units="US").to_markdown()
    assert re.search(r"\| 7\.05 lb \| 140 °F \| −4\.00", sheet)
    assert re.search(r"Pour [\d.]+ US qt\*\*, which weighs [\d.]+ lb", sheet)


def test_a_weight_without_a_density_is_refused_with_what_to_give():
    for data in (job(entry("drained", "3.2 kg"), density=""), job(capacity={"total": "7.5 kg"}, density="")):
        (error,) = Job.problems(data)
        assert error.code == "unit.kind"
        assert "density_15" in error.hint
        assert "1.18 L" in error.hint


def test_ounces_are_asked_about_though_a_density_is_known():
    (error,) = Job.problems(job(entry("drained", "12 oz")))
    assert error.code == "unit.kind"
    assert error.hint == "fl oz?"


def test_a_weight_in_a_vessel_that_is_read_too_has_none_of_its_errors():
    bad = [{"name": "pail", "graduation": "1 L", "reads_high": "10 %", "scale_uncertainty": "5 %"}]
    empty = {"event": "emptied", "vessel": "pail"}
    first, second, third = moved(entry("drained", "2.2 L"), empty, entry("drained", "1.600 kg"), empty, entry("drained", "1 L"), vessel=bad)
    assert -nominal(first) == pytest.approx(2.2 / 1.1, rel=0.05)  # by the scale, less what warmth added
    assert -nominal(second) == pytest.approx(litres(1.6), rel=2e-5)
    assert standard(second) < 0.01 < 0.05 < min(standard(first), standard(third))


def test_a_weight_of_all_that_is_in_a_pail_takes_the_place_of_what_was_read_on_it():
    """Whichever was read too high: a weight is not refused for being less than a scale that is 4 % off showed."""
    off = [{"name": "pail", "graduation": "0.1 L", "reads_high": "0 %", "scale_uncertainty": "4 %"}]
    whole = movements(Case(Job.from_dict(job(entry("drained", "3 L"), entry("drained", "2.40 kg", cumulative=True), vessel=off))))[-1]
    assert -nominal(whole.balance) == pytest.approx(litres(2.4), rel=2e-5)
    (error,) = [plan(Job.from_dict(job(entry("drained", "3 L"), entry("drained", "1.5 kg", cumulative=True), vessel=off)))]
    assert "cannot fall" in error.to_markdown()


def test_a_ledger_with_a_weight_is_stored_and_read_again():
    pail = Vessel("pail", "1 L", scale=0.9, scale_uncertainty=0.05)
    kept = Ledger("850 kg/m³").drained(pail, "2 L", "40 °C").emptied(pail).drained(pail, "1.9 L", "20 °C", weighed=True)
    again = Ledger.from_dict(kept.to_dict())
    assert again.to_dict() == kept.to_dict()
    assert kept.to_dict()["lines"][2]["weighed"] is True
    assert nominal(again.added.m_as("L")) == pytest.approx(-1.9)
    assert standard(again.added.m_as("L")) == 0


def test_a_pail_that_was_read_is_weighed_in_place_of_its_reading():
    """The advice to weigh it says so, and the count is then known as well as the advice foretold."""
    demo = Job.demo().to_dict()
    vessels = [{"name": "pail", "graduation": "1 L", "reads_high": "0 %"}, {"name": "jug", "graduation": "0.1 L", "reads_high": "0 %"}]
    before = [demo["log"][0], entry("drained", "3.4 L"), {"event": "emptied", "vessel": "pail"}, entry("poured", "3.4 L", vessel="jug")]
    read = [*before, entry("drained", "2 L"), entry("drained", "1 L")]
    made = demo | {"fluid": {"density_15": "850 kg/m³"}, "vessel": vessels, "log": read}
    case = Case(Job.from_dict(made))
    (foretold,) = [one for one in measures(case, case.agreement) if one.id == "weigh"]
    assert "in place of the reading of its last log entry, with cumulative = true" in WORDS[measured(case, foretold).id]
    weighed = Case(Job.from_dict(made | {"log": [*read[:-1], entry("drained", "2.45 kg", cumulative=True)]}))
    after = standard(weighed.agreement.count)
    assert after < 0.9 * standard(case.agreement.count)
    assert after == pytest.approx(foretold.leaves, rel=0.05)
    assert not [one for one in measures(weighed, weighed.agreement) if one.id == "weigh"]


def test_a_pack_may_be_poured_whole_and_another_be_weighed():
    packs = [{"name": "bottle", "volume": "1 L", "price": 9.9}]
    log = [{"event": "poured", "reading": "1 L"}, {"event": "poured", "vessel": "bottle", "reading": "0.425 kg", "temperature": "10 °C"}]
    found = moved(entry("drained", "3 L"), *log, pack=packs)
    assert nominal(found[2]) == pytest.approx(litres(0.425), rel=2e-5)


def test_capacities_parts_and_packs_may_be_weights():
    part, pack = {"name": "axle", "volume": "0.80 kg"}, {"name": "can", "volume": "4.0 kg", "price": 40}
    read = Job.from_dict(job(capacity={"total": "7.5 kg", "plug_drain": "2.8 kg"}, component=[part], pack=[pack]))
    assert nominal(read.value("capacity", "total")) == pytest.approx(litres(7.5), rel=2e-5)
    assert nominal(read.entries("component")[0]["volume"]) == pytest.approx(litres(0.8), rel=2e-5)
    assert nominal(read.entries("pack")[0]["volume"]) == pytest.approx(litres(4), rel=2e-5)
    for units, shown in (("as written", "7.5 kg"), ("metric", "7.5 kg"), ("US", "16.5 lb"), ("both", "7.5 kg (16.5 lb)")):
        assert f"Total {shown}" in plan(read, units=units).to_markdown()


def test_a_doubt_of_a_volume_holds_for_a_weight_too():
    texts = "2.80 kg", f"{litres(2.8):.6f} L"
    kinds = [Case(Job.from_dict(job(capacity={"total": "8.85 L", "plug_drain": text}))).plug for text in texts]
    assert standard(kinds[0]) == pytest.approx(standard(kinds[1]), rel=1e-4)


@pytest.mark.parametrize(("table", "key"), [("vessel", "graduation"), ("level", "marks_volume"), ("circuit", "sump")])
def test_a_scale_and_a_part_of_the_unit_are_not_weighed(table, key):
    level = {"marks_volume": "0.4 L", "marks_length": "13 mm", "window": "80–90 °C"}
    data = job(level=level)
    if table == "vessel":
        data["vessel"] = [{"name": "pail", key: "0.4 kg"}]
    else:
        data[table] = data.get(table, {}) | {key: "0.4 kg"}
    (error,) = Job.problems(data)
    assert error.code == "unit.kind"


def test_a_wrong_digit_of_a_weight_is_looked_for():
    data = Job.demo().to_dict()
    for one in data["log"]:
        if one.get("vessel") == "jug":
            one["reading"] = f"{float(one['reading'].split()[0]) * 0.8435:.3f} kg"
    poured = next(i for i, one in enumerate(data["log"]) if one.get("vessel") == "jug")
    wrong = data["log"][poured]["reading"]
    data["log"][poured]["reading"] = wrong.replace("3.", "4.", 1)
    sheet = plan(Job.from_dict(data)).to_markdown()
    assert f"Log entry {poured + 1}" in sheet
    assert wrong in sheet


@pytest.mark.parametrize(("text", "learned"), [("3.2 L", True), ("3.2 kg", False)])
def test_a_service_learns_no_scale_of_a_vessel_that_was_weighed(text, learned):
    vessel = [{"name": "pail", "graduation": "0.5 L", "reads_high": "4 %"}, {"name": "jug"}]
    done = job(entry("drained", text), entry("poured", "3.1 L", vessel="jug"), vessel=vessel)
    assert ("pail scale" in learned_from(Case(Job.from_dict(done)))) is learned


def test_a_negative_weight_is_out_of_range():
    with pytest.raises(SumpwiseError, match="out of range"):
        Job.from_dict(job(entry("drained", "-1 kg")))


def test_a_pail_weighed_after_it_was_read_pours_nothing_in_and_is_not_taken_for_the_pan():
    """3.00 L were read and 2.40 kg are 2.84 L: the drain was a little smaller, and nothing new is inside."""
    off = [{"name": "pail", "graduation": "0.25 L", "reads_high": "0 %", "scale_uncertainty": "4 %"}]
    log = [entry("drained", "3 L", temperature="20 °C"), entry("drained", "2.40 kg", cumulative=True)]
    sheet = plan(Job.from_dict(job(*log, vessel=off, capacity={"total": "8.85 L", "pan_and_filter": "0.4 L"})))
    now = " ".join(sheet.section("now").lines)
    assert "So far 2.84 L came out" in now
    assert "New fluid inside so far: 0 % of the fill" in now
    assert "taken as more from the plug" not in now
    low = entry("drained", "3 L", temperature="20 °C"), entry("drained", "2.90 kg", cumulative=True)  # 0.44 L more may be the pan's
    more = plan(Job.from_dict(job(*low, vessel=off, capacity={"total": "8.85 L", "pan_and_filter": "0.4 L"})))
    assert "taken as more from the plug" in " ".join(more.section("now").lines)


def test_a_pail_weighed_between_bursts_leaves_the_vials_what_they_would_say_of_the_weight_alone():
    """The plug drain was read as 3.35 L and then weighed: what the vials say is the same as if only the weight had been entered."""
    demo = Job.demo().to_dict() | {"fluid": Job.demo().to_dict()["fluid"] | {"density_15": "847 kg/m³"}}
    first, plug, *rest = demo["log"][:7]
    weight = plug | {"reading": "2.620 kg", "cumulative": True}
    pools = [plan(Job.from_dict(demo | {"log": [first, *drains, *rest]})) for drains in ((plug, weight), (weight,))]
    twice, once = (sheet.section("outlet").data["resident"]["mean"] for sheet in pools)
    assert twice == pytest.approx(once, abs=0.003)  # the draws of the circuits alone give 0.001
