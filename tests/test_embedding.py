"""What an app must be able to count on: nothing global is touched, threads agree, copies and files keep what values share."""

from __future__ import annotations

import copy
import decimal
import json
import locale
import os
import pickle
import random
import re
import subprocess
import sys
import threading
import warnings
from concurrent.futures import ThreadPoolExecutor

import numpy
import pint
import pytest
import uncertainties

import sumpwise
from fuzz import files, surfaces
from fuzz.__main__ import drawn
from sumpwise import (
    Circuit,
    FluidHistory,
    Job,
    Ledger,
    ServiceRecord,
    SumpwiseError,
    Vessel,
    budget,
    drain_refill,
    measured,
    plan,
    quantity,
    span,
    uncertainty,
)

UNSEEDED = {"sampling"}
"""Surfaces whose answers are drawn anew each time."""

SEED = 20
EACH = 8
SLOW = {"plan": 1, "best use and outlet evidence": 2, "plots": 2, "from_dict of ServiceRecord": 2}


def cases():
    assert files.__doc__
    return [(name, number) for name in surfaces.SURFACES if name not in UNSEEDED for number in range(SLOW.get(name, EACH))]


def answer(name, number):
    """The result of a generated call as a text; the same for the same case, wherever it runs."""
    function, args, kwargs = surfaces.SURFACES[name][1](drawn(name, SEED, number))
    try:
        found = repr(function(*args, **kwargs))
    except (SumpwiseError, TypeError) as error:
        found = f"{type(error).__name__}: {error}"
    return re.sub(r"0x[0-9a-f]+|file-\d+", "", found)


def process():
    """The environment of a process that finds what this one finds."""
    return {**os.environ, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p), "PYTHONIOENCODING": "utf-8"}


def everything_global():
    registry = pint.get_application_registry().get()
    return {
        "registry": id(registry), "format": registry.formatter.default_format, "offsets": registry.autoconvert_offset_to_baseunit,
        "preprocessors": list(registry.preprocessors), "ndarray": registry.force_ndarray,
        "filters": list(warnings.filters), "numpy errors": numpy.geterr(), "numpy printing": str(numpy.get_printoptions()),
        "locale": locale.setlocale(locale.LC_ALL), "random": random.getstate(), "numpy random": str(numpy.random.get_state()),
        "environment": dict(os.environ), "folder": os.getcwd(), "decimal": str(decimal.getcontext()), "recursion": sys.getrecursionlimit(),
        "digits": sys.get_int_max_str_digits(), "threads": threading.active_count(), "path": list(sys.path),
    }  # fmt: skip


def test_the_surfaces_cover_the_face():
    public = {name: getattr(sumpwise, name) for name in sumpwise.__all__}
    errors = {name for name, value in public.items() if isinstance(value, type) and issubclass(value, Exception)}
    assert set(public) - errors - {"verify"} <= surfaces.COVERED
    assert set(sumpwise.__all__) >= surfaces.COVERED


def test_calling_the_whole_face_leaves_everything_global_alone():
    before = everything_global()
    for name, number in cases():
        answer(name, number)
    after = everything_global()
    assert {key: (before[key], after[key]) for key in before if before[key] != after[key]} == {}


def test_importing_and_calling_leave_a_fresh_process_alone():
    code = """
import decimal, locale, os, random, sys, warnings
import numpy, pint, uncertainties
def state():
    return (pint.application_registry.get() is registry, registry.formatter.default_format, list(warnings.filters), numpy.geterr(),
            str(numpy.get_printoptions()), locale.setlocale(locale.LC_ALL), random.getstate(), str(numpy.random.get_state()),
            dict(os.environ), str(decimal.getcontext()))
registry = pint.application_registry.get()
before = state()
import sumpwise
for name in sumpwise.__all__:
    getattr(sumpwise, name)
sumpwise.plan(sumpwise.Job.demo()).to_markdown()
assert sumpwise.verify().passed
assert state() == before
print("alone")
"""
    command = [sys.executable, "-W", "error", "-c", code]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False, env=process())
    assert done.stdout.strip() == "alone", done.stderr


def test_the_command_runs_with_warnings_as_errors():
    done = subprocess.run([sys.executable, "-W", "error", "-m", "sumpwise"], capture_output=True, timeout=120, check=False, env=process())
    assert (done.returncode, done.stderr) == (0, b"")


def test_eight_threads_give_the_answers_of_one():
    work = cases()
    alone = {case: answer(*case) for case in work}
    together = threading.Barrier(8)

    def hammer(seed):
        order = list(work)
        random.Random(seed).shuffle(order)
        together.wait()
        return {case: answer(*case) for case in order}

    with ThreadPoolExecutor(8) as pool:
        found = list(pool.map(hammer, range(8)))
    wrong = [(case, alone[case][:200], one[case][:200]) for one in found for case in work if one[case] != alone[case]]
    assert wrong == []
    assert sum(re.match(r"\w+Error: ", text) is None for text in alone.values()) > 100


# -- what values share survives


def spread(x):
    return uncertainty.standard(getattr(x, "magnitude", x))


