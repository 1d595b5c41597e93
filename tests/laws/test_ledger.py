"""Laws of vessels, the ledger and the meanings of a book's figure."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from laws.lawbook import law
from sumpwise import Ledger, Vessel, book_meaning, budget, tolerable_negative_error, volume_at, water_density, weighed_fluid, weighed_water

litres = st.integers(1, 900).map(lambda n: f"{n / 100:.2f} L")
warmths = st.integers(-10, 120).map(lambda t: f"{t} °C")
kinds = st.sampled_from(("drained", "poured"))
scales = st.floats(0.9, 1.1)
lines = st.lists(st.tuples(kinds, st.sampled_from(("pail", "jug")), litres, warmths), min_size=1, max_size=8)


def shelf(uncertainty=0.01, noise=0.25):
    return {
        "pail": Vessel("pail", "0.25 L", 0.98, uncertainty, noise),
        "jug": Vessel("jug", "0.05 L", 1.01, uncertainty / 2, noise),
    }


def entered(entries, vessels, ledger=None):
    ledger = ledger or Ledger("847 kg/m³")
    for kind, vessel, reading, warmth in entries:
        ledger = getattr(ledger, kind)(vessels[vessel], reading, warmth)
    return ledger


def nominal(volume):
    return float(getattr(volume.magnitude, "nominal_value", volume.magnitude))


def spread(volume):
    return float(getattr(volume.magnitude, "std_dev", 0.0))


@law("Ledger", "Vessel")
@given(lines, st.randoms(use_true_random=False))
def test_permuting_independent_lines_changes_nothing(entries, random):
    """Permuting independent lines changes neither the balance nor its uncertainty."""
    one = entered(entries, shelf())
    two = entered(random.sample(entries, len(entries)), shelf())
    assert nominal(two.balance) == pytest.approx(nominal(one.balance), abs=1e-12)
    assert spread(two.balance) == pytest.approx(spread(one.balance), rel=1e-9, abs=1e-12)


@law("Ledger", "Vessel")
@given(lines)
def test_zero_uncertainty_equals_the_plain_number(entries):
    """Exact vessels give a plain number: the signed sum of scaled, corrected readings."""
    ledger = entered(entries, shelf(0.0, 0.0))
    assert ledger.balance.magnitude.__class__ is float
    assert nominal(ledger.balance) == pytest.approx(nominal(entered(entries, shelf()).balance), abs=1e-12)


@law("Ledger")
@given(st.lists(st.tuples(kinds, st.sampled_from(("pail", "jug")), litres), min_size=1, max_size=8))
def test_equal_temperatures_need_no_correction(entries):
    """At the reference temperature nothing is corrected for temperature, and at one common temperature all volumes scale alike."""
    cool = entered([(*entry, "20 °C") for entry in entries], shelf())
    assert cool.explain().part("temperature").m_as("L") == 0.0
    warm = entered([(*entry, "70 °C") for entry in entries], shelf())
    single = entered([("poured", "jug", "1 L", "70 °C")], shelf()).balance
    plain = entered([("poured", "jug", "1 L", "20 °C")], shelf()).balance
    assert nominal(warm.balance) == pytest.approx(nominal(cool.balance) * nominal(single) / nominal(plain), abs=1e-9)


@law("Ledger", "Vessel")
@given(st.integers(2, 400), st.integers(1, 399), scales, st.floats(0.001, 0.05), warmths)
def test_splitting_a_pour_in_two_keeps_the_scale_part(hundredths, share, scale, u, warmth):
    """Splitting a pour in two with one vessel keeps the scale part; only the noise of one more reading is added."""
    jug = Vessel("jug", "0.05 L", scale, u)
    part = max(1, min(hundredths - 1, share))
    whole = Ledger("847 kg/m³").poured(jug, f"{hundredths / 100:.2f} L", warmth).balance
    first = Ledger("847 kg/m³").poured(jug, f"{part / 100:.2f} L", warmth)
    halves = first.poured(jug, f"{(hundredths - part) / 100:.2f} L", warmth).balance
    assert nominal(halves) == pytest.approx(nominal(whole), rel=1e-12)

    def of_scale(volume):
        return next(row.contribution.m_as("L") for row in budget(volume).rows if row.name == "jug, scale")

    assert of_scale(halves) == pytest.approx(of_scale(whole), rel=1e-12)
    noise = [math.sqrt(spread(v) ** 2 - of_scale(v) ** 2) for v in (whole, halves)]
    assert noise[1] == pytest.approx(noise[0] * math.sqrt(2), rel=1e-6)


@law("Ledger")
@given(lines, st.booleans())
def test_causes_add_up_exactly(entries, emptied):
    """Each cause alone, both together, what was lost and the start level add up to the rest."""
    ledger = entered(entries, shelf(), Ledger("847 kg/m³").started("-0.2 ± 0.1 L")).lost("0.1 ± 0.05 L", "rags", "30 °C")
    why = ledger.explain(level="0.1 ± 0.1 L" if emptied else None)
    assert math.fsum(row.value.m_as("L") for row in why.rows) == pytest.approx(nominal(why.rest), abs=1e-13)
    assert math.sqrt(math.fsum(row.standard_uncertainty.m_as("L") ** 2 for row in why.rows)) == pytest.approx(spread(why.rest), rel=1e-9)
    assert why.best.would_leave.m_as("L") < spread(why.rest)
    assert nominal(why.balance) == pytest.approx(nominal(ledger.balance), abs=1e-12)
    assert spread(why.balance) == pytest.approx(spread(ledger.balance), rel=1e-9)


@law("Ledger")
@given(lines)
def test_records_come_back_the_same(entries):
    """A ledger written and read back has the same entries, balance and uncertainty, and every running balance is that of its prefix."""
    ledger = entered(entries, shelf())
    again = Ledger.from_dict(ledger.to_dict())
    assert again.to_dict() == ledger.to_dict()
    assert (nominal(again.balance), spread(again.balance)) == (nominal(ledger.balance), spread(ledger.balance))
    for count, running in enumerate(ledger.running(), 1):
        prefix = entered(entries[:count], shelf()).balance
        assert (nominal(running), spread(running)) == (nominal(prefix), spread(prefix))


@law("Ledger")
@given(lines, litres, litres, warmths)
def test_a_cumulative_reading_counts_alone(entries, first, more, warmth):
    """Of cumulative readings of one fill only the last counts."""
    tub = Vessel("tub", "0.25 L", 0.97, 0.01)
    begun = entered(entries, shelf())
    total = f"{float(first.split()[0]) + float(more.split()[0]):.2f} L"
    both = begun.drained(tub, first, warmth, cumulative=True).drained(tub, total, warmth, cumulative=True)
    once = begun.drained(tub, total, warmth, cumulative=True)
    assert nominal(both.balance) == pytest.approx(nominal(once.balance), abs=1e-12)
    assert spread(both.balance) == pytest.approx(spread(once.balance), rel=1e-9)


@law("Ledger")
@given(st.floats(-2, -0.2), st.floats(0.001, 0.05), st.floats(0, 2), warmths)
def test_the_next_pour_never_oversteps(off, u, k, warmth):
    """What is poured next leaves the level k·u inside both limits."""
    jug = Vessel("jug", "0.05 L", 0.99, reading_fraction=0)
    begun = Ledger("847 kg/m³").started(f"{off:.4f}({max(1, round(u * 1e4))}) L")
    pour = begun.next_pour(jug, warmth, lower="-0.15 L", upper="0.2 L", k=k)
    after = begun.poured(jug, pour, warmth).off_target
    away = k * spread(begun.off_target)
    assert -0.15 + away - 1e-9 <= nominal(after) <= 0.2 - away + 1e-9
    assert nominal(after) == pytest.approx(max(-away, -0.15 + away))


@law("Vessel")
@given(litres, scales, st.floats(0.001, 0.05), st.floats(0.12, 9))
def test_volumes_follow_the_scale(reading, scale, u, factor):
    """Volume and noise are proportional to the scale, the scale's part to its own uncertainty."""
    one = budget(Vessel("pail", "0.25 L", scale, u).volume(reading))
    two = budget(Vessel("pail", "0.25 L", scale * factor, u).volume(reading))
    assert two.value.m_as("L") == pytest.approx(one.value.m_as("L") * factor)
    parts = [{row.name: row.contribution.m_as("L") for row in report.rows} for report in (one, two)]
    assert parts[1]["pail, scale"] == pytest.approx(parts[0]["pail, scale"])
    noise = next(name for name in parts[0] if "reading" in name)
    assert parts[1][noise] == pytest.approx(parts[0][noise] * factor)


