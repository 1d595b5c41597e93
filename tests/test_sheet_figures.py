"""Figures of the demo's sheet that rest on the service room's own arithmetic, worked out again beside it."""

import math

import pytest

from sumpwise import Dipstick, Job, compare_methods, measured, plan, quantity, span, volume_correction_factor
from sumpwise.service.case import Case


@pytest.fixture(scope="module")
def job():
    return Job.demo()


@pytest.fixture(scope="module")
def comparison(job):
    return compare_methods(job)


@pytest.fixture(scope="module")
def sheet(job):
    return plan(job)


def altered(**tables):
    data = Job.demo().to_dict()
    for table, content in tables.items():
        data[table] = {**data[table], **content} if isinstance(content, dict) else content
    return Job.from_dict(data)


def without(*tables):
    return Job.from_dict({key: value for key, value in Job.demo().to_dict().items() if key not in tables})


def beyond(half, off, u):
    """Both tails of a normal distribution outside -half and half."""
    return (math.erfc((half - off) / u / math.sqrt(2)) + math.erfc((half + off) / u / math.sqrt(2))) / 2


HALF = f"{0.25 / 2 / math.sqrt(3)!r} L"
"""Half a division of the pail, rectangular."""


CLEAN = {"material_growth": "0 %", "film": "0 L", "air": "0 %", "tilt": "0 deg"}


def counted(pail, litres, jug=0.02, fills=1):
    """What is poured less what is drained, at 20 °C, both uncertain by the scale and by half a division of each reading, rectangular."""
    cool = volume_correction_factor("45 °C", "847 kg/m³") / volume_correction_factor("20 °C", "847 kg/m³")
    cold = volume_correction_factor("17 °C", "847 kg/m³") / volume_correction_factor("20 °C", "847 kg/m³")
    caught = cool * math.hypot(pail * 1.019 * litres, 0.25 / 1.019 / 2 / math.sqrt(3))
    given = cold * math.hypot(jug * litres, math.sqrt(fills) * 0.05 / 2 / math.sqrt(3))
    return math.hypot(caught, given, 0.05, 0.05 * 0.21)  # and what nobody measures, and the marks


@pytest.mark.parametrize(("key", "litres"), [("drain", 3.3), ("drains", 3.3), ("drain and machine", 12.0)])
def test_the_chance_of_missing_the_marks_is_that_of_both_vessels_and_the_level_before(key, litres):
    # after each of several drains the level is checked and set right: then the last pour counts, and how well the stick was read
    # a pail and a jug good to 2 %, each read to half a division, rectangular; half the band is 0.21 L
    pail = {"name": "pail", "graduation": "0.25 L", "reads_high": "1.9 %", "scale_uncertainty": "2 %", "reading": HALF} | CLEAN
    jug = {"name": "jug", "graduation": "0.05 L", "reading": f"{0.05 / 2 / math.sqrt(3)!r} L"} | CLEAN
    unread = compare_methods(altered(vessel=[pail, jug], log=[]))
    assert unread[key].outside_band == pytest.approx(beyond(0.21, 0.0, math.hypot(counted(0.02, litres), 0.15)), rel=1e-6)
    stick = Dipstick(
        "0.420(21) L", "13 mm", "8.85 L", "847 kg/m³", span("82–92 °C"), resolution="1 mm", reading_noise="1.5 mm", bias="0.0(17) mm",
        bulk="0(3) Δ°C", air="0.0(2) %",
    )  # fmt: skip
    start = stick.error("1 mm", measured("86 °C", standard=f"{math.hypot(1, 1.5)!r} Δ°C"))
    low, doubt = start.magnitude.nominal_value, start.magnitude.std_dev
    read = compare_methods(altered(vessel=[pail, jug]))
    assert read[key].outside_band == pytest.approx(beyond(0.21, 0.0, math.hypot(counted(0.02, litres), doubt)), rel=1e-3)
    assert read["nothing"].outside_band == pytest.approx(beyond(0.21, low, math.hypot(doubt, 0.05 * 0.21)), rel=1e-2)


def test_a_pail_weighed_without_a_stated_uncertainty_still_counts_as_weighed():
    pail = {"name": "pail", "graduation": "0.25 L", "reads_high": "1.9 %", "reading": HALF} | CLEAN
    jug = {"name": "jug", "graduation": "0.05 L", "reading": f"{0.05 / 2 / math.sqrt(3)!r} L"} | CLEAN
    u = math.hypot(counted(0.005, 3.3), 0.15)
    assert compare_methods(altered(vessel=[pail, jug], log=[]))["drains"].outside_band == pytest.approx(beyond(0.21, 0.0, u), rel=1e-6)


