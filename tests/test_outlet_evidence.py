"""What the outlet says: assumptions shown, cautions, refusals, stop or go on."""

import json
import math

import numpy
import pint
import pytest

from sumpwise import measured, quantity, uncertainty
from sumpwise.errors import RangeError, SumpwiseError
from sumpwise.inference import prior
from sumpwise.inference.light import LooksClean, light_passed
from sumpwise.inference.outlet import inside_from_outlet
from sumpwise.inference.outlet_answer import OutletEvidence, estimates, share
from sumpwise.mixing.circuit import Circuit
from sumpwise.quantities.spans import Span
from sumpwise.service.reached import manner

MATCHES = (0.60, 0.45, 0.35, 0.30, 0.22, 0.19)


TOO_SMALL = "circuit: read '1e-09 L': is too small a compartment for 1 L to flow through"
LOW = Circuit("4 L", "2 L", "1 L").pump("2.5 L")


def service(matches=MATCHES, **changed):
    given = {
        "sump": "3.73 L", "converter": "2.45 L", "cooler": "0.62 L", "clutches": "0.83 L", "pockets": "1.05 L", "sump_floor": "1.6 L",
        "bypass": 0.35, "clutch_circulation": 0.25, "pocket_circulation": 0.017,
    }  # fmt: skip
    now = Circuit(**(given | changed)).drain("3.646 L").pour("3.708 L")
    seen = []
    for burst, match in zip(("1.22 L", "1.20 L", "1.24 L", "1.22 L", "1.22 L", "1.25 L"), matches, strict=False):
        now = now.pump(burst)
        seen.append((now, match))
        now = now.pour("1.23 L")
    return seen, now


def wagon(**changed):
    return Circuit("3.73 L", "2.45 L", "0.62 L", **changed)


def ask(seen, now, target=0.8, **options):
    return inside_from_outlet(seen, target, now=now, **({"draws": 3000} | options))


def test_the_demo_wagon():
    """The known truth, 77.6 % fresh inside and 81.5 % in the hose, lies within the intervals that six vials give."""
    told = ask(*service(), cost_per_litre=132.60 / 14)
    assert told.resident.lower < 0.776 < told.resident.upper
    assert told.outlet.lower < 0.815 < told.outlet.upper
    assert told.parameters["bypass"].lower < 0.35 < told.parameters["bypass"].upper
    assert told.darkening.mean > 0
    assert told.verdict == "go on"
    assert 0 < told.probability < 0.5
    assert told.cost_per_point == pytest.approx(132.60 / 14 / told.next_portion.mean)
    assert not told.cautions


def test_every_assumption_is_printed():
    told = ask(*service(), vial_step=0.05)
    text = str(told)
    words = "bypass clutch_circulation pocket_circulation pockets sump_floor uniform log-uniform drew Beer–Lambert vials drive burst"
    assert [word for word in words.split() if word not in text] == []
    for name in told.parameters:
        assert any(line.startswith(f"{name}: anywhere from") for line in told.assumptions)
    assert text.startswith(f"{told.verdict}: ")
    assert all(one in text for one in told.assumptions)


def test_the_ranges_nobody_publishes():
    told = ask(*service())
    for line in (
        "bypass: anywhere from 0 to 0.6 (uniform), no published value",
        "clutch_circulation: anywhere from 0.05 to 0.5 (uniform), no published value",
        "pocket_circulation: anywhere from 0.003 to 0.1 (log-uniform), no published value",
        "pockets: anywhere from 0.525 to 1.575 L (uniform), no published value",
        "sump_floor: anywhere from 1.73 to 2.93 L (uniform), no published value",
    ):
        assert line in told.assumptions
    small = inside_from_outlet([], 0.5, now=Circuit("1 L", "2 L", "1 L"), draws=1000, portion="0.1 L")
    assert "sump_floor: anywhere from 0 to 0.2 L (uniform), no published value" in small.assumptions
    assert set(small.parameters) == {"bypass", "sump_floor"}


def test_draws_that_are_not_valid_circuits_are_left_out():
    seen, now = service(bypass=uncertainty.source(0.02, 0.02))
    told = ask(seen, now, ranges={"sump_floor": "1 L"}, reading_noise=0.5)
    assert any("rules out 1" in line for line in told.assumptions)  # a sixth of the bypasses would be negative