def through_pickle(x):
    return pickle.loads(pickle.dumps(x))


WAYS = {
    "copy": copy.copy,
    "deepcopy": copy.deepcopy,
    "pickle": through_pickle,
    "pickle twice": lambda x: through_pickle(through_pickle(x)),
}
PAIL = Vessel("pail", "0.25 L", 0.98, 0.004)


def ledger():
    begun = Ledger("847 kg/m³").started("-0.17(3) L").drained(PAIL, "3.35 L", "44 °C")
    return begun.lost("0.11 ± 0.05 L", "filter", "38 °C").emptied(PAIL).poured(PAIL, "3.7 L", "17 °C")


CIRCUIT = Circuit("3.9 ± 0.1 L", "2.45 L", "0.62 L").drain("3 L").pour("3 L")

VALUES = {
    "a reading": quantity("3.6 ± 0.1 L"),
    "a measured value": measured("3.35 L", limits="0.0625 L", name="pail"),
    "a share": drain_refill("3.3 ± 0.1 L", "8.85 L", 3),
    "a temperature": quantity("80 ± 2 °C"),
    "a balance": ledger().balance,
    "an age": FluidHistory("-9(1) y").replace("0.375 ± 0.02", "0 y").mean_age("4 y"),
    "a stick": Job.demo().value("capacity", "plug_drain"),
    "a circuit's outlet": CIRCUIT.resident,
}


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("name", VALUES)
def test_a_value_and_its_copy_are_one_measurement(name, way):
    value = VALUES[name]
    again = WAYS[way](value)
    assert spread(value) > 0
    assert spread(again) == pytest.approx(spread(value), rel=1e-12)
    assert spread(value - again) <= 1e-12 * spread(value)
    first, second = (budget(x).rows for x in (value, again))
    assert [row.name for row in first] == [row.name for row in second]


@pytest.mark.parametrize("way", WAYS)
def test_two_results_that_share_a_source_still_share_it_after_separate_copies(way):
    drained = measured("3.3 L", standard="0.1 L", name="drained")
    one, other = drain_refill(drained, "8.85 L"), drain_refill(drained, "8.85 L", 3)
    one, other = WAYS[way](one), WAYS[way](other)
    assert uncertainties.correlation_matrix([one, other])[0][1] == pytest.approx(1.0)


@pytest.mark.parametrize("way", [*WAYS, "json"])
def test_a_ledger_keeps_the_error_its_readings_share(way):
    kept = ledger()
    again = Ledger.from_dict(json.loads(json.dumps(kept.to_dict()))) if way == "json" else WAYS[way](kept)
    assert spread(again.balance) == pytest.approx(spread(kept.balance), rel=1e-12)
    difference = kept.poured(PAIL, "1 L", "20 °C").balance - again.balance
    # the vessel's scale is one error before and after: what is left is the new reading's own
    names = {row.name for row in budget(difference).rows if row.share > 1e-9}
    assert "pail, scale" in names
    scale = next(row.contribution.m_as("L") for row in budget(difference).rows if row.name == "pail, scale")
    assert abs(scale) == pytest.approx(0.004, rel=0.01)


@pytest.mark.parametrize("way", [*WAYS, "json"])
def test_a_history_keeps_its_sources(way):
    kept = FluidHistory("-9(1) y").replace("0.375 ± 0.02", "0 y")
    again = FluidHistory.from_dict(json.loads(json.dumps(kept.to_dict()))) if way == "json" else WAYS[way](kept)
    assert spread(kept.mean_age("4 y") - again.mean_age("4 y")) <= 1e-9


@pytest.mark.parametrize("precision", [2, 28])
def test_the_callers_decimal_context_has_no_say(precision):
    usual = plan(Job.demo()).to_markdown()
    with decimal.localcontext() as context:
        context.prec = precision
        context.traps[decimal.Inexact] = True
        assert plan(Job.demo()).to_markdown() == usual


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize(
    "thing",
    [
        Job.demo(), plan(Job.demo()), ServiceRecord.of(Job.demo(), 0.776), PAIL, span("31 to 37 N·m"), budget(ledger().balance),
        ledger().explain(), CIRCUIT, FluidHistory("-9(1) y").replace(0.5, "0 y"),
    ],
    ids=lambda thing: type(thing).__name__,
)
def test_everything_copies_and_pickles(thing, way):
    again = WAYS[way](thing)
    assert repr(again) == repr(thing)
    if hasattr(thing, "to_dict"):
        assert again.to_dict() == thing.to_dict()


def test_a_source_pickled_in_another_process_is_a_new_one_here_once():
    code = "import pickle, sys, sumpwise; sys.stdout.buffer.write(pickle.dumps(sumpwise.measured('3 L', standard='0.1 L')))"
    sent = subprocess.run([sys.executable, "-c", code], capture_output=True, timeout=60, check=True, env=process()).stdout
    one, other = pickle.loads(sent), pickle.loads(sent)
    assert spread(one - other) == 0
    assert spread(one - measured("3 L", standard="0.1 L")) > 0.1
