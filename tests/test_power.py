"""The power of the check values: every plausible wrong formula is rejected by one of them."""

from __future__ import annotations

import pathlib
import re

import pytest

import sumpwise
from power.making import Built, always, asked, given, size, told, without
from power.report import Trial, believed, main, page, power, trial, values
from power.wrong import WRONG
from sumpwise.verification.entries import load
from sumpwise.verification.publications import OUTSIDE
from sumpwise.verification.runner import check

PAGE = pathlib.Path(__file__).parents[1] / "docs/reference/power.rst"
EACH = [(function, wrong) for function in sorted(WRONG) for wrong in WRONG[function]]


@pytest.mark.parametrize(("function", "wrong"), EACH, ids=[" - ".join(one) for one in EACH])
def test_a_check_value_rejects_it(function, wrong):
    assert trial(function, wrong).rejected_by, f"{function} believed with {wrong!r} passes all of its {len(values(function))} check values"


def test_every_function_with_a_check_value_has_wrong_formulas():
    held = {entry.function for entry in load() if entry.known not in ("memory", "common practice")}
    assert held <= set(WRONG)
    assert all(WRONG.values())


def test_the_right_formulas_stand_again_afterwards():
    before = dict(vars(sumpwise.Circuit))
    right = sumpwise.drain_refill
    with believed("drain_refill", always(0.5)), believed("Circuit.drain", asked()):
        assert sumpwise.drain_refill(drained="1 L", capacity="8 L") == 0.5
        assert vars(sumpwise.Circuit)["drain"] is not before["drain"]
    assert sumpwise.drain_refill is right
    assert vars(sumpwise.Circuit)["drain"] is before["drain"]
    with pytest.raises(ZeroDivisionError), believed("drain_refill", always(0.5)):
        raise ZeroDivisionError
    assert sumpwise.drain_refill is right


def test_the_makers_make_what_they_say():
    right = sumpwise.drain_refill
    assert without("start")(right)(drained="1 L", capacity="2 L", start=0.5) == 0.5
    assert asked(times=lambda k: k["times"] + 1)(right)(drained="1 L", capacity="2 L", times=1) == 0.75
    assert given(lambda fresh, k: fresh - size(k["drained"], "L"))(right)(drained="1 L", capacity="2 L") == -0.5
    assert told(lambda balance: "told")(sumpwise.Ledger.balance).fget(sumpwise.Ledger("850 kg/m³")) == "told"
    with believed("Circuit.pump", Built(without("start"))):
        assert sumpwise.Circuit(sump="1 L", converter="1 L", cooler="1 L", start=0.5).resident == 0


def test_a_right_formula_is_rejected_by_nothing():
    with believed("drain_refill", asked()):
        assert all(check(entry).passed for entry in values("drain_refill"))


def test_the_command_reports_the_power_of_every_function(capsys, tmp_path):
    written = tmp_path / "power.rst"
    assert main(["--page", str(written)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[-1].startswith(f"{len(EACH)} of {len(EACH)} wrong formulas are rejected; ")
    assert len(lines) == len(EACH) + 1
    assert not [line for line in lines if "SURVIVES" in line]
    named = [re.findall(r"^   \* - (\S+)\n     - (.+)$", path.read_text(encoding="utf-8"), re.M) for path in (written, PAGE)]
    assert named[0] == named[1], "write it anew: python tests/power/report.py --page docs/reference/power.rst"


def test_a_survivor_shows():
    lost = Trial("drain_refill", "nothing wrong", ())
    assert "0 of 1 plausible wrong formulas" in page((lost,))
    assert "\n     - nothing\n" in page((lost,))


def test_most_are_rejected_from_outside():
    trials = power()
    assert sum(bool(t.outside) for t in trials) >= 0.75 * len(trials)
    assert all(entry.known in OUTSIDE for t in trials for entry in t.outside)
