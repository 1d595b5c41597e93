"""The schema, and what a case assumes if a job says nothing."""

from __future__ import annotations

import json

import pytest
from jsonschema import Draft202012Validator

from sumpwise import Job, ServiceRecord, SumpwiseError, compare_methods, plan
from sumpwise.quantities.arguments import Argument, number_in
from sumpwise.service import checks, keys, kinds, schema
from sumpwise.service.case import Case
from sumpwise.uncertainty import is_uncertain, nominal, standard

KEYS = [(table, name, key) for table, keys in (schema.TABLES | schema.LISTS).items() for name, key in keys.items()]
BARE = {"vehicle": {"name": "example wagon"}}


@pytest.mark.parametrize(("table", "name", "key"), KEYS)
def test_every_key_has_a_meaning_and_every_default_can_be_read(table, name, key):
    assert key.meaning
    assert key.meaning[-1] != "."
    if key.default is None:
        assert name in BARE.get(table, {}) or Case(Job.from_dict(BARE)).ask(table, name, None if table in schema.TABLES else {}) is None
        return
    case = Case(Job.from_dict(BARE | {"wrench": {"maximum": "100 N·m"}, "vessel": [{"name": "pail"}]}))
    entry = case.job.entries("vessel")[0] if table == "vessel" else {}
    value = case.ask(table, name, None if table in schema.TABLES else entry, base=2.0)
    assert value is not None
    taken = key.default if isinstance(key.default, keys.Default) else key.default(case, entry)
    noted = {one.id: one for one in case.assumptions}
    assert (f"assumed.{table}.{name}" in noted) == bool(taken.reason)
    if taken.low != "" and not isinstance(value, (str, bool)):
        low, high = (case.read_default(key, keys.Default(end, "", of=taken.of), name) for end in (taken.low, taken.high))
        assert nominal(low) <= nominal(value) / (2.0 if taken.of else 1.0) <= nominal(high)
    if taken.shape:
        assert is_uncertain(value)


def test_what_is_written_is_not_an_assumption_and_what_is_assumed_is_one_source():
    case = Case(Job.demo())
    assert case.ask("exchange", "flow") == pytest.approx(3.75)
    assert case.ask("exchange", "reaction") == pytest.approx(2 / 60)
    assert [one.id for one in case.assumptions] == ["assumed.exchange.reaction"]
    assert standard(case.ask("circuit", "bypass") - case.ask("circuit", "bypass")) == 0
    assert [one.id for one in case.assumptions] == ["assumed.exchange.reaction", "assumed.circuit.bypass"]


def test_a_multiple_is_one_source_of_whatever_it_is_a_multiple():
    case = Case(Job.from_dict(BARE))
    once, twice = (case.ask("quote", "volume", base=base) for base in (1.0, 2.0))
    assert nominal(twice) == pytest.approx(2.6)
    assert standard(twice - 2 * once) == pytest.approx(0, abs=1e-12)
    assert [case.ask("shopping", "need_uncertainty", base=base) for base in (1.0, 10.0)] == pytest.approx([0.02, 0.2])


def test_a_value_without_uncertainty_gets_that_of_its_key():
    case = Case(Job.demo())
    assert standard(case.total) == pytest.approx(0.02 * 8.85)
    assert standard(case.total - case.ask("capacity", "total")) == 0
    assert [one.id for one in case.assumptions] == ["assumed.capacity.total.doubt"]
    sharp = Case(Job.demo().with_(capacity={"total": "8.85 ± 0.1 L"}))
    assert standard(sharp.total) == pytest.approx(0.1 / 3**0.5)
    assert not sharp.assumptions


@pytest.mark.parametrize("kind", kinds.KINDS.values())
@pytest.mark.parametrize("check", [None, *checks.CHECKS])
def test_a_name_and_a_kind_are_enough_for_a_sheet(kind, check):
    vehicle = {"name": "example wagon", "kind": kind.name} | ({"level_check": check} if check else {})
    sheet = plan(Job.from_dict({"vehicle": vehicle}))
    taken = {one["id"] for one in sheet.section("assumptions").data["taken"]}
    assert {"assumed.capacity.total", "assumed.capacity.plug_drain"} <= taken
    assert kind.pumped or not any(m.key.startswith("machine") for m in compare_methods(Job.from_dict({"vehicle": vehicle})))