def test_fluid_is_measured_by_the_vessel_it_is_poured_from_too():
    """A jug that nobody weighed makes the level worse known than one that was; so does one filled twelve times."""
    pail = {"name": "pail", "graduation": "0.25 L", "reads_high": "1.9 %", "reading": HALF} | CLEAN
    jug = {"name": "jug", "graduation": "0.05 L", "reading": f"{0.05 / 2 / math.sqrt(3)!r} L"} | CLEAN

    def chance(**jug_as):
        return compare_methods(altered(vessel=[pail, jug | jug_as], log=[]))["drain"].outside_band

    assert chance(reads_high="0 %", scale_uncertainty="0.1 %") < chance() < chance(holds="0.275 L", reading="0.05 L")
    u = math.hypot(counted(0.005, 3.3, fills=12), 0.15)
    assert chance(holds="0.275 L") == pytest.approx(beyond(0.21, 0.0, u), rel=1e-6)


def test_a_book_s_drain_is_worse_known_than_it_is_printed():
    """A plug drain and a pan written without an uncertainty are good to 8 % and 25 %; the rest of the need to 2 %."""
    data = {key: value for key, value in Job.demo().to_dict().items() if key != "shopping"}
    data["capacity"] |= {"plug_drain": "3.3 L", "pan_and_filter": "0.4 L"}
    need = plan(Job.from_dict(data)).section("buy").data["need"]
    assert need["standard_uncertainty"] == pytest.approx(math.hypot(0.08 * 3.3, 0.25 * 0.4, 0.02 * need["value"]), rel=1e-9)


@pytest.mark.parametrize(
    ("key", "money"),
    [
        ("drain", 3.3 * 9.30 + 1.20), ("drains", 13.2 * 9.30 + 4 * 1.20), ("bursts", 11.45 * 9.30 + 1.20 + 18.50), ("nothing", 0.0),
        ("machine stirred", 260.0), ("machine plug", 260.0), ("drain and machine", 3.3 * 9.30 + 1.20 + 260.0),
    ],
)  # fmt: skip
def test_fluid_at_the_cheapest_litre_washers_the_filter_and_the_quote(comparison, key, money):
    method = comparison[key]
    assert getattr(method.cost, "nominal_value", method.cost) == pytest.approx(money, rel=1e-12)
    services = {"nothing": 0, "yearly": 10}.get(key, 3)  # now, after four years, after eight
    assert getattr(method.horizon_cost, "nominal_value", method.horizon_cost) == pytest.approx(services * money, rel=1e-12)


@pytest.mark.parametrize(
    ("key", "money"), [("machine stirred", 1.3 * 8.85 * 9.30), ("drain and machine", (3.3 + 1.3 * 8.85) * 9.30 + 1.20)]
)
def test_a_machine_without_a_quote_costs_its_fluid_alone(key, money):
    comparison = compare_methods(without("quote"))
    assert comparison[key].cost.nominal_value == pytest.approx(money, rel=1e-12)
    assert any("only the fluid is counted, not the shop's labour" in line for line in comparison.assumptions)


def test_what_is_opened_gets_a_new_washer_and_a_pan_off_a_new_filter(comparison):
    used = {method.key: (method.washers, method.filters) for method in comparison}
    assert len(comparison) == len(used) == 8
    assert used == {
        "nothing": (0, 0), "drain": (1, 0), "drains": (4, 0), "yearly": (1, 0), "bursts": (1, 1), "machine stirred": (0, 0),
        "machine plug": (0, 0), "drain and machine": (1, 0),
    }  # fmt: skip


@pytest.mark.parametrize(("left_out", "pushed"), [((), 12 / 8.85), (("quote",), 1.3)])
def test_machine_exchange_and_drain_before_it(left_out, pushed):
    comparison = compare_methods(without(*left_out))
    stirred, once = 1 - math.exp(-pushed), 3.3 / 8.85
    assert comparison["machine stirred"].fresh.nominal_value == pytest.approx(stirred)
    assert comparison["drain and machine"].fresh.nominal_value == pytest.approx(once + (1 - once) * stirred)


@pytest.mark.parametrize("key", ["drain", "yearly", "drains"])
def test_a_rhythm_year_by_year(comparison, key):
    share = comparison[key].fresh.nominal_value
    every, age, total = (1 if key == "yearly" else 4), 9.0, 0.0
    for year in range(10):
        if year % every == 0:
            age *= 1 - share
        total += age + 0.5
        age += 1
    assert comparison[key].age.magnitude.nominal_value == pytest.approx(total / 10)


