"""Rare cases: odd shapes, odd objects, registries of the caller, infinite answers; each is refused in words or shown as it is."""

from __future__ import annotations

import io
import sys

import numpy
import pint
import pytest

import sumpwise
from sumpwise import (
    Circuit,
    FluidHistory,
    LooksClean,
    RangeError,
    Span,
    SumpwiseError,
    UnitError,
    best_estimate,
    best_use,
    compare_rhythms,
    convert,
    coverage_factor,
    drain_refill,
    expanded,
    give_leftovers,
    inside_from_outlet,
    measured,
    monte_carlo,
    normalized_error,
    number_card,
    over_horizon,
    repeated_changes,
    rounded,
    rounded_inward,
    span,
    uncertainty,
    volume_at,
    wrench_setting,
)
from sumpwise.__main__ import main
from sumpwise.description import check_text, slips
from sumpwise.errors import shown

WAGON = ("3.9 L", "2.45 L", "0.62 L")
UNSURE = measured(2, standard=0.1)


class Rude:
    def __repr__(self):
        raise RuntimeError("no")


def test_a_value_that_cannot_be_shown_is_shown_by_its_kind():
    assert shown(Rude()) == "a Rude"
    with pytest.raises(SumpwiseError, match="a Rude"):
        drain_refill(Rude(), "9 L")


def test_output_streams_that_cannot_be_set_up_and_pipes_that_close(monkeypatch, capsys):
    plain = io.StringIO()
    monkeypatch.setattr(sys, "stdout", plain)
    assert main(["check", "nowhere.txt"]) == 2
    assert plain.getvalue() == ""


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: normalized_error([1, 2], 0.1, 1, [0.1, 0.1, 0.1]), "u_expanded_y"),
        (lambda: coverage_factor(UNSURE / 3), "coverage"),
        (lambda: coverage_factor(0.95, UNSURE), "dof"),
        (lambda: coverage_factor(0.999999999, 1e-3), "dof"),
        (lambda: measured("5 L", expanded="0.1 L", k=UNSURE), "k"),
        (lambda: monte_carlo(lambda: 1, []), "inputs"),
        (lambda: monte_carlo(drain_refill, {"drained": "3 ± 0.1 L"}, draws=1000), "inputs"),
        (lambda: repeated_changes(3, "0 y", "9 y", 0.5, "3 L"), "interval"),
        (lambda: compare_rhythms(FluidHistory("0 y"), [3], "0 y", "9 y"), "rhythms"),
        (lambda: best_estimate([measured("1 L", standard="0.1 L"), measured("1.1 L", standard="0.1 L")], [[-1, 0], [0, 1]]), "covariance"),
        (lambda: give_leftovers("1 L", [(3, "0.5 L", "A")], "A"), None),
        (lambda: LooksClean(measured(0.1, standard=0.02)), "threshold"),
        (lambda: LooksClean(0.1, clean=3), "clean"),
        (lambda: Circuit(numpy.array([3.9, 4.0]), numpy.array([2.0, 2.1, 2.2]), "0.6 L"), None),
        (lambda: number_card([3]), "values"),
        (lambda: rounded("1e400 L", "L"), None),
        (lambda: convert("5 L", 3), None),
        (lambda: convert("5 L", ""), None),
        (lambda: drain_refill([], "9 L"), "drained"),
        (lambda: drain_refill("3 L", "9 L", times=UNSURE), "times"),
        (lambda: drain_refill("3 L", "9 L", times=[UNSURE]), "times"),
        (lambda: drain_refill("3 L", "9 L", start=object()), "start"),
        (lambda: volume_at("1e308 L", "20 °C", "80 °C", "850 kg/m³").to("mL") and convert("1e308 L", "mL"), None),
    ],
)
def test_refused_in_words(call, named):
    with pytest.raises(SumpwiseError) as caught:
        call()
    assert str(caught.value)
    assert named is None or caught.value.argument.startswith(named)


def test_units_of_the_callers_registry():
    own = pint.UnitRegistry()
    own.define("mugful = 0.25 litre")
    own.define("degree_room = kelvin; offset: 290.15")
    assert drain_refill(own.Quantity(4, "mugful"), "4 L") == 0.25
    assert rounded(own.Quantity(2.0, "degree_room"), "°C", 2).magnitude == pytest.approx(19, abs=0.6)
    assert convert(own.Quantity(5.0, "litre"), own.Unit("millilitre")).magnitude == pytest.approx(5000)
    bare = pint.UnitRegistry(None)
    bare.define("metre = [length]")
    with pytest.raises(UnitError):
        wrench_setting("34 N·m", bare.Quantity(0.3, "metre"), "45 mm") and convert(bare.Quantity(3.0, "metre"), "in")


