"""The service record: round trips, atomic writing, the next job, refusals."""

import datetime
import json
import os
from math import hypot, sqrt
from statistics import mean, stdev

import pytest

from sumpwise import FileError, Job, RangeError, ServiceRecord, SumpwiseError, measured
from sumpwise.quantities.arguments import number_in
from sumpwise.service.case import Case


@pytest.fixture
def record():
    return ServiceRecord.of(Job.demo(), fresh=measured(0.776, standard=0.02))


def test_the_log_teaches_the_drain_share_the_flow_and_the_pail(record):
    learned = record.learned
    # the demo's truth: 3.24 came out, 0.17 was missing
    assert learned["plug_drain"]["value"] == pytest.approx(3.41, abs=2 * learned["plug_drain"]["standard_uncertainty"])
    assert learned["flow"]["value"] == pytest.approx(3.75, abs=0.2)
    assert learned["pail scale"]["value"] == pytest.approx(1 / 1.019)
    assert all(known["from"] for known in learned.values())


def burst(reading, seen=None):
    one = {"event": "drained", "vessel": "jug", "reading": reading, "temperature": "20 °C", "duration": "20 s"}
    return [one, *([{"event": "seen", "seen": seen}] if seen else [])]


def poured(reading):
    return [{"event": "poured", "vessel": "jug", "reading": reading, "temperature": "20 °C"}]


def with_log(log, reserve=None):
    inputs = Job.demo().to_dict()
    inputs["log"] = log
    inputs["exchange"].pop("reserve")
    if reserve:
        inputs["exchange"]["reserve"] = reserve
    return ServiceRecord.of(Job.from_dict(inputs), fresh=0.5)


def test_the_demo_log_bounds_the_reserve_by_its_deepest_burst(record):
    # the truth under the log at 20 °C: 0.17 short, out 3.24 + 0.296 + 0.11, in 3.708; the deepest burst ends 1.193 below the start
    least = record.learned["reserve at least"]
    assert least["value"] == pytest.approx(1.193, abs=2 * least["standard_uncertainty"])
    assert least["from"] == "the deepest of 6 bursts without air, a lower bound"
    assert "reserve" not in record.learned
    assert record.next_job("1 y").text("exchange", "reserve") == "1.6 L"  # more than the lower bound: no contradiction


def test_bursts_without_air_raise_a_reserve_that_was_taken_too_small():
    log = [*burst("1.50 L"), *poured("1.20 L"), *burst("1.30 L"), *poured("1.60 L"), *burst("1.40 L")]
    record = with_log(log)
    assert record.learned["reserve at least"]["value"] == pytest.approx(1.60)  # 1.50 - 1.20 + 1.30
    bound = record.learned["reserve at least"]["value"] - 2 * record.learned["reserve at least"]["standard_uncertainty"]
    assert record.next_job("1 y").text("exchange", "reserve") == f"{bound:.3f} L"
    assert with_log(log, "1.55 L").next_job("1 y").text("exchange", "reserve") == f"{bound:.3f} L"
    assert with_log(log, "1.65 L").next_job("1 y").text("exchange", "reserve") == "1.65 L"


def test_bubbles_put_the_reserve_between_two_bursts():
    log = [*burst("1.20 L"), *poured("1.20 L"), *burst("1.50 L", "bubbles in the hose"), *poured("1.50 L"), *burst("1.00 L")]
    known = with_log(log).learned["reserve"]
    assert known["value"] == pytest.approx(1.35)
    assert known["standard_uncertainty"] == pytest.approx(0.30 / 12**0.5, abs=0.01)
    assert with_log(log, "1.65 L").next_job("1 y").value("exchange", "reserve").nominal_value == pytest.approx(1.35)


def test_a_burst_deeper_than_the_one_with_bubbles_proves_nothing():
    log = [*burst("1.50 L", "bubbles in the hose"), *poured("1.50 L"), *burst("1.60 L")]
    known = with_log(log).learned["reserve"]
    assert known["value"] == pytest.approx(0.75)
    assert known["standard_uncertainty"] == pytest.approx(1.50 / 12**0.5, abs=0.01)


