"""Columns of uncertain values: row by row the same as single values, and no correlation is lost."""

from __future__ import annotations

import copy
import inspect
import itertools
import math
import pickle
import tracemalloc

import numpy
import pandas
import pint
import pytest

import sumpwise
from sumpwise import RangeError, SumpwiseError, UnitError, convert, drain_refill, measured, quantity, uncertainty
from sumpwise._math import sqrt
from sumpwise.mixing import drain_refill_series
from sumpwise.quantities.boundary import argument, evaluate, unit_aware

VALUES = {
    "applied_torque": (["30 N·m", "34 N·m", "41 N·m"], ["300 mm", "310 mm", "250 mm"], ["45 mm", "40 mm", "0 mm"],
        ["30 deg", "0 deg", "-80 deg"]),
    "claim_bounds": (["8 L", "9 L", "12 L"], ["8.85 L", "7 L", "9 L"], ["3 L", "3.3 L", "2 L"], ["10 %", "20 %", "30 %"]),
    "clamp_load": (["30 N·m", "34 N·m", "41 N·m"], ["12 mm", "14 mm", "8 mm"], [0.12, 0.15, 0.2]),
    "cost_per_litre_year": ([120.0, 99.0, 140.0], ["8.85 L", "7 L", "9 L"], ["5 y", "6 y", "8 y"], ["3 y", "2 y", "4 y"]),
    "cost_per_point": ([120.0, 99.0, 140.0], ["50 %", "70 %", "80 %"], ["10 %", "20 %", "30 %"]),
    "drain_refill": (["2.9 L", "3.3 L", "8.4 L"], ["7.7 L", "8.85 L", "8.5 L"], [3, 1, 12], [0.1, 0.2, 0.3], [0.9, 0.95, 1.0]),
    "exchange": (["6 L", "9 L", "20 L"], ["7.7 L", "8.85 L", "8 L"], 4, [0.1, 0.2, 0.3], [0.1, 0.05, 0.2]),
    "heat_factor": (["90 °C", "80 °C", "130 °C"], ["80 °C", "75 °C", "70 °C"], ["11 Δ°C", "10 Δ°C", "12 Δ°C"]),
    "light_passed": ([0.1, 0.2, 0.5], ["8 mm", "25 mm", "10 mm"], [0.5, 0.7, 0.9]),
    "longest_burst": (["1 L", "1.2 L", "0.8 L"], ["3 L/min", "4 L/min", "2 L/min"], ["1 L/min", "0.5 L/min", "1.5 L/min"],
        ["3 s", "2 s", "4 s"]),
    "mean_age_after": ([0.4, 0.3, 0.9], ["4 y", "3 y", "2 y"]),
    "mean_age_average": ([0.4, 0.3, 0.9], ["4 y", "3 y", "2 y"]),
    "mean_age_before": ([0.4, 0.3, 0.9], ["56000 km", "40000 km", "30000 km"]),
    "pour_rate": (["9 mm", "10 mm", "14 mm"], ["0.8 m", "1 m", "0.6 m"], ["0.8 m", "1 m", "0.6 m"], ["60 cSt", "80 cSt", "70 cSt"]),
    "pour_reynolds": (["9 mm", "10 mm", "14 mm"], ["0.8 m", "1 m", "0.6 m"], ["0.8 m", "1 m", "0.6 m"], ["60 cSt", "80 cSt", "70 cSt"]),
    "slope_bias": (["1 deg", "2 deg", "-3 deg"], ["300 mm", "400 mm", "200 mm"]),
    "tolerable_negative_error": (["0.75 L", "1 L", "5 L"],),
    "viscosity_at": (["80 °C", "20 °C", "-10 °C"], ["32 cSt", "30 cSt", "20 cSt"], ["5.4 cSt", "6 cSt", "4.5 cSt"]),
    "viscosity_index": (["32 cSt", "73.3 cSt", "20 cSt"], ["5.4 cSt", "8.86 cSt", "4.5 cSt"]),
    "volume_at": (["3.3 L", "-0.2 L", "9 L"], ["80 °C", "20 °C", "0 °C"], ["20 °C", "60 °C", "15 °C"],
        ["847 kg/m³", "850 kg/m³", "900 kg/m³"]),
    "volume_correction_factor": (["80 °C", "20 °C", "0 °C"], ["847 kg/m³", "850 kg/m³", "900 kg/m³"]),
    "volume_needed": ([0.9, 0.5, 0.1], ["8 L", "8.85 L", "7 L"], 4, [0.1, 0.2, 0.3], [0.05, 0.01, 0.02]),
    "water_density": (["20 °C", "4 °C", "39 °C"],),
    "weighed_fluid": (["3 kg", "2.5 kg", "1 kg"], ["20 °C", "40 °C", "0 °C"], ["847 kg/m³", "850 kg/m³", "900 kg/m³"]),
    "weighed_water": (["3 kg", "2.5 kg", "1 kg"], ["20 °C", "4 °C", "39 °C"]),
    "wrench_setting": (["30 N·m", "34 N·m", "41 N·m"], ["300 mm", "310 mm", "250 mm"], ["45 mm", "40 mm", "1 mm"],
        ["30 deg", "0 deg", "-80 deg"]),
}  # fmt: skip
STEPS = {"permissible_deviation": "it jumps from one constant to another", "setting_band": "it refuses a row that leaves no band"}
COUNTS = {"drains_needed": "a count has no uncertainty"}


