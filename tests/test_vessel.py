"""Vessels: readings, calibration with water, tilt, residue, sealed packs, records, refusals."""

from __future__ import annotations

import copy
import json
import math
import pickle
from fractions import Fraction

import pint
import pytest
from scipy import optimize

from shared import contributions
from sumpwise import (
    Ledger,
    RangeError,
    SumpwiseError,
    UnitError,
    Vessel,
    budget,
    quantity,
    tolerable_negative_error,
    water_density,
    weighed_fluid,
    weighed_water,
)


@pytest.fixture
def pail():
    return Vessel("pail", "0.25 L", scale=1 / 1.019, scale_uncertainty=0.004, capacity="9 L")


def test_a_reading_is_a_scaled_volume_with_noise_and_a_shared_scale(pail):
    volume = pail.volume("3.35 L")
    assert volume.magnitude.nominal_value == pytest.approx(3.35 / 1.019)
    found = contributions(volume)
    assert found["pail, scale"] == pytest.approx(3.35 * 0.004)
    assert found["pail, reading 3.35 L"] == pytest.approx(0.0625 / math.sqrt(3) / 1.019)
    again = pail.volume("3.35 L")
    assert (volume - again).magnitude.std_dev == pytest.approx(math.sqrt(2) * 0.0625 / math.sqrt(3) / 1.019)


def test_a_vessel_is_its_name(pail):
    same = Vessel("pail", "0.25 L", scale=1 / 1.019, scale_uncertainty=0.004)
    other = Vessel("bucket", "0.25 L", scale=1 / 1.019, scale_uncertainty=0.004)
    exact = "8.00(1) L"
    assert (pail.volume(exact) - same.volume(exact)).magnitude.std_dev == pytest.approx(0.01 * math.sqrt(2) / 1.019)
    assert (pail.volume(exact) - other.volume(exact)).magnitude.std_dev > 0.04
    read_back = Vessel.from_dict(json.loads(json.dumps(pail.to_dict())))
    for twin in (copy.copy(pail), copy.deepcopy(pail), pickle.loads(pickle.dumps(pail)), read_back):
        assert twin == pail
        assert hash(twin) == hash(pail)
        assert (pail.volume(exact) - twin.volume(exact)).magnitude.std_dev == pytest.approx(0.01 * math.sqrt(2) / 1.019)


def test_a_reading_with_its_own_uncertainty_has_no_noise_beside_it():
    jug = Vessel("jug", "1 L")
    assert jug.volume("3.0 ± 0.3 L").magnitude.std_dev == pytest.approx(0.3 / math.sqrt(3))
    assert jug.volume("3.0 L").magnitude.std_dev == pytest.approx(0.25 / math.sqrt(3))
    assert Vessel("jug", "1 L", reading_fraction=0).volume("3.0 L").magnitude.__class__ is float


def test_units_follow_the_reading(pail):
    registry = pint.UnitRegistry()
    volume = pail.volume(registry.Quantity(3.0, "quart"))
    assert volume._REGISTRY is registry
    assert volume.m_as("quart").nominal_value == pytest.approx(3 / 1.019)
    assert repr(Vessel("jug", "1 qt")) == "Vessel('jug', 1 US qt, scale 1)"
    assert repr(pail) == "Vessel('pail', 0.25 L, scale 0.981354 ± 0.004)"


def test_the_vessel_grows():
    plastic = Vessel("pail", "0.25 L", expansion=4e-4, reading_fraction=0)
    assert plastic.volume("3 L", "60 °C").m_as("L") == pytest.approx(3 * 1.016)
    assert plastic.volume("3 L").m_as("L") == 3.0


def test_calibration_takes_quantities_too():
    readings = pint.get_application_registry().Quantity([2.0, 4.0], "liter")
    found = Vessel.calibrated("pail", "0.25 L", readings, ["1.96 kg", "3.92 kg"], "17 °C")
    assert found.scale == pytest.approx(0.98 * weighed_water("1 kg", "17 °C").m_as("L"))