@law("Vessel", "weighed_water")
@given(scales, st.lists(st.integers(1, 90), min_size=1, max_size=5, unique=True), st.integers(1, 39))
def test_calibration_finds_the_scale(scale, tenths, warmth):
    """Weighing what a vessel truly held gives its scale back, at any water temperature."""
    per_kilogram = weighed_water("1 kg", f"{warmth} °C").m_as("L")
    marks = [f"{n / 10:.1f} L" for n in tenths]
    masses = [f"{scale * n / 10 / per_kilogram!r} kg" for n in tenths]
    found = Vessel.calibrated("pail", "0.25 L", marks, masses, f"{warmth} °C")
    assert found.scale == pytest.approx(scale, rel=1e-9)
    length = math.sqrt(sum((n / 10) ** 2 for n in tenths))
    assert found.scale_uncertainty == pytest.approx(scale * 0.0625 / math.sqrt(3) / length, rel=1e-6)


@law("water_density", "weighed_water")
@given(st.floats(4.1, 39), st.floats(0.1, 0.9), st.floats(0.1, 20))
def test_warm_water_takes_more_room(temperature, more, mass):
    """Above 4 °C water becomes less dense, so a weighed amount takes more room; buoyancy adds a thousandth or so."""
    assert water_density.kernel(temperature + more) < water_density.kernel(temperature)
    volume = weighed_water.kernel(mass, temperature, 1.2, 8000.0)
    assert weighed_water.kernel(mass, temperature + more, 1.2, 8000.0) > volume
    assert volume == pytest.approx(weighed_water.kernel(1.0, temperature, 1.2, 8000.0) * mass)
    assert 1.0010 < volume / (1000 * mass / water_density.kernel(temperature)) < 1.0011


