"""What is left alone: global state, the caller's arrays, other threads, and modules a plain answer does not need."""

from __future__ import annotations

import contextlib
import locale
import os
import random
import subprocess
import sys
import threading
import warnings

import numpy
import pint
import pytest

from sumpwise import SumpwiseError, convert, quantity, uncertainty
from sumpwise.mixing import drain_refill, drain_refill_series, drains_needed, exchange, volume_needed
from sumpwise.quantities import notation
from sumpwise.quantities.boundary import argument
from sumpwise.torque import applied_torque, clamp_load, permissible_deviation, setting_band, wrench_setting

APP = pint.application_registry.get()
OTHER = pint.UnitRegistry()
OTHER.formatter.default_format = "~P"


def test_no_global_state_is_touched():
    def everything():
        formats = APP.formatter.default_format, OTHER.formatter.default_format
        return numpy.geterr(), list(warnings.filters), formats, dict(os.environ), locale.setlocale(locale.LC_ALL), random.getstate()

    before, drawn = everything(), numpy.random.get_state()[1].tolist()
    for call in (
        lambda: drain_refill("2.9 ± 0.1 L", OTHER.Quantity(8, "L"), 3),
        lambda: drain_refill(APP.Quantity([1e-300, 1e-308], "L"), "1e300 L"),
        lambda: volume_needed([0.5, 0.9], "8 qt", 5),
        lambda: convert("10 °C", "°F"),
        lambda: drain_refill("x", "8 L"),
        lambda: clamp_load("34 N·m", "14 mm", "0.20 ± 0.05"),
    ):
        with contextlib.suppress(SumpwiseError):
            call()
    assert everything() == before
    assert numpy.random.get_state()[1].tolist() == drawn
    assert pint.application_registry.get() is APP


def test_arrays_of_the_caller_are_left_as_they_were():
    litres, millilitres, degrees = numpy.array([1.0, 2.0]), numpy.array([1000.0, 2000.0]), numpy.array([32.0, 212.0])
    drain_refill(APP.Quantity(litres, "L"), "8 L", [1, 2], refilled="1 L")
    drain_refill(APP.Quantity(millilitres, "mL"), "8 L")
    argument("temperature").value(APP.Quantity(degrees, "degF"))
    assert (litres.tolist(), millilitres.tolist(), degrees.tolist()) == ([1, 2], [1000, 2000], [32, 212])


def fresh_process(code: str) -> str:
    env = {**os.environ, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p)}
    return subprocess.run([sys.executable, "-W", "error", "-c", code], env=env, check=True, capture_output=True, text=True).stdout


HEAVY = ["numpy", "pint", "uncertainties", "re", "typing", "dataclasses", "functools", "fractions", "inspect", "enum", "collections"]


@pytest.mark.parametrize(
    ("code", "heavy"),
    [
        ("import sumpwise", HEAVY),
        ("import sumpwise.quantities, sumpwise.mixing, sumpwise.fluid, sumpwise.filling, sumpwise.measurement", HEAVY),
        ("import sumpwise; sumpwise.drain_refill('2.9 L', '7.7 L', 3)", HEAVY),
        ("import sumpwise; sumpwise.drains_needed('2.9 L', '7.7 L', 0.9)", HEAVY),
        ("import sumpwise; sumpwise.drain_refill_series(['2.9 L'], '7.7 L')", ["pint", "uncertainties"]),
        ("import sumpwise; sumpwise.exchange('2.9 L', '7.7 L', 4)", ["numpy", "pint", "uncertainties"]),
        ("import sumpwise; sumpwise.permissible_deviation('110 N·m')", HEAVY),
        ("import sumpwise; sumpwise.drain_refill([0], '1 L')", ["pint", "uncertainties"]),
        ("import sumpwise\ntry: sumpwise.drain_refill('9 L', '8 L')\nexcept sumpwise.SumpwiseError as e: str(e)", HEAVY),
    ],
)
def test_a_plain_answer_waits_for_nothing(code, heavy):
    loaded = fresh_process(f"import sys; before = set(sys.modules)\n{code}\nprint(*sorted(set(sys.modules) - before))").split()
    assert "sumpwise" in loaded
    assert not set(heavy) & set(loaded)


@pytest.mark.parametrize("job", ["Job.from_dict({'vehicle': {'name': 'example wagon'}})", "Job.demo()"])
def test_a_sheet_waits_for_no_quantity_that_nobody_asks_for(job):
    """A plan is made, written and stored in plain numbers without pint, which is loaded when a Quantity is asked for."""
    sheet = f"from sumpwise import Job, plan, compare_methods; job = {job}; made = plan(job)"
    written = "made.to_markdown(), made._repr_html_(), made.to_dict(), made.to_json(), str(made), plan(job, 'both').to_markdown()"
    compared = "methods = compare_methods(job); methods.to_dict(), methods._repr_markdown_()"
    last = "import sys; assert 'pint' not in sys.modules; print(methods['drain'].volume.to('mL').units, 'pint' in sys.modules)"
    assert fresh_process("; ".join((sheet, written, compared, last))).split() == ["milliliter", "True"]


def test_the_command_line_waits_for_no_quantity(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text('[vehicle]\nname = "example wagon"\n', encoding="utf-8")
    said = fresh_process(f"import sys; from sumpwise.__main__ import main; main([{str(path)!r}]); print('pint' in sys.modules)")
    assert "example wagon" in said
    assert said.split()[-1] == "False"


def test_eight_threads_agree():
    calls = [
        lambda i: drain_refill(f"{i % 7 + 1} L", "8.9 L", 3),
        lambda i: volume_needed(0.9, OTHER.Quantity(float(i % 5 + 1), "quart")).magnitude,
        lambda i: wrench_setting("34 N·m", f"{i + 300} mm", "45 mm").magnitude,
        lambda i: exchange(f"{i} mL", "8 L", 1 + i % 4).resident,
        lambda i: uncertainty.standard(drain_refill("2.9 ± 0.1 L", "8 L", 1 + i % 3)),
        lambda i: drains_needed("2 L", "8 L", 0.9),
        lambda i: convert(f"{i} qt", "L").magnitude,
        lambda i: applied_torque("34 N·m", "300 mm", ["45 mm", f"{i} mm"]).magnitude[1],
        lambda i: setting_band("31 N·m", "37 N·m", 0.04).lower.magnitude,
        lambda i: clamp_load("34 N·m", "14 mm", 0.2).magnitude,
        lambda i: permissible_deviation(f"{i + 1} N·m"),
        lambda i: drain_refill_series(["3 L", f"{i} mL"], "8 L"),
        lambda i: argument("volume").value(pint.UnitRegistry(None).Quantity(1, "") if i < 0 else quantity(f"{i} gal")),
        lambda i: notation.read(f"{i}.5 L").value,
    ]
    rounds = range(700)
    expected = [[call(i) for i in rounds] for call in calls]
    wrong: list[object] = []
    start = threading.Barrier(8)

    def hammer(first: int) -> None:
        start.wait()
        try:
            for i in rounds:
                which = (first + i) % len(calls)
                if calls[which](i) != expected[which][i]:
                    wrong.append((which, i))
        except Exception as error:  # the thread's own end would say nothing
            wrong.append(error)

    threads = [threading.Thread(target=hammer, args=(n,)) for n in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []
