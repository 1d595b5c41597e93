"""Job files: what is read, and what is said about a broken one."""

import copy
import datetime
import json
import pickle
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sumpwise import FileError, Job, SumpwiseError, plan
from sumpwise._toml import document
from sumpwise.quantities.arguments import Argument, number_in
from sumpwise.service.case import Case
from sumpwise.service.dates import after, day
from sumpwise.service.entering import entered
from sumpwise.service.schema import LISTS, TABLES

MINIMAL = """
[vehicle]
name = "wagon"
[capacity]
total = "8 L"
plug_drain = "3 L"
[fluid]
density_15 = "847 kg/m³"
temperature = "17 °C"
"""


def written(tmp_path, text, name="job.toml"):
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def test_the_demo_is_read_in_internal_units():
    job = Job.demo()
    assert job.value("capacity", "total") == 8.85
    assert job.value("level", "window") == (82.0, 92.0)
    assert job.value("vehicle", "distance") == 128_400e6
    assert job.entries("vessel")[0]["reads_high"] == 0.019
    assert len(job.entries("log")) == 22


def test_a_minimal_job_is_enough(tmp_path):
    job = Job.from_toml(written(tmp_path, MINIMAL))
    assert job.title == "wagon"
    assert not job.has("wrench")
    assert job.value("target", "fresh", 0.5) == 0.5


def test_an_uncertain_value_is_one_source_however_often_it_is_used():
    job = Job.demo()
    plug = job.value("capacity", "plug_drain")
    assert (plug - job.value("capacity", "plug_drain")).std_dev == 0


def test_a_job_round_trips_through_plain_data():
    job = Job.demo()
    again = Job.from_dict(job.to_dict())
    assert again.to_dict() == job.to_dict()
    assert pickle.loads(pickle.dumps(job)).to_dict() == job.to_dict()
    assert copy.deepcopy(job).value("capacity", "plug_drain") is job.value("capacity", "plug_drain")


def test_what_a_caller_changes_later_does_not_reach_the_job():
    data = Job.demo().to_dict()
    job = Job.from_dict(data)
    data["capacity"]["total"] = "1 L"
    job.to_dict()["capacity"]["total"] = "2 L"
    assert job.text("capacity", "total") == "8.85 L"


BROKEN = [
    ('total = "8 L"', "total = 8", "[capacity] total", "has no unit"),
    ('total = "8 L"', 'total = "8 N·m"', "[capacity] total", "volume"),
    ('total = "8 L"', 'total = "eight"', "[capacity] total", "eight"),
    ('total = "8 L"', 'total = "-8 L"', "[capacity] total", "above 0"),
    ('total = "8 L"', 'total = "2 L"', "plug_drain", "exceeds the total"),
    ('total = "8 L"', 'totl = "8 L"', "[capacity] totl", "did you mean total"),
    ('total = "8 L"', 'total = "8 L"\ntotal = "9 L"', "job.toml", "is not TOML"),
    ('name = "wagon"', "name = 3", "[vehicle] name", "text"),
    ('name = "wagon"', 'name = "wagon"\ncooler_line = "yes"', "[vehicle] cooler_line", "true or false"),
    ('name = "wagon"', 'name = "wagon"\nlevel_check = "guess"', "[vehicle] level_check", "'stick'"),
    ('density_15 = "847 kg/m³"', 'density_15 = "84.7 kg/m³"', "[fluid] density_15", "800.9"),
    ("[fluid]", "[fluids]", "fluids", "did you mean fluid"),
    ("[vehicle]", "version = 2\n[vehicle]", "version", "cannot read"),
    ("[vehicle]", 'format = "recipe"\n[vehicle]', "format", "is not a job"),
    ("[vehicle]", "title = 3\n[vehicle]", "title", "is not a text"),
    ("[vehicle]", 'pack = "5 L"\n[vehicle]', "pack", "[[pack]]"),
    ("[vehicle]", '[[pack]]\nvolume = "5 L"\nprice = -1\n[vehicle]', "[[pack]] 1 price", "price"),
    ("[vehicle]", '[[pack]]\nvolume = "5 L"\n[vehicle]', "[[pack]] 1 price", "is missing"),
    ("[vehicle]", '[[log]]\nevent = "wave"\n[vehicle]', "[[log]] 1 event", "'poured'"),
    ("[vehicle]", '[[log]]\nevent = "drained"\nvessel = "pail"\n[vehicle]', "[[log]] 1 reading", "is missing"),
    (
        "[vehicle]",
        '[[vessel]]\nname = "pail"\ngraduation = "0.25 L"\n[[log]]\nevent = "drained"\nvessel = "pial"\nreading = "1 L"'
        '\ntemperature = "40 °C"\n[vehicle]',
        "[[log]] 1 vessel", "did you mean pail",
    ),
    ("[vehicle]", '[[log]]\nevent = "stick"\nreading = "1 L"\ntemperature = "80 °C"\n[vehicle]', "[[log]] 1 reading", "length"),
    ("[vehicle]", '[[bolt]]\nname = "plug"\ntorque = "34 J"\nwindow = "31 to 37 N·m"\n[vehicle]', "[[bolt]] 1 torque", "energy"),
    ("[vehicle]", '[[bolt]]\nname = "plug"\ntorque = "34 N·m"\nwindow = "37 to 31 N·m"\n[vehicle]', "[[bolt]] 1 window", "37"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "place", "words"), BROKEN)
