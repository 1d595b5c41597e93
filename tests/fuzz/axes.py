"""What may grow: every list and every text of what people hand in, each as a function from a size to a call."""

from __future__ import annotations

import copy
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy

import sumpwise
from fuzz import places
from fuzz.files import _data, _small_job, _small_record, _written_and_read
from fuzz.size import Axis, Call, Maker
from sumpwise.service import schema
from test_limits import CALLS

AXES: dict[str, Axis] = {}
"""Name -> what grows."""


def axis(name: str, most: int) -> Callable[[Maker], Maker]:
    """Enter an axis."""

    def enter(make: Maker) -> Maker:
        AXES[name] = Axis(make, most)
        return make

    return enter


# -- texts

PIECES = {
    "digits": "1", "spaces": " ", "open brackets": "(", "close brackets": ")", "halves": "½",
    "numbers": "1 ", "litres": "3 L ", "plus minus": "± ",
    "minus": "-", "slashes": "1/", "points": ".", "commas": "1,", "letters": "a", "line ends": "\n", "carriage returns": "\r\n",
    "quotes": '"', "control": "\x1b",
    "accents": "e\u0301", "emoji": "\U0001f697", "cars and numbers": "\U0001f697 5 qt ", "percent": "90 % ", "equals": "5 qt = 4.7 L ",
}  # fmt: skip
for _name, _piece in PIECES.items():
    for _function in (sumpwise.quantity, sumpwise.span):
        AXES[f"{_function.__name__}: {_name}"] = Axis(partial(lambda f, t, n: partial(f, t * n + " L"), _function, _piece), 2**22)

SENTENCES = PIECES | {
    "pairs": "Drain 5 qt (4.7 L). ",
    "pairs that disagree": "Drain 5 qt (5.7 L). ",
    "pairs on lines": "Drain 5 qt (4.7 L)\n",
    "unmatched brackets": "Drain 5 qt (4.7 L ",
    "many in one sentence": "5 qt / 4.7 L, ",
    "torques": "Torque to 34 N·m (25 ft-lb). ",
    "temperatures": "Check at 82–92 °C (180-198 °F). ",
    "claims": "Three drains of 3.3 qt from 9 qt leave 30 % old. ",
    "sums": "3 L + 2 L = 5 L. ",
    "table": "| plug | 34 N·m | 25 ft-lb |\n",
    "table of one row": "| 34 N·m | 25 ft-lb ",
    "tabs": "34 N·m\t25 ft-lb\n",
    "words": "five quarts ",
    "number words": "twenty-five hundred ",
    "time stamps": "0:15 drain the pan\n",
    "dates": "2024-05-01 ",
    "ranges": "4-5 qt to 6-7 qt ",
    "abbreviations": "approx. 5 qt. ",
    "list": "- 5 qt (4.7 L)\n",
    "addresses": "https://example.org/a/5/qt ",
    "one sentence": "drain and fill and ",
    "fractions": "5 1/2 qt ",
    "feet": "5' 3\" ",
    "colons": "drain: 5 qt: 4.7 L: ",
    "headings": "# Drain\n\n5 qt\n\n",
}
EVERYTHING = (
    "WEBVTT\n\n00:01.000 --> 00:02.000\n# Head\n<b>x</b> &amp; *y* _z_ `q` ~ \\ https://example.org [a](b) www.example.org\r\n"
    "| a | b |\n|--|--|\n| 1 | 2 |\n"
    "+-+\nBolt  N·m\tft-lb\n5 qt (4.7 L) = 5 qt / 4.7 L. Three drains of 3.3 qt from 9 qt leave 30 % old. Torque to 34 N·m, 25 ft-lb.\n"
    "0:15 Check at 82–92 °C (180-198 °F), rise by 10 °C, 5 point 7 liters, five quarts, 2 quarts and a half, capacity: 9 L, 5' 3\" ½\n"
    "minus 40 C, 5ish L, 15-20k miles, 3.4 L -> 4 qt, 1 qt per drain (1 L per drain), 5 L, in quarts that's 5.3, or in qt"
)
"""A text that wakes every part of the check, so that what grows is looked at by all of them."""
SENTENCES |= {
    "spaces in words": "a  ",
    "brackets in words": "a (",
    "stars": "*",
    "underscores": "_",
    "less than": "<",
    "less than a": "<a ",
    "ampersands": "&",
    "square brackets": "[",
    "links": "](",
    "ticks": "`",
    "backslashes": "\\",
    "hashes": "# ",
    "arrows": "--> ",
    "colons and digits": "1:",
    "about": "about ~ ",
    "the the": "for the ",
    "bullets": "\n- ",
    "empty rows": "|\n",
    "rules": "+-",
    "dashes": "–",
    "newline and space": "\n ",
    "tab": "\t",
    "drains": "drains and ",
    "digit and space": "1 000 ",
    "no-break": "\xa0",
    "zero width": "\u200b",
}
for _name, _piece in SENTENCES.items():
    AXES[f"check_text, all awake: {_name}"] = Axis(partial(lambda t, n: partial(sumpwise.check_text, EVERYTHING + t * n), _piece), 2**16)
    AXES[f"check_text: {_name}"] = Axis(partial(lambda t, n: partial(sumpwise.check_text, t * n), _piece), 2**18)
    AXES[f"check_text, all findings: {_name}"] = Axis(partial(lambda t, n: partial(sumpwise.check_text, t * n, 10**9), _piece), 2**16)


@axis("safe_to_mix: names", 2**16)
def _mixed(n: int) -> Call:
    return partial(sumpwise.safe_to_mix, *[f"fluid {i}" for i in range(n)])


@axis("convert: unit", 2**20)
def _unit(n: int) -> Call:
    return partial(sumpwise.convert, "1 L", "q" * n)


@axis("quantity: unit", 2**20)
def _unit_of(n: int) -> Call:
    return partial(sumpwise.quantity, 1.0, "q" * n)


@axis("number_card: title", 2**20)
def _card_title(n: int) -> Call:
    return lambda: sumpwise.number_card({"fill": "5 L"}, title="x" * n).to_markdown()


@axis("number_card: values", 2**14)
def _card(n: int) -> Call:
    values = {f"fill {i}": "5 L" for i in range(n)}
    return lambda: _shown(sumpwise.number_card(values))


def _shown(thing: Any) -> None:
    for name in ("to_markdown", "_repr_html_", "_repr_markdown_", "__str__", "__repr__"):
        if hasattr(thing, name):
            getattr(thing, name)()


# -- job files

TOML = {
    "comment": lambda n: b"#" + b"x" * n,
    "comments": lambda n: b"# x\n" * n,
    "line ends": lambda n: b"\n" * n,
    "spaces": lambda n: b" " * n,
    "long key": lambda n: b"x" * n + b" = 1",
    "dotted key": lambda n: b".".join([b"x"] * n) + b" = 1",
    "quoted dotted key": lambda n: b'."x"' * n + b" = 1",
    "dotted table": lambda n: b"[" + b".".join([b"x"] * n) + b"]",
    "keys": lambda n: b"".join(b"k%d = 1\n" % i for i in range(n)),
    "keys of one table": lambda n: b"[vehicle]\n" + b"".join(b"k%d = 1\n" % i for i in range(n)),
    "tables": lambda n: b"".join(b"[t%d]\n" % i for i in range(n)),
    "sub-tables": lambda n: b"".join(b"[t.a%d]\n" % i for i in range(n)),
    "deep tables": lambda n: b"".join(b"[a.b.c.d.e.f.g%d]\n" % i for i in range(n)),
    "the same table": lambda n: b"[vehicle]\n" * n,
    "the same key": lambda n: b"k = 1\n" * n,
    "lists of tables": lambda n: b"[[pack]]\n" * n,
    "other lists of tables": lambda n: b"[[other]]\n" * n,
    "list": lambda n: b"k = [" + b"1," * n + b"]",
    "deep list": lambda n: b"k = " + b"[" * n + b"]" * n,
    "open list": lambda n: b"k = " + b"[" * n,
    "deep inline table": lambda n: b"k = " + b"{a = " * n + b"1" + b"}" * n,
    "inline table": lambda n: b"k = {" + b", ".join(b"k%d = 1" % i for i in range(n)) + b"}",
    "inline dotted keys": lambda n: b"k = {" + b", ".join(b"a.b.c.d.e.f%d = 1" % i for i in range(n)) + b"}",
    "text": lambda n: b'[vehicle]\nname = "' + b"x" * n + b'"',
    "text on lines": lambda n: b'[vehicle]\nname = """' + b"x\n" * n + b'"""',
    "quotes": lambda n: b'[vehicle]\nname = """' + b'"" x ' * n + b'"""',
    "escapes": lambda n: b'[vehicle]\nname = "' + b"\\n" * n + b'"',
    "wide escapes": lambda n: b'[vehicle]\nname = "' + b"\\u0041" * n + b'"',
    "open text": lambda n: b'[vehicle]\nname = "' + b"x" * n,
    "open texts": lambda n: b"k = \"\"\"" + b"x '" * n,
    "digits": lambda n: b"k = " + b"1" * n,
    "digits after a point": lambda n: b"k = 1." + b"1" * n,
    "digits in an exponent": lambda n: b"k = 1e" + b"1" * n,
    "underscores": lambda n: b"k = 1" + b"_1" * n,
    "hexadecimal": lambda n: b"k = 0x" + b"f" * n,
    "binary": lambda n: b"k = 0b" + b"1" * n,
    "byte not UTF-8": lambda n: b"# x\n" * n + b"\xff",
    "dates": lambda n: b"k = [" + b"2024-05-01T00:00:00," * n + b"]",
}  # fmt: skip
for _name, _content in TOML.items():
    AXES[f"job file: {_name}"] = Axis(partial(lambda c, n: partial(_written_and_read, sumpwise.Job.from_toml, c(n)), _content), 2**20)