def test_estimates_of_weighted_draws():
    draws = numpy.arange(1001.0)
    even, alike = estimates([draws, 3.0], numpy.full(1001, 1 / 1001))
    assert (even.mean, even.standard) == pytest.approx((500, (1001**2 - 1) ** 0.5 / 12**0.5))
    assert (even.lower, even.upper) == pytest.approx((0.025 * 1001 - 0.5, 0.975 * 1001 - 0.5))
    assert alike.to_dict() == pytest.approx({"mean": 3.0, "standard": 0.0, "lower": 3.0, "upper": 3.0}, abs=1e-12)
    (ends,) = estimates([[0.0, 1.0]], numpy.array([0.25, 0.75]))
    assert (ends.mean, ends.standard) == pytest.approx((0.75, 0.1875**0.5))
    assert estimates([[3.0, 1.0, 2.0]], numpy.array([0.1, 0.8, 0.1]))[0].lower == 1.0
    assert share(True, numpy.array([0.6, 0.5])) == 1.0
    assert share(draws < 500.5, numpy.full(1001, 1 / 1001)) == pytest.approx(501 / 1001)


def test_what_is_printed_is_what_was_found():
    told = ask(*service(), cost_per_litre=9.47)
    text = str(told)
    assert f"{100 * told.resident.mean:.0f} % fresh inside ({100 * told.resident.lower:.0f} % to {100 * told.resident.upper:.0f} %)" in text
    assert f"{100 * told.outlet.mean:.0f} % at the outlet, which a long drive darkens by {100 * told.darkening.mean:.1f} points" in text
    assert f"the next 1 L would add {told.next_portion.mean:.1f} points at {told.cost_per_point:.2f} each" in text
    needed = told.volume_needed.m_as("L")
    assert f"with probability {100 * told.probability:.0f} % only; {needed:.3g} L more would raise that to 95 %" in told.reason
    assert told.to_dict()["version"] == 1
    just = OutletEvidence(probability=0.95, confidence=0.95, target=0.8, further_litres=((1.0, 0.9, 0.99),))
    assert just.volume_needed.m_as("L") == 0
    further = ((1.0, 0.9, 0.93), (2.0, 0.9, 0.95))
    assert OutletEvidence(probability=0.9, confidence=0.95, further_litres=further).volume_needed == quantity("2 L")


def test_volumes_come_back_in_the_unit_and_the_registry_of_the_portion():
    own = pint.UnitRegistry()
    told = ask(*service(), portion=own.Quantity(2.0, "pint"), draws=1000)
    for volume in (told.portion, *(more for more, *_ in told.further)):
        assert volume._REGISTRY is own
        assert volume.units == own.pint
    assert told.portion.magnitude == pytest.approx(2.0)
    assert told.further[1][0].magnitude == pytest.approx(4.0)
    assert told.to_dict()["portion"] == pytest.approx(2 * 0.473176473)
    assert [row[0] for row in told.to_dict()["further"]] == [row[0] for row in told.further_litres]


def test_the_same_seed_gives_the_same_answer_and_touches_nothing_else():
    numpy.random.seed(1)
    before = numpy.random.get_state()[1].tolist()
    one, two, other = (ask(*service(), seed=seed) for seed in (3, 3, 4))
    assert one.to_dict() == two.to_dict()
    assert one.resident.mean != other.resident.mean
    assert numpy.random.get_state()[1].tolist() == before


def test_without_anything_seen_only_the_ranges_speak():
    _, now = service()
    told = inside_from_outlet([], 0.8, now=now, draws=3000)
    assert told.matches == ()
    admitted = float(next(line for line in told.assumptions if "rules out" in line).split("rules out ")[1].split(" %")[0])
    assert told.effective_draws == pytest.approx(3000 * (1 - admitted / 100), abs=16)
    assert told.resident.standard > ask(*service()).resident.standard


def test_one_observer_cannot_average_his_bias_away():
    seen, now = service()
    once, often = ask(seen[-1:], now), ask(seen[-1:] * 30, now)
    unbiased = ask(seen[-1:] * 30, now, observer_bias=0)
    assert often.outlet.standard > 0.7 * once.outlet.standard
    assert unbiased.outlet.standard == pytest.approx(0.19 * 0.05 / 30**0.5, rel=0.2)


def test_stop_when_it_is_fresh_enough():
    told = ask(*service(), target=0.6)
    assert (told.verdict, told.volume_needed.m_as("L")) == ("stop", 0.0)
    assert "with probability" in told.reason
    assert "only" not in told.reason