def test_a_broken_job_names_file_key_and_mend(tmp_path, old, new, place, words):
    assert old in MINIMAL
    path = written(tmp_path, MINIMAL.replace(old, new, 1))
    with pytest.raises(FileError) as caught:
        Job.from_toml(path)
    message = str(caught.value)
    assert "job.toml" in message
    assert place in message
    assert words in message


def test_a_job_needs_its_vehicle():
    data = Job.demo().to_dict()
    del data["vehicle"]
    with pytest.raises(FileError, match="is missing"):
        Job.from_dict(data)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"\xff\xfe\x00", "not UTF-8 at line 1"),
        (b"a = 1\nb = '\xe9'\n", "not UTF-8 at line 2"),
        (b"# " + b"x" * 1_000_001, "larger than 1 MB"),
        (b"a = " + b"[" * 20_000, "100 lists and tables inside each other at line 1, column 105"),
        (MINIMAL.encode()[:40], "TOML"),
    ],
)
def test_a_file_that_is_not_a_job_is_refused_at_once(tmp_path, content, words):
    with pytest.raises(FileError) as caught:
        Job.from_toml(written(tmp_path, content))
    assert words in str(caught.value)


def test_a_missing_file_is_a_file_error(tmp_path):
    with pytest.raises(FileError, match="cannot be read"):
        Job.from_toml(tmp_path / "nowhere.toml")
    with pytest.raises(FileError, match="cannot be read"):
        Job.from_toml(tmp_path)


def test_a_byte_order_mark_is_harmless(tmp_path):
    assert Job.from_toml(written(tmp_path, b"\xef\xbb\xbf" + MINIMAL.encode())).title == "wagon"


@pytest.mark.parametrize("data", [None, 3, [], "job", {"vehicle": 3}, {"vehicle": [], "capacity": {}, "fluid": {}}])
def test_from_dict_refuses_what_is_not_a_job(data):
    with pytest.raises(FileError):
        Job.from_dict(data)


def test_a_list_of_too_many_entries_is_refused():
    data = Job.demo().to_dict()
    data["component"] = [{"name": "case", "volume": "1 L"}] * 2001
    with pytest.raises(FileError, match="more than 2000 entries"):
        Job.from_dict(data)


def test_the_demo_travels_with_the_package():
    assert files("sumpwise.service").joinpath("data/example_wagon.toml").is_file()


@pytest.mark.parametrize("torque", ["50 N·m", "37.1 N·m", "30.9 N·m", "3.4 N·m"])
def test_a_torque_outside_its_own_window_is_refused(torque):
    """The window is 31 to 37 N·m, and both ends are in it."""
    data = Job.demo().to_dict()
    for end in ("31 N·m", "37 N·m"):
        data["bolt"][0]["torque"] = end
        Job.from_dict(data)
    data["bolt"][0]["torque"] = torque
    with pytest.raises(FileError, match=r"\[\[bolt\]\] 1 torque.*outside its own window"):
        Job.from_dict(data)