def vectorised():
    functions = {name: getattr(sumpwise, name) for name in sumpwise.__all__}
    return {name for name, f in functions.items() if not all(a.scalar for a in getattr(f, "arguments", {}).values())}


def doubtful(text, share):
    """A text or a number, with its standard uncertainty."""
    if isinstance(text, str) and text.endswith("°C") and "Δ" not in text:
        return measured(text, standard=f"{30 * share} Δ°C")
    value = quantity(text) if isinstance(text, str) else text
    return measured(value, standard=abs(value) * share)


def column_of(texts, share):
    rows = [doubtful(text, share) for text in texts]
    if not hasattr(rows[0], "units"):
        return measured([r.nominal_value for r in rows], standard=[getattr(r, "std_dev", 0.0) for r in rows])
    unit = rows[0].units
    value = pint.application_registry.get().Quantity([uncertainty.nominal(r.magnitude) for r in rows], unit)
    size = [uncertainty.standard(r.magnitude) for r in rows]
    return measured(value, standard=pint.application_registry.get().Quantity(size, "delta_degC" if "°C" in str(texts[0]) else unit))


def magnitudes(answer):
    return [getattr(part, "magnitude", part) for part in (answer if isinstance(answer, tuple) else (answer,))]


def test_every_function_of_arrays_is_tried():
    assert vectorised() == {*VALUES, *STEPS, *COUNTS}


@pytest.mark.parametrize("share", [1e-3, 0.03, 0.4], ids=["narrow", "as usual", "wide"])
@pytest.mark.parametrize("name", VALUES)
def test_a_row_is_what_single_values_say(name, share):
    function, rows = getattr(sumpwise, name), VALUES[name]
    places = [i for i, given in enumerate(rows) if isinstance(given, list) and not list(function.arguments.values())[i].whole]
    tried = 0
    for chosen in itertools.chain.from_iterable(itertools.combinations(places, n) for n in (1, len(places))):
        columns = [column_of(x, share) if i in chosen else x for i, x in enumerate(rows)]
        found = magnitudes(function(*columns))
        for row in range(3):
            alone = [x[row] if isinstance(x, list) else x for x in rows]
            one = magnitudes(function(*[doubtful(x, share) if i in chosen else x for i, x in enumerate(alone)]))
            for whole, single in zip(found, one, strict=True):
                assert whole.nominal_value[row] == pytest.approx(uncertainty.nominal(single), rel=1e-12)
                rounding = 1e-12 * abs(whole.nominal_value[row])
                assert whole.std_dev[row] == pytest.approx(uncertainty.standard(single), rel=1e-7, abs=rounding)
                assert uncertainty.standard(whole[row]) == pytest.approx(whole.std_dev[row], rel=1e-12, abs=1e-300)
                assert uncertainty.caution(whole[row]) == uncertainty.caution(single)
                tried += 1
    assert tried >= 3


