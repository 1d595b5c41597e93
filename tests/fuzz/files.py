"""Surfaces that read plain data and files, and what is made from them."""

from __future__ import annotations

import atexit
import json
import os
import shutil
import tempfile
import threading
from collections.abc import Callable
from functools import cache
from typing import Any

import sumpwise
from fuzz.objects import pail
from fuzz.surfaces import Case, options, surface
from fuzz.values import KINDS, Draw, changed, mutated, nonsense, number, plain, text, value, window
from sumpwise.errors import SumpwiseError


@cache
def _data() -> dict[str, Any]:
    from sumpwise.measurement import measured

    job = sumpwise.Job.demo()
    history = sumpwise.FluidHistory("-9(1) y").replace("0.375 ± 0.02", "0 y").replace(0.5, "60 month")
    ledger = sumpwise.Ledger("847(3) kg/m³", capacity="8.8 ± 0.1 L").started("-0.17(3) L").drained(pail(), "3.35 L", "44 °C")
    ledger = ledger.lost("0.11 ± 0.05 L", "filter", "38 °C").emptied(pail()).poured(pail(), "3.7 L", "17(1) °C", thermometer="probe")
    record = sumpwise.ServiceRecord.of(job, measured(0.776, standard=0.02), date="2026-11-27")
    kept: dict[str, Any] = {
        "Job": job,
        "Sheet": sumpwise.plan(job),
        "ServiceRecord": record.add(job, measured(0.8, standard=0.02), date="2028-11-27"),
        "Ledger": ledger,
        "Vessel": pail(),
        "FluidHistory": history,
    }
    return {name: json.loads(json.dumps(thing.to_dict())) for name, thing in kept.items()} | {"small Job": _small_job()}


def _small_record() -> dict[str, Any]:
    """A record of two services, one of which teaches nothing."""
    kept = _data()["ServiceRecord"]
    jobs = [{**_small_job(), "vehicle": {**_small_job()["vehicle"], "date": day}} for day in ("2022-11-27", "2026-11-27")]
    return {**kept, "vehicle": "wagon", "services": [{**kept["services"][0], "job": job} for job in jobs]}


def _small_job() -> dict[str, Any]:
    return {
        "vehicle": {"name": "wagon", "age": "9 y", "level_check": "stick"},
        "capacity": {"total": "8.85 L", "plug_drain": "3.2 ± 0.2 L"},
        "fluid": {"density_15": "847 kg/m³", "temperature": "17 °C"},
        "vessel": [{"name": "pail", "graduation": "0.25 L"}],
        "pack": [{"volume": "5 L", "price": 46.5}],
        "bolt": [{"name": "plug", "torque": "34 N·m", "window": "31 to 37 N·m"}],
        "log": [{"event": "drained", "vessel": "pail", "reading": "3.35 L", "temperature": "44 °C"}],
    }


def _read_and_used(kind: Any, data: Any) -> Any:
    """Read plain data; what is accepted must also show and write itself."""
    made = kind.from_dict(data)
    again = kind.from_dict(json.loads(json.dumps(made.to_dict(), allow_nan=False)))
    shown = [repr(made), made.to_dict() == again.to_dict()]
    for name in ("_repr_markdown_", "_repr_html_"):
        if hasattr(made, name):
            shown.append(getattr(made, name)())
    if isinstance(made, sumpwise.Ledger):
        shown += [made.balance, str(made.explain())]
    if isinstance(made, sumpwise.FluidHistory):
        with_errors(shown, lambda: made.mean_age("9 y"))
    return shown


def with_errors(shown: list[Any], call: Callable[[], Any]) -> None:
    """Note an answer or a refusal."""
    try:
        shown.append(call())
    except SumpwiseError as error:
        shown.append(str(error))


def _enter_data() -> None:
    for name, share in (
        ("Job", 1),
        ("small Job", 3),
        ("Sheet", 1),
        ("ServiceRecord", 0.6),
        ("Ledger", 3),
        ("Vessel", 3),
        ("FluidHistory", 3),
    ):
        kind = getattr(sumpwise, name.rpartition(" ")[2])

        def make(draw: Draw, name: str = name, kind: Any = kind) -> Case:
            return _read_and_used, (kind, changed(draw, _data()[name], plain) if draw.random() < 0.98 else nonsense(draw)), {}

        surface(f"from_dict of {name}", share, name.rpartition(" ")[2])(make)


_enter_data()


@surface("plan", 0.1, "plan", "compare_methods", "draw_pictures", "save_pictures", "plan_many", "compare")
def _plan(draw: Draw) -> Case:
    call = draw.choice((sumpwise.plan, sumpwise.plan, sumpwise.compare_methods, sumpwise.draw_pictures, _saved, _among_many, _changed))
    if draw.random() < 0.05:
        return call, (nonsense(draw),), {}
    data = changed(draw, _small_job() if draw.random() < 0.8 else _data()["Job"], plain)
    return _planned, (call, data), {}


def _among_many(job: Any) -> Any:
    [planned] = sumpwise.plan_many([job])
    if planned.error is not None:
        raise planned.error
    return planned.sheet


def _saved(job: Any) -> Any:
    """The pictures of a job, in a folder of this thread's own."""
    return sumpwise.save_pictures(job, f"{_file()}-pictures")