def test_more_bursts_than_anybody_runs_are_refused_at_once():
    data = Job.demo().to_dict()
    data["exchange"]["bursts"] = 1000
    with pytest.raises(FileError, match=r"\[exchange\] bursts"):
        Job.from_dict(data)


def test_a_day_is_written_as_toml_knows_it_or_as_a_text(tmp_path):
    path = tmp_path / "job.toml"
    for written in ("2026-11-27", '"2026-11-27"', "'2026-11-27'"):
        path.write_text(f'[vehicle]\nname = "wagon"\ndate = {written}\n[[history]]\ndate = 2022-11-27\nshare = 0.4\n', encoding="utf-8")
        job = Job.from_toml(path)
        assert job.value("vehicle", "date") == datetime.date(2026, 11, 27)
        assert json.loads(json.dumps(job.to_dict()))["vehicle"]["date"] == "2026-11-27"
        assert Job.from_dict(job.to_dict()).entries("history") == job.entries("history")
        assert Case(job).ago(job.entries("history")[0]) == 4 * 365.25 * 1440
        assert entered(path, "drive").written("log") == [{"event": "drive"}]


@pytest.mark.parametrize(
    "written",
    ["27.11.2026", "2026-13-01", "2026-02-30", "20261127", "2026-W48-5", "2026-11-27T10:00:00", "", 20261127, True, "２０２６-11-27"],
)
def test_what_is_not_a_day_is_refused(written):
    [error] = Job.problems({"vehicle": {"name": "wagon", "date": written}})
    assert error.pointer == "/vehicle/date"
    assert "such as 2026-11-27" in str(error)


@pytest.mark.parametrize(
    ("entry", "vehicle", "pointer", "said"),
    [
        ({"share": 0.4}, {}, "/history/0/ago", "does not say when"),
        ({"share": 0.4, "ago": "2 y", "date": "2020-01-01"}, {}, "/history/0/ago", "gives both ago and date"),
        ({"share": 0.4, "date": "2020-01-01"}, {}, "/vehicle/date", "but the history has a date"),
        ({"share": 0.4, "date": "2020-01-02"}, {"date": "2020-01-01"}, "/history/0/date", "later than the work"),
        ({"share": 0.4, "ago": "4 y"}, {"fluid_age": "3 y"}, "/history/0/ago", "was before the fluid was new; accepted: up to 3 y ago"),
        ({"share": 0.4, "ago": "4 y"}, {"age": "3 y"}, "/history/0/ago", "before the fluid was new"),
        ({"share": 0.4, "date": "2020-01-01"}, {"date": "2024-01-01", "age": "3 y"}, "/history/0/date", "before the fluid was new"),
    ],
)
def test_an_entry_of_the_history_says_once_when_it_was(entry, vehicle, pointer, said):
    [error] = Job.problems({"vehicle": {"name": "wagon"} | vehicle, "history": [entry]})
    assert error.pointer == pointer
    assert said in str(error)


def test_a_problem_of_a_list_names_its_entry_from_one():
    history = [{"ago": "2 y", "share": 0.4}, {"share": 0.4}]
    [error] = Job.problems({"vehicle": {"name": "wagon"}, "history": history})
    assert error.argument == "job: [[history]] 2"


def test_a_vehicle_needs_its_name():
    for vehicle in ({}, {"kind": "axle"}):
        [error] = Job.problems({"vehicle": vehicle})
        assert (error.code, error.pointer) == ("key.missing", "/vehicle/name")


def test_a_key_of_the_log_in_another_list_is_a_key_too_many():
    other = {"component": {"name": "transfer case", "volume": "0.9 L"}, "bolt": {"name": "plug", "torque": "34 N·m", "window": "31–37 N·m"}}
    for list_, entry in other.items():
        [error] = Job.problems({"vehicle": {"name": "wagon"}, list_: [entry | {"event": "stick"}]})
        assert (error.code, error.pointer, error.hint) == ("key.unknown", f"/{list_}/0/event", "event belongs in [[log]]")