@law("tolerable_negative_error")
@given(st.floats(0.005, 9.9), st.floats(1.001, 1.5))
def test_larger_packs_may_be_short_by_more_but_by_a_smaller_share(nominal_volume, factor):
    """The tolerable error never falls with the contents; its share never rises, except for the rounding up to a tenth of a millilitre."""
    larger = min(10.0, nominal_volume * factor)
    small, large = tolerable_negative_error.kernel(nominal_volume), tolerable_negative_error.kernel(larger)
    assert large >= small
    assert large / larger <= small / nominal_volume + 1e-4 / larger + 1e-12
    assert small <= 0.09 * nominal_volume + 1e-4


@law("book_meaning")
@given(st.floats(3, 4), st.floats(3, 4), st.floats(3, 4), st.floats(0.02, 0.3), st.floats(0.02, 0.3))
def test_weights_are_shares_and_the_nearer_meaning_gains(book, one, two, u, v):
    """Weights add up to one; with equal uncertainty the nearer meaning weighs more; order changes nothing."""
    figure = f"{book:.3f}({max(1, round(v * 1000))}) L"
    names = {"one": f"{one:.3f}({max(1, round(u * 1000))}) L", "two": f"{two:.3f}({max(1, round(u * 1000))}) L"}
    weights = book_meaning(figure, names).weights
    assert sum(weights.values()) == pytest.approx(1)
    near, far = abs(round(book, 3) - round(one, 3)), abs(round(book, 3) - round(two, 3))
    assert near == pytest.approx(far, abs=1e-9) or (weights["one"] > weights["two"]) == (near < far)
    assert book_meaning(figure, dict(reversed(names.items()))).weights == pytest.approx(weights)
    shifted = book_meaning(figure, names, start_error="-0.5 L").rows
    assert {row.name: row.z for row in shifted}["one"] < {row.name: row.z for row in book_meaning(figure, names).rows}["one"]


@law("weighed_fluid", "weighed_water", "volume_at")
@given(st.floats(-49, 149), st.floats(801, 1163), st.floats(0.1, 20), st.floats(-49, 149))
def test_what_is_weighed_is_not_water(temperature, density, mass, other):
    """A weighed amount of fluid fills its mass over its density at that temperature, apart from buoyancy, and expands as fluid does."""
    volume = weighed_fluid(f"{mass!r} kg", f"{temperature!r} °C", f"{density!r} kg/m³", air_density="0 kg/m³")
    at_15 = volume_at(volume, f"{temperature!r} °C", "15 °C", f"{density!r} kg/m³")
    assert at_15.m_as("L") == pytest.approx(1000 * mass / density, rel=1e-12)
    there = volume_at(volume, f"{temperature!r} °C", f"{other!r} °C", f"{density!r} kg/m³")
    assert there.m_as("L") == pytest.approx(weighed_fluid.kernel(mass, other, density, 0.0, 8000.0), rel=1e-12)
    if 1 < temperature < 39 and density < 950:
        assert weighed_fluid.kernel(mass, temperature, density, 1.2, 8000.0) > weighed_water.kernel(mass, temperature, 1.2, 8000.0)
