"""An entry that stands out is named even if the pail is so poor that count and stick might be that far apart by chance."""

import pytest

from sumpwise import Job, plan
from sumpwise.service.case import Case


def job_of(changed=None, scale="4.2 %"):
    """The demo with a poor pail, and one pour written a litre too large."""
    data = Job.demo().to_dict()
    data["vessel"][0]["scale_uncertainty"] = scale
    if changed is not None:
        data["log"][changed - 1]["reading"] = "2.20 L"
    return Job.from_dict(data)


@pytest.mark.parametrize("number", [14, 16])
def test_a_pour_that_is_a_litre_off_is_named_though_the_count_is_poor(number):
    found = Case(job_of(number)).agreement
    assert not found.far
    assert found.conflict
    assert found.joint is None
    sheet = plan(job_of(number))
    assert sheet.section("conflict").data["entries"][0]["number"] == number
    told = " ".join(sheet.section("conflict").lines)
    assert "one entry stands out from the rest of the log" in told
    assert "The chance that reading errors alone" not in told


def test_a_poor_pail_alone_is_not_a_contradiction():
    found = Case(job_of()).agreement
    assert not found.conflict
    assert found.joint is not None


def test_count_and_stick_apart_without_an_entry_that_stands_out_do_not_contradict_each_other():
    """The pail reads differently from its calibration: every entry fits the next, and only the sum is off."""
    data = job_of(scale="4.2 %").to_dict()
    data["vessel"][0]["reads_high"] = "12 %"
    found = Case(Job.from_dict(data)).agreement
    assert 2.0 < max(abs(z) for z in found._apart().values()) < 2.6
    assert not found.conflict


def test_a_litre_that_the_count_is_sure_of_is_said_with_its_chance():
    told = " ".join(plan(job_of(14, scale="0.4 %")).section("conflict").lines)
    assert "The chance that reading errors alone" in told
    assert "stands out" not in told


@pytest.mark.parametrize("scale", ["0.4 %", "2 %", "2.4 %", "3 %"])
def test_the_chance_is_the_one_of_the_data(scale):
    section = plan(job_of(14, scale=scale)).section("conflict")
    chance = section.data["chance"]
    told = "less than 1 in a million" if chance < 1e-6 else "under 0.1 %" if chance < 1e-3 else f"{chance:.1%}".replace("%", " %")
    assert f"put them this far apart is {told}: most likely" in " ".join(section.lines)


def test_two_readings_of_the_stick_contradict_each_other_though_the_count_is_too_poor_to_contradict_either():
    data = job_of().to_dict()
    for pair, apart in ((("2 mm", "12 mm"), True), (("3 mm", "10 mm"), False)):
        read = [{"event": "stick", "reading": one, "temperature": "86 °C"} for one in pair]
        found = Case(Job.from_dict(data | {"log": [*data["log"], *read]})).agreement
        assert max(abs(z) for z in found._apart().values()) < 1
        assert found.far == apart
