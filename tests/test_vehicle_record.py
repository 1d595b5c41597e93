"""The record of a vehicle: several services, days and odometer, what they teach together, when it is due, and the next job file."""

from __future__ import annotations

import json
import os
import tomllib
from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from laws.lawbook import examples
from sumpwise import FileError, FluidHistory, Job, ServiceRecord, SumpwiseError, measured, pooled
from sumpwise.__main__ import main
from sumpwise._toml import document
from sumpwise.service import following
from sumpwise.service.filing import recorded
from sumpwise.service.learning import pooled_over
from test_job_files import JOBS

FIRST, SECOND, THIRD = "2022-11-27", "2026-11-27", "2028-05-27"


def jug(reading, temperature="20 °C", event="drained"):
    return {"event": event, "vessel": "jug", "reading": reading, "temperature": temperature}


def service(drained="3.30 L", *, reads_high="0 %", scale="0.5 %", **vehicle):
    """A drain and refill."""
    return Job.from_dict({
        "vehicle": {"name": "example wagon", "fluid_age": "9 y", "interval_time": "4 y"} | vehicle,
        "capacity": {"total": "8.85 ± 0.2 L"},
        "vessel": [{"name": "jug", "graduation": "0.1 L", "reads_high": reads_high, "scale_uncertainty": scale, "material_growth": "0 %"}],
        "log": [jug(drained), jug("3.30 L", event="poured")],
    })  # fmt: skip


@pytest.fixture
def two():
    first = ServiceRecord.of(service(), 0.4, date=FIRST, distance="80 000 km")
    return first.add(service("3.50 L"), 0.5, date=SECOND, distance="136 500 km")


def test_services_have_their_days_and_the_odometer(two):
    assert [one.date.isoformat() for one in two.services] == [FIRST, SECOND]
    assert [one.job.text("vehicle", "distance") for one in two.services] == ["80 000 km", "136 500 km"]
    assert two.job is two.services[-1].job
    assert two.fresh == 0.5
    assert ServiceRecord.from_dict(json.loads(json.dumps(two.to_dict()))).to_dict() == two.to_dict()


def test_the_history_goes_through_all_services(two):
    by_hand = FluidHistory("-13 y").replace(0.4, "-4 y").replace(0.5, "0 y")
    assert two.history.mean_age("1 y").magnitude == pytest.approx(by_hand.mean_age("1 y").magnitude, rel=1e-6)


def test_what_a_job_says_was_done_in_between_counts_and_what_the_record_knows_does_not_count_twice():
    first = service(fluid_age="9 y").with_(history=[{"ago": "2 y", "share": 0.3}])
    later = service("3.5 L").with_(history=[
        {"ago": "6 y", "share": 0.3}, {"ago": "4 y", "share": 0.4}, {"ago": "1 y", "share": 0.2},
    ])  # fmt: skip
    record = ServiceRecord.of(first, 0.4, date=FIRST).add(later, 0.5, date=SECOND)
    by_hand = FluidHistory("-13 y").replace(0.3, "-6 y").replace(0.4, "-4 y").replace(0.2, "-1 y").replace(0.5, "0 y")
    assert record.history.mean_age("0 y").magnitude == pytest.approx(by_hand.mean_age("0 y").magnitude, rel=1e-6)
    written = later.with_(vehicle={"date": SECOND}, history=[{"date": FIRST, "share": 0.4}, {"date": "2023-01-01", "share": 0.2}])
    record = ServiceRecord.of(first, 0.4, date=FIRST).add(written, 0.5)
    assert [change.share for change in following.changes(record.services)] == [0.3, 0.4, 0.2, 0.5]