def test_a_vessel_is_read_once_and_to_its_brim():
    registry = pint.get_application_registry()
    brim = Vessel("cup", "0.05 L", capacity="0.3 L")
    assert brim.volume(registry.Quantity(0.1 + 0.2, "L")).m.nominal_value == pytest.approx(0.3)  # a little more than 0.3 in floats
    with pytest.raises(RangeError, match="holds"):
        brim.volume("0.3001 L")
    with pytest.raises(SumpwiseError, match="one value"):
        brim.volume(["0.1 L", "0.2 L"])


def test_tilt_reads_the_surface_at_the_wall():
    # A pail of 281 mm at 1°: the surface at the wall is off by 140.5 mm · tan 1° = 2.45 mm, 0.152 L; arcsine.
    tilted = Vessel("pail", "0.25 L", reading_fraction=0, tilt="1 deg", width="28.1 cm")
    off = 140.5 * math.tan(math.radians(1)) * math.pi / 4 * 281**2 / 1e6
    assert off == pytest.approx(0.1521, abs=5e-5)
    (row,) = budget(tilted.volume("3 L")).rows
    assert row.shape == "arcsine"
    assert row.contribution.m_as("L") == pytest.approx(off / math.sqrt(2), rel=1e-12)
    level = Vessel("pail", "0.25 L", reading_fraction=0, width="28.1 cm").volume("3 L")
    assert level.m == 3.0, "a level pail has no doubt of that kind, however wide"
    with pytest.raises(RangeError, match="width"):
        Vessel("pail", "0.25 L", tilt="1 deg")


def test_fills_on_one_spot_share_the_tilt():
    tilted = Vessel("pail", "0.25 L", reading_fraction=0, tilt="1 deg", width="28.1 cm")
    one = tilted.volume("3 L").m
    u = one.std_dev
    assert (one + tilted.volume("5 L").m).std_dev == pytest.approx(2 * u)
    assert (one - tilted.volume("5 L").m).std_dev == pytest.approx(0, abs=1e-15)
    other = Vessel("jug", "0.25 L", reading_fraction=0, tilt="1 deg", width="28.1 cm")
    assert (one + other.volume("5 L").m).std_dev == pytest.approx(u * math.sqrt(2))
    ledger = Ledger("847 kg/m³")
    for fills in range(1, 4):
        ledger = ledger.drained(tilted, "3 L", "20 °C").emptied("pail")
        assert ledger.balance.m.std_dev == pytest.approx(fills * u)
    told = ledger.explain()
    assert told.best.advice == "stand the pail level"
    assert told.rows[0].standard_uncertainty.m == pytest.approx(3 * u)
    assert Ledger.from_dict(ledger.to_dict()).balance.m.std_dev == pytest.approx(3 * u)


def test_what_is_weighed_is_said():
    # 1 kg of fluid of 847 kg/m³ at 15 °C takes 1/0.847 L there, and about a thousandth more for the buoyancy of the air
    assert weighed_fluid("1 kg", "15 °C", "847 kg/m³").m_as("L") == pytest.approx(0.99985 / (0.847 - 0.0012), rel=1e-12)
    assert weighed_fluid("1 kg", "15 °C", "847 kg/m³").m > 1.17 * weighed_water("1 kg", "15 °C").m
    with pytest.raises(TypeError):
        weighed_fluid("1 kg", "15 °C")


def test_calibration_recovers_the_scale_and_its_uncertainty():
    marks, true = ["2 L", "4 L", "6 L", "8 L"], 1 / 1.019
    masses = [f"{float(m.split()[0]) * true / weighed_water('1 kg', '17 °C').m_as('L')!r} kg" for m in marks]
    found = Vessel.calibrated("pail", "0.25 L", marks, masses, "17 °C")
    assert found.scale == pytest.approx(true, rel=1e-12)
    # no scatter: the reading fraction stands in
    volumes = [float(m.split()[0]) * true for m in marks]
    grain = 0.0625 / math.sqrt(3)
    assert found.scale_uncertainty == pytest.approx(grain / math.sqrt(sum(v * v for v in volumes)) * true**2)
    assert found.scale_dof == math.inf