JSON = {
    "keys": lambda n: b"{" + b", ".join(b'"k%d": 1' % i for i in range(n)) + b"}",
    "the same key": lambda n: b"{" + b", ".join([b'"k": 1'] * n) + b"}",
    "long key": lambda n: b'{"' + b"k" * n + b'": 1}',
    "deep list": lambda n: b"[" * n + b"]" * n,
    "deep table": lambda n: b'{"a":' * n + b"1" + b"}" * n,
    "list": lambda n: b"[" + b"1," * n + b"1]",
    "digits": lambda n: b"[" + b"1" * n + b"]",
    "digits after a point": lambda n: b"[1." + b"1" * n + b"]",
    "text": lambda n: b'["' + b"x" * n + b'"]',
    "escapes": lambda n: b'["' + b"\\u0041" * n + b'"]',
    "spaces": lambda n: b" " * n + b"[]",
}  # fmt: skip
for _name, _content in JSON.items():
    AXES[f"record file: {_name}"] = Axis(
        partial(lambda c, n: partial(_written_and_read, sumpwise.ServiceRecord.load, c(n)), _content), 2**20
    )


# -- plain data: every list and every text of a job, a record, a ledger, a history, a sheet is made longer


def _places(data: Any, path: tuple[Any, ...] = ()) -> list[tuple[tuple[Any, ...], Any]]:
    """Every place of plain data with what stands there."""
    found = [(path, data)]
    if isinstance(data, dict):
        for key, inner in data.items():
            found += _places(inner, (*path, key))
    elif isinstance(data, list) and data:
        found += _places(data[0], (*path, 0))  # one entry stands for all of a list
    return found


def _with(data: Any, path: tuple[Any, ...], value: Any) -> Any:
    changed = copy.deepcopy(data)
    place = changed
    for step in path[:-1]:
        place = place[step]
    if not path:
        return value
    place[path[-1]] = value
    return changed