def test_stop_when_more_of_the_same_does_not_help():
    told = ask(*service(), target=0.999)
    assert told.volume_needed is None
    assert told.verdict == "stop"
    assert "; 20 L more would not raise that to 95 %" in told.reason
    assert told.further[-1][0].m_as("L") == 20


def test_go_on_says_how_far():
    told = ask(*service())
    litres, mean, reached = told.further[-1]
    assert told.volume_needed == litres
    assert reached >= told.confidence > told.further[-2][2]
    assert mean > told.resident.mean
    assert [row[0].m_as("L") for row in told.further] == [1.0 + i for i in range(len(told.further))]
    assert told.resident.mean + told.next_portion.mean / 100 == pytest.approx(told.further[0][1], abs=1e-12)


def test_the_floor_is_known_below_the_lowest_level_reached():
    told = ask(*service(), ranges={"sump_floor": ("1 L", "3 L")})
    assert told.parameters["sump_floor"].upper < 3.792 - 1.2
    assert told.starving < 0.05


def test_the_share_of_circuits_that_is_ruled_out_is_said():
    def said(circuit, **ranges):
        told = inside_from_outlet([], 0.5, now=circuit, draws=100_000, ranges=ranges)
        return [line for line in told.assumptions if "rules out" in line]

    # pumped from 4 L down to 1.5 L with a floor anywhere from 1 to 3 L: three quarters would have drawn air
    (floor,) = said(Circuit("4 L", "2.45 L", "0.62 L").pump("2.5 L"), sump_floor=("1 L", "3 L"))
    assert "rules out 75 % of the circuits" in floor
    # a normal 0.1 L with a standard uncertainty of 0.4 L is below zero with a chance of Φ(-1/4) = 40.1 %
    (negative,) = said(Circuit("0.1(4) L", "2.45 L", "0.62 L").pour("4 L"), sump_floor=0)
    assert "rules out 40 % of the circuits" in negative
    # cooler and converter hold 3.07 L between them: with a cooler of 3.07 to 4.07 L, which is 100 of 397, no converter is left
    wide = inside_from_outlet([], 0.5, now=Circuit("4 L", "2.45 L", "0.62 L"), draws=1000, ranges={"cooler": ("0.1 L", "4.07 L")})
    (gone,) = (line for line in wide.assumptions if "rules out" in line)
    assert float(gone.partition("rules out ")[2].partition(" %")[0]) == pytest.approx(100 / 3.97, abs=6)
    # everything that the sump holds may be drained: that rules out nothing
    assert said(Circuit("4 L", "2.45 L", "0.62 L").drain("4 L").pour("4 L"), sump_floor=0) == []


def test_pockets_have_a_range_where_there_are_pockets():
    def varied(**compartments):
        told = inside_from_outlet([], 0.5, now=Circuit("4 L", "2.45 L", "0.62 L", **compartments), draws=1000, ranges={"sump_floor": 0})
        return [line.partition(":")[0] for line in told.assumptions if line.startswith(("pocket", "clutch"))]

    assert varied(pockets="1 L") == ["pocket_circulation", "pockets"]
    assert varied(clutches="1 L") == ["clutch_circulation"]
    assert varied() == []


def test_a_sump_smaller_than_any_reserve_may_run_dry():
    told = inside_from_outlet([], 0.5, now=Circuit("0.5 L", "2.45 L", "0.62 L"), portion="0.1 L", draws=2000)
    assert "sump_floor: 0 L, no published value" in told.assumptions


def test_a_longer_portion_is_pumped_in_bursts_no_longer_than_before():
    told = ask(*service(), portion="2.5 L")
    assert any("2.5 L is pumped in 2 bursts of 1.25 L" in line for line in told.assumptions)
    seen, _ = service()
    unfilled = ask(seen, seen[-1][0], ranges={"sump_floor": ("1 L", "2.5 L")})
    assert unfilled.starving == pytest.approx((2.5 - (3.708 + 0.084 + 5 * 1.23 - 7.35 - 1)) / 1.5, abs=0.05)
    assert any("draws air" in line for line in unfilled.cautions)


def test_without_a_burst_before_further_fluid_is_poured_meanwhile():
    now = Circuit("3.9 L", "2.45 L", "0.62 L").pump("3 L", poured="3 L")
    told = inside_from_outlet([(now, 0.6)], 0.5, draws=2000, ranges={"sump_floor": "1 L"})
    assert any("poured while as much is pumped" in line for line in told.assumptions)


