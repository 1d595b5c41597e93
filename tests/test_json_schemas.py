"""JSON Schemas of all formats: real outputs pass, and whatever a reader refuses for its structure, its schema refuses too.

The package ships them as files, which an app can read without running anything; `test_face.py` holds them to the tables of the readers.
"""

from __future__ import annotations

import copy
import json
import subprocess
import sys
from functools import cache
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from laws.lawbook import examples
from sumpwise import Job, Ledger, ServiceRecord, Sheet, SumpwiseError, Vessel, compare, drain_refill, plan
from sumpwise.__main__ import FORMATS, main
from sumpwise.errors import pointer_to
from test_embedding import process
from test_job_files import JOBS, NAMES

SHIPPED = files("sumpwise").joinpath("schemas")
READERS = {"job": Job, "sheet": Sheet, "record": ServiceRecord, "ledger": Ledger}
STRUCTURE = ("key.missing", "key.unknown", "key.type", "file.format", "file.version")
"""Codes of what a schema can say too."""


def shipped(name):
    return SHIPPED.joinpath(f"{name}.json").read_text(encoding="utf-8")


def test_every_shipped_file_is_a_format():
    assert {path.name for path in SHIPPED.iterdir()} == {f"{name}.json" for name in FORMATS}


def test_an_app_reads_a_schema_without_running_the_library():
    code = (
        "import json, sys\nfrom importlib.resources import files\n"
        "schema = json.loads(files('sumpwise').joinpath('schemas/job.json').read_text(encoding='utf-8'))\n"
        "print(schema['title'], sorted(m for m in sys.modules if m.split('.')[0] in ('numpy', 'pint', 'sumpwise')))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True, env=process())
    assert done.stdout == "sumpwise job ['sumpwise', 'sumpwise._face']\n"


@cache
def validator(name):
    schema = json.loads(shipped(name))
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def wrong(name, data):
    return [error.message for error in validator(name).iter_errors(json.loads(json.dumps(data)))]


def fits(name, data):
    """Whether there is nothing wrong with data; of what is wrong only the first is looked for."""
    return validator(name).is_valid(json.loads(json.dumps(data)))


@cache
def outputs():
    """Real outputs of every format."""
    demo = Job.demo()
    jobs = [demo, *(Job.from_toml(JOBS / f"{name}.toml") for name in NAMES)]
    record = ServiceRecord.of(demo, date="2026-11-27")
    pail = Vessel("pail", "0.25 L", scale=0.98, scale_uncertainty=0.004, capacity="9 L", residue="0.01 L", air=0.001)
    ledger = Ledger("847 ± 3 kg/m³", capacity="8.85 L").started("-0.17(3) L").drained(pail, "3.35 L", "44 °C", thermometer="probe")
    ledger = ledger.emptied(pail).lost("0.11 ± 0.05 L", "filter", "38 °C").poured(pail, "3.70 L", "17 °C")
    ledger = ledger.emptied(pail).drained(pail, "1.25 L", "41 °C").drained(pail, "2.5 L", "45 °C", cumulative=True)
    seen = demo.with_(log=[{"event": "seen", "seen": "lost count"}])
    return {
        "job": [job.to_dict() for job in jobs],
        "sheet": [plan(job).to_dict() for job in jobs[::5]] + [plan(seen, "both").to_dict(), compare(plan(demo), plan(seen)).to_dict()],
        "record": [record.to_dict(), record.add(demo, date="2030-11-27").to_dict() | {"plate": ["X", 1]}],
        "ledger": [ledger.to_dict(), Ledger("850 kg/m³").to_dict(), Ledger("850 kg/m³").lost("0.1 L", "rag").to_dict()],
    }  # fmt: skip


def tables(data, path=()):
    """The places of all tables inside plain data; of those in a list, of the first and the last."""
    if isinstance(data, dict):
        yield path
    ends = list(enumerate(data)) if isinstance(data, list) else []
    for key, inner in data.items() if isinstance(data, dict) else [*ends[:1], *ends[1:][-1:]]:
        yield from tables(inner, (*path, key))


OWN = {(), ("sources",), ("services", 0), ("services", 1), ("learned",), ("sections",)}
"""Tables of a ledger or a record that may have any keys; so may those whose last step is one of `NAMED`."""
NAMED = {"contributions", "learned", "shared", "data", "values", "inputs"}


def test_a_key_too_many_in_a_section_of_a_sheet_is_refused():
    data = copy.deepcopy(outputs()["sheet"][0])
    data["sections"]["buy"]["note"] = "x"
    with pytest.raises(SumpwiseError, match="is not a key of a section") as refused:
        Sheet.from_dict(data)
    assert (refused.value.code, refused.value.argument) == ("key.unknown", "sheet: sections: buy: note")
    assert wrong("sheet", data)


@pytest.mark.parametrize("name", READERS)
def test_a_key_too_many_is_refused_wherever_it_stands(name):
    """A ledger ignored what it did not know in its lines, so that a mistyped "cumulative" or "temperature" counted otherwise."""
    data = outputs()[name][name == "record"]
    for path in tables(data):
        if (path in OWN and (path or name == "record")) or NAMED & {*path[-1:]} or (name == "sheet" and NAMED & {*path}):
            continue
        changed = copy.deepcopy(data)
        place = changed
        for step in path:
            place = place[step]
        place["cumulativ"] = 1.0
        with pytest.raises(SumpwiseError) as refused:
            READERS[name].from_dict(changed)
        assert refused.value.code == "key.unknown", path
        assert refused.value.pointer == pointer_to([*path, "cumulativ"])
        assert "cumulativ" in str(refused.value)
        assert not fits(name, changed)


@pytest.mark.parametrize("name", READERS)
def test_real_outputs_pass(name):
    assert [wrong(name, data) for data in outputs()[name]] == [[] for _ in outputs()[name]]


def errors():
    for call in (
        lambda: drain_refill("9 L", "8.85 L"), lambda: drain_refill("x", "8.85 L"), lambda: Job.from_dict({}), lambda: plan(3),
        lambda: drain_refill("3 N·m", "8.85 L"), lambda: ServiceRecord.load("nowhere.json"),
    ):  # fmt: skip
        with pytest.raises(SumpwiseError) as caught:
            call()
        yield caught.value
    yield from Job.problems('[vehicle]\nname = 3\n[capacity]\ntotal = "-8 L"\n')


def test_errors_pass_as_plain_data():
    told = [error.to_dict() for error in errors()]
    assert [wrong("error", one) for one in told] == [[]] * len(told)
    above = told[0]
    assert (above["error"], above["code"], above["limits"]) == ("RangeError", "range.above_bound", {"low": None, "high": 8.85, "unit": "L"})
    assert (told[-1]["line"], told[-1]["column"], told[-1]["pointer"]) == (4, 1, "/capacity/total")
    assert wrong("error", above | {"code": "no.such"}) != []
    assert wrong("error", {key: value for key, value in above.items() if key != "code"}) != []


def inside(value, place=()):
    yield place
    for key, one in value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ():
        yield from inside(one, (*place, key))


def at(data, place):
    for step in place:
        data = data[step]
    return data


WAYS = {
    "gone": lambda holder, key: holder.pop(key),
    "another key": lambda holder, key: holder.update({f"{key}x": holder.pop(key)}) if isinstance(holder, dict) else holder.pop(key),
    "nothing": lambda holder, key: holder.__setitem__(key, None),
    "a number": lambda holder, key: holder.__setitem__(key, 3),
    "a text": lambda holder, key: holder.__setitem__(key, "x"),
    "a list": lambda holder, key: holder.__setitem__(key, [1]),
    "a table": lambda holder, key: holder.__setitem__(key, {"x": 1}),
    "true": lambda holder, key: holder.__setitem__(key, True),
}


def spoilt(data, place, way):
    changed = copy.deepcopy(data)
    WAYS[way](at(changed, place[:-1]), place[-1])
    return changed


@pytest.mark.parametrize("name", READERS)
@examples(200)
@given(st.data())
def test_what_a_reader_refuses_for_its_structure_its_schema_refuses(name, data):
    """Any one spoilt place: where the reader names a structural fault, the schema does not pass."""
    original = data.draw(st.sampled_from(outputs()[name]))
    place = data.draw(st.sampled_from([place for place in inside(original) if place and not beyond(name, place)]))
    changed = spoilt(original, place, data.draw(st.sampled_from(sorted(WAYS))))
    refused = refusal(name, changed)
    if refused is not None and refused.code in STRUCTURE:
        assert not fits(name, changed), (place, str(refused))
    if refused is None:
        assert wrong(name, changed) == [], place
    elif name != "job" and "job" not in place and refused.code in (*STRUCTURE, "number.not_finite", "value.choice"):
        assert near(place, refused.pointer), (place, refused.pointer, str(refused))


def near(place, pointer):
    """Whether a pointer leads to a place, to what should stand there, to what is in it, or to the table that holds it."""
    here, holder = pointer_to(place), pointer_to(place[:-1])
    return pointer.startswith(here) or (pointer == holder and (pointer != "" or len(place) == 1))


def refusal(name, data):
    """Why a reader does not take data; nothing where it does."""
    try:
        READERS[name].from_dict(data)
    except SumpwiseError as error:
        return error
    return None


def beyond(name, place):
    """What a schema cannot check: that a name is the same in two places. The numbers of a sheet it leaves alone."""
    if name in ("job", "record") and place[-1] == "vessel":  # which of several a log entry means
        return True
    if name == "ledger":
        named = place[-1] in ("vessel", "name") or "contributions" in place
        return named or (len(place) <= 2 and place[0] in ("sources", "vessels"))
    return name == "sheet" and len(place) > 3 and ("data" in place or "values" in place)


def test_the_schema_of_a_ledger_does_not_see_that_a_source_is_not_there():
    data = outputs()["ledger"][0]
    changed = spoilt(data, ("density_15", "contributions", "s1"), "another key")
    assert refusal("ledger", changed) is not None
    assert wrong("ledger", changed) == []


def test_the_command_prints_each_schema(capsys):
    assert set(FORMATS) == {*READERS, "error"}
    for name in FORMATS:
        assert main(["schema", name]) == 0
        assert json.loads(capsys.readouterr().out) == validator(name).schema


@pytest.mark.parametrize("bolt", [{"torque": "34 ± 3 N·m"}, {"torque": "34 N·m"}, {"window": "31 to 37 N·m"}])
def test_a_bolt_has_a_torque_or_a_window(bolt):
    job = {"vehicle": {"name": "wagon"}, "bolt": [{"name": "plug"} | bolt]}
    assert Job.problems(job) == []
    assert wrong("job", job) == []
    assert wrong("job", {**job, "bolt": [{"name": "plug"}]}) != []


@pytest.mark.parametrize(
    ("change", "pointer", "code"),
    [
        ({"version": 3}, "/version", "file.version"),
        ({"format": "sumpwise job"}, "/format", "file.format"),
        ({"extra": 1}, "/extra", "key.unknown"),
        ({"sections": 5}, "/sections", "key.type"),
        ({"sections": {"buy": 5}}, "/sections/buy", "key.type"),
        ({"sections": {"buy": {"key": "buy"}}}, "/sections/buy/columns", "key.missing"),
        ({"inputs": "the job"}, "/inputs", "key.type"),
    ],
)
def test_a_refused_sheet_names_its_place_and_what_would_be_accepted(change, pointer, code):
    from sumpwise import Job, Sheet, SumpwiseError, plan

    stored = plan(Job.from_dict({"vehicle": {"name": "wagon"}})).to_dict() | change
    with pytest.raises(SumpwiseError) as caught:
        Sheet.from_dict(stored)
    found = caught.value.to_dict()
    assert (found["pointer"], found["code"]) == (pointer, code)
    assert found["allowed"]
    assert "object" not in found["problem"]


def test_a_version_that_is_refused_is_told_beside_all_that_are_read():
    from sumpwise import Sheet, SumpwiseError

    with pytest.raises(SumpwiseError) as caught:
        Sheet.from_dict({"format": "sumpwise sheet", "version": 3})
    assert caught.value.allowed == "1 or 2"


@pytest.mark.parametrize("name", ["", "   "])
@pytest.mark.parametrize("where", ["vehicle", "vessel", "bolt", "component"])
def test_what_must_have_a_name_has_one_that_says_something(where, name):
    """A form sends an empty text for a field that nobody filled in; a sheet for a vehicle without a name had an empty title."""
    entry = {"vehicle": {}, "vessel": {}, "bolt": {"torque": "34 N·m"}, "component": {"volume": "0.9 L"}}[where] | {"name": name}
    job = {"vehicle": {"name": "wagon"}} | {where: entry if where == "vehicle" else [entry]}
    (problem,) = Job.problems(job)
    pointer = "/vehicle/name" if where == "vehicle" else f"/{where}/0/name"
    assert (problem.code, problem.pointer, problem.problem) == ("key.missing", pointer, "is blank")
    assert wrong("job", job) != []


def test_an_empty_field_is_told_as_empty():
    (problem,) = Job.problems({"vehicle": {"name": "wagon"}, "capacity": {"total": ""}})
    assert (problem.code, problem.pointer, problem.problem) == ("number.missing", "/capacity/total", "is empty")
    assert problem.hint == "leave the key out if it is not known"


def test_the_form_of_the_example_names_the_field_that_is_missing():
    from runpy import run_path

    answer = run_path("docs/examples/embed.py")["answer"]
    assert answer({})["field"] == "drained"
    assert answer({"drained": "", "capacity": "8 L"})["problem"] == "is empty"
    assert answer({"drained": "3 L", "capacity": "8 L"})["field"] == "need"