def test_spans_are_themselves():
    given = span("31 to 37 N·m")
    assert span(given) is given
    assert hash(given) == hash(Span(given.lower, given.upper))
    assert rounded_inward(Span(given.lower, given.upper), "N·m").lower.magnitude == 31


def test_numbers_without_dimension_are_their_own_kind():
    assert drain_refill(numpy.array(3.0) * sumpwise.quantity("1 L").units, "9 L") == pytest.approx(1 / 3)
    assert drain_refill("3 L", "9 L", start=numpy.array(0.25)) == pytest.approx(0.5)
    assert expanded(numpy.float64(3.0) + 0 * UNSURE)
    assert list(uncertainty.nominals(numpy.array([1.0, 2.0]))) == [1.0, 2.0]


def test_plans_and_estimates_show_themselves():
    circuit = Circuit(*WAGON, sump_floor="1.6 L")
    found = best_use(circuit, "6 L", drain="3 L", burst="1.2 L")
    assert repr(found.best).startswith("<Plan: ")
    assert repr(found).startswith("<BestUse: ")
    look = inside_from_outlet([(circuit.drain("2 L").pour("2 L").pump("1.2 L"), 0.3)], 0.6, draws=2000, seed=1)
    assert repr(look).startswith("<OutletEvidence: ")


def test_a_torque_in_pounds_is_ambiguous_in_a_description():
    (found,) = check_text("Drain plug 34 N·m (25 lbs).")
    assert (found.verdict, found.slip) == ("ambiguous", "torque without a unit")


def test_a_history_without_fill_and_a_horizon_without_change():
    history = FluidHistory("0 y")
    assert over_horizon(history, (), "0 y", "9 y").volume.magnitude == 0


def test_no_key_no_answer():
    with pytest.raises(KeyError, match=r"'byu' is none of summary, now, next, .*, buy, "):
        sumpwise.plan(sumpwise.Job.demo()).section("byu")
    with pytest.raises(KeyError, match="'drians' is none of nothing, drain, drains, "):
        sumpwise.compare_methods(sumpwise.Job.demo())["drians"]


def test_refusals_are_range_errors_where_a_range_is_meant():
    with pytest.raises(RangeError):
        coverage_factor(1.0)


@pytest.mark.parametrize(
    ("words", "verdicts"),
    [
        ("Torque the drain plug to about 34.", ["ambiguous"]),  # about what?
        ("Torque the drain plug to 34 bolts.", []),  # a count of things
        ("Torque step 34/35.", []),
        ("Torque to 3.4.5.", []),
        ("Drain plug 34 N·m (60 lbs).", []),  # no pound unit fits: nothing is said
        ("It takes 3 oz (5 qt).", ["disagrees"]),  # ounces of fluid beside quarts
        ("With 63 % left old per drain, two drains leave 40 % old.", ["agrees"]),  # 0.63² = 0.397
        ("Old left: 44 % after draining 3 L of 9 L twice.", ["agrees"]),  # (2/3)² = 0.444
        ("68 °C or 154 °F", ["agrees"]),
        ("68 °C or 150 °F", ["disagrees"]),
        ("about 4 L ≈ 4.2 US qt", ["agrees"]),
        ("5 oz (5 fl oz)", ["disagrees"]),
        ("Replaced 75 % old per drain, so after two drains 56 % old.", ["agrees"]),
        ("Fill 3 ft 4 in (40 in) of hose.", ["agrees"]),
        ("One drain swaps 40 % of the fluid, a second one brings you to 64 %.", ["agrees"]),  # 1 − 0.6²
        ("One drain swaps 40 % of the fluid, a second one brings you to 80 %.", ["disagrees"]),
        ("One drain swaps 35 % of the fluid, so two of them swap 58 %.", ["agrees"]),  # 1 − 0.65² = 0.5775
        ("One drain changes 40 %, another one makes it 64 %.", ["agrees"]),
        ("One drain changes 40 %, repeat it and you have 64 % new fluid.", ["agrees"]),
        ("One drain changes 40 %, the second drain gets you to 64 %, the third to 78 %.", ["agrees"]),  # 1 − 0.6³ = 0.784
        ("A drain renews 45 %, so after both 70 % is new.", ["agrees"]),  # 1 − 0.55² = 0.6975
        ("Two drains at 40 % each is 64 % new, not 80 %.", ["agrees"]),
        ("Two drains at 40 % each is not 80 % new but 64 %.", ["agrees"]),
        ("Two drains at 40 % each don't make 80 % new.", []),
        ("Two drains at 40 % each give about 65 % new.", ["agrees"]),  # 64 %, to the nearest five
        ("Two drains at 40 % each give about 70 % new.", ["disagrees"]),
        ("If one drain gives you 40 % then a second drain gives you 24 % more, a third 14 % more.", []),
        ("One drain gives you 40 %, a second drain another 24 %.", []),
        ("Two drains at 40 % each give at least 60 % new.", []),
        ("Two drains at 40 % each leave less than 40 % old.", []),
        ("One drain changes 40 % of the fluid, a pan drop changes 55 %.", []),  # two kinds of work, of which none is repeated
        ("One drain swaps 40 % of the fluid, the second half stays, so 60 % is old.", ["agrees"]),
    ],
)
def test_what_a_description_seldom_says(words, verdicts):
    assert [finding.verdict for finding in check_text(words)] == verdicts