def test_a_helper_may_pour_more_than_is_pumped_into_a_small_sump():
    """From 2 L to 3 L in one burst: the series of such a circuit is the longest of the short ones."""
    now = Circuit("2 L", "3 L", "0.6 L", "0.5 L", "0.5 L", clutch_circulation=0.5, pocket_circulation=0.1).pump("2 L", poured="3 L")
    ranges = {"sump_floor": 0, "bypass": (0, 0.3), "clutch_circulation": (0.1, 0.5), "pocket_circulation": (0.1, 0.2)}
    told = ask([(now, 0.4)], now, ranges=ranges)
    assert 3 / 9.1 < told.resident.lower < told.resident.upper < 5 / 9.1


def test_the_inside_is_told_though_the_sump_holds_less_than_a_further_portion():
    """LOW has 1.5 L left in its sump: what is inside does not depend on which portion is asked about."""
    told, small = (ask([(LOW, 0.9)], LOW, portion=portion, cost_per_litre=10, ranges={"sump_floor": 0}) for portion in ("2 L", "1 L"))
    assert told.resident.to_dict() == small.resident.to_dict()
    assert (told.probability, told.outlet.mean, told.matches[0][1].mean) == (small.probability, small.outlet.mean, small.matches[0][1].mean)
    assert (told.further, told.next_portion, told.cost_per_point, told.volume_needed) == ((), None, None, None)
    assert told.portion == quantity("2 L")
    assert (told.starving, small.starving) == (1, 0)
    assert told.cautions == (
        "the next 2 L may be more than the sump holds, so what it would add is not worked out: pour first, or ask about a smaller portion",
    )
    assert (told.verdict, small.verdict) == ("pour first", "go on")
    assert told.reason.endswith(" only; the next 2 L may be more than the sump holds")
    assert "2 L would add" not in str(told)
    assert not any("refilled after each" in line for line in told.assumptions)
    data = json.loads(json.dumps(told.to_dict()))
    assert (data["verdict"], data["further"], data["next_portion"], data["litres_needed"]) == ("pour first", [], None, None)
    enough = ask([], LOW, 0.01, portion="2 L", ranges={"sump_floor": 0, "start": 0.5})
    assert (enough.verdict, enough.litres_needed, enough.further) == ("stop", 0, ())


def test_a_few_circuits_that_hold_less_than_a_portion_are_left_out_of_what_it_would_bring():
    """The sump holds 1.5 L ± 0.1 L: less than 1.3 L with probability Φ(−2) = 2.3 %, less than 1.4 L with Φ(−1) = 16 %."""
    now = Circuit(measured("4 L", standard="0.1 L"), "2 L", "1 L").pump("2.5 L")
    told, more = (ask([(now, 0.9)], now, portion=portion, ranges={"sump_floor": 0}) for portion in ("1.3 L", "1.4 L"))
    assert told.starving == pytest.approx(0.0228, abs=0.01)
    assert more.starving == pytest.approx(0.159, abs=0.025)
    assert (told.verdict, more.verdict) == ("go on", "pour first")
    assert told.resident.to_dict() == more.resident.to_dict()
    assert (more.further, more.next_portion) == ((), None)
    assert "; circuits whose sump does not hold that are left out (2 %)" in " ".join(told.assumptions)
    assert not any("left out" in line for line in more.assumptions)
    known = Circuit("4 L", "2 L", "1 L").pump("2.5 L")
    sure = ask([(known, 0.9)], known, portion="1.3 L", ranges={"sump_floor": 0})
    assert not any("left out" in line for line in sure.assumptions)
    assert told.further[0][1] == pytest.approx(sure.further[0][1], abs=0.004)
    assert told.next_portion.mean == pytest.approx(sure.next_portion.mean, abs=0.2)
    assert told.litres_needed == sure.litres_needed
    rare = Circuit(measured("4 L", standard="0.055 L"), "2 L", "1 L").pump("2.5 L")
    assert "left out (less than 1 %)" in " ".join(ask([(rare, 0.9)], rare, portion="1.35 L", ranges={"sump_floor": 0}).assumptions)


def test_a_match_that_does_not_fit_is_pointed_out():
    told = ask(*service((0.60, 0.45, 0.35, 0.50, 0.22, 0.19)), draws=60_000)
    assert any("50 %" in line for line in told.cautions)