def test_calibration_against_an_independent_least_squares_fit():
    readings, kilograms = [2.0, 4.0, 6.0, 8.0], [1.89, 3.99, 5.78, 7.94]
    volumes = [k * weighed_water("1 kg", "17 °C").m_as("L") for k in kilograms]
    slope, covariance = optimize.curve_fit(lambda v, b: b * v, volumes, readings, p0=[1.0])
    found = Vessel.calibrated("pail", "0.1 L", [f"{r} L" for r in readings], [f"{k} kg" for k in kilograms], "17 °C")
    assert 1 / found.scale == pytest.approx(slope[0], rel=1e-7)
    assert found.scale_uncertainty / found.scale**2 == pytest.approx(math.sqrt(covariance[0][0]), rel=1e-6)
    assert found.scale_dof == Vessel.from_dict(found.to_dict()).scale_dof == 3
    grown = Vessel.calibrated("pail", "0.1 L", ["8 L"], ["7.8 kg"], "30 °C", expansion=4e-4)
    assert grown.scale * 1.004 == pytest.approx(7.8 * weighed_water("1 kg", "30 °C").m_as("L") / 8)
    shrunk = Vessel.calibrated("pail", "0.1 L", ["8 L"], ["7.8 kg"], "17 °C", expansion=4e-4)
    assert shrunk.scale * 0.9988 == pytest.approx(7.8 * weighed_water("1 kg", "17 °C").m_as("L") / 8)


def test_calibration_carries_the_uncertainty_of_each_mass_by_its_own_slope():
    """By central differences of the whole fit: a larger mark counts for more, less a part for its own misfit."""
    marks, masses = ["2 L", "4 L", "8 L"], [2.02, 3.80, 7.83]

    def scale(kilograms):
        return Vessel.calibrated("pail", "0.25 L", marks, [f"{m!r} kg" for m in kilograms], "17 °C", reading_fraction=0).scale

    def moved(i, by):
        return scale([m + by * (k == i) for k, m in enumerate(masses)])

    slopes = [(moved(i, 0.01) - moved(i, -0.01)) / 0.02 for i in range(3)]
    fit = Vessel.calibrated("pail", "0.25 L", marks, [f"{m} kg" for m in masses], "17 °C", reading_fraction=0).scale_uncertainty
    for i, slope in enumerate(slopes):
        doubtful = [f"{m:.2f}{'(10)' * (k == i)} kg" for k, m in enumerate(masses)]
        found = Vessel.calibrated("pail", "0.25 L", marks, doubtful, "17 °C", reading_fraction=0)
        assert found.scale_uncertainty == pytest.approx(math.hypot(fit, slope * 0.1), rel=1e-6)


@pytest.mark.parametrize(
    ("readings", "masses", "water", "named"),
    [
        ([["2 L", "3 L"]], ["2 kg"], "17 °C", "readings[0]"), (["2 L"], [["2 kg", "3 kg"]], "17 °C", "masses[0]"),
        (["2 L"], ["2 kg"], ["17 °C", "18 °C"], "water_temperature"), (["2 L", "4 L"], ["2 kg", "0 kg"], "17 °C", "masses[1]"),
        (["2 L", "0 L"], ["2 kg", "4 kg"], "17 °C", "readings[1]"), (["2 L"], ["-0.5 kg"], "17 °C", "masses[0]"),
    ],
)  # fmt: skip
def test_a_mark_is_one_reading_and_one_mass(readings, masses, water, named):
    with pytest.raises(SumpwiseError) as caught:
        Vessel.calibrated("pail", "0.25 L", readings, masses, water)
    assert caught.value.argument == named


def test_calibration_carries_what_the_balance_and_the_thermometer_add():
    plain = Vessel.calibrated("pail", "0.25 L", ["8 L"], ["7.83 kg"], "17 °C", reading_fraction=0)
    assert plain.scale_uncertainty == 0
    doubtful = Vessel.calibrated("pail", "0.25 L", ["8 L"], ["7.830(8) kg"], "17 °C", reading_fraction=0)
    assert doubtful.scale_uncertainty == pytest.approx(plain.scale * 0.008 / 7.83, rel=1e-6)
    warm = Vessel.calibrated("pail", "0.25 L", ["8 L"], ["7.83 kg"], "17.0(20) °C", reading_fraction=0)
    slope = (water_density.kernel(17.5) - water_density.kernel(16.5)) / water_density.kernel(17.0)
    assert warm.scale_uncertainty == pytest.approx(plain.scale * 2.0 * abs(slope), rel=1e-2)
    mixed = Vessel.calibrated("pail", "0.01 L", ["4 L", "8 L"], ["3.90(1) kg", "7.90 kg"], "17 °C")
    assert 1 < mixed.scale_dof < math.inf  # Welch-Satterthwaite: the balance's part is exactly known
    perfect = Vessel.calibrated("pail", "0.25 L", ["4 L", "8 L"], ["4.00(1) kg", "8 kg"], "17 °C", reading_fraction=0)
    assert perfect.scale_dof == math.inf  # no scatter, and nothing else but the balance
    assert perfect.scale_uncertainty > 0


