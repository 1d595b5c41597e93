"""Errors about values that were written in a unit of their own: what was read as it was given, and the mend in that unit."""

from __future__ import annotations

import pint
import pytest

from sumpwise import (
    Circuit,
    Dipstick,
    Job,
    Ledger,
    Vessel,
    best_use,
    burst_plan,
    cost_per_litre_year,
    drain_refill,
    drain_refill_series,
    drains_needed,
    longest_burst,
    plan,
    pour_rate,
    setting_band,
    viscosity_at,
    volume_at,
)
from sumpwise.errors import SumpwiseError
from sumpwise.quantities.telling import between, in_unit, unit_given
from sumpwise.quantities.units import INTERNAL, by_symbol

Q = pint.get_application_registry().Quantity

BETWEEN_VALUES = [
    (lambda: drain_refill("12 qt", "9.4 qt"), "drained: read '12 qt': must be at most the capacity; accepted: at most 9.4 qt"),
    (
        lambda: drain_refill("12 qt", "9 L"),
        "drained: read '12 qt': must be at most the capacity; accepted: at most 9 L, which is 9.51 US qt",
    ),
    (
        lambda: drain_refill("12 L", "9.4 qt"),
        "drained: read '12 L': must be at most the capacity; accepted: at most 9.4 qt, which is 8.89571 L",
    ),
    (lambda: drain_refill(Q(12, "quart"), "9 L"), "read 12 quart: must be at most the capacity; accepted: at most 9 L, which is 9.51 "),
    (lambda: drain_refill(Q(12, "quart"), Q(9.4, "quart")), "read 12 quart: must be at most the capacity; accepted: at most 9.4 quart"),
    (lambda: drain_refill(["3 qt", "12 qt"], "9.4 qt"), "drained[1]: read '12 qt': must be at most the capacity; accepted: at most 9.4 qt"),
    (lambda: drain_refill(Q([3, 12], "quart"), "9.4 qt"), "drained[1]: read 12 quart: must be at most the capacity"),
    (
        lambda: drain_refill("12 qt", ["13 qt", "9.4 qt"]),
        "drained[1]: read '12 qt': must be at most the capacity; accepted: at most 9.4 qt",
    ),
    (lambda: drain_refill(["3 qt", "12 qt"], "9.4 qt", errors="collect").problems[0].error, None),
    (
        lambda: drain_refill_series(["3 qt", "12 qt"], "9.4 qt"),
        "drains[1]: read '12 qt': must be at most the capacity; accepted: at most 9.4 qt",
    ),
    (
        lambda: drains_needed("12 qt", "9 L", 0.9),
        "drained: read '12 qt': must be at most the capacity; accepted: at most 9 L, which is 9.51 US qt",
    ),
    (
        lambda: viscosity_at("80 C", Q(6, "cSt"), "29 cSt"),
        "viscosity_40: read 6 centistokes: must be thicker than at 100 °C; accepted: above 29 cSt",
    ),
    (
        lambda: setting_band("43 ft-lb", "34 N·m", "4 %"),
        "lower: read '43 ft-lb': is above the upper limit; accepted: at most 34 N·m, which is 25.07 lbf·ft",
    ),
    (
        lambda: setting_band("25 ft-lb", "30 ft-lb", "4 %", wrench_maximum="20 ft-lb"),
        "accepted: at least 26.05 lbf·ft (use a larger wrench)",
    ),
    (
        lambda: cost_per_litre_year(200, "9 qt", "48 months", "5 y"),
        "age_with: read '5 y': saves no age; accepted: below 48 months, which is 4 y",
    ),
    (
        lambda: Circuit("4 qt", "2.4 L", "0.6 L").drain("12 qt"),
        "volume: read '12 qt': is more than the sump holds; accepted: at most 4 US qt",
    ),
    (lambda: Circuit("4 qt", "2.4 L", "0.6 L").pump("12 qt"), "takes the sump down to -8 US qt"),
]
BEHIND_OTHERS = [
    (
        lambda: drains_needed("0.0001 qt", "9 qt", 0.9),
        "drained: read '0.0001 qt': more than 10000 drains would be needed (drain more at a time)",
    ),
    (
        lambda: burst_plan("8 qt", "4 qt/min", "1 qt/min", "0.1 qt", "2 qt"),
        "reserve: read '0.1 qt': is used up before anyone can stop the engine; accepted: above 0.1334 US qt",
    ),
    (lambda: longest_burst("0.1 qt", "4 qt/min"), "reserve: read '0.1 qt': is used up before anyone can stop the engine"),
    (
        lambda: longest_burst("1 qt", "4 qt/min", "5 L/min"),
        "pour_rate: read '5 L/min': keeps up with the pump, so the pump never starves; accepted: below 4 qt/min, which is 3.78541 L/min",
    ),
    (
        lambda: best_use(Circuit("4 qt", "2.4 L", "0.6 L"), "20 qt", drain="12 qt"),
        "drain: read '12 qt': is more than the sump holds; accepted: at most 4 US qt",
    ),
    (
        lambda: best_use(Circuit("4 qt", "2.4 L", "0.6 L"), "20 qt", drain="1 qt", burst="0.1 qt", drains=50, bursts=100, drives=3),
        "volume: read '20 qt': gives ",
    ),
    (
        lambda: Dipstick("10 qt", "1/2 in", "9 qt", "850 kg/m³", "180-200 °F"),
        "volume_between_marks: read '10 qt': is more than the whole fill; accepted: below 9 qt",
    ),
]
SINGLE = [
    (
        lambda: volume_at("9 qt", "500 °F", "20 °C", "850 kg/m³"),
        "read '500 °F': is out of range; accepted: a temperature, at least -58 °F and at most 302 °F",
    ),
    (lambda: volume_at("9 qt", Q(500, "degF"), "20 °C", "850 kg/m³"), "at least -58 °F and at most 302 °F"),
    (lambda: volume_at("9 qt", "500 °C", "20 °C", "850 kg/m³"), "at least -50 °C and at most 150 °C"),
    (lambda: pour_rate("-1 in", "2 ft", "1 ft", "30 cSt"), "bore: read '-1 in': is out of range; accepted: a length, above 0 in"),
    (lambda: drain_refill("3 qt", "0 qt"), "capacity: read '0 qt': is out of range; accepted: a volume, above 0 US qt"),
    (lambda: burst_plan("8 qt", "4 qt/min", "1 qt/min", "1 qt", "9 qt", burst="3 qt"), "US qt"),
    (lambda: Ledger("847 kg/m³", capacity="9 qt").drained(Vessel("pail", "1 qt"), "15 qt", "20 °C"), "accepted: up to 9"),
]


