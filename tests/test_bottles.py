"""A log without a [[vessel]]: bottles of the pack are poured, and what is not described gets an assumed uncertainty, with its reason."""

from __future__ import annotations

from math import hypot, sqrt

import pytest

from shared import said
from sumpwise import Job, SumpwiseError, plan
from sumpwise.__main__ import main
from sumpwise.service.case import Case
from sumpwise.service.entering import entered
from sumpwise.uncertainty import nominal, standard

QUART = 0.946352946
SHORT_QUART = 0.015 / 1.96
"""Litres: what the law lets a pack of half a litre to a litre lack, 15 mL, which 2.5 % of a batch may exceed (EU Directive 76/211/EEC)."""
DEGREE = 0.00074
"""Share of a volume of fluid of 850 kg/m³ for a degree, which a garage thermometer may be wrong by (API MPMS 11.1)."""
TEXT = """[vehicle]
name = "example wagon"

[capacity]
total = "12-15 qt"

[[pack]]
volume = "1 qt"
price = 9
"""


def job(*log, packs=("1 qt",), **tables):
    data = {"vehicle": {"name": "example wagon"}, "capacity": {"total": "13 qt"}, "pack": [{"volume": v, "price": 9} for v in packs]}
    return Job.from_dict(data | tables | {"log": list(log)})


def drained(reading, **more):
    return {"event": "drained", "reading": reading, **more}


def poured(reading, **more):
    return {"event": "poured", "reading": reading, **more}


def moved(made):
    return [move.moved for move in Case(made).agreement.moves]


def test_whole_bottles_are_known_as_well_as_the_law_has_them_full():
    one, three = (moved(job(poured(text, temperature="20 °C")))[0] for text in ("1 qt", "3 qt"))
    assert nominal(one) == pytest.approx(QUART)
    assert standard(one) == pytest.approx(SHORT_QUART, rel=1e-3)  # printed at 20 °C: no thermometer is in it
    assert nominal(three) == pytest.approx(3 * QUART)
    assert standard(three) == pytest.approx(sqrt(3) * SHORT_QUART, rel=1e-3)


def test_part_of_a_bottle_is_poured_by_eye():
    half = moved(job(poured("2 1/2 qt", temperature="20 °C")))[0]
    assert standard(half) == pytest.approx(hypot(sqrt(2) * SHORT_QUART, 0.1 * QUART / sqrt(3)), rel=1e-3)
    own = moved(job(poured("2.5 ± 0.1 qt", temperature="20 °C")))[0]
    assert standard(own) == pytest.approx(hypot(0.1 * QUART / sqrt(3), 2.5 * QUART * DEGREE), rel=1e-3)


@pytest.mark.parametrize(
    ("reading", "vessel"),
    [("5 qt", "5 qt"), ("10 qt", "5 qt"), ("3 qt", "1 qt"), ("2 1/2 qt", "1 qt"), ("2.84 L", "1 qt"), ("1 pt", "1 qt")],
)
def test_the_pack_meant_is_the_largest_that_goes_in_whole(reading, vessel):
    assert job(poured(reading), packs=("1 qt", "5 qt")).entries("log")[0]["vessel"] == vessel


def test_a_pack_may_be_named_and_a_typing_error_is_not_one():
    named = {"pack": [{"name": "can", "volume": "5 L", "price": 40}, {"volume": "1 L", "price": 9}]}
    assert job(poured("2 L", vessel="can"), **named).entries("log")[0]["vessel"] == "can"
    assert job(poured("2 L", vessel="1 L"), **named).entries("log")[0]["vessel"] == "1 L"
    [error] = Job.problems(job(**named).to_dict() | {"log": [poured("2 L", vessel="cna")]})
    assert error.pointer == "/log/0/vessel"
    assert "did you mean can" in str(error)


def test_where_vessels_are_described_one_is_named_unless_bottles_are_poured_whole():
    vessels = {"vessel": [{"name": "pan", "graduation": "1/2 qt"}, {"name": "jug", "graduation": "1/4 qt"}]}
    assert job(poured("2 qt"), **vessels).entries("log")[0]["vessel"] == "1 qt"
    for entry in (poured("2 1/4 qt"), drained("4 qt")):
        [error] = Job.problems(job(**vessels).to_dict() | {"log": [entry]})
        assert error.pointer == "/log/0/vessel"