@pytest.mark.parametrize(
    ("odd", "step", "pointed_out"), [(0.20, 0.0, True), (0.20, 0.1, False), (0.50, 0.0, True), (0.50, 0.15, True), (0.50, 0.2, False)]
)
def test_a_match_fits_within_three_times_its_whole_uncertainty(odd, step, pointed_out):
    told = ask(*service((0.60, 0.45, 0.35, odd, 0.22, 0.19)), draws=20_000, vial_step=step)
    match, there = told.matches[3]
    doubt = numpy.sqrt(0.05**2 + (step / match) ** 2 / 12 + (there.standard / there.mean) ** 2)
    assert (abs(numpy.log(match / there.mean)) > 3 * doubt) == pointed_out
    assert any(f"the match of {100 * odd:.0f} % does not fit" in line for line in told.cautions) == pointed_out


def test_few_draws_are_said_to_be_few():
    few = ask(*service(), draws=1000, reading_noise=0.02, observer_bias=0.02)
    assert 100 < few.effective_draws < 400
    assert any(line == f"only {few.effective_draws:.0f} draws agree with what was seen: use more draws" for line in few.cautions)


def test_vials_are_distinguished_in_points():
    assert "vials 5 percentage points apart" in ask(*service(), vial_step=0.05).assumptions


def test_the_state_asked_about_is_the_last_one_seen():
    seen, _ = service()
    assert inside_from_outlet(seen, 0.8, draws=3000).to_dict() == ask(seen, seen[-1][0]).to_dict()


def test_what_was_seen_may_be_built_again_from_equal_values():
    seen, now = service()
    again, _ = service()
    assert ask(again, now).to_dict() == ask(seen, now).to_dict()


def test_a_point_that_cannot_be_bought_has_no_price():
    told = inside_from_outlet([], 0.5, now=Circuit("4 L", "2.45 L", "0.62 L", start=1), draws=1000, cost_per_litre=10)
    assert told.next_portion.mean == 0
    assert told.cost_per_point is None


def test_a_long_round_mixes_as_a_drive_does():
    def told(end):
        now = end(Circuit("4 L", "2.45 L", "0.62 L").drain("3 L").pour("3 L"))
        return inside_from_outlet([], 0.5, now=now, draws=1000, ranges={"sump_floor": 0})

    around, driven = told(lambda now: now.circulate("300 L")), told(lambda now: now.mix())
    assert around.outlet.mean == pytest.approx(driven.outlet.mean, abs=1e-9)
    assert repr(driven.resident) == f"{3 / 7.07:.3f} ± 0.000 ({3 / 7.07:.3f} to {3 / 7.07:.3f})"


def test_further_litres_are_counted_by_portions():
    told = ask(*service(), portion="0.5 L", cost_per_litre=9)
    assert told.cost_per_point == pytest.approx(4.5 / told.next_portion.mean)
    assert [row[0].m_as("L") for row in told.further] == [0.5 * (i + 1) for i in range(len(told.further))]


def test_a_look_in_words():
    # a threshold for 25 mm is 25/8 times as old through 8 mm
    assert LooksClean((0.10, 0.20), "8 mm", "25 mm").text == "less than 31.2 % to 62.5 % old"
    assert LooksClean(0.10, clean=False).text == "not less than 10.0 % old"


def test_as_many_as_a_million_draws():
    with pytest.raises(SumpwiseError) as taken:
        inside_from_outlet("", 0.5, draws=1_000_000)
    with pytest.raises(SumpwiseError) as refused:
        inside_from_outlet("", 0.5, draws=1_000_001)
    assert (taken.value.argument, refused.value.argument) == ("seen", "draws")


def test_ranges_are_kept_as_stated():
    narrow = (0.01, 0.02, "log-uniform")
    told = ask(*service(), ranges={"bypass": 0.35, "pockets": "1.05 L", "clutch_circulation": (0.2, 0.3), "pocket_circulation": narrow})
    assert set(told.parameters) == {"clutch_circulation", "pocket_circulation", "sump_floor"}
    assert "bypass: 0.35, as stated" in told.assumptions
    assert ask(*service(), ranges={"bypass": Span(0.2, 0.3)}).parameters["bypass"].upper < 0.3
    assert 0.2 < told.parameters["clutch_circulation"].lower < told.parameters["clutch_circulation"].upper < 0.3