def test_a_next_job_holds_every_service_and_leads_to_the_same_ages(two):
    job = two.next_job(date="2030-11-27")
    assert [entry["date"] for entry in job.written("history")] == [FIRST, SECOND]
    assert job.text("vehicle", "fluid_age") == "17 y"
    third = two.add(job.with_(log=[jug("3.4 L"), jug("3.4 L", event="poured")]), 0.6)
    by_hand = FluidHistory("-17 y").replace(0.4, "-8 y").replace(0.5, "-4 y").replace(0.6, "0 y")
    assert third.history.mean_age("0 y").magnitude == pytest.approx(by_hand.mean_age("0 y").magnitude, rel=1e-6)


@pytest.mark.parametrize("without", [1, 2, 3])
def test_a_service_of_several_without_a_day_is_named(two, without):
    data = two.add(service("3.4 L"), 0.5, date=THIRD).to_dict()
    del data["services"][without - 1]["job"]["vehicle"]["date"]
    with pytest.raises(FileError) as caught:
        ServiceRecord.from_dict(data)
    assert (caught.value.code, caught.value.argument) == ("key.missing", f"record: services {without}: job: vehicle: date")


def test_services_out_of_order_are_refused_with_the_one_that_is_too_early(two):
    data = two.to_dict()
    data["services"].reverse()
    with pytest.raises(FileError, match=f"is before the previous service; accepted: from {SECOND} on") as caught:
        ServiceRecord.from_dict(data)
    assert (caught.value.code, caught.value.argument) == ("time.order", "record: services 2: job: vehicle: date")


def test_the_next_service_is_at_one_time(two):
    with pytest.raises(SumpwiseError, match="elapsed"):
        two.next_job(["4 y", "5 y"])


# -- when it is due


@pytest.mark.parametrize(
    ("interval", "distance", "odometer", "due"),
    [
        ("4 y", "56 000 km", "128 400 km", {"date": "2030-11-27", "distance": "184 400 km"}),
        ("3 y", "30 000 mi", "79,800 mi", {"date": "2029-11-27", "distance": "109 800 mi"}),
        ("18 month", "50 000 km", "79 800 mi", {"date": "2028-05-27", "distance": "110 869 mi"}),
        ("4 y", None, "79 800 mi", {"date": "2030-11-27"}),
        (None, "30 000 mi", None, {}),
    ],
)
def test_the_next_one_is_due_on_a_day_and_as_the_odometer_counts(interval, distance, odometer, due):
    said = {"interval_time": interval, "interval_distance": distance, "distance": odometer}
    job = service(**{key: text or "not known" for key, text in said.items()})
    assert ServiceRecord.of(job, 0.4, date=SECOND).next_due == due


def test_without_its_day_a_service_is_due_after_its_interval():
    assert ServiceRecord.of(service(), 0.4).next_due == {"time": "4 y from the service"}


def test_the_next_job_is_for_the_day_when_it_is_due(two):
    assert two.next_job().text("vehicle", "date") == "2030-11-27"
    with pytest.raises(SumpwiseError, match="interval_time"):
        ServiceRecord.of(service(interval_time="not known"), 0.4, date=FIRST).next_job()
    with pytest.raises(SumpwiseError, match="not both"):
        two.next_job("4 y", date="2030-11-27")
    with pytest.raises(SumpwiseError, match="before the last service"):
        two.next_job(date=FIRST)


# -- what is refused


@pytest.mark.parametrize(
    ("job", "more", "said"),
    [
        (service(), {"date": SECOND}, "already in the record"),
        (service(), {"date": "2023-01-01"}, "before the last service"),
        (service(), {}, "without a date"),
        (service(name="another wagon"), {"date": THIRD}, "not the vehicle of this record"),
        (service(), {"date": THIRD, "distance": "136 000 km"}, "less than at an earlier service"),
        (service(), {"date": THIRD, "distance": "5 qt"}, "distance"),
        (service(), {"date": "tomorrow"}, "calendar date"),
    ],
)
def test_what_does_not_go_on_from_the_record_is_refused(two, job, more, said):
    with pytest.raises(SumpwiseError) as caught:
        two.add(job, 0.5, **more)
    assert said in str(caught.value)
    assert caught.value.code


