"""Threads at once, with the global lock of Python or without it: first use, shared objects, shared caches, one record file.

An app that answers several people starts with several first questions, and they come together. What is built on first use must then be
whole for all of them.
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from concurrent.futures import ThreadPoolExecutor

import pint
import pytest

from sumpwise import (
    FileError,
    Job,
    Ledger,
    RangeError,
    ServiceRecord,
    Vessel,
    check_text,
    convert,
    drain_refill,
    measured,
    plan,
    quantity,
    uncertainty,
)
from sumpwise.quantities import _pint
from sumpwise.quantities.arguments import MEMO, argument
from sumpwise.service.filing import recorded
from test_embedding import process
from test_vehicle_record import service

AT_ONCE = 8


@pytest.fixture(autouse=True)
def _often():
    """Threads take turns far more often than usual."""
    before = sys.getswitchinterval()
    sys.setswitchinterval(1e-4)
    yield
    sys.setswitchinterval(before)


def together(*work):
    """What eight threads get that begin at the same moment; each does one of the pieces of work, in turn."""
    gate = threading.Barrier(AT_ONCE)

    def one(number):
        gate.wait()
        return work[number % len(work)]()

    with ThreadPoolExecutor(AT_ONCE) as pool:
        return list(pool.map(one, range(AT_ONCE)))


FIRST = {
    "a quantity": "str(sumpwise.quantity('3.6 ± 0.1 L'))",
    "a conversion": "str(sumpwise.convert('3 qt', 'L'))",
    "a torque": "str(sumpwise.wrench_setting('34 N·m', '300 mm', '45 mm'))",
    "a balance": "str(sumpwise.Ledger('847 kg/m³').poured(sumpwise.Vessel('pail', '0.25 L'), '3.7 L', '17 °C').balance)",
    "draws": "str(sumpwise.monte_carlo(lambda v: sumpwise.drain_refill(v, '8.85 L'), {'v': '3.3 ± 0.1 L'}, draws=1000, seed=1))",
    "a circuit": "sumpwise.Circuit('3.9 ± 0.1 L', '2.45 L', '0.62 L').pump('1 L').resident",
    "a plan": "sumpwise.plan(sumpwise.Job.demo()).to_json()",
    "pictures": "sorted(sumpwise.draw_pictures(sumpwise.Job.demo()).items())",
    "a description": "str(sumpwise.check_text('34 Nm (25 ft-lb), 3.5 L (3 qt)'))",
    "check values": "[one.printed for one in sumpwise.evidence(sumpwise.convert)]",
    "a record": "sumpwise.ServiceRecord.of(sumpwise.Job.demo(), date='2026-11-27').to_dict()",
    "errors": "[str(e) for e in sumpwise.Job.problems({'vehicle': {'name': 3}, 'capacity': {'total': 'no'}})]",
    "every name": "len([getattr(sumpwise, name) for name in sumpwise.__all__ if not name.startswith('plot_')])",
}

BEGIN = """
import threading
from concurrent.futures import ThreadPoolExecutor
import sumpwise
questions = [{questions}]
gate = threading.Barrier(8)
def first(n):
    gate.wait()
    return [repr(ask()) for ask in questions[n:] + questions[:n]]
with ThreadPoolExecutor(8) as pool:
    answers = list(pool.map(first, range(8)))
print([len(set(alike)) for alike in zip(*map(sorted, answers))])
"""


def begun(*kinds):
    """How many different answers eight threads of a fresh process get to each of some questions, each thread with a different one first."""
    code = BEGIN.format(questions=", ".join(f"lambda: {FIRST[kind]}" for kind in kinds))
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=300, check=False, env=process())
    return done.stdout + done.stderr


@pytest.mark.parametrize("kind", ["a quantity", "a plan", "draws", "every name"])
def test_the_same_first_question_of_eight_threads_at_once_is_answered(kind):
    assert begun(kind) == "[1]\n"


def test_first_questions_of_all_kinds_at_once_are_answered():
    assert begun(*FIRST) == f"{[1] * len(FIRST)}\n"


FORKED = """
import os, sys, sumpwise
from sumpwise.quantities import _pint
from sumpwise.uncertainty import sources
with _pint._first, sources._entry:
    child = os.fork()
    if not child:
        print(sumpwise.quantity("3.6 ± 0.1 L"), flush=True)
        os._exit(0)