def test_all_that_is_wrong_is_said_at_once():
    data = Job.demo().to_dict()
    data["capacity"]["total"] = "8.85"
    data["capacity"]["totl"] = "8 L"
    data["vessel"][0]["holds"] = "9 m"
    data["log"][1]["event"] = "drain"
    del data["bolt"][0]["torque"], data["bolt"][0]["window"]
    data["wheels"] = 4
    found = Job.problems(data)
    assert [(error.code, error.pointer) for error in found] == [
        ("unit.missing", "/capacity/total"), ("key.unknown", "/capacity/totl"), ("unit.kind", "/vessel/0/holds"),
        ("key.missing", "/bolt/0/torque"), ("value.choice", "/log/1/event"), ("key.unknown", "/wheels"),
    ]  # fmt: skip
    with pytest.raises(SumpwiseError) as first:
        Job.from_dict(data)
    assert str(first.value) == str(found[0])
    assert Job.problems(Job.demo().to_dict()) == []
    assert [error.problem for error in Job.problems(3)] == ["is not a table"]  # type: ignore[arg-type]


@pytest.mark.parametrize(("table", "key", "value", "says"), [
    ("vehicle", "total", "11 qt", "is not a key of a job (total belongs in [capacity])"),
    ("capacity", "totl", "11 qt", "is not a key of a job (did you mean total?)"),
    ("fluid", "window", "34 N·m", "is not a key of a job (window belongs in [level] or [[bolt]])"),
    ("vehicle", "wheels", 4, "is not a key of a job (known: age, "),
    ("quote", "price", "$90", "read '$90': is not a price, 0 or more (write a bare number such as 90.00"),
    ("vehicle", "kind", "lorry", "read 'lorry': is not one of the choices; accepted: 'automatic', "),
    ("vehicle", "name", 3, "read 3: is not a text"),
    ("vehicle", "name", "x" * 1001, "is longer than 1000 characters"),
])  # fmt: skip
def test_a_slip_in_a_form_is_said_with_its_mend(table, key, value, says):
    data = Job.demo().to_dict()
    data.setdefault(table, {})[key] = value
    (found,) = Job.problems(data)
    assert says in str(found)


def test_an_event_written_as_a_key_is_said_with_its_mend():
    """What many beginners write first: drained = "3.1 qt"."""
    found = Job.problems({"vehicle": {"name": "example wagon"}, "log": [{"drained": "3.1 qt"}]})
    assert str(found[0]) == "job: [[log]] 1 drained: is not a key of a job (write event = 'drained')"


def test_a_bolt_needs_only_what_the_book_prints():
    """One figure, limits alone, or a figure with limits."""
    job = Job.from_dict({
        "vehicle": {"name": "example wagon"},
        "bolt": [{"name": "one", "torque": "34 N·m"}, {"name": "two", "window": "31 to 37 N·m"}, {"name": "three", "torque": "34 ± 3 N·m"}],
        "wrench": {"minimum": "10 N·m", "maximum": "60 N·m", "deviation": "4 %", "graduation": "1 N·m"},
    })  # fmt: skip
    section = plan(job, units="metric").section("torque")
    one, two, three = section.data["bolts"]
    assert one["setting"]["lower"]["value"] == one["setting"]["upper"]["value"] == 34.0
    assert two["setting"] == three["setting"]
    assert "outside_window" in two
    assert "outside_window" not in one
    assert 31 / 0.96 <= two["setting"]["lower"]["value"] < 34 < two["setting"]["upper"]["value"] <= 37 / 1.04
    text = plan(job, units="metric").to_markdown()
    assert "one: the job has one figure and no limits; with the wrench set for it the bolt gets 34.0 ± 0.9 N·m." in text
    assert "wrench to 34 N·m for the one (34 N·m)" in text
    (neither,) = Job.problems(job.to_dict() | {"bolt": [{"name": "none"}]})
    assert (neither.code, neither.pointer) == ("key.missing", "/bolt/0/torque")


def test_what_does_not_fit_together_is_said_at_once():
    data = Job.demo().to_dict()
    data["log"][1]["vessel"] = "pial"
    del data["log"][0]["reading"]
    data["capacity"]["plug_drain"] = "9 L"
    data["bolt"][0]["torque"] = "40 N·m"
    assert [(error.code, error.pointer) for error in Job.problems(data)] == [
        ("capacity.parts", "/capacity/plug_drain"), ("torque.window", "/bolt/0/torque"), ("key.missing", "/log/0/reading"),
        ("vessel.unknown", "/log/1/vessel"),
    ]  # fmt: skip


def test_a_changed_copy_leaves_the_job_as_it_was():
    job = Job.demo()
    other = job.with_(title="Other", capacity={"book_refill": None, "plug_drain": "3.1 L"}, quote=None, log=[], costs={"hour": 30})
    assert other.title == "Other"
    assert not other.has("capacity", "book_refill")
    assert not other.has("quote")
    assert other.value("costs", "hour") == 30
    assert other.text("capacity", "total") == job.text("capacity", "total")
    assert job.to_dict() == Job.demo().to_dict()
    with pytest.raises(SumpwiseError, match="did you mean plug_drain"):
        job.with_(capacity={"plug_dran": "3 L"})