def test_a_log_uniform_range_is_even_in_the_logarithm():
    _, now = service()
    told = inside_from_outlet([], 0.5, now=now, draws=4000, ranges={"pocket_circulation": (0.01, 1.0, "log-uniform"), "sump_floor": 0})
    found = told.parameters["pocket_circulation"]
    # of a density 1/(x ln 100) from 0.01 to 1: the mean, the second moment, and the places of 2.5 % and 97.5 %
    mean, square = 0.99 / numpy.log(100), 0.9999 / 2 / numpy.log(100)
    standard = (square - mean**2) ** 0.5
    assert found.mean == pytest.approx(mean, abs=5 * standard / 4000**0.5)
    assert found.standard == pytest.approx(standard, rel=0.05)
    assert (found.lower, found.upper) == (pytest.approx(0.01 * 100**0.025, rel=0.1), pytest.approx(0.01 * 100**0.975, rel=0.1))


def test_the_total_is_kept_when_a_compartment_has_a_range():
    told = ask(*service(), ranges={"clutches": ("0.5 L", "1.2 L")})
    assert any("takes up the difference" in line and "8.68 L" in line for line in told.assumptions)
    moved = ask(*service(), ranges={"clutches": "1.83 L"})
    bigger = ask(*service(clutches="1.83 L", converter="1.45 L"))
    assert moved.resident.mean == pytest.approx(bigger.resident.mean, abs=1e-12)
    free = ask(*service(), ranges={"converter": ("2 L", "3 L")})
    assert not any("takes up" in line for line in free.assumptions)


def test_an_uncertain_parameter_is_drawn_as_it_is():
    seen, now = service(bypass=uncertainty.source(0.35, 0.01))
    told = ask(seen, now)
    assert "bypass" not in told.parameters
    certain = ask(*service(), ranges={"bypass": 0.35})
    assert told.resident.standard == pytest.approx(certain.resident.standard, rel=0.15)


def test_uncertain_pours_widen_the_answer():
    def run(pour):
        now = Circuit("3.9 L", "2.45 L", "0.62 L", "0.83 L", "1.05 L").drain("3.6 L").pour(pour).pump("1 L")
        return inside_from_outlet([], 0.5, now=now, draws=3000, ranges={"sump_floor": "1 L"})

    assert run("3.6(4) L").resident.standard > run("3.6 L").resident.standard


def test_it_goes_into_json():
    told = ask(*service(), cost_per_litre=9.47)
    assert json.loads(json.dumps(told.to_dict()))["verdict"] == told.verdict
    assert told.to_dict()["resident"]["mean"] == told.resident.mean
    assert told.to_dict()["parameters"]["bypass"]["mean"] == told.parameters["bypass"].mean


def test_looking_through_more_sees_less_old_fluid():
    assert LooksClean(0.10, "8 mm").upper == 0.10
    assert LooksClean(0.10, "16 mm", "8 mm").upper == pytest.approx(0.05)
    assert LooksClean("10 %", "4 mm", "8 mm").upper == pytest.approx(0.20)
    assert repr(LooksClean(0.05, clean=False)) == "<LooksClean: not less than 5.0 % old>"


@pytest.mark.parametrize(("path", "share"), [("0.27 mm", 0.99), ("8 mm", 0.74), ("25 mm", 0.39), ("100 mm", 0.02)])
def test_path_length_decides_the_look(path, share):
    """Ten percent old: the usual figures for the light through a smear, a hose, a vial and a pail, with one absorbance for all."""
    assert light_passed(0.10, path) == pytest.approx(share, abs=0.005)