def message(call):
    try:
        error = call()
    except SumpwiseError as caught:
        error = caught
    assert isinstance(error, SumpwiseError)
    return error


@pytest.mark.parametrize(("call", "told"), [*BETWEEN_VALUES, *BEHIND_OTHERS, *SINGLE])
def test_what_was_read_and_its_limit_are_told_as_they_were_given(call, told):
    error = message(call)
    assert (told or "read '12 qt': must be at most the capacity; accepted: at most 9.4 qt") in str(error)
    assert error.to_dict()["value"] == error.value
    assert error.limits is None or error.limits[2] in ("", *INTERNAL.values())


def test_what_a_kernel_says_of_its_arguments_keeps_its_code():
    with pytest.raises(SumpwiseError) as caught:
        drains_needed("0.0001 qt", "9 qt", 0.9)
    assert (caught.value.code, caught.value.limits) == ("limit.count", (0, 10_000, ""))


def job(**tables):
    return Job.problems({"vehicle": {"name": "example wagon"}, **tables})


IN_A_JOB = [
    ({"capacity": {"total": "9.4 qt", "plug_drain": "12 qt"}}, "read '12 qt': exceeds the total; accepted: at most 9.4 qt ("),
    (
        {"capacity": {"total": "8.9 L", "plug_drain": "12 qt"}},
        "read '12 qt': exceeds the total; accepted: at most 8.9 L, which is 9.404 US qt",
    ),
    (
        {"capacity": {"total": "8.9 L", "plug_drain": "8 qt", "pan_and_filter": "4 qt"}},
        "read '8 qt and 4 qt': plug drain and pan together exceed the total",
    ),
    (
        {"capacity": {"total": "8.9 L"}, "level": {"marks_volume": "10 qt", "marks_length": "13 mm", "window": "82–92 °C"}},
        "read '10 qt': is more than the whole fill; accepted: below 8.9 L, which is 9.404 US qt, the total",
    ),
    (
        {"level": {"marks_volume": "40 qt", "marks_length": "13 mm", "window": "82–92 °C"}},
        "accepted: below 9.51 US qt, the total that is assumed",
    ),
    (
        {"fluid": {"viscosity_40": "6 cSt", "viscosity_100": "29 mm²/s"}},
        "read '6 cSt': must be thicker than at 100 °C; accepted: above 29 mm²/s (",
    ),
    (
        {"vessel": [{"name": "pail", "graduation": "1 qt", "reading": "60 qt"}]},
        "read '60 qt': is no reading error of this scale; accepted: below 50 US qt",
    ),
    (
        {"bolt": [{"name": "plug", "torque": "43 ft-lb", "window": "31-37 Nm"}]},
        "read '43 ft-lb': is outside its own window; accepted: 31-37 Nm, which is 22.87 lbf·ft to 27.28 lbf·ft",
    ),
    (
        {"bolt": [{"name": "plug", "torque": "43 ft-lb", "window": "22-27 ft-lb"}]},
        "read '43 ft-lb': is outside its own window; accepted: 22-27 ft-lb (",
    ),
    (
        {"vehicle": {"name": "example wagon", "fluid_age": "9 y"}, "history": [{"ago": "144 months", "share": "40 %"}]},
        "read '144 months ago': was before the fluid was new; accepted: up to 9 y ago",
    ),
]