def test_the_json_schema_knows_every_key_and_lets_the_demo_pass():
    rules = Job.json_schema()
    assert list(Draft202012Validator(rules).iter_errors(Job.demo().to_dict())) == []
    for table, name, key in KEYS:
        rule = rules["properties"][table]
        said = rule.get("items", rule)["properties"][name]["description"]
        assert said.startswith(key.meaning[0].upper() + key.meaning[1:])
    assert json.loads(json.dumps(rules, allow_nan=False)) == rules


def test_an_overflow_plug_needs_its_window_and_no_marks():
    level = {"vehicle": {"name": "example wagon", "level_check": "overflow plug"}, "capacity": {"total": "7.0 ± 0.1 L"}}
    plug = Case(Job.from_dict(level | {"fluid": {"density_15": "850 kg/m³"}, "level": {"window": "40–45 °C"}})).overflow
    assert plug is not None
    assert number_in(plug.error("55 °C"), "L").nominal_value == pytest.approx(-0.06, abs=0.005)
    assert Case(Job.from_dict(level)).overflow is None
    assert Case(Job.demo()).overflow is None
    with pytest.raises(SumpwiseError, match="a stick has two marks"):
        Job.demo().with_(level={"marks_length": None})


@pytest.mark.parametrize("kind", kinds.KINDS)
def test_a_total_that_is_not_written_follows_from_what_drains(kind):
    job = Job.from_dict({"vehicle": {"name": "example wagon", "kind": kind}, "capacity": {"plug_drain": "5 L", "pan_and_filter": "0.5 L"}})
    _, least, most = (float(share.partition("(")[0]) for share in kinds.KINDS[kind].drains)
    total = Case(job).total
    assert nominal(total) == pytest.approx((5.5 / least + 5.5 / most) / 2, rel=0.01)
    assert "5.00 L" in plan(job).to_markdown()


def test_a_log_is_never_checked_against_a_total_that_nobody_wrote():
    log = [{"event": "drained", "vessel": "pail", "reading": "4 L", "temperature": "40 °C"}]
    vessel = [{"name": "pail", "graduation": "0.25 L"}]
    job = Job.from_dict({"vehicle": {"name": "example wagon", "kind": "transfer case"}, "vessel": vessel, "log": log})
    assert "conflict" not in [section.key for section in plan(job).sections]
    with pytest.raises(SumpwiseError, match="than there was to drain"):
        ServiceRecord.of(job.with_(capacity={"total": "2 L"}), 0.5)


def test_a_volume_may_be_known_by_its_limits():
    vehicle = {"vehicle": {"name": "example wagon"}, "target": {"fresh": "90 %"}}
    between, within = (
        Job.from_dict(vehicle | {"capacity": {"total": total}}).value("capacity", "total") for total in ("12-15 qt", "13.5 ± 1.5 qt")
    )
    quart = 0.946352946
    for total in (between, within):
        assert total.nominal_value == pytest.approx(13.5 * quart)
        assert total.std_dev == pytest.approx(1.5 * quart / 3**0.5)
    shown = plan(Job.from_dict(vehicle | {"capacity": {"total": "12-15 qt"}})).to_markdown()
    assert "12-15 qt" in shown
    assert " L " not in shown


@pytest.mark.parametrize("raw", ["15-12 qt", "0-3 qt", "12-15", "12-15 mm", "about 12-15 qt 3"])
def test_limits_that_are_not_a_range_of_a_volume_are_refused(raw):
    [error] = Job.problems({"vehicle": {"name": "example wagon"}, "capacity": {"total": raw}})
    assert error.pointer == "/capacity/total"


def test_not_known_is_the_same_as_left_out():
    bare = {"vehicle": {"name": "example wagon"}}
    said = bare | {"capacity": {"total": "not known", "plug_drain": "not known"}, "exchange": {"flow": "not known"}}
    assert plan(Job.from_dict(said)).to_markdown() == plan(Job.from_dict(bare)).to_markdown()
    [error] = Job.problems({"vehicle": {"name": "example wagon"}, "wrench": {"maximum": "not known"}})
    assert error.pointer == "/wrench/maximum"


@pytest.mark.parametrize(
    ("torque", "low", "high"),
    [("34 ± 3 N·m", 31, 37), ("34 N·m ± 5 %", 32.3, 35.7), ("25 ± 2 lbf·ft", 23 * 1.3558179483314, 27 * 1.3558179483314)],
)
def test_a_torque_with_its_limits_needs_no_window(torque, low, high):
    job = Job.demo().with_(bolt=[{"name": "drain plug", "torque": torque}])
    assert job.entries("bolt")[0]["window"] == pytest.approx((low, high))
    assert job.to_dict()["bolt"] == [{"name": "drain plug", "torque": torque}]
    stated = job.with_(bolt=[{"name": "drain plug", "torque": torque, "window": f"{low!r} to {high!r} N·m"}])
    one, other = (plan(made).section("torque").data["bolts"][0]["setting"] for made in (job, stated))
    assert one["lower"]["value"] == pytest.approx(other["lower"]["value"])
    assert one["upper"]["value"] == pytest.approx(other["upper"]["value"])