@pytest.mark.parametrize(
    ("refused", "says"),
    [
        (lambda seen, now: ask(seen, seen[0][0]), "not an earlier state"),
        (lambda seen, now: ask([(wagon().drain("1 L"), 0.5)], wagon().pour("1 L")), "not an earlier state"),
        (lambda seen, now: ask([(wagon(converter_tanks=2), 0.5)], wagon().mix()), "not an earlier state"),
        (lambda seen, now: ask([(wagon().pour("1 L"), 0.5)], wagon().pour("1.1 L").mix()), "not an earlier state"),
        (lambda seen, now: ask([(wagon().pour("1.2 L"), 0.5)], wagon().pour("1.1 L").mix()), "not an earlier state"),
        (lambda seen, now: ask([(service()[0][0][0], 0.5)], Circuit("3 L", "2 L", "1 L").mix()), "not an earlier state"),
        (lambda seen, now: ask([(now, 0.5, 1)], now), "pairs"),
        (lambda seen, now: ask([0.5], now), "pairs"),
        (lambda seen, now: ask([(now, 0.0)], now), "above 0"),
        (lambda seen, now: ask([(now, 1.2)], now), "out of range"),
        (lambda seen, now: ask([(now, uncertainty.source(0.5, 0.1))], now), "reading_noise"),
        (lambda seen, now: inside_from_outlet([], 0.8), "now"),
        (lambda seen, now: ask(seen, now, target=0), "target"),
        (lambda seen, now: ask(seen, now, reading_noise=0), "reading_noise"),
        (lambda seen, now: ask(seen, now, observer_bias=-0.1), "observer_bias"),
        (lambda seen, now: ask(seen, now, draws=10), "draws"),
        (lambda seen, now: ask([], Circuit("4 L", "1e-9 L", "0.62 L")), TOO_SMALL),
        (lambda seen, now: ask([], Circuit("4 L", "1e-9 L", "0.62 L").mix().pour("1 L")), TOO_SMALL),
        (lambda seen, now: ask(seen, now, ranges={"hose": 1}), "not a parameter of a circuit"),
        (lambda seen, now: ask(seen, now, ranges={"bypass": (0.5, 0.2)}), "lower limit first"),
        (lambda seen, now: ask(seen, now, ranges={"bypass": (uncertainty.source(0.2, 0.1), 0.5)}), "plain limits"),
        (lambda seen, now: ask(seen, now, ranges={"bypass": (0.1, uncertainty.source(0.2, 0.1))}), "plain limits"),
        (lambda seen, now: ask(seen, now, ranges={"bypass": (0.1, [0.2, 0.3])}), "plain limits"),
        (lambda seen, now: ask(seen, now, ranges={"bypass": ([0.1, 0.2], 0.3)}), "plain limits"),
        (lambda seen, now: ask([], Circuit("3 L", "2 L", "1 L"), ranges={"pocket_circulation": (0, 0.2)}), "whose volume is zero"),
        (lambda seen, now: ask(seen, now, ranges={"bypass": (0.1, 0.2, 0.3)}), "is not a range"),
        (lambda seen, now: ask(seen, now, ranges={"clutches": "0 L"}), "whose volume is zero"),
        (lambda seen, now: ask([], Circuit("3 L", "2 L", "1 L"), ranges={"pocket_circulation": (0.1, 0.2)}), "whose volume is zero"),
        (lambda seen, now: ask(seen, now, ranges={"bypass": (0, 0.2, "log-uniform")}), "start above 0"),
        (lambda seen, now: ask(seen, now, ranges={"bypass": (0, 2)}), "out of range"),
        (lambda seen, now: ask(seen, now, ranges={"pockets": (0.5, 1.5)}), "no unit"),
        (lambda seen, now: ask(seen, now, ranges={"sump_floor": ("3 L", "3.5 L")}), "without drawing air"),
        (lambda seen, now: ask(seen, now, portion="9 L", ranges={"sump_floor": 0}), None),
        (lambda seen, now: ask([(s, 0.02) for s, _ in seen], now), "draws agree with what was seen"),
        (lambda seen, now: LooksClean((0.2, 0.1)), "not a range"),
        (lambda seen, now: LooksClean((0.1, 0.2, 0.3)), "takes one value"),
        (lambda seen, now: LooksClean((0.1,)), "takes one value"),
        (lambda seen, now: ask(seen[:1] * 2, seen[0][0], reading_noise=1e-4, observer_bias=1e-4, draws=1000), "of 10000 draws agree"),
        (lambda seen, now: LooksClean(0), "threshold"),
        (lambda seen, now: LooksClean(0.1, "0 mm"), "path"),
    ],
)
def test_refusals_say_what_is_wrong(refused, says):
    seen, now = service()
    if says is None:
        assert refused(seen, now).portion.m_as("L") == 9
        return
    with pytest.raises(SumpwiseError) as error:
        refused(seen, now)
    assert says in str(error.value)