def test_the_flow_follows_a_pail_that_was_emptied():
    def read(reading, seconds):
        return {
            "event": "drained", "vessel": "jug", "reading": reading, "temperature": "20 °C", "duration": f"{seconds} s", "cumulative": True,
        }  # fmt: skip

    emptied = {"event": "emptied", "vessel": "jug"}
    log = [read("1 L", 20), *poured("1 L"), read("2 L", 20), *poured("1 L"), emptied, read("2.5 L", 50)]  # 1, 1 and 2.5 L: always 3 L/min
    flow = with_log(log).learned["flow"]
    assert (flow["value"], flow["from"]) == (pytest.approx(3.0), "3 timed bursts of the log")
    assert 0.03 < flow["standard_uncertainty"] < 0.3


@pytest.mark.parametrize(("scale", "times"), [("0 %", ("20 s", "20 s")), ("2 %", ("20 s", "20 s")), ("2 %", ("20 s", "15 s"))])
def test_the_flow_is_known_as_well_as_it_was_read_timed_and_spread(scale, times):
    """Of 20 s a second is 0.15 L/min at 3 L/min; the scale is shared; bursts of 3 and 4 L/min spread more than that: 0.70 beside it."""
    exact = {"graduation": "0.001 L", "scale_uncertainty": scale, "film": "0 L", "material_growth": "0 %", "air": "0 %", "tilt": "0 deg"}
    log = []
    for time in times:
        entry = {"event": "drained", "vessel": "pot", "reading": "1 L", "temperature": "20 °C", "duration": time}
        log += [entry, {"event": "emptied", "vessel": "pot"}, *poured("1 L")]
    job = Job.demo().with_(vessel=[*Job.demo().to_dict()["vessel"], {"name": "pot", **exact}], log=log)
    flow = ServiceRecord.of(job, "0.5").learned["flow"]
    one, two = 3.0 / 20, 4.0 / 15
    share = 0.02 * flow["value"] if scale == "2 %" else 0.0
    if times[1] == "20 s":
        assert flow["standard_uncertainty"] == pytest.approx(hypot(one / sqrt(2), share), rel=0.02)
        return
    # Mandel and Paule of two values: (x1 - x2)^2 = u1^2 + u2^2 + 2 tau^2
    between = sqrt((1.0 - one**2 - two**2) / 2)
    weights = [1 / (u**2 + between**2) for u in (one, two)]
    assert flow["value"] == pytest.approx((3 * weights[0] + 4 * weights[1]) / sum(weights), rel=0.002)
    assert flow["standard_uncertainty"] == pytest.approx(hypot(1 / sqrt(sum(weights)), between, share), rel=0.02)


def test_the_uncertainty_of_the_flow_is_no_less_than_the_spread_of_the_bursts():
    flow = with_log([*burst("1 L"), *poured("1 L"), *burst("1.2 L"), *poured("1.2 L"), *burst("1.3 L")]).learned["flow"]
    assert flow["value"] == pytest.approx(mean([3.0, 3.6, 3.9]), rel=0.02)
    assert stdev([3.0, 3.6, 3.9]) < flow["standard_uncertainty"] < 1.5 * stdev([3.0, 3.6, 3.9])


def test_each_learned_value_keeps_the_unit_of_its_own_key():
    log = [*burst("1.20 L"), *poured("1.20 L"), *burst("1.50 L", "bubbles in the hose"), *poured("1.50 L"), *burst("1.00 L")]
    job = with_log(log, "1.7 US qt").next_job("1 y")
    assert "qt" not in job.text("capacity", "plug_drain")
    assert job.value("exchange", "reserve").nominal_value == pytest.approx(1.35, abs=0.001)
    assert "US qt" in job.text("exchange", "reserve")


def test_a_first_burst_is_not_a_plug_drain():
    assert "plug_drain" not in with_log(burst("1.20 L")).learned