@pytest.mark.parametrize(("torque", "code"), [("34 ± 3 J", "unit.unsupported"), (34, "unit.missing"), (None, "number.missing")])
def test_a_torque_that_is_none_is_refused(torque, code):
    (found,) = Job.problems({"vehicle": {"name": "example wagon"}, "bolt": [{"name": "drain plug", "torque": torque}]})
    assert (found.code, found.pointer) == (code, "/bolt/0/torque")


@pytest.mark.parametrize("kind", ["automatic", "axle"])
def test_a_window_alone_is_enough_of_a_level(kind):
    """Someone may know the temperature of the check but not the marks; and a fill hole has no marks."""
    made = Job.from_dict({"vehicle": {"name": "example wagon", "kind": kind}, "level": {"window": "82-92 °C"}})
    assert "at 82–92 °C" in " ".join(plan(made).section("summary").lines).replace("82-92", "82–92")


@pytest.mark.parametrize(
    ("tables", "pointer"),
    [
        (lambda x: {"pack": [{"volume": "1 L", "price": x}]}, "/pack/0/price"),
        (lambda x: {"wrench": {"maximum": "50 N·m", "length": "300 mm", "adapter": "30 mm", "angle": x}}, "/wrench/angle"),
        (lambda x: {"vessel": [{"name": "jug", "graduation": "0.1 L", "scale_uncertainty": x}]}, "/vessel/0/scale_uncertainty"),
    ],
)  # fmt: skip
def test_the_ends_of_a_range_are_where_they_are_said_to_be(tables, pointer):
    ends = {
        "/pack/0/price": ((0, 999_999_999), (-1, 1e9)), "/wrench/angle": (("-180 deg", "180 deg"), ("-180.5 deg", "180.5 deg")),
        "/vessel/0/scale_uncertainty": (("0 %", "49.9 %"), ("-1 %", "50 %")),
    }  # fmt: skip
    inside, outside = ends[pointer]
    for value in inside:
        assert Job.problems({"vehicle": {"name": "wagon"}} | tables(value)) == []
    for value in outside:
        (error,) = Job.problems({"vehicle": {"name": "wagon"}} | tables(value))
        assert error.pointer == pointer


UNITS = {
    "length": "mm", "time": "min", "volume": "L", "torque": "N·m", "flow": "L/min", "heating rate": "°C/min", "fraction": "%",
    "viscosity": "mm²/s", "density": "kg/m³", "interval": "Δ°C",
}  # fmt: skip
SIZES = [
    (table, key, UNITS[spec.kind.kind])
    for table, keys in schema.TABLES.items()
    for key, spec in keys.items()
    if isinstance(spec.kind, Argument) and spec.kind.kind in UNITS
]


@pytest.mark.parametrize(("table", "key", "unit"), SIZES)
def test_no_size_is_below_nothing_and_each_is_one_value(table, key, unit):
    """Only where the middle of the marks lies may be on either side of the total."""
    for raw in (f"-1 {unit}", [f"5 {unit}", f"6 {unit}"]):
        data = Job.demo().to_dict() | {"log": []}
        data[table] = data.get(table, {}) | {key: raw}
        if (table, key) == ("capacity", "mid_level_below_total") and isinstance(raw, str):
            Job.from_dict(data)
        else:
            with pytest.raises(SumpwiseError, match=rf"\[{table}\] {key}"):
                Job.from_dict(data)


def descriptions(schema):
    if isinstance(schema, dict):
        yield from [schema["description"]] if isinstance(schema.get("description"), str) else []
        for part in schema.values():
            yield from descriptions(part)


def test_what_a_form_shows_of_a_key_is_in_sentences():
    told = list(descriptions(Job.json_schema()))
    assert len(told) > 100
    for text in told:
        sentences = text.removesuffix(".").split(". ")
        assert text.endswith(".")
        assert not [one for one in sentences if not one[0].isupper()], text
    vehicle = Job.json_schema()["properties"]["vehicle"]["properties"]
    assert "Time, at least 1 d." in vehicle["interval_time"]["description"]
    marks = Job.json_schema()["properties"]["level"]["properties"]["marks_volume"]["description"]
    assert "Without a ± it is good to 5 %, one standard uncertainty (sump walls as cast)." in marks
