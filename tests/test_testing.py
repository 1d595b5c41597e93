"""The assertions and strategies for integrators: they pass when they should, and above all fail when they should."""

import pint
import pytest
from hypothesis import find, given, settings
from hypothesis.errors import NoSuchExample

from laws.lawbook import examples
from sumpwise import SumpwiseError, convert, drain_refill, measured, quantity, volume_correction_factor
from sumpwise.quantities.units import INTERNAL
from sumpwise.testing import (
    RANGES,
    assert_agrees,
    assert_close,
    assert_refuses,
    notations,
    quantities,
    shares,
    uncertain_quantities,
)


def test_close_compares_across_units_and_registries():
    other = pint.UnitRegistry()
    assert_close(other.Quantity(1.0, "gallon"), "3.785411784 L")
    assert_close("80 °C", "176 °F", relative=0, absolute=1e-9)
    assert_close("80.4 °C", "80 °C", relative=0, absolute="0.5 Δ°C")
    assert_close(0.5, 0.5)


@pytest.mark.parametrize(
    ("actual", "expected", "more"),
    [
        ("1 L", "1.001 L", {}),
        ("80.6 °C", "80 °C", {"relative": 0, "absolute": "0.5 Δ°C"}),
        (0.5, 0.51, {}),
        ("1 imp qt", "1 US qt", {}),
        ("1.1 L", "1 L", {"relative": 0.09}),
    ],
)
def test_close_fails_when_it_should(actual, expected, more):
    with pytest.raises(AssertionError, match="differ by"):
        assert_close(actual, expected, **more)


def test_agreement_counts_what_is_shared():
    pail = measured("8.0 L", standard="0.3 L")
    assert_agrees(pail, "8.5 L")
    with pytest.raises(AssertionError, match="standard uncertainties"):
        assert_agrees(pail + quantity("0.1 L"), pail)  # the same error on both sides: it cancels
    with pytest.raises(AssertionError, match="inf standard uncertainties"):
        assert_agrees("1 L", "2 L")
    with pytest.raises(AssertionError):
        assert_agrees(pail, "8.5 L", sigmas=1)
    with pytest.raises(AssertionError, match=r"differ by 1 ± 0\.4 L: 2\.5 standard uncertainties"):
        assert_agrees("3.0(4) L", "2 L")


def test_refusal_is_asserted_by_argument():
    assert isinstance(assert_refuses(drain_refill, 3, 8), SumpwiseError)
    assert assert_refuses(drain_refill, "9 L", "8 L", argument="drained").argument == "drained"
    with pytest.raises(AssertionError, match="names 'drained', not"):
        assert_refuses(drain_refill, "9 L", "8 L", argument="capacity")
    with pytest.raises(AssertionError, match="instead of refusing"):
        assert_refuses(drain_refill, "1 L", "8 L")


def test_what_is_not_a_kind_is_refused():
    for strategy in (quantities, notations, uncertain_quantities):
        with pytest.raises(SumpwiseError):
            strategy("colour")
    with pytest.raises(SumpwiseError):
        uncertain_quantities("temperature")
    with pytest.raises(SumpwiseError):
        assert_close("1 L", object())


@pytest.mark.parametrize("kind", sorted(INTERNAL))
def test_there_is_a_range_for_every_kind_and_texts_read_back(kind):
    low, high = RANGES[kind]
    assert low < high

    @examples(30)
    @given(notations(kind), quantities(kind))
    def check(pair, drawn):
        text, value = pair
        assert_close(text, quantity(value, INTERNAL[kind]) if kind != "fraction" else value, relative=1e-12)
        assert low <= value <= high
        back = convert(drawn, INTERNAL[kind]).magnitude if kind != "fraction" else low
        assert low - 1e-9 * abs(low) <= back <= high * (1 + 1e-9)

    check()


@examples(30)
@given(uncertain_quantities("volume", "1 L", "2 L"), shares(0.2, 0.4))
def test_uncertain_draws_are_uncertain_and_shares_lie_in_their_range(volume, share):
    assert volume.magnitude.std_dev > 0
    assert 0.2 <= share <= 0.4


def test_a_range_holds_only_what_there_can_be():
    """Only a temperature and an angle go below zero, a share begins at it, and half a turn either way is every angle."""
    assert {kind for kind, (low, _) in RANGES.items() if low <= 0} == {"temperature", "angle", "fraction"}
    assert RANGES["angle"] == (-180, 180)
    assert RANGES["fraction"] == (0, 1)


def test_shares_reach_from_nothing_to_all():
    assert find(shares(), lambda share: share < 0.01) < 0.01
    assert find(shares(), lambda share: share > 0.99) > 0.99


@pytest.mark.parametrize("kind", sorted(kind for kind, (low, _) in RANGES.items() if low > 0))
def test_a_standard_uncertainty_is_drawn_up_to_a_twentieth_of_the_value(kind):
    @examples(30)
    @given(uncertain_quantities(kind))
    def check(drawn):
        assert 0 <= drawn.magnitude.std_dev <= 0.05 * abs(drawn.magnitude.nominal_value) * (1 + 1e-9)

    check()


@pytest.mark.parametrize(("kind", "least"), [("angle", None), ("fraction", None), ("time", "0 s")])
def test_an_uncertain_quantity_is_never_exact(kind, least):
    """Of ranges that hold zero, or numbers so small that the variance is."""
    drawn, few = uncertain_quantities(kind, least), settings(max_examples=300, derandomize=True)
    with pytest.raises(NoSuchExample):
        find(drawn, lambda one: not getattr(one, "magnitude", one).std_dev > 0, settings=few)


def test_densities_are_drawn_from_what_the_expansion_takes():
    assert all(0.9 < volume_correction_factor("60 °C", f"{end} kg/m³") < 1 for end in RANGES["density"])


@pytest.mark.parametrize("places", [1, 2, 4])
def test_texts_are_drawn_with_one_two_and_four_decimals(places):
    few = settings(max_examples=100, derandomize=True)
    text, _ = find(notations("volume"), lambda pair: len(pair[0].split()[0].partition(".")[2]) == places, settings=few)
    assert drain_refill(text, "1000 L") > 0


@pytest.mark.parametrize("limit", [0.0, 1.0])
def test_a_text_may_be_at_a_limit(limit):
    assert find(notations("fraction"), lambda pair: pair[1] == limit)[1] == limit