@pytest.mark.parametrize(("nominal", "error"), [("50 mL", 4.5), ("250 mL", 9), ("1 L", 15), ("1 qt", 15), ("5 L", 75)])
def test_sealed_packs_are_short_by_the_directive(nominal, error):
    pack = Vessel.sealed("bottle", nominal)
    (row,) = budget(pack.volume(nominal)).rows
    assert row.shape == "normal"
    assert row.contribution.m_as("mL") == pytest.approx(error / 1.96)
    assert tolerable_negative_error(nominal).m_as("mL") == pytest.approx(error)
    assert pickle.loads(pickle.dumps(pack)) == pack
    again = Vessel.from_dict(json.loads(json.dumps(pack.to_dict())))
    assert again.to_dict()["sealed"] is True
    assert budget(again.volume(nominal)).rows[0].contribution.m_as("mL") == pytest.approx(error / 1.96)
    with pytest.raises(RangeError, match="holds"):
        pack.volume("11 L")


@pytest.mark.parametrize(
    ("nominal", "error"),
    [
        (20, 1.8), (50.1, 4.5), (75, 4.5), (100.1, 4.6), (150, 6.8), (199, 9.0), (200.5, 9), (299, 9), (300.1, 9.1), (400, 12),
        (500.1, 15), (600, 15), (1001, 15.1), (3333, 50.0),
    ],
)  # fmt: skip
def test_the_directive_between_its_steps(nominal, error):
    # percentages rounded up to a tenth of a millilitre
    assert tolerable_negative_error(f"{nominal} mL").m_as("mL") == pytest.approx(error)


def test_few_degrees_of_freedom_are_kept():
    assert Vessel("pail", "0.25 L", scale_uncertainty=0.01, scale_dof=0.5).scale_dof == 0.5
    (row, _) = budget(Vessel("pail", "0.01 L", scale_uncertainty=0.01, scale_dof=3).volume("3 L")).rows
    assert row.dof == 3


def test_water_by_hand():
    assert water_density("3.983035 °C").m_as("kg/m³") == pytest.approx(999.974950, abs=1e-9)
    assert str(water_density("68 °F").units) == "kilogram / meter ** 3"
    assert weighed_water("1 kg", "20 °C", air_density="0 kg/m³").m_as("L") == pytest.approx(1000 / 998.2067455596)
    assert weighed_water(quantity("1 lb"), "20 °C").m_as("L") == pytest.approx(0.45359237 * 0.99985 / 0.9970067455596, rel=1e-12)
    # Tanaka et al. (2001), eq. 1, in whole numbers: a₁ = -3.983035, a₂ = 301.797, a₃ = 522528.9, a₄ = 69.34881, a₅ = 999.974950
    for t in (0, 15, 25, 40):
        away = Fraction(t) - Fraction(3983035, 10**6)
        part = away**2 * (t + Fraction(301797, 1000)) / (Fraction(5225289, 10) * (t + Fraction(6934881, 10**5)))
        assert water_density.kernel(float(t)) == pytest.approx(float(Fraction(99997495, 10**5) * (1 - part)), rel=1e-15)