def test_a_log_without_bursts_gives_no_reserve():
    drained = {"event": "drained", "vessel": "jug", "reading": "3 L", "temperature": "20 °C"}
    assert not {"reserve", "reserve at least"} & set(with_log([drained]).learned)


def test_the_share_in_the_next_job_keeps_two_digits_of_its_uncertainty():
    def share(fresh):
        return ServiceRecord.of(Job.demo(), fresh=fresh).next_job("1 y").written("history")[0]["share"]

    assert share(measured(0.78, standard=0.03)) == "0.780(30)"
    assert share(measured(0.78, standard=0.2)) == "0.78(20)"
    assert share(0.775) == "0.775"


def test_a_record_round_trips_through_a_file(record, tmp_path):
    path = tmp_path / "record.json"
    record.save(path)
    again = ServiceRecord.load(path)
    assert again.to_dict() == record.to_dict()
    assert os.listdir(tmp_path) == ["record.json"]


def test_the_next_job_starts_from_what_was_learned(record):
    job = record.next_job("4 y", "184 000 km")
    assert job.value("capacity", "plug_drain").nominal_value == pytest.approx(record.learned["plug_drain"]["value"], abs=5e-4)
    assert job.value("capacity", "plug_drain").std_dev == pytest.approx(record.learned["plug_drain"]["standard_uncertainty"], abs=5e-4)
    # nine-year-old fluid, 77.6 % replaced, four years on
    assert number_in(Case(job).history.mean_age("0 y"), "y").nominal_value == pytest.approx(9 * (1 - 0.776) + 4, rel=1e-6)
    assert job.entries("history")[0]["share"].std_dev == pytest.approx(0.02)
    assert job.text("vehicle", "distance") == "184 000 km"
    assert not job.entries("log")


def test_a_second_service_adds_to_the_history_of_the_first(record):
    later = ServiceRecord.of(record.next_job("4 y"), fresh=0.5)
    job = later.next_job("1 y")
    assert [round(e["ago"] / 525_960, 6) for e in job.entries("history")] == [5, 1]
    age = number_in(Case(job).history.mean_age("0 y"), "y").nominal_value
    assert age == pytest.approx(((9 * (1 - 0.776) + 4) * 0.5) + 1, rel=1e-6)