def test_an_odometer_in_another_unit_goes_on():
    record = ServiceRecord.of(service(), 0.4, date=FIRST, distance="100 000 mi")
    assert record.add(service(), 0.4, date=SECOND, distance="160 934.4 km").next_due["date"] == "2030-11-27"
    with pytest.raises(SumpwiseError, match="less than"):
        record.add(service(), 0.4, date=SECOND, distance="160 900 km")


def test_a_job_without_a_log_teaches_nothing():
    with pytest.raises(SumpwiseError, match="does not say what came out and went in"):
        ServiceRecord.of(service().with_(log=[]), date=FIRST)


# -- the user's own fields


anything = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False, allow_infinity=False), st.text(max_size=5)),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=5), inner, max_size=3)), max_leaves=8,
)  # fmt: skip
KEPT = ServiceRecord.of(service(), 0.4, date=FIRST).to_dict()
own = st.dictionaries(st.text(max_size=8).filter(lambda key: key not in {*KEPT, *KEPT["services"][0]}), anything, max_size=3)


@examples(50)
@given(own, own)
def test_fields_of_the_users_own_come_back_untouched(above, inside):
    """Whatever JSON a user or an app adds to a record or a service is there after reading, adding a service and writing."""
    data = KEPT | above | {"services": [KEPT["services"][0] | inside]}
    grown = ServiceRecord.from_dict(json.loads(json.dumps(data))).add(service("3.4 L"), 0.5, date=SECOND).to_dict()
    assert {key: grown[key] for key in above} == above
    assert {key: grown["services"][0][key] for key in inside} == inside
    assert set(grown["services"][1]) == set(KEPT["services"][0])


def test_a_file_of_the_first_version_takes_a_day_and_goes_on(tmp_path):
    old = json.loads((JOBS.parent / "v1" / "record.json").read_text(encoding="utf-8"))
    path = tmp_path / "record.json"
    path.write_text(json.dumps(old), encoding="utf-8")
    with pytest.raises(SumpwiseError, match="without a date"):
        ServiceRecord.load(path).add(service(), 0.5, date="2031-01-01")
    old["job"]["vehicle"]["date"] = SECOND
    path.write_text(json.dumps(old | {"plate": "X 1"}), encoding="utf-8")
    record = ServiceRecord.load(path).add(service(), 0.5, date="2031-01-01")
    record.save(path)
    again = ServiceRecord.load(path)
    assert again.own == {"plate": "X 1"}
    assert len(again.services) == 2
    assert again.next_due["date"] == "2035-01-01"


# -- what several services teach together


def test_a_pail_does_not_get_more_certain_by_being_used_again(two):
    one, other = (each.learned["plug_drain"] for each in two.services)
    assert one["shared"]["jug, scale 1 ± 0.005"] == pytest.approx(0.005 * 3.3, rel=0.02)
    together = two.learned["plug_drain"]
    assert together["value"] == pytest.approx(3.4, abs=0.03)
    lasting = {cause for cause in one["shared"] if cause in other["shared"]}
    common = [(one["shared"][cause] + other["shared"][cause]) / 2 for cause in lasting]
    assert together["standard_uncertainty"] >= hypot(*common) * 0.999
    apart = abs(one["value"] - other["value"]) / 2
    own = [(each["standard_uncertainty"] ** 2 - sum(part**2 for part in each["shared"].values())) ** 0.5 for each in (one, other)]
    assert together["standard_uncertainty"] == pytest.approx(hypot(max(apart, hypot(*own) / 2), *common), rel=0.05)
    assert "2 services together, spread between them 0." in together["from"]