@pytest.mark.parametrize(
    ("name", "taken", "refused"),
    [
        ("target", (0.01, 1), (0, 1.01, [0.5, 0.6])), ("confidence", (0.01, 1), (0, 1.01, [0.5, 0.6])),
        ("reading_noise", (0.04, 1), (0, 1.01, [0.1, 0.2])), ("observer_bias", (0, 1), (-0.01, 1.01, [0.1, 0.2])),
        ("vial_step", (0, 1), (-0.01, 1.01, [0.1, 0.2])), ("portion", ("0.5 L",), ("0 L", "-0.5 L", ["1 L", "2 L"])),
        ("cost_per_litre", (0, 9.0), ([9.0, 10.0],)), ("draws", (1000,), (999, 1_000_001, [1000, 2000])),
    ],
)  # fmt: skip
def test_limits_of_what_may_be_asked(name, taken, refused):
    seen, now = service()
    for value in taken:
        ask(seen, now, **{name: value})
    for value in refused:
        with pytest.raises(SumpwiseError) as caught:
            ask(seen, now, **{name: value})
        assert caught.value.argument == name


def test_limits_of_a_look():
    assert LooksClean(1, "0.5 mm", "0.5 mm").upper == 1
    for arguments, named in (((1.01,), "threshold"), ((0.1, "-0.5 mm"), "path"), ((0.1, "1 mm", "0 mm"), "threshold_path")):
        with pytest.raises(SumpwiseError) as caught:
            LooksClean(*arguments)
        assert caught.value.argument == named


def test_arrays_of_circuits_are_refused():
    now = Circuit(["3 L", "4 L"], "2 L", "1 L").pump("1 L")
    with pytest.raises(RangeError, match="not an array"):
        inside_from_outlet([(now, 0.5)], 0.5)


def test_volumes_of_the_answer_are_quantities_in_the_unit_of_the_portion_and_litres_in_plain_data():
    told = ask(*service(), portion="1 US qt")
    assert f"{told.portion:~}" == f"{quantity('1 US qt'):~}"
    assert all(more.units == told.portion.units for more, _, _ in told.further)
    assert told.volume_needed.units == told.portion.units
    data = told.to_dict()
    assert data["portion"] == pytest.approx(0.946352946)
    assert data["further"][1][0] == pytest.approx(2 * 0.946352946)
    assert data["litres_needed"] == pytest.approx(told.volume_needed.m_as("L"))


def test_what_flows_back_while_the_pump_stands_is_missing_when_it_starts():
    """After a drain, what ran back from the converter must be there before the pump can draw: more of it leaves too little."""
    wagon = Circuit(sump="4 L", converter="3 L", cooler="0.5 L", sump_floor="0.05 L")
    history = wagon.drain("3 L").pump("0.4 L").history
    assert prior._possible(history, 0.5)
    assert not prior._possible(history, 0.7)
    poured = wagon.pour("1 L").pump("0.4 L").history
    assert prior._possible(poured, 0.7)


def test_a_range_that_is_the_stated_value_moves_nothing():
    """Only a value that differs from the stated one changes the converter to make up for it."""
    wagon = Circuit(sump="4 L", converter="3 L", cooler="0.5 L").pump("2 L", poured="2 L")

    def said(cooler):
        return inside_from_outlet([(wagon, 0.3)], 0.9, ranges={"cooler": cooler}, draws=1000, seed=1).assumptions

    assert not any("the difference" in one for one in said("0.5 L"))
    assert any("the difference" in one for one in said("0.6 L"))


def test_a_rectangular_uncertainty_is_a_range_again():
    """Half the width of a rectangle is √3 of its standard uncertainty (JCGM 100, 4.3.7)."""
    assert manner("drawn_first", measured(0.2, limits=0.1))[2:4] == pytest.approx((0.1, 0.3))
    assert manner("drawn_first", measured(0.1, limits=0.1))[2:4] == pytest.approx((0.0, 0.2), abs=1e-12)
    assert manner("drawn_first", measured(0.1, limits=0.2))[2:4] == (0.0, pytest.approx(0.3))
    assert manner("drawn_first", 0.3)[2:4] == (0.3, 0.3)


def test_a_measurement_whose_uncertainty_is_in_doubt_itself_is_drawn_at_random_not_evenly():
    sure, unsure = measured("3 L", standard="0.1 L"), measured("3 L", standard="0.1 L", dof=3)
    unknowns = prior.Unknowns(Circuit("3.73 L", "2.45 L", "0.62 L").drain(sure).pour(unsure).history, {})
    assert [source.dof for source in unknowns.others] == [3]
    assert [source.dof for source in unknowns.scores if not isinstance(source, str)] == [math.inf]