def test_a_failing_write_leaves_the_record_before(record, tmp_path, monkeypatch):
    path = tmp_path / "record.json"
    record.save(path)
    before = path.read_bytes()

    def refuse(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", refuse)
    with pytest.raises(FileError, match="No space left"):
        record.save(path)
    assert path.read_bytes() == before
    assert os.listdir(tmp_path) == ["record.json"]


def test_a_folder_that_is_not_there_is_a_file_error(record, tmp_path):
    with pytest.raises(FileError, match="cannot be written"):
        record.save(tmp_path / "no" / "record.json")


DAMAGE = [
    (lambda d: d.update(format="recipe"), "format"),
    (lambda d: d.update(version=9), "version"),
    (lambda d: d.update(version=True), "version"),
    (lambda d: d.pop("services"), "services"),
    (lambda d: d.update(services=[]), "services"),
    (lambda d: d.update(services=[3]), "services 1"),
    (lambda d: d.update(services=d["services"] * 501), "services"),
    (lambda d: d.update(vehicle=3), "vehicle"),
    (lambda d: d["services"][0].pop("job"), "services 1: job"),
    (lambda d: d["services"][0].update(job=3), "services 1: job"),
    (lambda d: d["services"][0]["job"]["capacity"].update(total="8"), "services 1: job: [capacity] total"),
    (lambda d: d["services"][0].update(fresh={"value": 1.2, "standard_uncertainty": 0, "unit": "1"}), "services 1: fresh"),
    (lambda d: d["services"][0].update(fresh=0.5), "services 1: fresh"),
    (lambda d: d["services"][0].update(fresh={"value": "0.5", "standard_uncertainty": 0}), "services 1: fresh"),
    (lambda d: d.update(learned=[]), "learned"),
    (lambda d: d["services"][0]["learned"].update(flow={"value": "x"}), "services 1: learned: flow"),
    (lambda d: d["services"][0]["learned"]["flow"].update(shared=3), "services 1: learned: flow: shared"),
    (lambda d: d["services"][0]["learned"]["flow"].update(shared={"pail": "x"}), "services 1: learned: flow: shared"),
    (lambda d: d["services"][0]["learned"]["flow"].update(shared={"pail": 9.0}), "services 1: learned: flow: shared"),
    (lambda d: d.update(services=d["services"] * 2), "services 2: job: vehicle: date"),
    (lambda d: d.update(next_due={"time": 4}), "next_due: time"),
]


@pytest.mark.parametrize(("damage", "place"), DAMAGE)
def test_a_damaged_record_names_the_place(record, damage, place):
    data = json.loads(json.dumps(record.to_dict()))
    damage(data)
    with pytest.raises(SumpwiseError) as caught:
        ServiceRecord.from_dict(data)
    assert place in str(caught.value)


@pytest.mark.parametrize(("size", "shared"), [(0.0, {}), (0.1, {"pail, scale": 0.1}), (0.1, {"pail, scale": 0.08, "jug, scale": 0.06})])
def test_what_was_learned_may_be_exact_or_uncertain_by_shared_causes_alone(record, size, shared):
    data = json.loads(json.dumps(record.to_dict()))
    data["services"][0]["learned"]["flow"] |= {"standard_uncertainty": size, "shared": shared}
    assert ServiceRecord.from_dict(data).to_dict()["services"] == data["services"]


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"{",
        b"[1, 2",
        b"\xff{}",
        b"[]",
        b'{"format": "a", "format": "b"}',
        b'{"format": NaN}',
        b"[" * 100_000,
        b"9" * 20_000,
        b"x" * 1_000_001,
    ],
)
def test_a_file_that_is_not_a_record_is_one_error(tmp_path, content):
    path = tmp_path / "record.json"
    path.write_bytes(content)
    with pytest.raises(FileError):
        ServiceRecord.load(path)


def test_a_record_that_is_not_there_is_a_file_error(tmp_path):
    with pytest.raises(FileError, match="cannot be read"):
        ServiceRecord.load(tmp_path / "record.json")


def test_the_plug_drain_learned_is_that_of_the_right_level():
    log = [
        {"event": "stick", "reading": "-9 mm", "temperature": "87 °C"},  # 0.5 L short, by the marks
        {"event": "drained", "vessel": "jug", "reading": "3 L", "temperature": "20 °C"},
    ]
    known = with_log(log).learned["plug_drain"]
    assert known["value"] == pytest.approx(3 + (9 + 6.5) * 0.42 / 13 / 1.049, abs=0.002)  # the marks' litres are hot: 1.049 at 87 °C
    assert "right level" in known["from"]


def test_a_bound_goes_into_the_next_job_with_two_standard_uncertainties_to_spare():
    log = [*burst("1.50 L"), *poured("1.20 L"), *burst("1.30 L")]
    known = with_log(log).learned["reserve at least"]
    assert known["standard_uncertainty"] > 0
    written = with_log(log).next_job("1 y").value("exchange", "reserve")
    assert written == pytest.approx(known["value"] - 2 * known["standard_uncertainty"], abs=5e-4)
    just_above = f"{known['value'] - known['standard_uncertainty']:.4f} L"
    assert with_log(log, just_above).next_job("1 y").text("exchange", "reserve") == just_above


def test_a_plain_reading_before_a_cumulative_one_teaches_the_flow_right():
    first = burst("1 L")[0]  # 20 s
    second, third = (first | {"reading": reading, "cumulative": True} for reading in ("2 L", "3 L"))
    log = [first, *poured("1 L"), second, *poured("1 L"), third]
    assert with_log(log).learned["flow"]["value"] == pytest.approx(3.0)
    assert with_log(log).learned["flow"]["standard_uncertainty"] < 0.2  # of a second each, and of the jug