def test_a_pail_weighed_once_is_one_weighing_and_weighed_twice_two():
    weighed, again = (service(reads_high=reads_high, scale="0.4 %") for reads_high in ("2 %", "2.4 %"))
    once = ServiceRecord.of(weighed, 0.4, date=FIRST).add(weighed, 0.4, date=SECOND)
    assert once.learned["jug scale"]["standard_uncertainty"] == pytest.approx(0.004)
    assert once.next_job().written("vessel")[0]["reads_high"] == "2 %"
    twice = ServiceRecord.of(weighed, 0.4, date=FIRST).add(again, 0.4, date=SECOND)
    known = twice.learned["jug scale"]
    assert known["value"] == pytest.approx((1 / 1.02 + 1 / 1.024) / 2)
    assert known["standard_uncertainty"] == pytest.approx(0.004 / 2**0.5)
    vessel = twice.next_job().written("vessel")[0]
    assert (vessel["reads_high"], vessel["scale_uncertainty"]) == ("2.20 %", "0.28 %")


def test_the_best_lower_bound_of_the_reserve_is_kept():
    def known(value, u):
        return {"reserve at least": {"value": value, "unit": "L", "standard_uncertainty": u, "from": "bursts", "shared": {}}}

    assert pooled_over([known(1.3, 0.05), known(1.4, 0.2), known(1.1, 0.01)])["reserve at least"]["value"] == 1.3


values = st.lists(st.tuples(st.floats(1, 5), st.floats(0.01, 0.5)), min_size=1, max_size=5)


@given(values)
def test_learned_values_pool_as_the_formula_says(pairs):
    """Values that share nothing pool by Mandel and Paule; one alone stays as it is."""
    services = [{"flow": {"value": x, "unit": "L/min", "standard_uncertainty": u, "from": "bursts", "shared": {}}} for x, u in pairs]
    told, known = pooled([measured(x, standard=u) for x, u in pairs]).value, pooled_over(services)["flow"]
    assert known["value"] == pytest.approx(told.nominal_value)
    assert known["standard_uncertainty"] == pytest.approx(told.std_dev)
    assert "shared" not in known


@given(values, st.floats(0.01, 0.3))
def test_what_is_shared_by_all_stays_whole(pairs, part):
    """A cause that all services share alike is in the pooled value at its full size."""
    services = [
        {"flow": {"value": x, "unit": "L/min", "standard_uncertainty": hypot(u, part), "from": "", "shared": {"pail, scale": part}}}
        for x, u in pairs
    ]
    told = pooled([measured(x, standard=u) for x, u in pairs]).value
    assert pooled_over(services)["flow"]["standard_uncertainty"] == pytest.approx(hypot(told.std_dev, part), rel=1e-6)


# -- the next job file


def test_the_next_job_file_says_where_each_value_comes_from(two, tmp_path):
    text = two.next_toml(distance="190 000 km")
    lines = text.splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("plug_drain"))
    assert lines[at - 1].startswith("# the first drain of the log, at 20 °C")
    assert "± " in lines[at]
    assert "# Due: 2030-11-27." in lines
    path = tmp_path / "next.toml"
    path.write_text(text, encoding="utf-8")
    assert Job.from_toml(path).to_dict() == two.next_job(distance="190 000 km").to_dict()
    assert main([str(path)]) == 0


def test_learned_values_are_written_in_the_units_of_the_job():
    us = Job.from_dict({
        "vehicle": {"name": "example wagon", "distance": "79 800 mi", "interval_distance": "30 000 mi"}, "capacity": {"total": "9.4 qt"},
        "vessel": [{"name": "jug", "graduation": "0.1 qt"}],
        "log": [
            jug("3.5 qt", "68 °F"), jug("3.5 qt", "68 °F", "poured"), *([jug("1 qt", "68 °F") | {"duration": "15 s"}] * 2),
            jug("2 qt", "68 °F", "poured"),
        ],
    })  # fmt: skip
    record = ServiceRecord.of(us, 0.4, date=FIRST)
    job = tomllib.loads(record.next_toml("4 y"))
    assert job["capacity"]["plug_drain"].startswith("3.5")
    assert job["capacity"]["plug_drain"].endswith(" US qt (k = 2)")
    assert "US qt/min" in job["exchange"]["flow"]
    assert " L" not in str(record).replace(" Learned", "")
    assert "109 800 mi" in str(record)


