"""Laws of conversion: there and back, by way of a third unit, and in order."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from laws.lawbook import law
from sumpwise import convert, span

KINDS = (
    ("L", "mL", "US qt", "US gal", "imp pt", "imp gal", "US fl oz", "in³"),
    ("°C", "°F", "K"),
    ("Δ°C", "Δ°F"),
    ("N·m", "lbf·ft", "lbf·in", "kgf·m"),
    ("mm", "cm", "m", "in", "ft"),
    ("kg", "g", "lb", "oz"),
)
three = st.sampled_from(KINDS).flatmap(lambda kind: st.tuples(*[st.sampled_from(kind)] * 3))
values = st.floats(0.01, 5000)


@law("convert")
@given(values, three)
def test_there_and_back(value, units):
    """A value converted and converted back is the value."""
    unit, other, _ = units
    assert convert(convert(f"{value!r} {unit}", other), unit).magnitude == pytest.approx(value, rel=1e-12, abs=1e-9)


@law("convert")
@given(values, three)
def test_the_way_makes_no_difference(value, units):
    """Converting by way of a third unit gives the same number."""
    unit, by_way_of, to = units
    straight = convert(f"{value!r} {unit}", to).magnitude
    assert convert(convert(f"{value!r} {unit}", by_way_of), to).magnitude == pytest.approx(straight, rel=1e-12, abs=1e-9)


@law("convert")
@given(values, values, three)
def test_more_stays_more(one, other, units):
    """The order of two values is the same in every unit, so a span stays a span."""
    unit, to, _ = units
    low, high = sorted((one, other))
    limits = convert(span(f"{low:.4f} {unit} to {high:.4f} {unit}"), to)
    assert limits.lower.magnitude <= limits.upper.magnitude
    assert limits.lower.magnitude == pytest.approx(convert(f"{low:.4f} {unit}", to).magnitude, rel=1e-14, abs=1e-12)


@law("convert")
@given(values, values)
def test_a_difference_of_temperatures_is_an_interval(one, other):
    """The difference of two temperatures in another scale is their interval in that scale: a factor of 9/5 and no offset of 32."""
    difference = convert(f"{one!r} °C", "°F").magnitude - convert(f"{other!r} °C", "°F").magnitude
    interval = convert(f"{abs(one - other)!r} Δ°C", "Δ°F").magnitude
    assert abs(difference) == pytest.approx(interval, abs=1e-8)