def litres(values, spreads, **more):
    return measured(quantity(numpy.asarray(values), "L"), standard=quantity(numpy.asarray(spreads), "L"), **more)


def test_two_columns_of_one_measurement_are_one_measurement():
    drained = litres([2.9, 3.3], [0.1, 0.2])
    assert (drained - drained).magnitude.std_dev.tolist() == [0.0, 0.0]
    assert drain_refill(drained, drained).std_dev.tolist() == [0.0, 0.0]
    again = litres([2.9, 3.3], [0.1, 0.2])
    assert (drained - again).magnitude.std_dev == pytest.approx([0.1 * math.sqrt(2), 0.2 * math.sqrt(2)])
    twice = drain_refill(drained, "8 L", start=drain_refill(drained, "8 L"))
    assert twice.std_dev == pytest.approx(drain_refill(drained, "8 L", times=2).std_dev, rel=1e-8)


def test_a_row_keeps_its_sources():
    drained, capacity = litres([2.9, 3.3], [0.1, 0.2], name="pail"), measured("8 L", standard="0.2 L", name="book")
    fresh = drain_refill(drained, capacity)
    for i in range(2):
        one = drain_refill(drained[i], capacity)
        assert uncertainty.standard(fresh[i] - one) < 1e-10
        assert {s.tag for s in uncertainty.derivatives(fresh[i])} == {f"pail[{i}]", "book"}
    assert uncertainty.standard(fresh[0] - fresh[1]) < math.hypot(*fresh.std_dev)  # the capacity is shared by all rows
    assert uncertainty.standard(drained[0].magnitude - drained[1].magnitude) == pytest.approx(math.hypot(0.1, 0.2))
    assert [x.nominal_value for x in fresh] == fresh.nominal_value.tolist()
    assert uncertainty.standard(fresh[:1][0] - fresh[0]) == 0.0
    with pytest.raises(IndexError):
        fresh[2]


def test_sources_are_named_by_argument_unless_they_have_a_name():
    drained, capacity = litres([2.9, 3.3], [0.1, 0.2]), litres([8.0, 8.0], [0.1, 0.2], name="book")
    parts = drain_refill(drained, capacity).parts
    assert list(parts) == ["drained", "book"]
    assert parts["drained"] == pytest.approx([0.1 / 8, 0.2 / 8])
    assert parts["book"] == pytest.approx([0.1 * 2.9 / 64, 0.2 * 3.3 / 64])
    assert drain_refill(drained, capacity).std_dev == pytest.approx(numpy.hypot(parts["drained"], parts["book"]))


def test_a_column_changes_its_unit_as_a_number_does():
    warm = measured(quantity([20.0, 90.0], "°C"), standard=quantity([1.0, 2.0], "Δ°C"))
    assert convert(warm, "°F").magnitude.nominal_value == pytest.approx([68.0, 194.0])
    assert convert(warm, "°F").magnitude.std_dev == pytest.approx([1.8, 3.6])
    quarts = convert(litres([2.9, 3.3], [0.1, 0.2]), "US qt")
    assert quarts.magnitude.std_dev == pytest.approx([0.1 * 1.0566882, 0.2 * 1.0566882])
    assert quarts.to("L").magnitude.nominal_value == pytest.approx([2.9, 3.3])
    assert drain_refill(quarts, "8 L").std_dev == pytest.approx(drain_refill(litres([2.9, 3.3], [0.1, 0.2]), "8 L").std_dev)
    assert drain_refill(litres([2900.0], [100.0]) / 1000, "8 L").std_dev == pytest.approx([0.1 / 8])