@pytest.mark.parametrize(
    ("call", "kind"),
    [
        (lambda: Vessel("", "0.25 L"), RangeError),
        (lambda: Vessel(7, "0.25 L"), RangeError),
        (lambda: Vessel("pail", "0.25"), SumpwiseError),
        (lambda: Vessel("pail", 0.25), UnitError),
        (lambda: Vessel("pail", "0 L"), RangeError),
        (lambda: Vessel("pail", "0.25 ± 0.01 L"), RangeError),
        (lambda: Vessel("pail", "0.25 L", scale=0), RangeError),
        (lambda: Vessel("pail", "0.25 L", scale_uncertainty=-0.1), RangeError),
        (lambda: Vessel("pail", "0.25 L", reading_fraction=-1), RangeError),
        (lambda: Vessel("pail", "0.25 L", scale_dof=0), RangeError),
        (lambda: Vessel("pail", "0.25 L", expansion=0.5), RangeError),
        (lambda: Vessel("pail", "0.25 L").volume("-1 L"), RangeError),
        (lambda: Vessel("pail", "0.25 L", capacity="9 L").volume("9.01 L"), RangeError),
        (lambda: Vessel("pail", "0.25 L").volume("1 kg"), UnitError),
        (lambda: Vessel.calibrated("pail", "0.25 L", ["8 L"], [], "17 °C"), RangeError),
        (lambda: Vessel.calibrated("pail", "0.25 L", [], [], "17 °C"), RangeError),
        (lambda: Vessel.calibrated("pail", "0.25 L", ["4 L"], ["3.9 kg", "7.8 kg"], "17 °C"), RangeError),
        (lambda: Vessel.calibrated("pail", "0.25 L", "8 L", ["7.8 kg"], "17 °C"), RangeError),
        (lambda: Vessel.calibrated("pail", "0.25 L", quantity("8 L"), ["7.8 kg"], "17 °C"), RangeError),
        (lambda: Vessel.calibrated("pail", "0.25 L", ["0 L"], ["7.8 kg"], "17 °C"), RangeError),
        (lambda: Vessel.calibrated("pail", "0.25 L", ["8 L"], ["7.8 kg"], "71 °C"), RangeError),
        (lambda: Vessel.calibrated("pail", "0.25 L", ["8 L"], ["7.8 L"], "17 °C"), UnitError),
        (lambda: Vessel.sealed("drum", "60 L"), RangeError),
        (lambda: Vessel.from_dict({"version": 2}), SumpwiseError),
        (lambda: Vessel.from_dict({"version": 1, "name": "pail"}), SumpwiseError),
        (lambda: Vessel.from_dict([]), SumpwiseError),
        (lambda: tolerable_negative_error("4 mL"), RangeError),
        (lambda: tolerable_negative_error("10.1 L"), RangeError),
        (lambda: water_density("40.1 °C"), RangeError),
        (lambda: water_density("-0.1 °C"), RangeError),
        (lambda: Vessel("pail", ["0.25 L", "1 L"]), RangeError),
        (lambda: weighed_water("-1 kg", "20 °C"), RangeError),
    ],
)
def test_refused_at_once(call, kind):
    with pytest.raises(kind) as caught:
        call()
    assert str(caught.value)


def test_what_a_vessel_holds_back_is_not_negative_and_water_is_not_ice():
    with pytest.raises(SumpwiseError) as caught:
        Vessel("pail", "0.25 L", residue="-0.5 L")
    assert caught.value.argument == "residue"
    for edge in ("0 °C", "0.5 °C", "40 °C"):
        assert Vessel.calibrated("pail", "0.25 L", ["8 L"], ["7.83 kg"], edge).scale > 0
    for past in ("-0.5 °C", "40.5 °C"):
        with pytest.raises(SumpwiseError) as caught:
            Vessel.calibrated("pail", "0.25 L", ["8 L"], ["7.83 kg"], past)
        assert caught.value.argument == "water_temperature"
    with pytest.raises(SumpwiseError):
        Vessel.calibrated("pail", "0.25 L", ["8 L"], [["7.83 kg", "7.84 kg"]], "17 °C")
    with pytest.raises(SumpwiseError):
        Vessel("pail", "0.25 L", scale_uncertainty=[0.1, 0.2])