def _longer(data: Any, path: tuple[Any, ...], old: Any, n: int) -> Any:
    """Plain data of which one place is n times as long."""
    if isinstance(old, str):
        return _with(data, path, old + "x" * n)
    if isinstance(old, list):
        some = old or ["x"]
        return _with(data, path, (some * (n // len(some) + 1))[:n])
    return _with(data, path, {**old, **{f"key {i}": copy.deepcopy(next(iter(old.values()), 1)) for i in range(n)}})


USES: dict[str, Callable[[Any], Any]] = {
    "Job": lambda data: _planned(data),
    "Job.problems": lambda data: [str(error) for error in sumpwise.Job.problems(data)],
    "Sheet": lambda data: _told(sumpwise.Sheet.from_dict(data)),
    "ServiceRecord": lambda data: _told(sumpwise.ServiceRecord.from_dict(data)),
    "Ledger": lambda data: _counted(sumpwise.Ledger.from_dict(data)),
    "Vessel": lambda data: _told(sumpwise.Vessel.from_dict(data)),
    "FluidHistory": lambda data: _aged(sumpwise.FluidHistory.from_dict(data)),
}


def _told(thing: Any) -> Any:
    _shown(thing)
    return thing.to_dict()


def _planned(data: Any) -> Any:
    sheet = sumpwise.plan(sumpwise.Job.from_dict(data))
    sheet.to_json()
    sheet.to_markdown(full=False)
    _shown(sheet)
    return sheet


def _counted(ledger: Any) -> Any:
    _shown(ledger)
    return ledger.balance, ledger.running(), str(ledger.explain()), ledger.to_dict()


def _aged(history: Any) -> Any:
    _shown(history)
    return history.mean_age("9 y"), history.share_older_than("1 y", "9 y"), history.distribution("9 y"), history.to_dict()


KINDS_OF = {"text": str, "list": list, "keys": dict}
"""What grows -> how plain data hold it."""


def at(data: Any, path: places.Path) -> Any:
    """What stands at a place of plain data."""
    for step in path:
        data = data[step]
    return data


SCHEMAS = {"Job": sumpwise.Job, "Job.problems": sumpwise.Job, "Sheet": sumpwise.Sheet, "ServiceRecord": sumpwise.ServiceRecord,
           "Ledger": sumpwise.Ledger}  # fmt: skip
"""What is made longer -> whose schema says where it may be."""
JOB = ("services", places.ANY, "job")
"""Where a record has its jobs."""


def holding(name: str, path: places.Path, kind: str) -> tuple[Any, places.Path]:
    """Plain data that have something at this path of their schema, and its place."""
    data = _data()[name.partition(".")[0]]
    of_a_job = path[len(JOB) :] if path[: len(JOB)] == JOB else path if name.startswith("Job") else ()
    if places.located(data, path) is None and of_a_job[:1] and of_a_job[0] in schema.TABLES | schema.LISTS:  # what the demo does without
        table, key = of_a_job[0], of_a_job[-1] if len(of_a_job) > 1 else "note"
        inside = () if name.startswith("Job") else ("services", 0, "job")
        data = _with(data, inside, places.with_key(at(data, inside), table, key))
    elif places.located(data, path) is None and kind != "list" and (whole := places.located(data, path[:-1])) is not None:
        data = _with(data, (*whole, path[-1]), {} if kind == "keys" else "x")
    found = places.located(data, path)
    assert found is not None, f"{name}: no axis at {path}"
    return data, found


def place_name(name: str, path: places.Path, kind: str) -> str:
    """The name of the axis along one place of plain data."""
    return f"{name}: {kind} at {'/'.join(map(str, path)) or 'all of it'}"


def _enter_places() -> None:
    for name, use in USES.items():
        whole = _data()[name.partition(".")[0]]
        spots = [(whole, path, old) for path, old in _places(whole) if isinstance(old, (str, list, dict))]
        spots = [spot for spot in spots if not (name == "Sheet" and len(spot[1]) > 4)]
        for path, kind in places.growing(SCHEMAS[name].json_schema()) if name in SCHEMAS else ():
            data, found = holding(name, path, kind)
            old = at(data, found)
            spots.append((data, found, old if isinstance(old, KINDS_OF[kind]) else ("x" if kind == "text" else {})))
        for data, path, old in spots:
            kind = next(kind for kind, of in KINDS_OF.items() if isinstance(old, of))
            make = partial(lambda u, d, p, o, n: partial(u, _longer(d, p, o, n)), use, data, path, old)
            AXES[place_name(name, path, kind)] = Axis(make, 2**12 if name == "Job" else 2**16)


_enter_places()

# -- lists of a job whose entries all differ


def _job(change: Callable[[dict[str, Any], int], None], use: Callable[[Any], Any] = lambda data: _planned(data)) -> Maker:
    def make(n: int) -> Call:
        data = _small_job()
        change(data, n)
        return partial(use, data)

    return make


def _uncertain_history(data: dict[str, Any], n: int) -> None:
    data["history"] = [{"ago": f"{8 * i / n + 0.5:.6f} y ± 0.1 y", "share": "0.20(5)"} for i in range(n)]


def _plain_history(data: dict[str, Any], n: int) -> None:
    data["history"] = [{"ago": f"{8 * i / n + 0.5:.6f} y", "share": "20 %"} for i in range(n)]


def _vessels(data: dict[str, Any], n: int) -> None:
    data["vessel"] = [{"name": f"pail {i}", "graduation": "0.25 L"} for i in range(n)]
    data["log"] = [{"event": "drained", "vessel": f"pail {i}", "reading": "0.001 L", "temperature": "44 °C"} for i in range(n)]


def _unknown_vessels(data: dict[str, Any], n: int) -> None:
    _vessels(data, n)
    for i, entry in enumerate(data["log"]):
        entry["vessel"] = f"pial {n - i}"


def _one_vessel(data: dict[str, Any], n: int) -> None:
    data["log"] = [
        {"event": ("drained", "poured")[i % 2], "vessel": "pail", "reading": "1.5 L", "temperature": f"{20 + i % 40} °C"} for i in range(n)
    ]


def _bursts(data: dict[str, Any], n: int) -> None:
    data["exchange"] = {"refill": "3.2 L", "flow": "3.75 L/min", "reserve": "1.6 L"}
    data["log"] = [{"event": "drained", "vessel": "pail", "reading": "3.2 L", "temperature": "44 °C"}]
    data["log"] += [
        {"event": "poured", "vessel": "pail", "reading": "3.2 L", "temperature": "20 °C"},
        {"event": "emptied", "vessel": "pail"},
    ]
    for i in range(n):
        data["log"] += [
            {"event": "drained", "vessel": "pail", "reading": "1 L", "temperature": "40 °C", "duration": "20 s",
             "outlet_old": f"{60 * 0.95**min(i, 60):.1f} %"},
            {"event": "poured", "vessel": "pail", "reading": "1 L", "temperature": "20 °C"},
        ]  # fmt: skip


def _unmatched(data: dict[str, Any], n: int) -> None:
    _bursts(data, n)
    data["log"] = [{key: value for key, value in entry.items() if key != "outlet_old"} for entry in data["log"]]


def _sticks(data: dict[str, Any], n: int) -> None:
    data["level"] = {"marks_volume": "0.42 L", "marks_length": "13 mm", "window": "82–92 °C"}
    data["log"] = [{"event": "stick", "reading": f"{1 + i % 5} mm", "temperature": "86 °C"} for i in range(n)]


def _sticks_and_pours(data: dict[str, Any], n: int) -> None:
    data["level"] = {"marks_volume": "0.42 L", "marks_length": "13 mm", "window": "82–92 °C"}
    data["log"] = []
    for _i in range(n):
        data["log"] += [
            {"event": "stick", "reading": "5 mm", "temperature": "86 °C"},
            {"event": "drained", "vessel": "pail", "reading": "1.5 L", "temperature": "44 °C"},
            {"event": "poured", "vessel": "pail", "reading": "1.5 L", "temperature": "20 °C"},
        ]


def _drives(data: dict[str, Any], n: int) -> None:
    data["log"] += [{"event": "poured", "vessel": "pail", "reading": "3.35 L", "temperature": "20 °C"}]
    data["log"] += [{"event": "drive", "duration": "10 min"} for _ in range(n)]


def _drains_and_drives(data: dict[str, Any], n: int) -> None:
    data["log"] = []
    for _ in range(n):
        data["log"] += [
            {"event": "drained", "vessel": "pail", "reading": "3 L", "temperature": "44 °C"},
            {"event": "poured", "vessel": "pail", "reading": "3 L", "temperature": "20 °C"},
            {"event": "drive", "duration": "10 min"},
        ]


def _lost(data: dict[str, Any], n: int) -> None:
    data["log"] = [{"event": "lost", "volume": "0.001 ± 0.0005 L", "what": f"rag {i}", "temperature": "38 °C"} for i in range(n)]


def _signs(data: dict[str, Any], n: int) -> None:
    data["log"] = [{"event": "seen", "seen": "foam on the stick", "note": "x" * 50} for _ in range(n)]


def _packs(data: dict[str, Any], n: int) -> None:
    data["pack"] = [
        {"name": f"can {i}", "volume": f"{0.5 + i * 7919 % 9973 / 1000:.3f} L", "price": 5.0 + i * 104729 % 1009 / 100} for i in range(n)
    ]


def _components(data: dict[str, Any], n: int) -> None:
    data["component"] = [{"name": f"case {i}", "volume": "0.9 L", "fluid": f"fluid {i}"} for i in range(n)]
    data["pack"] += [{"name": f"can {i}", "volume": "1 L", "price": 9.0, "for": f"case {i}"} for i in range(n)]


def _unknown_components(data: dict[str, Any], n: int) -> None:
    _components(data, n)
    for pack in data["pack"]:
        pack["for"] = "nothing"


def _bolts(data: dict[str, Any], n: int) -> None:
    data["bolt"] = [{"name": f"bolt {i}", "torque": "34 N·m", "window": "31 to 37 N·m"} for i in range(n)]
    data["wrench"] = {"maximum": "110 N·m"}


def _near_misses(data: dict[str, Any], n: int) -> None:
    data["pack"] = [{"name": f"can number {i}", "volume": "1 L", "price": 9.0} for i in range(n)]
    data["log"] = [{"event": "poured", "vessel": f"cam numbr {i}", "reading": "0.3 L", "temperature": "20 °C"} for i in range(n)]


def _long_unknown_components(data: dict[str, Any], n: int) -> None:
    data["component"] = [{"name": f"case {i}" + "x" * 900, "volume": "0.9 L"} for i in range(n)]
    data["pack"] += [{"volume": "1 L", "price": 9.0, "for": "nothing"} for _ in range(n)]


def _long_notes(data: dict[str, Any], n: int) -> None:
    data["log"][0]["note"] = "x" * n


for _name, _change in {
    "uncertain history": _uncertain_history, "plain history": _plain_history, "vessels": _vessels, "unknown vessels": _unknown_vessels,
    "readings of one vessel": _one_vessel, "bursts with matches": _bursts, "bursts": _unmatched, "stick readings": _sticks,
    "stick readings and pours": _sticks_and_pours,
    "drives": _drives, "drains and drives": _drains_and_drives, "losses": _lost, "signs": _signs, "packs": _packs,
    "components": _components,
    "unknown components": _unknown_components, "names that nearly are": _near_misses, "long names": _long_unknown_components,
    "bolts": _bolts, "long note": _long_notes,
}.items():  # fmt: skip
    AXES[f"plan: {_name}"] = Axis(_job(_change), 2**14)
    AXES[f"Job.problems: {_name}"] = Axis(_job(_change, USES["Job.problems"]), 2**14)
    AXES[f"ServiceRecord.of: {_name}"] = Axis(
        _job(_change, lambda data: _told(sumpwise.ServiceRecord.of(sumpwise.Job.from_dict(data), 0.7))), 2**14
    )


# -- every list of a job, and a log of every kind of entry, each with different texts, in everything that is made from a job


def _entries(table: str, event: str, data: dict[str, Any], n: int) -> None:
    if table in ("vessel", "pack"):
        data["log"] = [{"event": "drained", "vessel": f"name {i}", "reading": "0.001 L", "temperature": "44 °C"} for i in range(n)]
    data[table] = [places.entry(table, event, i) for i in range(n)]
    if event == "stick":
        data["level"] = {"marks_volume": "0.42 L", "marks_length": "13 mm", "window": "82–92 °C"}


def _next(data: Any) -> Any:
    """The job of the next service, as a file."""
    return sumpwise.ServiceRecord.from_dict(data).next_toml(date="2040-11-27")


def _services(data: Any) -> Any:
    """The next job of a record of two such services."""
    job = sumpwise.Job.from_dict(data)
    record = sumpwise.ServiceRecord.of(job, 0.7, date="2026-11-27").add(job, 0.7, date="2028-11-27")
    return record.next_toml(date="2030-11-27")


def _compared(data: Any) -> Any:
    before, after = sumpwise.plan(sumpwise.Job.demo()), sumpwise.plan(sumpwise.Job.from_dict(data))
    return sumpwise.compare(before, after).to_markdown(), sumpwise.compare(after, after).to_json()


MADE: dict[str, Callable[[Any], Any]] = {
    "plan": lambda data: _planned(data),
    "Job.problems": USES["Job.problems"],
    "plan in both": lambda data: sumpwise.plan(sumpwise.Job.from_dict(data), "both").to_markdown(),
    "next": _services,
    "card": lambda data: _shown(sumpwise.number_card(sumpwise.Job.from_dict(data))),
    "pictures": lambda data: sumpwise.draw_pictures(sumpwise.Job.from_dict(data)),
    "compare": _compared,
}
"""What is made of a job."""
for _table in schema.LISTS:
    for _event in schema.EVENTS if _table == "log" else ("",):
        for _name, _use in MADE.items():
            AXES[f"{_name}: entries of {_table} {_event}".rstrip()] = Axis(_job(partial(_entries, _table, _event), _use), 2**13)


@axis("next: services", 2**10)
def _many_services(n: int) -> Call:
    record = _small_record()
    return partial(_next, {**record, "services": (record["services"][:1] * n)})


@axis("ServiceRecord: own fields of services", 2**10)
def _own_fields(n: int) -> Call:
    record = _small_record()
    services = [{**record["services"][0], **{f"mine {i}": "x" for i in range(n)}}]
    return partial(USES["ServiceRecord"], {**record, "services": services})


@axis("check_text: square table", 2**16)
def _square(n: int) -> Call:
    side = max(1, round(n**0.5 / 4))
    rows = ["| plug " + "| 34 N·m | 25 ft-lb " * side + "|\n"] * side
    return partial(sumpwise.check_text, "| a " + "| N·m | ft-lb " * side + "|\n" + "|--" + "|--|--" * side + "|\n" + "".join(rows))


# -- objects that are added to one by one


@axis("Ledger: one pail", 2**12)
def _ledger(n: int) -> Call:
    def work() -> Any:
        pail = sumpwise.Vessel("pail", "0.25 L", 0.98, 0.004)
        ledger = sumpwise.Ledger("847 kg/m³")
        for _ in range(n // 2):
            ledger = ledger.drained(pail, "1.5 L", "44 °C").poured(pail, "1.5 L", "20 °C", thermometer="probe")
        return _counted(ledger)

    return work


@axis("Ledger: pails", 2**12)
def _ledgers(n: int) -> Call:
    def work() -> Any:
        ledger = sumpwise.Ledger("847 kg/m³")
        for i in range(n):
            ledger = ledger.drained(sumpwise.Vessel(f"pail {i}", "0.25 L", 0.98, 0.004), "0.001 L", "44 °C", thermometer=f"probe {i}")
        return _counted(ledger)

    return work


@axis("Ledger: counting", 2**12)
def _counting(n: int) -> Call:
    def work() -> Any:
        pail = sumpwise.Vessel("pail", "0.25 L", 0.98, 0.004)
        ledger = sumpwise.Ledger("847 kg/m³")
        for _ in range(n // 2):
            ledger = ledger.drained(pail, "1.5 L", "44 °C", cumulative=True).poured(pail, "1.5 L", "20 °C")
        return ledger.counting()

    return work


@axis("FluidHistory: replaced", 2**12)
def _replaced(n: int) -> Call:
    def work() -> Any:
        history = sumpwise.FluidHistory("-9 y")
        for i in range(n):
            history = history.replace(0.2, f"{-8 + 8 * i / n:.6f} y")
        return _aged(history)

    return work


@axis("FluidHistory: uncertain", 2**12)
def _uncertain(n: int) -> Call:
    def work() -> Any:
        history = sumpwise.FluidHistory("-9(1) y")
        for i in range(n):
            history = history.replace("0.20(5)", f"{-8 + 8 * i / n:.6f} y ± 0.001 y")
        return _aged(history)

    return work


@axis("Circuit: operations", 2**12)
def _operations(n: int) -> Call:
    def work() -> Any:
        now = sumpwise.Circuit("3.73 L", "2.45 L", "0.62 L", "0.83 L", "1.05 L")
        for _ in range(n // 2):
            now = now.pump("1 L").pour("1 L")
        return now.resident, repr(now)

    return work


@axis("Circuit: uncertain operations", 2**12)
def _uncertain_operations(n: int) -> Call:
    def work() -> Any:
        now = sumpwise.Circuit("3.7(1) L", "2.45 L", "0.62 L", "0.83 L", "1.05 L")
        for _ in range(n // 2):
            now = now.pump("1 L").pour("1 L")
        return now.resident, repr(now)

    return work


@axis("inside_from_outlet: matches", 2**12)
def _matches(n: int) -> Call:
    now = sumpwise.Circuit("3.73 L", "2.45 L", "0.62 L", "0.83 L", "1.05 L").drain("3.65 L").pour("3.71 L")
    seen = []
    for i in range(n):
        burst = now.pump("0.1 L")
        seen.append((burst, max(0.9 * 0.99**i, 0.01)))
        now = burst.pour("0.1 L")
    return lambda: sumpwise.inside_from_outlet(seen, 0.8, now=now, draws=1000)


@axis("inside_from_outlet: draws", 2**22)
def _draws(n: int) -> Call:
    now = sumpwise.Circuit("3.73 L", "2.45 L", "0.62 L", "0.83 L", "1.05 L").drain("3.65 L").pour("3.71 L")
    return lambda: sumpwise.inside_from_outlet([(now.pump("1 L"), 0.6)], 0.8, draws=n)


@axis("over_horizon: changes", 2**14)
def _changes(n: int) -> Call:
    changes = [(f"{10 * i / n:.6f} y", 0.3, "3 L") for i in range(n)]
    return lambda: sumpwise.over_horizon(sumpwise.FluidHistory("-9 y"), changes, "0 y", "12 y", cost_per_litre=9.0)


@axis("over_horizon: uncertain changes", 2**14)
def _uncertain_changes(n: int) -> Call:
    changes = [(f"{10 * i / n:.6f} y", "0.30(5)", "3.0(1) L") for i in range(n)]
    return lambda: sumpwise.over_horizon(sumpwise.FluidHistory("-9(1) y"), changes, "0 y", "12 y", cost_per_litre=9.0)


@axis("repeated_changes: changes", 2**20)
def _repeated(n: int) -> Call:
    return lambda: sumpwise.repeated_changes(f"{12 / n:.9f} y", "0 y", "12 y", 0.3, "3 L")


@axis("compare_rhythms: rhythms", 2**12)
def _rhythms(n: int) -> Call:
    rhythms = {f"rhythm {i}": [("1 y", 0.3, "3 L")] for i in range(n)}
    return lambda: _shown(sumpwise.compare_rhythms(sumpwise.FluidHistory("-9 y"), rhythms, "0 y", "12 y", cost_per_litre=9.0))


@axis("cheapest_packs: packs", 2**14)
def _shelf(n: int) -> Call:
    packs = [(f"{0.5 + i * 7919 % 9973 / 1000:.3f} L", 5.0 + i * 104729 % 1009 / 100) for i in range(n)]
    return lambda: _shown(sumpwise.cheapest_packs(packs, "8(1) L"))


@axis("cheapest_packs: need", 2**22)
def _need(n: int) -> Call:
    return lambda: sumpwise.cheapest_packs([("0.999 L", 9.9), ("0.47 L", 5.3)], f"{n} L")


@axis("give_leftovers: components", 2**14)
def _leftovers(n: int) -> Call:
    parts = [(f"case {i}", "0.1 L", "X") for i in range(n)]
    return lambda: sumpwise.give_leftovers(f"{n} L", parts, "X")


@axis("book_meaning: meanings", 2**14)
def _meanings(n: int) -> Call:
    meanings = {f"meaning {i}": f"{3 + i / n:.6f}(9) L" for i in range(n)}
    return lambda: (
        sumpwise.book_meaning(
            "3.6 L",
            "3.6(1) L",
        )
        if n < 0
        else sumpwise.book_meaning("3.6(1) L", meanings)
    )


@axis("best_estimate: estimates", 2**12)
def _estimates(n: int) -> Call:
    return partial(sumpwise.best_estimate, [f"{3 + i / n:.6f}(9) L" for i in range(n)])


@axis("best_estimate: covariance", 2**10)
def _covariance(n: int) -> Call:
    return lambda: sumpwise.best_estimate([f"{3 + i / n:.4f} L" for i in range(n)], numpy.eye(n).tolist())


@axis("pooled: values", 2**14)
def _pooled(n: int) -> Call:
    return partial(sumpwise.pooled, [f"{3 + i / n:.6f}(9) L" for i in range(n)])


@axis("budget: sources", 2**14)
def _sources(n: int) -> Call:
    total = sumpwise.Ledger("847 kg/m³")
    for i in range(n):
        total = total.lost("0.001(1) L", f"rag {i}", "20 °C") if n <= 2**12 else total
    return lambda: _shown(sumpwise.budget(total.balance))


@axis("monte_carlo: draws", 10**7)
def _mc(n: int) -> Call:
    return lambda: sumpwise.monte_carlo(sumpwise.drain_refill, ["3.3 ± 0.15 L", "8.85 L"], draws=n, seed=1)


@axis("monte_carlo: inputs", 2**10)
def _mc_inputs(n: int) -> Call:
    return lambda: sumpwise.monte_carlo(lambda *values: sum(values), [f"{i}.0(1)" for i in range(n)], draws=1000, seed=1)


@axis("drain_refill_series: drains", 2**16)
def _series(n: int) -> Call:
    return partial(sumpwise.drain_refill_series, ["0.1 L"] * n, "8.85 L")


@axis("drain_refill_series: uncertain drains", 2**14)
def _uncertain_series(n: int) -> Call:
    return partial(sumpwise.drain_refill_series, ["0.10(1) L"] * n, "8.85 L")


@axis("blend_viscosity: fluids", 2**14)
def _blend(n: int) -> Call:
    return partial(sumpwise.blend_viscosity, [1 / n] * n, ["29.6 mm²/s"] * n)


@axis("blend_viscosity: uncertain fluids", 2**14)
def _uncertain_blend(n: int) -> Call:
    return partial(sumpwise.blend_viscosity, [1 / n] * n, ["29.6(5) mm²/s"] * n)


@axis("burst_plan: volume", 2**22)
def _plan_of_bursts(n: int) -> Call:
    return lambda: sumpwise.burst_plan(f"{n} L", "3.75 L/min", "1 L/min", "1.6 L", "9 L")


@axis("Vessel.calibrated: readings", 2**14)
def _calibrated(n: int) -> Call:
    readings = [f"{1 + i / n:.4f} L" for i in range(n)]
    return lambda: sumpwise.Vessel.calibrated("jug", "0.05 L", readings, [f"{1 + i / n:.4f} kg" for i in range(n)], "20 °C")


@axis("drains_needed: times", 10**9)
def _drains_needed(n: int) -> Call:
    return lambda: sumpwise.drains_needed(f"{1 / n:.12f} L", "1 L", 0.99)


@axis("exchange: tanks", 2**10)
def _tanks(n: int) -> Call:
    return lambda: sumpwise.exchange("9 L", "9 L", tanks=n)


# -- columns: every function that takes arrays, along the first of them and along all


def _column(call: dict[str, Any], name: str, every: bool, n: int) -> Call:
    function = getattr(sumpwise, name)
    given: dict[str, Any] = {}
    for key, one in call.items():
        value = sumpwise.quantity(one) if isinstance(one, str) else one
        if not function.arguments[key].scalar and (every or not given):
            magnitude = numpy.full(n, getattr(value, "magnitude", value), dtype=float)
            value = type(value)(magnitude, value.units) if hasattr(value, "units") else magnitude
        given[key] = value
    return partial(function, **given)


for _name, _call in CALLS.items():
    if not hasattr(getattr(sumpwise, _name), "arguments"):  # judges one claim at a time
        continue
    AXES[f"column of {_name}, one argument"] = Axis(partial(_column, _call, _name, False), 2**22)
    AXES[f"column of {_name}, all arguments"] = Axis(partial(_column, _call, _name, True), 2**22)


@axis("column of texts", 2**14)
def _texts(n: int) -> Call:
    return partial(sumpwise.drain_refill, ["3.3 L"] * n, "8.85 L")


@axis("column of uncertain texts", 2**14)
def _uncertain_texts(n: int) -> Call:
    return partial(sumpwise.drain_refill, ["3.3(1) L"] * n, "8.85 L")