def test_a_list_too_deep_to_be_read_is_refused():
    deep = "1 L"
    for _ in range(100):
        deep = [deep]
    with pytest.raises(SumpwiseError):
        drain_refill(deep, "9 L")


def test_a_unit_that_the_registry_of_the_caller_lacks():
    registry = pint.UnitRegistry(None)
    registry.define("meter = [length]")
    registry.define("liter = 1e-3 * meter ** 3")
    with pytest.raises(UnitError, match="not defined in the caller's registry"):
        convert(registry.Quantity(3.0, "liter"), "US qt")


def test_draws_of_a_quantity_keep_their_unit_from_one_part_to_the_next():
    drawn = monte_carlo(lambda v: 2 * v, ["1.0(1) qt"], draws=70_000, seed=1)  # more than two parts of 2¹⁵
    assert drawn.mean.m_as("quart") == pytest.approx(2, abs=0.01)
    assert drawn.standard_uncertainty.m_as("quart") == pytest.approx(0.2, rel=0.02)


def test_a_limit_that_nearly_all_of_a_fill_exceeds_is_due_at_once():
    history = FluidHistory("0 y").replace(0.3, "1 y")
    assert history.next_due(older_than="5 y", share=0.9999999999995).m_as("year") == 1


def test_a_temperature_beside_a_volume_may_come_in_both_units():
    assert [(found.verdict, found.stated) for found in check_text("Pour 3.0 L at 40 °C (104 °F).")] == [("agrees", "104 °F")]
    assert [found.verdict for found in check_text("Pour 3.0 L at 40 °C (114 °F).")] == ["disagrees"]


def test_limits_in_feet_and_inches():
    assert [found.verdict for found in check_text("Between 27 and 33 in (2 ft 3 in to 2 ft 9 in).")] == ["agrees"]
    assert [found.verdict for found in check_text("Between 27 and 33 in (2 ft 3 in to 2 ft 11 in).")] == ["disagrees"]


def test_ounces_of_the_other_kind():
    assert [(found.verdict, found.slip) for found in check_text("12 fl oz (340 g)")] == [("disagrees", slips.MASS_OUNCE)]
    assert [found.verdict for found in check_text("120 mL (4 oz)")] == ["agrees"]  # ounces of fluid: 4.06 US fl oz
    assert [found.verdict for found in check_text("120 mL (5 oz)")] == ["disagrees"]


def test_a_span_without_another_system_is_printed_as_it_is():
    assert [line.text for line in number_card({"Interval": "2 to 4 y"}).lines] == ["2–4 y"]


def test_meanings_without_names_are_asked_for_their_names():
    with pytest.raises(RangeError) as error:
        sumpwise.book_meaning("3.6 ± 0.1 L", ["3.24(5) L", "3.65(6) L"])
    assert (error.value.code, error.value.problem) == ("value.type", "does not name its meanings")
    with pytest.raises(RangeError, match="takes at least two meanings"):
        sumpwise.book_meaning("3.6 ± 0.1 L", {"plug only": "3.24(5) L"})