@pytest.mark.parametrize(
    ("made", "best", "rest"),
    [
        (lambda c: -c, [-3.0, -4.0], lambda c: c), (lambda c: 5 - c, [2.0, 1.0], lambda c: c),
        (lambda c: numpy.array([1.0, 2.0]) - c, [-2.0, -2.0], lambda c: c),
        (lambda c: c - numpy.array([1.0, 2.0]), [2.0, 2.0], lambda c: -c),
        (lambda c: c + 1, [4.0, 5.0], lambda c: -c), (lambda c: 1 + c, [4.0, 5.0], lambda c: -c),
    ],
)  # fmt: skip
def test_a_column_beside_plain_numbers_keeps_its_errors(made, best, rest):
    """On either side; what is left together with the column itself has no uncertainty."""
    column = measured([3.0, 4.0], standard=[0.1, 0.2])
    found = made(column)
    assert found.nominal_value.tolist() == best
    assert found.std_dev == pytest.approx([0.1, 0.2])
    assert [uncertainty.standard(one) for one in found + rest(column)] == [0.0, 0.0]


@pytest.mark.parametrize("operation", [
    lambda c, one: c * one, lambda c, one: one * c, lambda c, one: c / one, lambda c, one: c + numpy.array([one, one], dtype=object),
    lambda c, one: numpy.array([one, one], dtype=object) - c,
])  # fmt: skip
def test_what_is_not_linear_in_a_column_is_refused(operation):
    with pytest.raises(TypeError):
        operation(measured([3.0, 4.0], standard=[0.1, 0.2]), uncertainty.source(1.0, 0.2))


def test_limits_expanded_and_shared():
    half = measured(quantity([3.0, 4.0], "L"), limits="0.3 L", dof=7)
    assert half.magnitude.std_dev == pytest.approx([0.3 / math.sqrt(3)] * 2)
    [source] = uncertainty.derivatives(half[0].magnitude)
    assert (source.shape, source.dof) == ("rectangular", 7)
    assert measured([0.5, 0.6], expanded=[0.2, 0.1], k=2).std_dev == pytest.approx([0.1, 0.05])
    pail = measured(quantity([3.0, 4.0], "L"), standard="0.1 L", shared="the pail of these rows")
    assert uncertainty.standard(pail[0].magnitude - pail[1].magnitude) == 0.0
    assert measured(["3 L", "3 1/2 L"], standard="0.1 L").magnitude.nominal_value.tolist() == [3.0, 3.5]


@pytest.mark.parametrize(("value", "spread", "code"), [
    ([1.0, 2.0], [0.1, 0.2, 0.3], "list.length"), ([1.0, 2.0], [0.1, -0.2], "range.outside"),
    ([1.0, math.nan], [0.1, 0.2], "number.not_finite"), ([1.0, 2.0], [0.1, math.inf], "number.not_finite"),
    ([], [], "list.empty"), ([1.0, 2.0], [0.1, 1e200], "uncertainty.not_finite"),
])  # fmt: skip
def test_what_is_not_a_column(value, spread, code):
    with pytest.raises(SumpwiseError) as caught:
        drain_refill(litres(value, spread), "8 L")
    assert caught.value.code == code


def test_a_column_is_refused_where_one_value_is_expected():
    column = litres([2.9, 3.3], [0.1, 0.2])
    with pytest.raises(RangeError, match="takes one value, not an array"):
        argument("volume", scalar=True).value(column)
    with pytest.raises(RangeError, match="whole count"):
        drain_refill("2 L", "8 L", times=measured([2.0, 3.0], standard=0.1))
    with pytest.raises(RangeError, match="at most the capacity"):
        drain_refill(column, "3 L")
    with pytest.raises(UnitError, match="ragged or mixed"):
        drain_refill([column, "3 L"], "8 L")
    with pytest.raises(RangeError, match="has an uncertainty already"):
        measured(column, standard="0.1 L")
    with pytest.raises(UnitError, match="is a volume; expected a torque"):
        sumpwise.wrench_setting(column, "300 mm", "45 mm")