def test_what_is_one_value_is_no_list_of_them():
    amounts = [one for keys in (TABLES | LISTS).values() for one in keys.values() if isinstance(one.kind, Argument)]
    assert len(amounts) > 80
    assert [one.meaning for one in amounts if not one.kind.scalar] == []
    errors = Job.problems({"vehicle": {"name": "wagon"}, "wrench": {"deviation": [0.04, 0.06], "maximum": ["60 N·m"]}})
    assert [(error.code, error.pointer) for error in errors] == [
        ("list.unexpected", "/wrench/deviation"), ("list.unexpected", "/wrench/maximum"),
    ]  # fmt: skip


def test_a_history_may_end_on_the_day_of_the_work():
    for day_before in ("2019-12-31", "2020-01-01"):
        job = Job.from_dict({"vehicle": {"name": "wagon", "date": "2020-01-01"}, "history": [{"share": 0.4, "date": day_before}]})
        assert job.written("history")[0]["date"] == day_before


@pytest.mark.parametrize(
    ("start", "interval", "over"),
    [
        ("2026-11-27", "4 y", "2030-11-27"), ("2024-02-29", "1 y", "2025-02-28"), ("2026-01-31", "1 month", "2026-02-28"),
        ("2026-01-31", "18 month", "2027-07-31"), ("2026-11-27", "30 d", "2026-12-27"), ("2026-11-27", "1 d", "2026-11-28"),
        ("2026-11-27", "1.5 y", "2028-05-27"), ("2026-12-01", "13 month", "2028-01-01"),
    ],
)  # fmt: skip
def test_an_interval_is_over_on_a_day_of_the_calendar(start, interval, over):
    minutes = Job.from_dict({"vehicle": {"name": "wagon", "interval_time": interval}}).value("vehicle", "interval_time")
    assert after(day(start), minutes) == day(over)


def test_an_interval_beyond_the_calendar_is_refused():
    for minutes in (9000 * 525_960.0, 9000 * 525_960.5, 1e300):
        with pytest.raises(SumpwiseError, match="beyond the calendar"):
            after(day("2026-11-27"), minutes)


def test_without_an_age_the_fluid_was_new_at_the_first_change_that_is_written():
    job = Job.from_dict({"vehicle": {"name": "wagon"}, "history": [{"ago": "2 y", "share": 0.4}, {"ago": "4 y", "share": 0.3}]})
    assert number_in(Case(job).history.mean_age("0 y"), "y") == pytest.approx(0.6 * 4 + 0.4 * 2)
    assert "new at the first change" in plan(job).to_markdown()


WRONG = """title = "Wagon"

[vehicle]
name = "wagon"
age = "nine"

[capacity]
total = "8.85"  # no unit
totl = "8 L"

[[vessel]]
name = "pail"

[[vessel]]
name = "jug"
graduation = "-0.05 L"

[[bolt]]
name = "plug"
torque = "34 N·m"
window = "31 to 37 N·m"

[[log]]
event = "drain"
"""


