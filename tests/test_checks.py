"""How the level is checked decides the first and the last steps, and what the sheet says of the level."""

from __future__ import annotations

import pytest

from sumpwise import Job, plan
from sumpwise.service.checks import CHECKS
from sumpwise.service.kinds import KINDS


def sheet(check, kind="automatic", **tables):
    vehicle = {"name": "example wagon", "kind": kind} | ({"level_check": check} if check else {})
    return plan(Job.from_dict({"vehicle": vehicle, **tables}))


def steps(check, kind="automatic", **tables):
    return [line.partition(". ")[2] for line in sheet(check, kind, **tables).section("steps").lines]


@pytest.mark.parametrize("kind", [name for name, kind in KINDS.items() if kind.level_check == "fill hole"])
def test_what_is_filled_to_a_hole_has_its_fill_plug_loosened_before_it_is_drained(kind):
    told = steps(None, kind)
    loosen = next(i for i, step in enumerate(told) if "Loosen the fill plug before you drain" in step)
    drain = next(i for i, step in enumerate(told) if step.startswith("Drain the plug"))
    assert loosen < drain
    assert "until it runs out" in told[drain + 1]
    assert not any("gears" in step for step in told)
    assert "lower edge of the fill hole" in sheet(None, kind).section("level").lines[0]


def test_an_overflow_plug_is_closed_in_its_window_and_the_window_has_its_price():
    tables = {"level": {"window": "40–45 °C"}, "capacity": {"total": "7.0 L"}, "fluid": {"density_15": "850 kg/m³"}}
    told = steps("overflow plug", **tables)
    assert told[-1].startswith("At a fluid temperature of 40–45 °C, engine running, open the overflow plug")
    line = sheet("overflow plug", **tables).section("level").lines[0]
    assert "it is 12 mL fuller than in the middle, at the hot end 12 mL less full" in line  # 7 L·(0.6278/850 - 3·23e-6)·2.5 is 11.7 mL
    bare = sheet("overflow plug")
    assert "maker's procedure" in bare.section("level").lines[0]
    assert steps("overflow plug")[-1].startswith("At the maker's temperature")


def test_a_sealed_unit_goes_to_trained_hands():
    told = sheet("sealed")
    assert told.section("steps").lines[0].startswith("1. A sealed unit has no level check")
    assert "not for the owner" in told.section("level").lines[0]
    assert "Drain the plug" not in told.to_markdown()


def test_a_stick_is_read_before_and_after():
    told = steps("stick")
    assert "maker's level check before you begin" in told[0]
    assert "check the level by the maker's procedure and at its temperature; add a little at a time" in told[-1]
    told = [line.partition(". ")[2] for line in plan(Job.demo()).section("steps").lines if line[:1].isdigit()]
    assert told[0].startswith("Read the level on the stick at 82–92 °C")
    assert "check the level on the stick at 82–92 °C; add at most" in told[-1]


@pytest.mark.parametrize("check", ["stick", "overflow plug"])
def test_after_bursts_the_line_is_back_on_before_the_level_is_checked(check):
    told = [line.partition(". ")[2] for line in plan(Job.demo().with_(vehicle={"level_check": check})).section("steps").lines]
    line = next(i for i, step in enumerate(told) if step.startswith("Put the line back on"))
    level = max(i for i, step in enumerate(told) if "on the stick at" in step or "overflow plug" in step)
    assert line < level
    assert not any("add at most" in step for step in told[:line])


@pytest.mark.parametrize("check", CHECKS)
def test_several_drains_say_how_often(check):
    told = steps(check, target={"method": "drains"})
    assert check == "sealed" or "3 times in all" in told[-1]