def test_a_column_beside_uncertain_texts_is_an_array_of_uncertain_numbers():
    drained = litres([2.9, 3.3], [0.1, 0.2])
    fresh = drain_refill(drained, ["8 ± 0.1 L", "8 L"])
    assert fresh.dtype == object
    assert uncertainty.standard(fresh[1]) == pytest.approx(0.2 / 8)
    assert uncertainty.standard(fresh[1] - drain_refill(drained[1], "8 L")) < 1e-9


def test_a_circuit_takes_a_column():
    pan = litres([3.0, 3.5], [0.1, 0.2])
    fresh = sumpwise.Circuit("4 L", "2.4 L", "0.6 L").drain(pan).pour(pan).resident
    for i in range(2):
        one = sumpwise.Circuit("4 L", "2.4 L", "0.6 L").drain(pan[i]).pour(pan[i]).resident
        assert uncertainty.nominal(fresh[i]) == pytest.approx(uncertainty.nominal(one), rel=1e-12)
        assert uncertainty.standard(fresh[i]) == pytest.approx(uncertainty.standard(one), rel=1e-9)


def test_columns_broadcast_as_arrays_do():
    drained, capacity = litres([2.9, 3.3], [0.1, 0.2]), quantity(numpy.array([[7.0], [8.0], [9.0]]), "L")
    table = drain_refill(drained, capacity)
    assert table.shape == (3, 2)
    for i, j in itertools.product(range(3), range(2)):
        one = drain_refill(drained[j], capacity[i, 0])
        assert table.std_dev[i, j] == pytest.approx(one.std_dev)
        assert uncertainty.standard(table[i, j] - one) < 1e-9
    with pytest.raises(RangeError):
        drain_refill(drained, quantity([7.0, 8.0, 9.0], "L"))


def test_a_series_takes_columns():
    first, second = litres([3.0, 2.0], [0.1, 0.2]), litres([2.0, 1.0], [0.1, 0.1])
    series = drain_refill_series([first, second], "8 L")
    assert series.nominal_value == pytest.approx([1 - 5 / 8 * 6 / 8, 1 - 6 / 8 * 7 / 8])
    assert series.std_dev[0] == pytest.approx(math.hypot(0.1 / 8 * 6 / 8, 0.1 / 8 * 5 / 8))


def test_other_registries():
    other = pint.UnitRegistry()
    column = measured(other.Quantity(numpy.array([2900.0, 3300.0]), "mL"), standard=other.Quantity(numpy.array([100.0, 200.0]), "mL"))
    needed = sumpwise.volume_needed(0.9, column)
    assert needed.units == other.mL
    assert needed.magnitude.std_dev == pytest.approx([100 * math.log(10), 200 * math.log(10)])
    forced = pint.UnitRegistry(force_ndarray=True)
    column = measured(forced.Quantity([2.0, 3.0], "L"), standard=forced.Quantity([0.1, 0.2], "L"))
    assert column.magnitude.dtype == object
    assert uncertainty.standard(drain_refill(column, "8 L")[1]) == pytest.approx(0.2 / 8)


def test_a_column_stays_itself():
    column = drain_refill(litres([2.9, 3.3], [0.1, 0.2]), "8 L")
    for same in (copy.copy(column), copy.deepcopy(column), pickle.loads(pickle.dumps(column))):
        assert (same - column).std_dev.tolist() == [0.0, 0.0]
    with pytest.raises(ValueError, match="read-only"):
        column.nominal_value[0] = 0.5
    assert str(column) == "[0.363+/-0.013 0.412+/-0.025]"
    many = drain_refill(litres(range(1, 10), [0.1] * 9), "10 L")
    assert f"{many:.2f}" == "[0.10+/-0.01 0.20+/-0.01 0.30+/-0.01 ... 0.70+/-0.01 0.80+/-0.01 0.90+/-0.01]"