@pytest.mark.parametrize(
    ("name", "taken", "refused"),
    [
        ("scale", (0.02, 99.5), (0.01, 100.0, [1, 2])),
        ("scale_uncertainty", (0, 99.5), (-0.01, 100.0)),
        ("reading_fraction", (0, 99.5), (-0.01, 100.0, [0, 1])),
        ("tilt", ("0 deg", "44.5 deg"), ("-0.5 deg", "45 deg", ["1 deg", "2 deg"])),
        ("width", ("0.5 mm",), ("0 mm", ["20 cm", "30 cm"])), ("expansion", (0, 0.009), (-0.001, 0.01, [0, 0.001])),
        ("residue", ("0 L", "0.5 L"), ("-0.01 L", ["0 L", "1 L"])), ("capacity", ("0 L", "0.5 L"), ("-0.01 L", ["1 L", "2 L"])),
        ("graduation", ("0.01 L",), ("0 L", "-0.01 L")), ("scale_dof", (0.5,), (0, -1)),
    ],
)  # fmt: skip
def test_limits_of_what_describes_a_vessel(name, taken, refused):
    for value in taken:
        Vessel(**{"name": "pail", "graduation": "0.25 L", "width": "20 cm"} | {name: value})
    for value in refused:
        with pytest.raises(SumpwiseError) as caught:
            Vessel(**{"name": "pail", "graduation": "0.25 L", "width": "20 cm"} | {name: value})
        assert caught.value.argument == name


def test_limits_of_a_reading():
    pail = Vessel("pail", "0.25 L", capacity="9 L", reading_fraction=0)
    for warm in ("-50 °C", "150 °C"):
        assert pail.volume("9 L", warm).m_as("L") == 9
        assert pail.volume("0 L", warm).m_as("L") == 0
    for arguments, named in ((("1 L", "-50.5 °C"), "temperature"), (("1 L", "150.5 °C"), "temperature"), (("-0.01 L",), "reading")):
        with pytest.raises(SumpwiseError) as caught:
            pail.volume(*arguments)
        assert caught.value.argument == named


@pytest.mark.parametrize("wrong", [1e301, "a lot", [1.0]])
def test_a_record_with_a_number_that_is_none_is_refused(wrong):
    with pytest.raises(SumpwiseError):
        Vessel.from_dict(Vessel("pail", "0.25 L").to_dict() | {"scale": wrong})


READ, WEIGHED = ["2 L", "4.03 L", "8 L"], ["1.97 kg", "3.90 kg", "7.86 kg"]


def test_uncertain_masses_add_to_the_scatter_and_to_its_degrees_of_freedom():
    plain = Vessel.calibrated("pail", "0.01 L", READ, WEIGHED, "20 °C")
    doubtful = Vessel.calibrated("pail", "0.01 L", READ, [f"{mass.removesuffix(' kg')}(4) kg" for mass in WEIGHED], "20 °C")
    assert plain.scale_dof == 2
    assert doubtful.scale_uncertainty > 1.2 * plain.scale_uncertainty
    # Welch and Satterthwaite: what the masses add has infinitely many
    assert doubtful.scale_dof == pytest.approx(2 * (doubtful.scale_uncertainty / plain.scale_uncertainty) ** 4)


def test_a_vessel_that_grows_was_smaller_at_twenty_degrees():
    rigid = Vessel.calibrated("pail", "0.01 L", READ, WEIGHED, "30 °C")
    growing = Vessel.calibrated("pail", "0.01 L", READ, WEIGHED, "30 °C", expansion=0.001)
    assert growing.scale == pytest.approx(rigid.scale / 1.01)
    assert growing.scale_uncertainty == pytest.approx(rigid.scale_uncertainty / 1.01)


def test_a_record_with_a_number_beyond_any_pail_is_refused():
    with pytest.raises(SumpwiseError):
        Vessel.from_dict(Vessel("pail", "0.25 L").to_dict() | {"residue_uncertainty": 1e301})
    for key, wrong in (("residue_uncertainty", -0.5), ("unit", "N·m"), ("unit", "kg"), ("unit", "cask"), ("unit", None), ("unit", 5)):
        with pytest.raises(SumpwiseError, match=key):
            Vessel.from_dict(Vessel("pail", "0.25 L").to_dict() | {key: wrong})