@pytest.mark.parametrize(("tables", "told"), IN_A_JOB)
def test_a_job_shows_what_was_written(tables, told):
    (error,) = job(**tables)
    assert told in str(error)


def test_a_log_that_cannot_be_shows_what_was_written():
    entry = {"event": "drained", "vessel": "pail", "reading": "5 qt", "temperature": "400 °F"}
    tables = {"vehicle": {"name": "example wagon"}, "vessel": [{"name": "pail", "graduation": "1 qt"}], "log": [entry]}
    text = plan(Job.from_dict(tables)).to_markdown()
    assert "read '400 °F': is out of range; accepted: at least -58 °F and at most 302 °F" in text


def test_a_limit_in_another_unit_is_never_outside_the_limit():
    quart = by_symbol("US qt")
    assert in_unit(8.9, quart) == "9.404 US qt"  # 9.40453
    assert in_unit(8.9, quart, upward=True) == "9.405 US qt"
    assert in_unit(9.4 * quart.factor, quart) == "9.4 US qt"
    assert in_unit(-50.0, by_symbol("°F"), upward=True) == "-58 °F"
    assert between((None, 150.0, "°C"), "80 °F") == "at most 302 °F"


def test_the_unit_of_what_was_given():
    assert unit_given("about 12-13 qt", "volume").symbol == "US qt"
    assert unit_given([["12 qt"]], "volume").symbol == "US qt"
    assert unit_given("no volume", "volume").symbol == "L"
    assert unit_given(Q(3, "m"), "volume").symbol == "L"
    assert unit_given(None, "torque").symbol == "N·m"


def test_a_stick_reads_its_temperature_in_the_unit_given():
    stick = Dipstick("0.42 L", "13 mm", "8.85 L", "847 kg/m³", "82–92 °C")
    with pytest.raises(SumpwiseError, match="at least -58 °F and at most 302 °F"):
        stick.error("5 mm", "400 °F")