def test_a_row_at_the_edge_changes_no_other():
    @unit_aware(x=argument("number"), returns="number")
    def root(x):
        """Exists up to 3.2 only."""
        return sqrt(3.2 - x)

    alone = uncertainty.standard(root(uncertainty.source(2.0, 0.1)))
    assert root(measured([2.0, 3.15], standard=0.1)).std_dev[0] == pytest.approx(alone, rel=1e-9)
    array = numpy.array([uncertainty.source(2.0, 0.1), uncertainty.source(3.15, 0.1)], dtype=object)
    assert uncertainty.standard(root(array)[0]) == pytest.approx(alone, rel=1e-12)
    edge = uncertainty.source(3.1999, 0.1)
    rows = root(numpy.array([uncertainty.source(2.0, 0.1), edge], dtype=object))
    assert uncertainty.standard(rows[0]) == pytest.approx(alone, rel=1e-12)
    assert uncertainty.standard(rows[1]) == pytest.approx(uncertainty.standard(root(edge)), rel=1e-9)


def test_an_answer_that_is_not_finite_is_refused():
    def far(x):
        return x * 1e200

    with pytest.raises(RangeError, match="no finite answer"):
        evaluate(far, [measured([1e150, 1.0], standard=[1e120, 0.1])], (False,))


def test_many_rows_take_little_more_memory_than_their_arrays():
    rows = 200_000
    drained, spread = numpy.linspace(1.0, 4.0, rows), numpy.full(rows, 0.05)
    column = litres(drained, spread)
    drain_refill(column, "8 L", 3)
    tracemalloc.start()
    try:
        kept = drain_refill(column, "8.85 ± 0.2 L", 3)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert kept.std_dev.size == rows
    assert peak < 10 * drained.nbytes


def held(call):
    """Bytes that a call holds at most."""
    call()
    tracemalloc.start()
    try:
        call()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


MANY = 300_000
COUNTED = numpy.arange(MANY) % 5 + 1
DRAINED = numpy.linspace(1.0, 7.0, MANY)


@pytest.mark.parametrize(("given", "call"), [
    (DRAINED.nbytes, lambda: sumpwise.drains_needed(quantity(DRAINED, "L"), "8 L", 0.9)),
    (DRAINED.nbytes, lambda: sumpwise.drains_needed("3 L", quantity(DRAINED + 7, "L"), numpy.full(MANY, 0.9))),
    *[(COUNTED.astype(kind).nbytes, lambda kind=kind: drain_refill("3 L", "8 L", times=COUNTED.astype(kind)))
      for kind in ("i1", "u1", "i2", "u4", "i8", "f8")],
    (COUNTED.nbytes, lambda: drain_refill("3 L", "8 L", times=COUNTED.tolist())),
    (DRAINED.nbytes, lambda: drain_refill(quantity(DRAINED, "L"), "8 L", times=COUNTED, refilled="7 L")),
    (DRAINED.nbytes, lambda: sumpwise.light_passed((DRAINED / 10).tolist(), "8 mm", 0.7)),
    (DRAINED.nbytes, lambda: sumpwise.volume_needed(DRAINED / 8, "8 L")),
])  # fmt: skip
def test_many_rows_take_at_most_ten_times_their_own_memory(given, call):
    assert held(call) <= 10.5 * given + 2e6  # what a block and the call itself hold


def test_counts_of_arrays_are_those_of_single_values():
    share, target = numpy.meshgrid(numpy.linspace(0.02, 1.0, 50), [0.0, 0.1, 0.5, 0.75, 0.9, 0.999, 1 - 0.75**8, 0.8999])
    drained = quantity(8 * share, "L")
    found = sumpwise.drains_needed(drained, "8 L", target)
    assert found.dtype.kind == "i"
    for index in numpy.ndindex(share.shape):
        assert found[index] == sumpwise.drains_needed(drained[index], "8 L", float(target[index]))
    with pytest.raises(RangeError, match="more than 10000 drains"):
        sumpwise.drains_needed(quantity([1.0, 1e-9], "L"), "8 L", 0.9)