def test_a_growth_that_is_not_known_well_is_one_error_of_all_warm_readings():
    """±1e-4 per °C on 3 L at 50 °C is 9 mL, on 1 L at 35 °C 1.5 mL, together 10.5 mL; nothing at 20 °C, where the scale is true."""
    tub = Vessel("tub", "0.25 L", reading_fraction=0, expansion="0.020(10) %")
    assert tub.volume("3 L", "50 °C").m.std_dev == pytest.approx(9e-3, rel=1e-9)
    assert tub.volume("3 L", "50 °C").m.nominal_value == pytest.approx(3.018, rel=1e-12)
    assert (tub.volume("3 L", "50 °C") + tub.volume("1 L", "35 °C")).m.std_dev == pytest.approx(10.5e-3, rel=1e-9)
    assert tub.volume("3 L", "20 °C").m.__class__ is float
    again = Vessel.from_dict(json.loads(json.dumps(tub.to_dict())))
    assert again == tub
    assert again.volume("3 L", "50 °C").m.std_dev == pytest.approx(9e-3, rel=1e-9)


def test_air_in_what_a_vessel_catches_is_not_fluid():
    """1.0 ± 0.5 % of air in 4 L caught: 3.96 ± 0.02 L came out; what is poured carries none."""
    pail = Vessel("pail", "0.25 L", reading_fraction=0, air="1.0(5) %")
    caught = Ledger("847 kg/m³").drained(pail, "4 L", "20 °C").total_drained.m
    assert (caught.nominal_value, caught.std_dev) == pytest.approx((3.96, 0.02), rel=1e-9)
    twice = Ledger("847 kg/m³").drained(pail, "4 L", "20 °C").emptied(pail).drained(pail, "4 L", "20 °C").total_drained.m
    assert twice.std_dev == pytest.approx(0.04, rel=1e-9)
    assert Ledger("847 kg/m³").drained(pail, "4.1 L", "20 °C").total_drained.m.std_dev == pytest.approx(0.0205, rel=1e-9)
    assert Ledger("847 kg/m³").poured(pail, "4 L", "20 °C").total_poured.m == 4.0
    assert Vessel.from_dict(pail.to_dict()) == pail


def test_the_books_keep_what_grows_and_what_froths():
    tub = Vessel("tub", "0.25 L", reading_fraction=0, expansion="0.020(10) %", air="1.0(5) %")
    ledger = Ledger("847 kg/m³").drained(tub, "3 L", "50 °C")
    assert ledger.total_drained.m.std_dev == pytest.approx(Ledger.from_dict(ledger.to_dict()).total_drained.m.std_dev, rel=1e-12)
    why = ledger.explain()
    assert sum(row.value.m for row in why.rows) == pytest.approx(why.rest.m.nominal_value, abs=1e-12)
    assert why.best.advice == "let the foam in the tub settle before you read it"
    warm = Vessel("tub", "0.25 L", reading_fraction=0, expansion="0.020(10) %")
    why = Ledger("847 kg/m³").drained(warm, "3 L", "50 °C").explain()
    assert why.best.advice == "read the tub when it is cool, or say what it is made of"


def test_what_a_vessel_is_like_comes_in_units():
    registry = pint.UnitRegistry()
    pail = Vessel("pail", registry.Quantity(0.25, "quart"), tilt="1 deg", width="28.1 cm", residue="0.05(1) L", capacity="9 L")
    assert (pail.graduation.m, str(pail.graduation.units)) == (0.25, "quart")
    assert pail.graduation._REGISTRY is pail.capacity._REGISTRY is registry
    assert pail.capacity.m_as("L") == pytest.approx(9)
    assert (pail.residue.m_as("L").nominal_value, pail.residue.m_as("L").std_dev) == (pytest.approx(0.05), pytest.approx(0.01))
    assert pail.tilt.m_as("degree") == pytest.approx(1)
    assert pail.width.m_as("mm") == pytest.approx(281)
    plain = Vessel("jug", "50 mL")
    assert (plain.graduation.m, plain.capacity, plain.width, plain.residue.m) == (50, None, None, 0)
    again = Vessel.from_dict(json.loads(json.dumps(pail.to_dict())))
    assert again == pail
    assert again.residue.m_as("L").std_dev == pytest.approx(0.01)
    twice = pail.residue - pail.residue
    assert twice.m.std_dev == 0, "one residue, wherever it is asked for"