def test_ranges_that_nobody_publishes_have_the_spread_of_their_shape(job):
    values = Case(job).circuit.history.built._asdict()
    assert values["bypass"].nominal_value == pytest.approx(0.3)
    assert values["bypass"].std_dev == pytest.approx(0.6 / math.sqrt(12))
    low, high, cells = 0.003, 0.1, 20_000
    drawn = [low * (high / low) ** ((i + 0.5) / cells) for i in range(cells)]  # log-uniform, cell by cell
    mean = sum(drawn) / cells
    spread = math.sqrt(sum((x - mean) ** 2 for x in drawn) / cells)
    assert values["pocket_circulation"].nominal_value == pytest.approx(mean, rel=1e-6)
    assert values["pocket_circulation"].std_dev == pytest.approx(spread, rel=1e-6)


def test_what_a_degree_is_on_the_stick(sheet):
    alpha, case, fill = 0.6278 / 847, 3 * 23e-6, 8.85

    def grown(t):
        return fill * math.exp(-alpha * 5 * (1 + 4 * alpha)) / math.exp(-alpha * (t - 15) * (1 + 0.8 * alpha * (t - 15)))

    litres = (grown(92) - grown(82)) / 10 - case * grown(87)
    line = sheet.section("level").lines[0]
    assert f"{1000 * litres:.1f} mL/°C" in line
    assert f"{litres * 13 / 0.42:.2f} mm/°C on the stick" in line


def test_seconds_of_a_burst_and_what_the_hose_shows(sheet):
    text = " ".join(sheet.section("steps").lines)
    assert "one burst of 1.25 L, about 20 s at 3.75 L/min" in text  # 1.25 / 3.75 of a minute
    inside, shown = sheet.section("steps").rows[-1][2:4]
    assert f"the hose shows about {shown.split(' ')[0]} % old while {inside.split(' ')[0]} % is left inside" in text


def test_a_wrench_guarantees_nothing_below_a_fifth_of_its_scale():
    bolt = [{"name": f"bolt {n}", "torque": f"{n} N·m", "window": f"{n - 3} to {n + 3} N·m"} for n in (21, 23)]
    rows = plan(altered(bolt=bolt, wrench={"minimum": "1 N·m", "adapter": "0 mm"})).section("torque").rows  # 110 N·m at most
    assert rows[0][-1] == "not with this wrench"
    assert rows[1][-1] == "22.0–25.0 N·m"  # 20/0.96 = 20.83 is below a fifth of the scale, 26/1.04 = 25.0


@pytest.mark.parametrize(("degrees", "stops"), [("119.9 °C", False), ("120 °C", True)])
def test_hot_fluid_stops_from_120_degrees(degrees, stops):
    sheet = plan(altered(log=[{"event": "stick", "reading": "3 mm", "temperature": degrees}]))
    assert (sheet.sections[0].title == "STOP") is stops


def test_the_need_shows_two_digits_of_its_uncertainty(sheet):
    assert sheet.section("buy").rows[-1][1] == "12.37 ± 0.45 L"  # GUM 7.2.6


def numbers(data):
    """Every number with a unit in plain data."""
    if isinstance(data, dict):
        if {"value", "unit"} <= data.keys() or {"lower", "upper", "unit"} <= data.keys():
            yield data
        for part in data.values():
            yield from numbers(part)
    elif isinstance(data, list):
        for part in data:
            yield from numbers(part)


def facts_of(sheet):
    return {fact["id"]: fact["values"] for section in sheet.sections for fact in section.facts}


def test_a_number_of_a_fact_has_the_unit_that_it_is_in(sheet):
    values = facts_of(sheet)
    due = next(one["distance"] for one in values["summary.look"]["due"]["when"] if "distance" in one)
    for told, meant in ((values["timetable.times"]["change"], "30 s"), (values["steps.air"]["reaction"], "2 s"), (due, "184400 km")):
        assert quantity(f"{told['value']!r} {told['unit']}").m_as(quantity(meant).units) == pytest.approx(quantity(meant).magnitude)
    growth, rise = values["level.grows"]["growth"], values["level.grows"]["rise"]
    assert (growth["unit"], rise["unit"]) == ("L/°C", "mm/°C")
    assert 1000 * growth["value"] == pytest.approx(6.9, abs=0.05)  # as the line says, in mL/°C
    assert rise["value"] == pytest.approx(0.21, abs=0.005)


@pytest.mark.parametrize("units", ["metric", "US", "imperial"])
@pytest.mark.parametrize("log", [0, 2, 22])
def test_every_unit_of_a_number_is_one_that_is_read(units, log):
    data = plan(altered(log=Job.demo().to_dict()["log"][:log]), units).to_dict()["sections"]
    found = {one["unit"] for one in numbers(data)} - {"coins", "L/°C", "mm/°C", "1"}
    assert found >= {"L", "°C", "N·m", "min"}
    assert not [unit for unit in found if quantity(f"1 {unit}").magnitude != 1]