def test_hostile_texts_of_a_job_come_through_the_next_job_file(tmp_path):
    nasty = 'x"\\\n# [vehicle]\x1b[31m\u2028\x7f'
    job = service(name=nasty).with_(title=nasty, fluid={"name": nasty})
    record = ServiceRecord.of(job, 0.4, date=FIRST)
    record.learned["plug_drain"]["from"] = nasty
    path = tmp_path / "next.toml"
    path.write_bytes(record.next_toml().encode())
    again = Job.from_toml(path)
    assert (again.title, again.text("vehicle", "name"), again.text("fluid", "name")) == (nasty, nasty, nasty)


# -- the command line


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "job.toml").write_text(document(service().to_dict()), encoding="utf-8")
    return tmp_path


def said(capsys, *words, status=0):
    assert main([*words]) == status
    streams = capsys.readouterr()
    return streams.out if status == 0 else streams.err


def test_from_a_log_to_the_next_job_and_on(folder, capsys):
    first = said(capsys, "record", "job.toml", "wagon.json", "--date", FIRST, "--odometer", "80 000 km", "--fresh", "40 %")
    assert "A new record, wagon.json." in first
    assert "service 1 on 2022-11-27, at 80 000 km: 40.0 % fresh inside" in first
    assert "due: 2026-11-27" in first
    assert "Written to next.toml" in said(capsys, "next", "wagon.json", "next.toml", "--odometer", "136 500 km")
    assert "## What comes next" in said(capsys, "next.toml")
    for event, reading in (("drained", "3.4 L"), ("poured", "3.4 L")):
        said(capsys, "log", "next.toml", event, reading, "--temperature", "20 °C")
    second = said(capsys, "record", "next.toml", "wagon.json")
    assert "service 2 on 2026-11-27, at 136 500 km" in second
    assert "2 services together" in second
    assert [one.date.isoformat() for one in ServiceRecord.load("wagon.json").services] == [FIRST, SECOND]


def test_a_service_is_entered_once(folder, capsys):
    said(capsys, "record", "job.toml", "wagon.json")
    kept = (folder / "wagon.json").read_bytes()
    assert "already in the record" in said(capsys, "record", "job.toml", "wagon.json", status=2)
    longer = service().with_(log=[*service().written("log"), {"event": "drive"}])
    (folder / "longer.toml").write_text(document(longer.to_dict()), encoding="utf-8")
    assert "give its date" in said(capsys, "record", "longer.toml", "wagon.json", status=2)
    assert (folder / "wagon.json").read_bytes() == kept
    assert "of the vehicle" not in said(capsys, "record", "job.toml", "wagon.json", "--date", "2099-01-01")


def test_the_day_that_is_taken_is_said(folder, capsys):
    assert "The day is assumed to be today" in said(capsys, "record", "job.toml", "wagon.json")
    assert "taken to be today" not in said(capsys, "record", "job.toml", "other.json", "--date", FIRST)


def test_a_log_that_contradicts_itself_says_why_it_taught_nothing(folder, capsys):
    inputs = Job.demo().to_dict()
    inputs["log"][5]["reading"] = "4.70 L"
    (folder / "job.toml").write_text(document(inputs), encoding="utf-8")
    assert "Count and stick disagree" in said(capsys, "record", "job.toml", "wagon.json")


def test_a_job_file_that_is_there_is_left_as_it_is(folder, capsys):
    said(capsys, "record", "job.toml", "wagon.json")
    before = (folder / "job.toml").read_bytes()
    assert "exists already" in said(capsys, "next", "wagon.json", "job.toml", status=2)
    assert (folder / "job.toml").read_bytes() == before
    assert sorted(os.listdir(folder)) == ["job.toml", "wagon.json"]
    assert said(capsys, "next", "wagon.json").startswith("# The next service of example wagon, from its record.")


