"""What a bolt gets: the constant error of a wrench and the scatter of its click, against the maker's window."""

import pytest
from scipy import stats

from sumpwise import Job, plan
from sumpwise.service.case import Case
from sumpwise.torque import missed
from sumpwise.uncertainty import nominal


def told(**wrench):
    data = Job.demo().to_dict()
    data["wrench"] |= wrench
    section = plan(Job.from_dict(data)).section("torque")
    return section.data["bolts"][0], " ".join(section.lines)


def by_integration(low, high, off, again):
    """The normal tails beyond both ends, averaged over the error of the wrench."""
    errors = stats.uniform(-off, 2 * off)
    return errors.expect(lambda e: stats.norm.cdf(low, e, again) + stats.norm.sf(high, e, again))


@pytest.mark.parametrize("case", [(-0.09, 0.09, 0.04, 0.01), (-0.03, 0.05, 0.04, 0.02), (-0.02, 0.01, 0.06, 0.003)])
def test_the_chance_of_missing_is_the_integral_over_both_errors(case):
    assert missed(*case) == pytest.approx(by_integration(*case), rel=1e-7, abs=1e-12)


def test_a_wrench_that_repeats_exactly_misses_by_what_it_may_be_off():
    assert missed(-0.03, 0.02, 0.04, 0.0) == pytest.approx((0.01 + 0.02) / 0.08)
    assert missed(-0.05, 0.05, 0.04, 0.0) == 0.0


def test_a_wrench_that_is_right_misses_by_its_click_alone():
    assert missed(-0.02, 0.02, 0.0, 0.01) == pytest.approx(2 * stats.norm.sf(2.0))
    assert missed(-0.02, 0.02, 0.0, 0.0) == 0.0


def test_the_sheet_says_what_the_bolt_gets_and_names_both_sources():
    bolt, lines = told()
    assert bolt["applied"]["value"] == 34.0
    assert bolt["applied"]["standard_uncertainty"] == pytest.approx(34 * (0.04**2 / 3 + 0.01**2) ** 0.5)
    assert "may be off by 4 %" in lines
    assert "repeats to 1.0 %" in lines
    assert "under 0.1 %" in lines


def test_a_click_that_repeats_badly_may_miss_the_window():
    bolt, lines = told(repeatability="8 %")
    assert bolt["outside_window"] == pytest.approx(missed(31 / 34 - 1, 37 / 34 - 1, 0.04, 0.08))
    assert bolt["outside_window"] > 0.2
    assert "repeats to 8.0 %" in lines


def test_the_default_is_said_to_be_one():
    plain, _ = told(repeatability="1 %")
    assert told()[0] == plain
    assert "its click repeats, standard uncertainty: 1 %" in " ".join(plan(Job.demo()).section("assumptions").lines)


@pytest.mark.parametrize("largest", ["90 N·m", "about 90 N·m", "80–100 N·m"])
def test_a_wrench_is_specified_from_a_fifth_of_its_largest_setting(largest):
    """ISO 6789; of a span, from a fifth of its middle."""
    case = Case(Job.from_dict(Job.demo().to_dict() | {"wrench": {"maximum": largest}}))
    assert nominal(case.ask("wrench", "minimum")) == pytest.approx(18.0)