@pytest.mark.parametrize("kind", ["i1", "u1", "u2", "u8", "i8"])
def test_narrow_whole_numbers_count_as_others_do(kind):
    times = numpy.array([0, 1, 100, 127], dtype=kind)
    long = numpy.tile(times, 10_000)
    for refilled in (None, "3.05 L"):
        one = [drain_refill("3 L", "8 L", int(n), refilled=refilled) for n in times]
        assert drain_refill("3 L", "8 L", times, refilled=refilled) == pytest.approx(one, rel=1e-12)
        assert drain_refill("3 L", "8 L", long, refilled=refilled)[-4:] == pytest.approx(one, rel=1e-12)


def test_blocks_answer_as_the_whole():
    rng = numpy.random.default_rng(7)
    drained, capacity = rng.uniform(1, 4, (5, 7001)), rng.uniform(5, 9, (5, 7001))
    found = drain_refill(quantity(drained, "L"), quantity(capacity, "L"), 3)
    assert found.shape == drained.shape
    assert numpy.array_equal(found, drain_refill.kernel(drained, capacity, 3))
    both = sumpwise.exchange(quantity(drained, "L"), quantity(capacity, "L"))
    assert numpy.array_equal(both.outlet, sumpwise.exchange.kernel(drained, capacity)[1])
    with pytest.raises(RangeError, match="fill shrinks"):
        drain_refill(quantity(drained, "L"), quantity(capacity, "L"), 9, refilled="0 L")


THREE = [3.30, 3.42, 3.55]


def pail_rows(shared=""):
    return measured(quantity(THREE, "L"), standard="0.03 L", shared=shared)


def test_rows_are_measurements_of_their_own_unless_they_share_an_instrument():
    apart, together, jug = pail_rows(), pail_rows("pail"), pail_rows("jug")
    assert uncertainty.standard((apart[1] - apart[0]).magnitude) == pytest.approx(0.03 * math.sqrt(2), rel=1e-12)
    assert uncertainty.standard((together[1] - together[0]).magnitude) == 0
    assert uncertainty.standard((pail_rows("pail")[2] - together[0]).magnitude) == 0, "the same error in another column"
    assert uncertainty.standard((jug[0] - together[0]).magnitude) == pytest.approx(0.03 * math.sqrt(2), rel=1e-12)


def test_one_value_from_rows_that_share_an_error_keeps_it_whole():
    apart, together = sumpwise.pooled(pail_rows()), sumpwise.pooled(pail_rows("pail"))
    assert uncertainty.standard(sumpwise.best_estimate(pail_rows()).value.magnitude) == pytest.approx(0.03 / math.sqrt(3), rel=1e-12)
    between = together.between.magnitude
    assert uncertainty.standard(together.value.magnitude) == pytest.approx(math.hypot(0.03, between / math.sqrt(3)), rel=1e-9)
    assert uncertainty.standard(apart.value.magnitude) < uncertainty.standard(together.value.magnitude)
    with pytest.raises(RangeError) as refused:
        sumpwise.best_estimate(pail_rows("pail"))
    assert refused.value.code == "evidence.one_source"


def test_circuits_of_one_converter_share_its_error_and_a_column_has_one_for_each():
    def difference(converter):
        rows = sumpwise.Circuit(quantity([3.7, 3.7], "L"), converter, "0.6 L").drain("3 L").pour("3 L").circulate("9 L").resident
        return uncertainty.standard(rows[0] - rows[1]), uncertainty.standard(rows[0])

    one, each = difference("2.45(20) L"), difference(measured(quantity([2.45, 2.45], "L"), standard="0.2 L"))
    assert one[0] == pytest.approx(0, abs=1e-15)
    assert one[1] == pytest.approx(each[1], rel=1e-12)
    assert each[0] == pytest.approx(each[1] * math.sqrt(2), rel=1e-9)