sys.exit(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork on this system")
def test_a_child_forked_while_another_thread_is_building_waits_for_nobody():
    done = subprocess.run([sys.executable, "-c", FORKED], capture_output=True, text=True, timeout=60, check=False, env=process())
    assert (done.returncode, done.stderr) == (0, "")
    assert "3.6" in done.stdout


def test_no_two_sources_are_one():
    made = [one for many in together(lambda: [uncertainty.new_uid() for _ in range(20_000)]) for one in many]
    assert len(set(made)) == len(made) == 20_000 * AT_ONCE


def test_an_error_that_several_name_at_once_has_one_distribution():
    """Who comes second with another is told, however close behind."""
    shapes = ("normal", "rectangular", "triangular", "arcsine")

    def named(name, shape):
        found = []
        for turn in range(100):
            try:
                found.append(uncertainty.shared(f"{name} {turn}", shape=shape).shape)
            except RangeError as error:
                found.append(error.allowed)
        return found

    for turn in range(5):
        got = together(*(lambda s=s, t=turn: named(f"clock {t}", s) for s in shapes))
        assert [alike for alike in zip(*got, strict=True) if len({*alike}) > 1] == []


def test_readings_of_eight_threads_are_independent_and_a_shared_vessel_is_one():
    pail = Vessel("pail", "0.25 L", 0.98, 0.004)

    def poured():
        return Ledger("847 kg/m³").poured(pail, "3.7 L", "17 °C").balance.magnitude

    for _ in range(20):
        found = together(poured)
        scale = [{s for s in uncertainty.derivatives(one) if s.role == "scale"} for one in found]
        reading = [s for one in found for s in uncertainty.derivatives(one) if s.role == "reading"]
        assert len(set.union(*scale)) == 1
        assert len(set(reading)) == len(reading) >= AT_ONCE


def test_one_job_one_sheet_and_one_record_serve_all():
    job, sheet = Job.demo(), plan(Job.demo())
    record = ServiceRecord.of(service(), 0.4, date="2022-11-27", distance="80 000 km").add(
        service("3.50 L"), 0.5, date="2026-11-27", distance="136 500 km"
    )
    ways = [
        lambda: plan(job).to_json(),
        lambda: plan(job, units="US").to_markdown(),
        lambda: (sheet.to_markdown(), sheet.to_json()),
        lambda: (sheet.to_json(), sheet.to_markdown(), str(sheet)),
        lambda: (str(record), str(record.learned), record.next_job().to_dict(), record.history.mean_age("1 y").magnitude),
        lambda: (record.next_toml(), record.to_dict(), record.next_due),
    ]
    for _ in range(2):
        job, sheet = Job.demo(), plan(Job.demo())
        record = ServiceRecord.from_dict(record.to_dict())
        for number, found in enumerate(together(*ways)):
            assert repr(found) == repr(ways[number % len(ways)]())


def test_what_is_worked_out_when_needed_is_worked_out_once_for_all():
    for _ in range(30):
        balance = Ledger("847 kg/m³").poured(Vessel("pail", "0.25 L"), "3.7 L", "17 °C").drained(Vessel("tray", "0.1 L"), "3.3 L", "44 °C")
        number = balance.balance.magnitude
        doubtful = drain_refill(measured("3.3 L", standard="0.4 L"), "3.3 L", 3)
        got = together(lambda n=number: (n - n).std_dev, lambda n=number: 2 * n - n, lambda d=doubtful: uncertainty.caution(d))
        assert set(got[::3]) == {0.0}
        assert {(one - number).std_dev for one in got[1::3]} == {0.0}
        assert len(set(got[2::3])) == 1


def test_the_memory_of_texts_is_bounded_and_right_with_all_at_it():
    volume = argument("volume")

    def read():
        return [volume.value(f"{n}.25 L") for n in range(4 * MEMO)]

    assert together(read) == [[n + 0.25 for n in range(4 * MEMO)]] * AT_ONCE
    assert len(volume.memo) <= MEMO + AT_ONCE


def test_registries_come_and_go_in_threads():
    """The cache of a registry goes with it, and no other registry is taken for it."""

    def shop(litres):
        quarts = []
        for _ in range(40):
            own = pint.UnitRegistry(None)
            own.define("meter = [length]")
            own.define(f"quart = {litres / 1000} * meter ** 3")
            quarts.append(round(argument("volume").value(own.Quantity(1.0, "quart")), 9))
        return set(quarts)

    found = together(*(lambda n=n: shop(n + 1) for n in range(AT_ONCE)))
    assert found == [{n + 1.0} for n in range(AT_ONCE)]
    assert _pint._resolved.keys() == _pint._containers.keys() == _pint._watched.keys()


def test_a_registry_that_threads_share_is_asked_by_all_for_the_first_time():
    for _ in range(5):
        shared = pint.UnitRegistry()
        asked = together(
            lambda r=shared: convert(r.Quantity(2.0, "imperial_quart"), "L").magnitude.__round__(9),
            lambda r=shared: drain_refill(r.Quantity(3.0, "quart"), "8.85 L", 2).__round__(9),
            lambda r=shared: str(convert(r.Quantity(34.0, "newton * meter"), "lbf·ft")),
        )
        assert len({*asked[::3]}) == len({*asked[1::3]}) == len({*asked[2::3]}) == 1


def test_eight_threads_enter_their_services_in_one_record(tmp_path):
    """If the record was changed meanwhile, the thread reads it again; no service is lost, and none is entered twice."""
    path, todo, lock = tmp_path / "wagon.json", iter(range(12)), threading.Lock()
    told = []

    def enter():
        while True:
            with lock:
                number = next(todo, None)
                if number is None:
                    return
            while True:
                try:
                    recorded(service(), path, 0.4, date=following(path), distance=None)
                    break
                except FileError as error:
                    told.append(error.code)
                except Exception as error:
                    if getattr(error, "code", "") not in ("record.service", "time.order"):
                        raise
                    told.append(error.code)

    together(enter)
    days = [one.date for one in ServiceRecord.load(path).services]
    assert len(set(days)) == len(days) == 12
    assert {*told} <= {"file.changed", "file.exists", "file.busy", "record.service", "time.order"}
    assert [one.name for one in tmp_path.iterdir()] == ["wagon.json"]


def following(path):
    """The day after the last service of a record."""
    import datetime

    last = ServiceRecord.load(path).services[-1].date if path.exists() else datetime.date(2020, 1, 1)
    return (last + datetime.timedelta(days=1)).isoformat()


def test_all_kinds_of_work_at_once_come_to_what_they_come_to_alone(tmp_path):
    job = Job.demo()

    def kept():
        path = tmp_path / f"{threading.get_ident()}.json"
        recorded(job, path, 0.7, date="2026-11-27")
        text = ServiceRecord.load(path).to_dict()
        path.unlink()
        return str(text)

    ways = [
        lambda: plan(job).to_markdown(),
        lambda: [str(convert(f"{n} qt", "L")) for n in range(1, 600)],
        lambda: [str(quantity(f"{n}/8 gal")) for n in range(1, 600)],
        lambda: str(check_text("Torque 34 Nm (25 ft-lb). Drain 3.5 L (3.7 qt). " * 40)),
        kept,
        lambda: [drain_refill([f"{n} L", "1 L"], "8.85 L", n).tolist() for n in range(1, 8)],
    ]
    alone = [way() for way in ways]
    for turn in range(3):
        ordered = ways[turn:] + ways[:turn]
        expected = alone[turn:] + alone[:turn]
        assert together(*ordered) == [expected[n % len(expected)] for n in range(AT_ONCE)]


def test_a_sum_that_nobody_has_asked_yet_has_one_uncertainty():
    """uncertainties works it out from a list that it empties: two at once would each get a part of it."""
    for _ in range(20):
        parts = [uncertainty.source(1.0, 0.1) for _ in range(400)]
        whole = sum(2 * part for part in parts)
        got = together(lambda w=whole: uncertainty.standard(w), lambda w=whole: len(uncertainty.derivatives(w)))
        assert got == pytest.approx([2 * 0.1 * 400**0.5, 400] * 4)


def test_one_sheet_is_written_the_same_by_all_who_read_it_first():
    for _ in range(5):
        sheet = plan(Job.demo())
        assert len(set(together(lambda s=sheet: s.to_markdown(full=True)))) == 1