def test_a_job_is_no_record(folder, capsys):
    assert "the file that the command record writes; was a job given?" in said(capsys, "next", "job.toml", status=2)


def test_two_who_begin_a_record_at_once_do_not_overwrite_each_other(folder, monkeypatch):
    def first_one(self, path):
        monkeypatch.setattr(ServiceRecord, "save", whole)
        recorded(service("3.6 L"), "wagon.json", 0.4, date=FIRST)
        whole(self, path)

    whole = ServiceRecord.save
    monkeypatch.setattr(ServiceRecord, "save", first_one)
    with pytest.raises(FileError, match="exists already"):
        recorded(service(), "wagon.json", 0.4, date=FIRST)


def test_a_record_that_is_a_folder_or_a_broken_link_is_refused(folder):
    (folder / "link.json").symlink_to("nowhere.json")
    for path in (folder, folder / "link.json"):
        with pytest.raises(FileError, match="cannot be read"):
            recorded(service(), path, 0.4, date=FIRST)


@pytest.mark.parametrize("name", [path.stem for path in sorted(JOBS.glob("*.toml"))])
def test_every_kind_of_unit_leads_to_a_next_job(name, tmp_path):
    job = Job.from_toml(JOBS / f"{name}.toml")
    vessel = {"name": "jug", "graduation": "0.1 qt"}
    log = [jug("0.5 qt", "68 °F"), jug("0.5 qt", "68 °F", "poured")]
    done = job.with_(vessel=[vessel], log=log)
    path = tmp_path / "next.toml"
    path.write_text(ServiceRecord.of(done, date=FIRST).next_toml("1 y"), encoding="utf-8")
    assert main([str(path)]) == 0


# -- taken out again


def test_without_one_service_it_is_the_record_of_the_others(two):
    first, second = (ServiceRecord([one]) for one in two.services)
    assert two.without(2).to_dict() == first.to_dict()
    assert two.without(1).to_dict() == second.to_dict()
    assert two.without(2).learned["plug_drain"]["value"] == pytest.approx(first.learned["plug_drain"]["value"])
    assert two.without(2).next_due != two.next_due
    assert len(two.services) == 2


@pytest.mark.parametrize("number", [0, 3, -1, True, "1", 1.0])
def test_only_a_service_of_the_record_is_taken_out(two, number):
    with pytest.raises(SumpwiseError, match="not a service of this record"):
        two.without(number)
    with pytest.raises(SumpwiseError, match="the only service"):
        two.without(1).without(1)


def test_the_command_takes_a_service_out_whole_or_not_at_all(two, tmp_path, capsys):
    path = tmp_path / "wagon.json"
    ServiceRecord(two.services, {"plate": "kept"}).save(path)
    whole = path.read_bytes()
    assert main(["record", str(path), "--remove", "3"]) == 2
    for words in (["--remove", "two"], ["--remove", "1", "--date", FIRST], [str(path), "--remove", "1"], []):
        with pytest.raises(SystemExit):
            main(["record", str(path), *words])
    assert path.read_bytes() == whole
    complaints = capsys.readouterr().err
    for said in ("accepted: 1 to 2", "'two' is not a whole number", "takes the record file and nothing else", "the record file is missing"):
        assert said in complaints
    assert main(["record", str(path), "--remove", "2"]) == 0
    said = capsys.readouterr().out
    assert "Taken out of" in said
    assert "the service on 2026-11-27, at 136 500 km: 50.0 % fresh inside." in said
    assert "service 1 on 2022-11-27" in said
    left = ServiceRecord.load(path)
    assert [one.date.isoformat() for one in left.services] == [FIRST]
    assert left.own == {"plate": "kept"}