@pytest.mark.parametrize("call", [
    lambda: measured(["3.3 L", "x"], standard="0.1 L"),
    lambda: measured(numpy.ma.array(THREE, mask=[False, True, False]), standard=0.1),
    lambda: measured(quantity([3.3, math.nan], "L"), standard="0.1 L"),
    lambda: sumpwise.best_estimate(["3.3(1) L", "x"]),
    lambda: sumpwise.pooled(["3.3(1) L", "x"]),
    lambda: sumpwise.pooled(numpy.ma.array(THREE, mask=[False, True, False])),
    lambda: sumpwise.Circuit(["3.73 L", "-1 L"], "2.45 L", "0.62 L"),
    lambda: sumpwise.Circuit(["3.73 L", "3.73 L"], "2.45 L", "0.62 L").drain(["3 L", "9 L"]),
])  # fmt: skip
def test_a_bad_row_of_what_is_one_thing_refuses_all_of_it(call):
    with pytest.raises(SumpwiseError):
        call()


def test_a_refused_operation_leaves_the_circuits_as_they_were():
    rows = sumpwise.Circuit(["3.73 L", "3.73 L"], "2.45 L", "0.62 L")
    with pytest.raises(RangeError):
        rows.drain(["3 L", "9 L"])
    assert rows.drain(["3 L", "2 L"]).sump_volume.m_as("L") == pytest.approx([0.73, 1.73], rel=1e-12)


@pytest.mark.parametrize("of_all_rows", [measured, sumpwise.best_estimate, sumpwise.pooled, sumpwise.Circuit])
def test_what_is_one_thing_from_all_rows_takes_no_mask(of_all_rows):
    assert "errors" not in inspect.signature(of_all_rows).parameters


@pytest.mark.parametrize("missing", [None, float("nan"), pandas.NA, pandas.NaT])
def test_a_missing_value_is_said_to_be_missing(missing):
    answer, problems = drain_refill(["3.3 L", missing], "8.85 L", errors="collect")
    assert numpy.isnan(answer[1])
    ((row, code, error),) = problems
    assert (row, code) == (1, "number.missing")
    assert "is missing; expected a volume" in str(error)
    assert not error.hint
    with pytest.raises(SumpwiseError, match="is missing"):
        drain_refill(["3.3 L", missing], "8.85 L")


@pytest.mark.parametrize(
    "column",
    [
        [8.85, None, 9.0], numpy.array([8.85, numpy.nan, 9.0]), pandas.Series([8.85, None, 9.0]), (8.85, float("nan"), 9),
        pandas.Series([8.85, pandas.NA, 9.0], dtype="Float64"), pandas.Series([8.85, None, 9.0], dtype=object), ["8.85 L", "9 lbs", "9 L"],
    ],
)  # fmt: skip
def test_a_column_with_missing_values_gets_its_unit(column):
    answer, problems = quantity(column, "L", errors="collect")
    assert [row for row, _, _ in problems] == [1]
    assert answer.m[[0, 2]].tolist() == [8.85, 9.0]
    assert numpy.isnan(answer.m[1])
    masked = quantity(column, "L", errors="mask")
    assert numpy.array_equal(masked.m, answer.m, equal_nan=True)
    fresh, problems = drain_refill("3.3 L", masked, errors="collect")
    assert [row for row, _, _ in problems] == [1]
    assert numpy.isfinite(fresh[[0, 2]]).all()
    with pytest.raises(SumpwiseError):
        quantity(column, "L")
    with pytest.raises(SumpwiseError):
        drain_refill("3.3 L", masked)


def test_a_column_needs_its_unit_and_a_known_way_to_treat_errors():
    with pytest.raises(SumpwiseError, match="unit: is missing"):
        quantity([8.85, None], errors="mask")
    with pytest.raises(SumpwiseError, match="is not a way to treat errors"):
        quantity([8.85, None], "L", errors="ignore")