def test_what_is_spilled_later_is_not_pan_and_filter():
    log = [
        {"event": "drained", "vessel": "jug", "reading": "3 L", "temperature": "20 °C"},
        {"event": "lost", "volume": "0.3 L", "what": "pan"},
        *poured("3.3 L"),
        {"event": "lost", "volume": "0.5 L", "what": "hose slipped off"},
    ]
    assert with_log(log).learned["pan_and_filter"]["value"] == pytest.approx(0.3)


def test_a_plug_drain_read_twice_as_it_runs_is_one_drain():
    drained = {"event": "drained", "vessel": "jug", "temperature": "20 °C"}
    log = [drained | {"reading": "2 L"}, drained | {"reading": "3 L", "cumulative": True}, *poured("3 L")]
    assert with_log(log).learned["plug_drain"]["value"] == pytest.approx(3.0)


def test_more_drained_than_the_unit_holds_teaches_nothing():
    bucket = {"name": "bucket", "graduation": "0.5 L"}
    inputs = Job.demo().to_dict()
    inputs["vessel"].append(bucket)
    inputs["log"] = [{"event": "drained", "vessel": "bucket", "reading": "12 L", "temperature": "20 °C"}]
    with pytest.raises(SumpwiseError, match="log entry 1: read '12 L': is more than there was to drain"):
        ServiceRecord.of(Job.from_dict(inputs), fresh=0.5)


def test_a_log_that_contradicts_itself_teaches_no_volume():
    inputs = Job.demo().to_dict()
    inputs["log"][5]["reading"] = "4.70 L"
    assert set(ServiceRecord.of(Job.from_dict(inputs), fresh=0.5).learned) == {"pail scale", "jug scale"}


def test_what_a_bare_job_learned_is_written_into_the_next():
    log = [
        {"event": "drained", "vessel": "pail", "reading": "3.25 L", "temperature": "20 °C"},
        *poured("3.30 L"), *burst("1.70 L"), *poured("1.70 L"), *burst("1.60 L"),
    ]  # fmt: skip
    vessels = [{"name": name, "graduation": "0.05 L", "reads_high": "0 %", "scale_uncertainty": "0.2 %"} for name in ("pail", "jug")]
    job = Job.from_dict({"vehicle": {"name": "example wagon"}, "vessel": vessels, "log": log})
    record = ServiceRecord.of(job, 0.5)
    following = record.next_job("1 y")
    assert following.value("capacity", "plug_drain").nominal_value == pytest.approx(record.learned["plug_drain"]["value"], abs=0.001)
    assert following.has("exchange", "flow") == ("flow" in record.learned)
    bound = record.learned["reserve at least"]["value"] - 2 * record.learned["reserve at least"]["standard_uncertainty"]
    assert bound > 1.4
    assert following.value("exchange", "reserve") == pytest.approx(bound, abs=0.001)


def test_a_next_job_beyond_the_calendar_is_refused_by_name():
    record = ServiceRecord.of(Job.demo().with_(vehicle={"date": "2026-11-27"}), 0.7)
    with pytest.raises(RangeError, match="ends beyond the calendar") as caught:
        record.next_job("956803 weeks", "185233 ft")
    assert caught.value.code == "range.outside"


@pytest.mark.parametrize(("elapsed", "hint"), [
    ("2030-11-27", "a day is given by name: date='2030-11-27'"), (datetime.date(2030, 11, 27), "a day is given by name: date='2030-11-27'"),
    ("4", "write the unit after the number"),
])  # fmt: skip
def test_a_day_in_place_of_the_time_elapsed_is_asked_for_by_its_name(elapsed, hint):
    record = ServiceRecord.of(Job.demo(), fresh="78 %", date="2026-11-27")
    for following in (record.next_job, record.next_toml):
        with pytest.raises(SumpwiseError) as error:
            following(elapsed)
        assert (error.value.argument, error.value.hint) == ("elapsed", hint)
