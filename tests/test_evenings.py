"""Whole evenings under the vehicle, logged entry by entry: what the sheet says next is right, and is what it said before."""

from __future__ import annotations

import pytest

from sumpwise import Job, ServiceRecord, plan
from sumpwise.service.case import Case
from sumpwise.uncertainty import nominal

PLUG = {
    "vehicle": {"name": "example van", "level_check": "overflow plug", "cooler_line": False, "date": "2024-02-29"},
    "capacity": {"total": "7.2 ± 0.1 L", "plug_drain": "4.00 ± 0.02 L"}, "target": {"fresh": "80 %"},
    "pack": [{"volume": "1 L", "price": 12}],
}  # fmt: skip


def job(base, *log, **tables):
    return Job.from_dict(base | tables | {"log": list(log)})


def drained(reading, warm="20 °C", **more):
    return {"event": "drained", "reading": reading, "temperature": warm, **more}


def poured(reading, warm="20 °C", **more):
    return {"event": "poured", "reading": reading, "temperature": warm, **more}


def spilled(volume, what="on the floor"):
    return {"event": "lost", "volume": volume, "what": what}


DRIVE = {"event": "drive"}


def said(made, key="next"):
    return "\n".join(plan(made).section(key).lines)


def test_what_is_spilled_later_takes_no_pan_off():
    evening = [drained("4.1 L"), poured("3.5 L"), DRIVE, drained("3.9 L"), poured("3.9 L")]
    for spills in ([], [spilled("0.15 L", "ran out of the overflow plug")]):
        made = job(PLUG, *evening, *spills)
        assert not Case(made).pan_off
        assert "New fluid inside so far" in said(made, "now")
        assert ServiceRecord.of(made).services
    assert Case(job(PLUG, drained("4.1 L"), spilled("0.3 L", "tray under the pan"))).pan_off


def test_a_pack_of_another_fluid_is_never_poured_into_the_unit():
    red = [{"name": "can", "volume": "5 L", "price": 40}, {"name": "bottle", "volume": "1 L", "price": 9}]
    other = {"name": "axle bottle", "volume": "0.5 L", "price": 8, "for": "rear axle"}
    base = {
        "vehicle": {"name": "example wagon"}, "capacity": {"total": "9 L", "plug_drain": "3.3 ± 0.1 L"}, "fluid": {"name": "red"},
        "component": [{"name": "rear axle", "fluid": "gear oil", "volume": "1 L"}], "pack": [*red, other],
    }  # fmt: skip
    assert "3 × bottle and 0.30 L of another" in said(job(base, drained("3.3 L")))
    for reading in ("0.5 L", "1.5 L"):
        assert job(base, drained("3.3 L"), poured(reading)).entries("log")[1]["vessel"] == "bottle"
    [error] = Job.problems(base | {"log": [poured("0.5 L", vessel="axle bottle")]})
    assert error.code == "vessel.other_fluid"
    assert "wrong bottle" in str(error)
    same = base | {"pack": [*red, other | {"for": "red"}]}
    assert job(same, poured("0.5 L")).entries("log")[0]["vessel"] == "axle bottle"
    shared = same | {"component": [{"name": "rear axle", "fluid": "red", "volume": "1 L"}], "pack": [*red, other]}
    assert job(shared, poured("0.5 L")).entries("log")[0]["vessel"] == "axle bottle"


def test_packs_hold_what_is_printed_on_them_however_cold_they_are():
    evening = [drained("4.0 L")]
    for warm in ("-15 °C", "20 °C", "38 °C"):
        made = job(PLUG, *evening, fluid={"temperature": warm})
        assert "**Pour 4.0 L** of new fluid, 4 × 1 L, as labelled" in said(made)
        assert nominal(Case(job(PLUG, *evening, poured("4 L", warm))).agreement.moves[-1].balance) == pytest.approx(0.0, abs=0.02)
        assert nominal(Case(job(PLUG, poured("0.5 L", warm))).agreement.moves[-1].balance) == pytest.approx(0.5)
    measured = Case(job(PLUG, poured("0.50 ± 0.02 L", "-15 °C"))).agreement.moves[-1].balance
    assert nominal(measured) == pytest.approx(0.5 * (1 + 35 * 0.00074), rel=1e-3)


def test_what_is_poured_next_is_among_what_is_to_be_bought():
    two = {"pack": [{"name": "quart bottle", "volume": "1 qt", "price": 7.49}, {"name": "jug", "volume": "1 gal", "price": 24.99}]}
    base = {"vehicle": {"name": "example truck"}, "capacity": {"total": "11.5 qt", "plug_drain": "4.5 ± 0.2 qt"}}
    base |= {"target": {"fresh": "70 %"}}
    made = job(base | two, drained("4 3/4 qt"))
    bought = plan(made).section("buy").data["packs"]
    assert bought["quart bottle"] < 4 < 4 * bought["jug"]
    assert "1 × jug and 0.75 US qt of one quart bottle" in said(made)
    assert "**Pour 24 US fl oz** of new fluid, out of one quart bottle" in said(job(base | two, drained("4 3/4 qt"), poured("1 gal")))
    assert "out of one of 1 L" in said(job(PLUG, drained("4.0 L"), poured("3.5 L")))