def test_all_problems_of_a_file_come_with_their_lines(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(WRONG, encoding="utf-8")
    at = [
        (5, 1, "/vehicle/age"), (8, 1, "/capacity/total"), (9, 1, "/capacity/totl"), (16, 1, "/vessel/1/graduation"),
        (24, 1, "/log/0/event"),
    ]  # fmt: skip
    for source in (path, str(path), WRONG):
        found = Job.problems(source)
        assert [(error.line, error.column, error.pointer) for error in found] == at
        assert all(error.code and (error.hint or error.allowed) for error in found)
    negative = next(error for error in Job.problems(WRONG) if error.pointer == "/vessel/1/graduation")
    assert negative.limits is not None
    assert negative.value == "'-0.05 L'"
    with pytest.raises(FileError) as caught:
        Job.from_toml(path)
    assert (caught.value.line, caught.value.column) == (5, 1)
    assert str(caught.value).startswith(f"{path}, line 5: [vehicle] age: read 'nine'")


def test_what_is_missing_is_where_the_table_begins_and_what_is_nowhere_is_nowhere():
    [error] = Job.problems('[wrench]\nlength = "1 m"\n[vehicle]\nname = "wagon"')
    assert (error.pointer, error.line, error.column) == ("/wrench/maximum", 1, 1)
    [error] = Job.problems('title = "x"\n')
    assert (error.pointer, error.line, error.column) == ("/vehicle", 0, 0)
    [error] = Job.problems({"vehicle": {}})
    assert (error.line, error.column) == (0, 0)


def test_a_text_or_path_that_cannot_be_read_is_one_problem(tmp_path):
    [error] = Job.problems("[vehicle]\nname = 'a\n")
    assert (error.code, error.line) == ("file.syntax", 3)  # where the text that is not closed ends
    [error] = Job.problems(tmp_path / "none.toml")
    assert error.code == "file.unreadable"
    [error] = Job.problems("a = 1\n" * 400_000)
    assert error.code == "file.too_large"
    [error] = Job.problems("a = '\ud800'")
    assert error.code == "file.encoding"
    assert [error.code for error in Job.problems(3)] == ["key.type"]


def test_dotted_quoted_and_inline_keys_have_their_lines():
    text = 'vehicle.name = "wagon"\n"capacity".total = "8"\nvessel = [\n  {name = "pail", graduation = "1 m"},\n  {name = "jug"},\n]\n'
    found = {error.pointer: (error.line, error.column) for error in Job.problems(text)}
    assert found["/capacity/total"] == (2, 1)
    assert found["/vessel/0/graduation"] == (4, 19)


@given(st.data())
def test_every_line_that_is_named_holds_the_key(data):
    """Whatever single value of the demo is spoilt, the problem is reported at the line of its key."""
    inputs = Job.demo().with_(log=None).to_dict()
    table = data.draw(st.sampled_from([key for key, value in inputs.items() if isinstance(value, dict)]))
    key = data.draw(st.sampled_from(sorted(inputs[table])))
    inputs[table][key] = ["spoilt"]
    text = document(inputs)
    for error in Job.problems(text):
        if error.pointer == f"/{table}/{key}":
            assert text.splitlines()[error.line - 1].startswith(key)
            break
    else:
        raise AssertionError


def places(data: dict) -> list[tuple[str, str]]:
    return [(error.pointer, error.code) for error in Job.problems(data)]


def test_what_does_not_fit_together_is_told_beside_what_cannot_be_read():
    data = {
        "vehicle": {"name": "wagon", "distance": "far"},
        "capacity": {"total": "3 L", "plug_drain": "3.3 L"},
        "fluid": {"viscosity_40": "6 mm²/s", "viscosity_100": "29.6 mm²/s"},
        "level": {"window": "82–92 °C", "marks_volume": "4 L"},
        "bolt": [{"name": "plug", "torque": "50 N·m", "window": "31 to 37 N·m"}],
        "vessel": [{"name": "pail", "graduation": "0.25 L", "reading": "15 L"}],
        "log": [{"event": "drained", "vessel": "tub", "reading": "3.3 L", "temperature": "44 °C"}],
    }
    assert places(data) == [
        ("/vehicle/distance", "number.missing"),
        ("/capacity/plug_drain", "capacity.parts"),
        ("/fluid/viscosity_40", "viscosity.order"),
        ("/level/marks_length", "key.missing"),
        ("/level/marks_volume", "range.above_bound"),
        ("/bolt/0/torque", "torque.window"),
        ("/vessel/0/reading", "range.above_bound"),
        ("/log/0/vessel", "vessel.unknown"),
    ]
    bounds = {error.code: error.limits for error in Job.problems(data) if error.limits}
    assert bounds["capacity.parts"] == (0, 3.0, "L")
    assert bounds["viscosity.order"] == (29.6, None, "mm²/s")
    assert bounds["torque.window"] == (31.0, 37.0, "N·m")


@pytest.mark.parametrize(
    ("change", "found"),
    [
        ({"capacity": {"total": "8", "plug_drain": "3.3 L"}}, "/capacity/total"),
        ({"vessel": [{"name": "", "graduation": "0.25 L"}]}, None),
        ({"vessel": [{"name": 3, "graduation": "0.25 L"}]}, "/vessel/0/name"),
        ({"vessel": "a pail"}, "/vessel"),
        ({"pack": [{"name": "can", "volume": "5", "price": 46.5}]}, "/pack/0/volume"),
        ({"log": [{"event": "drain", "vessel": "pail", "reading": "3.3 L"}]}, "/log/0/event"),
        ({"log": [{"event": "drained", "vessel": "pail", "reading": "3.3"}]}, "/log/0/reading"),
        ({"log": [{"event": "drained", "vessel": 3, "reading": "3.3 L"}]}, "/log/0/vessel"),
        ({"history": [{"ago": "two", "share": "40 %"}]}, "/history/0/ago"),
        ({"history": [{"date": "2024-13-01", "share": "40 %"}]}, "/history/0/date"),
        ({"level": {"window": "82–92 °C", "marks_volume": "0.42", "marks_length": "13 mm"}}, "/level/marks_volume"),
        ({"bolt": [{"name": "plug", "torque": "50", "window": "31 to 37 N·m"}]}, "/bolt/0/torque"),
        ({"fluid": {"viscosity_40": "29.6", "viscosity_100": "6 mm²/s"}}, "/fluid/viscosity_40"),
    ],
)
def test_nothing_is_said_about_what_only_follows_from_a_refused_value(change, found):
    good = {
        "vehicle": {"name": "wagon", "date": "2026-11-27"},
        "vessel": [{"name": "pail", "graduation": "0.25 L"}],
        "log": [{"event": "drained", "vessel": "pail", "reading": "3.3 L", "temperature": "44 °C"}],
    }
    assert places(good) == []
    if found is not None:
        assert [pointer for pointer, _ in places(good | change)] == [found]


@pytest.mark.parametrize(
    ("table", "key", "value"),
    [
        ("level", "floor", "900 km"), ("level", "reading", "2 m"), ("vehicle", "interval_time", "1 s"), ("filler", "venting", "0 %"),
        ("level", "marks_volume", "20 L"), ("fluid", "viscosity_100", "2000 mm²/s"), ("vessel", "reading", "20 L"),
        ("log", "outlet_old", "0 %"),
    ],
)  # fmt: skip
def test_no_value_is_refused_only_when_the_job_is_planned(table, key, value):
    data = Job.demo().to_dict()
    where = next(one for one in data[table] if key in one or key == "reading") if isinstance(data[table], list) else data[table]
    where[key] = value
    (error,) = Job.problems(data)
    assert error.pointer.startswith(f"/{table}/")
    assert error.allowed
    assert error.limits is not None


@pytest.mark.parametrize(
    ("place", "value"), [("title", 5), ("vehicle", {"name": "wagon", "cooler_line": "yes"}), ("shopping", {"currency": 5})]
)
def test_what_would_be_accepted_is_said_of_words_and_switches_too(place, value):
    (error,) = Job.problems({"vehicle": {"name": "wagon"}} | {place: value})
    assert error.code == "key.type"
    assert error.allowed


@pytest.mark.parametrize("number", [0, 2, 19, 21])
def test_a_match_at_the_outlet_belongs_to_a_burst(number):
    data = Job.demo().to_dict()
    assert data["log"][number]["event"] != "drained"
    data["log"][number]["outlet_old"] = "20 %"
    assert places(data) == [(f"/log/{number}/outlet_old", "argument.together")]


def test_a_match_after_a_burst_that_gave_nothing_is_read_at_the_outlet_as_it_was():
    log = Job.demo().to_dict()["log"]
    end = max(i for i, entry in enumerate(log) if "outlet_old" in entry)
    nothing = log[end] | {"outlet_old": "19 %"}  # the same reading of a cumulative vessel again
    assert nothing["cumulative"]
    sheet = plan(Job.demo().with_(log=[*log[: end + 1], nothing]))
    assert sheet.section("outlet").data["probability"] > 0


@pytest.mark.parametrize(("ago", "allowed"), [("4 y", True), ("3.99 y", True), ("4.01 y", False)])
def test_nothing_was_changed_before_the_fluid_was_new(ago, allowed):
    """The day that it was new is one of its days."""
    data = {"vehicle": {"name": "wagon", "fluid_age": "4 y"}, "history": [{"ago": ago, "share": 0.4}]}
    assert [error.problem for error in Job.problems(data)] == ([] if allowed else ["was before the fluid was new"])