def _changed(job: Any) -> Any:
    return sumpwise.compare(sumpwise.plan(sumpwise.Job.demo()), sumpwise.plan(job)).to_markdown()


def _planned(call: Any, data: Any) -> Any:
    return call(sumpwise.Job.from_dict(data))


def _file() -> str:
    """A file of this thread's own."""
    return os.path.join(_folder(), f"file-{threading.get_ident()}")


@cache
def _folder() -> str:
    folder = tempfile.mkdtemp(prefix="sumpwise-fuzz-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def _spoilt(draw: Draw, content: bytes) -> bytes:
    """A file with bytes flipped, lines doubled or lost, cut off, or in another encoding."""
    how = draw.randrange(8)
    if how == 0:
        return content[: draw.randrange(len(content))]
    if how == 1:
        lines = content.splitlines(keepends=True)
        at = draw.randrange(len(lines))
        return b"".join(lines[:at] + lines[at : at + 1] * draw.randrange(3) + lines[at + 1 :])
    if how == 2:
        return content.decode().encode(draw.choice(("utf-16", "latin-1", "cp1252", "utf-8-sig", "utf-32")), "replace")
    if how == 3:
        lines = content.splitlines(keepends=True)
        draw.shuffle(lines)
        return b"".join(lines)
    if how == 4:
        return mutated(draw, content.decode()).encode("utf-8", "surrogatepass")
    spoilt = bytearray(content)
    for _ in range(draw.randrange(1, 5)):
        at = draw.randrange(len(spoilt))
        spoilt[at : at + draw.randrange(2)] = bytes([draw.randrange(256)]) if how < 7 else text(draw).encode("utf-8", "surrogatepass")
    return bytes(spoilt)


def _written_and_read(read: Any, content: bytes) -> Any:
    with open(_file(), "wb") as file:
        file.write(content)
    return repr(read(_file()))


SMALL_TOML = b"""\
title = "wagon"
[vehicle]
name = "wagon"
age = "9 y"
[capacity]
total = "8.85 L"
plug_drain = "3.2 \xc2\xb1 0.2 L"
[fluid]
density_15 = "847 kg/m\xc2\xb3"
temperature = "17 \xc2\xb0C"
[[vessel]]
name = "pail"
graduation = "0.25 L"
[[log]]
event = "drained"
vessel = "pail"
reading = "3.35 L"
temperature = "44 \xc2\xb0C"
"""


@surface("Job.from_toml", 3, "Job")
def _toml(draw: Draw) -> Case:
    if draw.random() < 0.01:
        return sumpwise.Job.from_toml, (draw.choice(("", "\x00", "no/such/file", ".", nonsense(draw))),), {}
    return _written_and_read, (sumpwise.Job.from_toml, _spoilt(draw, SMALL_TOML)), {}


@surface("ServiceRecord.load", 0.5, "ServiceRecord")
def _load(draw: Draw) -> Case:
    content = json.dumps(_small_record(), ensure_ascii=False).encode()
    return _written_and_read, (sumpwise.ServiceRecord.load, _spoilt(draw, content)), {}


@surface("records and cards", 0.3, "ServiceRecord", "number_card", "evidence")
def _records(draw: Draw) -> Case:
    pick = draw.random()
    if pick < 0.4:
        record = sumpwise.ServiceRecord.from_dict(_small_record())
        day = draw.choice((None, None, "2030-11-27", "2020-01-01", text(draw), nonsense(draw)))
        call = draw.choice((record.next_job, record.next_toml))
        return call, (value(draw, "time", True), value(draw, "length", True)), {} if day is None else {"date": day}
    if pick < 0.5:
        return sumpwise.evidence, (draw.choice(("convert", "nothing", sumpwise.exchange, nonsense(draw))),), {}
    numbers = {
        text(draw): draw.choice((text(draw), value(draw, draw.choice(KINDS)), window(draw, "torque"))) for _ in range(draw.randrange(4))
    }
    return (
        sumpwise.number_card,
        (numbers if draw.random() < 0.9 else nonsense(draw),),
        options(draw, title=text, quart=lambda d: d.choice(("US", "imperial", "x"))),
    )


@surface("plots", 0.02, "plot_freshness", "plot_level", "plot_balance", "plot_mean_age", "plot_methods")
def _plots(draw: Draw) -> Case:
    def numbers() -> Any:
        return (
            [number(draw) if draw.random() < 0.3 else draw.random() for _ in range(draw.choice((0, 1, 3, 3, 3)))]
            if draw.random() < 0.9
            else nonsense(draw)
        )

    pick = draw.randrange(5)
    if pick == 0:
        return sumpwise.plot_freshness, (numbers(), numbers(), numbers()), {}
    if pick == 1:
        return sumpwise.plot_level, (numbers(), numbers(), draw.choice(([82, 92], numbers())), number(draw)), {}
    if pick == 2:
        return sumpwise.plot_balance, ([text(draw) for _ in range(3)], numbers()), options(draw, title=text)
    call = sumpwise.plot_mean_age if pick == 3 else sumpwise.plot_methods
    return call, (numbers(), {text(draw): numbers()} if draw.random() < 0.9 else nonsense(draw)), options(draw, title=text)