def test_a_drained_entry_alone_without_a_vessel_or_a_temperature_says_what_to_pour():
    sheet = plan(job(drained("3.3 L"), packs=("1 L",)))
    assert "**Pour 3.3 L** of new fluid, 3 × 1 L and 0.30 L of another" in said(sheet, "next")
    assert "Do not start the engine" in said(sheet, "now")
    assert "z" not in said(sheet, "now").split()
    taken = {one["id"] for one in sheet.section("assumptions").data["taken"]}
    assert {"assumed.log.temperature", "assumed.vessel.graduation", "assumed.vessel.scale_uncertainty"} <= taken
    [warm] = [one for one in sheet.section("assumptions").data["taken"] if one["id"] == "assumed.log.temperature"]
    grows = 0.0003  # a pail of unstated material, per degree
    assert warm["effects"]["level"] == pytest.approx(3.3 * (DEGREE - grows) * 15, rel=0.05)


def test_what_is_poured_without_a_temperature_is_as_warm_as_the_new_fluid():
    cold, said_so = (
        moved(job(poured("3 L"), fluid={"temperature": "5 °C"}, packs=("1 L",)))[0],
        moved(job(poured("3 L", temperature="5 °C"), packs=("1 L",)))[0],
    )
    assert nominal(cold) == pytest.approx(nominal(said_so))


def test_a_mug_that_nobody_described():
    sheet = plan(job(drained("3 qt"), poured("1 qt"), packs=()))
    assert [entry["vessel"] for entry in job(drained("3 qt"), poured("1 qt"), packs=()).entries("log")] == ["pail", "jug"]
    assert "(pail)" in said(sheet, "assumptions")
    assert "(jug)" in said(sheet, "assumptions")


def test_the_next_pour_is_given_in_bottles():
    def following(*log):
        return said(plan(job(*log)), "next")

    assert "3 × 1 qt, as labelled" in following(drained("3 qt", temperature="68 °F"))
    half = following(drained("3.5 qt", temperature="68 °F"), poured("3 qt", temperature="68 °F"))
    assert "**Pour 16 US fl oz** of new fluid, out of one of 1 qt" in half
    assert "2 × 1 qt and 0.50 US qt of another" in following(drained("3.5 qt", temperature="68 °F"), poured("1 qt", temperature="68 °F"))


def test_a_size_of_which_all_are_used_up_is_not_opened_again():
    """Bought: a quart and a gallon; the quart is poured, and the rest comes out of the gallon."""
    packs = [{"volume": "1 qt", "price": 9}, {"volume": "1 gal", "price": 30}]
    pan = {"name": "pan", "graduation": "0.25 qt"}
    log = [drained("4.5 qt", vessel="pan", temperature="68 °F"), poured("1 qt", vessel="1 qt", temperature="68 °F")]
    sheet = plan(job(*log, pack=packs, vessel=[pan], target={"method": "drain"}))
    assert "**Pour 3.5 US qt** of new fluid, out of one of 1 gal" in said(sheet, "next")


def test_the_command_needs_no_vessel(tmp_path, capsys):
    path = tmp_path / "job.toml"
    path.write_text(TEXT, encoding="utf-8")
    assert main(["log", str(path), "drained", "3.5 qt", "--temperature", "100F"]) == 0
    assert "**Pour 3.5 US qt**" in capsys.readouterr().out
    assert main(["log", str(path), "poured", "1 qt", "--temperature", "75F"]) == 0
    assert "2 × 1 qt" in capsys.readouterr().out
    assert "vessel" not in path.read_text(encoding="utf-8")
    with pytest.raises(SumpwiseError):
        entered(path, "poured", "1 qt", vessel="barrel")


def test_bottles_are_not_poured_from_the_pan_that_caught_the_old_fluid(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(TEXT + '[[vessel]]\nname = "pan"\ngraduation = "1/2 qt"\n', encoding="utf-8")
    assert entered(path, "drained", "3.5 qt").entries("log")[0]["vessel"] == "pan"
    assert entered(path, "poured", "3 qt").entries("log")[1]["vessel"] == "1 qt"


def test_a_bottle_called_by_its_size_is_in_the_readers_units():
    sheet = plan(job(drained("3.5 qt"), poured("2 1/2 qt")), units="metric")
    assert " qt" not in sheet.to_markdown()
    assert "0.95 L" in said(sheet, "balance")


def test_nothing_drained_is_an_entry_like_any_other():
    """The width of a vessel cannot be estimated from a reading of zero."""
    assert "came out" in said(plan(job(drained("0 qt", vessel="pail"), vessel=[{"name": "pail", "graduation": "1/4 qt"}])), "now")
    assert "came out" in said(plan(job(drained(0, vessel="pail"), vessel=[{"name": "pail", "graduation": "0.25 L"}])), "now")
