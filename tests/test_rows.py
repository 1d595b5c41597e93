"""Bad rows are separated from the rest, and columns of other libraries come back as they were."""

from __future__ import annotations

import inspect
import itertools
import math
import pickle
import time

import cloudpickle
import dask.array as da
import numpy
import pandas
import pint
import pytest

import sumpwise
from sumpwise import (
    Dipstick,
    NotationError,
    OverflowPlug,
    RangeError,
    SumpwiseError,
    UnitError,
    Vessel,
    blend_viscosity,
    convert,
    cost_per_point,
    drain_refill,
    drain_refill_series,
    drains_needed,
    exchange,
    light_passed,
    measured,
    normalized_error,
    quantity,
    standard_uncertainty,
    uncertainty,
    volume_at,
    volume_needed,
    zeta_score,
)  # fmt: skip
from sumpwise.codes import CODES
from sumpwise.quantities.boundary import argument, unit_aware
from sumpwise.quantities.magnitudes import real

APP = pint.application_registry.get()
STICK = Dipstick("0.42 L", "13 mm", "8.85 L", "847 kg/m³", "82-92 °C", resolution="1 mm")
TYPED = ["3.3 L", "3.5 lbs", "3,1 L", "x", "12 L", None, "9**9 L", "2 L"]


def litres(*values):
    return APP.Quantity(numpy.array(values, dtype=float), "L")


# -- mask and collect


def test_bad_rows_of_a_list_are_nan_and_the_others_are_right():
    found = drain_refill(TYPED, "8.85 L", errors="mask")
    good = [0, 2, 7]
    assert numpy.flatnonzero(~numpy.isnan(found)).tolist() == good
    assert found[good].tolist() == drain_refill([TYPED[i] for i in good], "8.85 L").tolist()


def test_collected_problems_say_row_code_and_what_the_row_alone_would_say():
    answer, problems = drain_refill(TYPED, "8.85 L", errors="collect")
    assert [p.row for p in problems] == [1, 3, 4, 5, 6]
    for row, code, error in problems:
        with pytest.raises(SumpwiseError) as alone:
            drain_refill(TYPED[row], "8.85 L")
        assert (code, type(error), error.problem) == (alone.value.code, type(alone.value), alone.value.problem)
        assert code in CODES
        assert error.argument == f"drained[{row}]"
    assert numpy.isnan(answer[[p.row for p in problems]]).all()
    assert pickle.loads(pickle.dumps(problems[0])).code == problems[0].code


def test_a_bad_row_is_shown_with_the_unit_of_its_column():
    _, problems = drain_refill(litres(3.3, 12.0), "8.85 L", start=APP.Quantity(numpy.array([10.0, 120.0]), "%"), errors="collect")
    assert "120 %" in str(problems[0].error)


def test_without_a_word_the_first_bad_row_is_raised():
    for errors in ({}, {"errors": "raise"}):
        with pytest.raises(UnitError, match=r"drained\[1\]"):
            drain_refill(TYPED, "8.85 L", **errors)
    with pytest.raises(NotationError, match=r"drained\[1\]"):
        drain_refill(["2 L", "x"], capacity="8.85 L", errors="raise")


@pytest.mark.parametrize("errors", ["mask", "collect"])
def test_without_a_bad_row_nothing_is_different(errors):
    plain = drain_refill(litres(2, 3), "8 L", times=[1, 2])
    found = drain_refill(litres(2, 3), "8 L", times=[1, 2], errors=errors)
    assert getattr(found, "answer", found).tolist() == plain.tolist()
    assert getattr(found, "problems", []) == []
    counts = drains_needed(litres(2, 3), "8 L", 0.9, errors=errors)
    assert getattr(counts, "answer", counts).dtype.kind == "i"
    single = drain_refill("2 L", "8 L", errors=errors)
    assert getattr(single, "answer", single) == 0.25
    with pytest.raises(RangeError, match="at most the capacity"):
        drain_refill("9 L", "8 L", errors=errors)


def test_every_kind_of_trouble_is_of_its_row():
    drained = litres(3, math.nan, -1, 9, 8 * (1 + 1e-14), 2, 2)
    answer, problems = drain_refill(drained, "8 L", [1, 1, 1, 1, 2, 2.5, 20_000], errors="collect")
    codes = {1: "number.not_finite", 2: "range.outside", 3: "range.above_bound", 5: "number.not_whole", 6: "range.outside"}
    assert {p.row: p.code for p in problems} == codes
    assert answer[[0, 4]].tolist() == [0.375, 1.0]
    assert problems[2].error.argument == "drained[3]"
    assert problems[1].error.value == "'-1 L'"


def test_what_only_a_check_or_the_kernel_can_say():
    target = numpy.full(300, 0.9)
    target[[7, 250]] = 1.0
    answer, problems = drains_needed("3 L", "8 L", target, errors="collect")
    assert [(p.row, p.code) for p in problems] == [(7, "target.unreachable"), (250, "target.unreachable")]
    assert numpy.isnan(answer[[7, 250]]).all()
    assert set(answer[~numpy.isnan(answer)]) == {5.0}
    answer, problems = volume_needed([0.5, 0.96, 0.9], litres(8, 8, 8), dead=[0.0, 0.05, 0.2], errors="collect")
    assert [p.row for p in problems] == [1, 2]
    assert answer.magnitude[0] == volume_needed(0.5, "8 L").magnitude


def test_an_answer_that_is_not_finite_is_a_bad_row():
    @unit_aware(x=argument("number"), returns="number")
    def over(x):
        """None at zero."""
        return 1 / x

    answer, problems = over(numpy.array([1.0, 0.0, 4.0]), errors="collect")
    assert answer[[0, 2]].tolist() == [1.0, 0.25]
    assert [(p.row, p.code) for p in problems] == [(1, "answer.none")]


def test_what_is_wrong_with_all_rows_is_raised():
    for errors, given in itertools.product(["mask", "collect"], [
        (APP.Quantity([1.0, 2.0], "kg"), "8 L"), (numpy.array([1.0, 2.0]), "8 L"), (litres(1, 2), "8 kg"), (litres(1, 2), litres(8, 8, 8)),
        (numpy.array([True, False]), "8 L"),
    ]):  # fmt: skip
        with pytest.raises(SumpwiseError):
            drain_refill(*given, errors=errors)
    with pytest.raises(RangeError, match="not a way to treat errors") as caught:
        drain_refill(["1 L"], "8 L", errors="ignore")
    assert caught.value.code == "value.choice"
    with pytest.raises(TypeError, match="capacity"):
        drain_refill(["1 L"], errors="mask")
    with pytest.raises(TypeError, match="dranied"):
        drain_refill(["1 L"], "8 L", dranied=3, errors="mask")
    with pytest.raises(RangeError, match="not an array"):
        exchange(litres(1, 9), "8 L", tanks=[1, 2], errors="mask")


def test_units_and_several_answers():
    warm = volume_at(["3 qt", "x", "1 L"], "80 °C", "20 °C", "847 kg/m³", errors="mask")
    assert warm.units == APP.quart
    assert warm.magnitude[0] == volume_at("3 qt", "80 °C", "20 °C", "847 kg/m³").magnitude
    assert numpy.isnan(warm.magnitude[1])
    (resident, outlet), problems = exchange(["3 L", "4 kg"], "8 L", tanks=2, errors="collect")
    assert [resident[0], outlet[0]] == pytest.approx(list(exchange("3 L", "8 L", tanks=2)))
    assert numpy.isnan([resident[1], outlet[1]]).all()
    assert [p.code for p in problems] == ["unit.kind"]


def test_a_table_names_its_rows_by_both_places():
    answer, problems = drain_refill(litres(1, 9), APP.Quantity([[7.0], [10.0]], "L"), errors="collect")
    assert answer[1].tolist() == pytest.approx([0.1, 0.9])
    assert [p.row for p in problems] == [(0, 1)]
    assert problems[0].error.argument == "drained[0, 1]"


def test_a_column_of_uncertain_values_keeps_its_good_rows():
    drained = measured(litres(3, 9, 4), standard=litres(0.1, 0.1, 0.2))
    answer, problems = drain_refill(drained, litres(8, 8, 10), errors="collect")
    assert [p.row for p in problems] == [1]
    whole = drain_refill(drained, litres(8, 9.5, 10))
    assert answer.std_dev[[0, 2]].tolist() == whole.std_dev[[0, 2]].tolist()
    assert numpy.isnan([answer.nominal_value[1], answer.std_dev[1], answer[1]]).all()
    assert uncertainty.standard(answer[2] - whole[2]) == 0.0
    texts = drain_refill(["3 ± 0.1 L", "x", "4 ± 0.2 L"], "8 L", errors="mask")
    assert math.isnan(texts[1])
    assert uncertainty.standard(texts[2]) == pytest.approx(0.2 / math.sqrt(3) / 8)
    assert numpy.isnan(drain_refill(measured(litres(9, 9), standard="0.1 L"), "8 L", errors="mask")).all()


def test_a_column_as_it_was_typed_is_converted():
    answer, problems = convert(["1 US qt", "3 kg", "2 L"], "L", errors="collect")
    assert answer.magnitude[[0, 2]].tolist() == [0.946352946, 2.0]
    assert [(p.row, p.code) for p in problems] == [(1, "unit.kind")]
    assert convert("1 US qt", "L", errors="mask") == convert("1 US qt", "L")
    with pytest.raises(UnitError, match=r"value\[1\]"):
        convert(["1 L", "3 kg"], "L")


@pytest.mark.parametrize("bad", [0.01, 0.5, 1.0])
def test_many_bad_rows_take_no_longer_than_many_rows(bad):
    def taken(rows):
        rng = numpy.random.default_rng(3)
        target = numpy.where(rng.uniform(size=rows) < bad, 1.0, 0.9)  # refused by the check, not by a limit
        drained = APP.Quantity(numpy.where(rng.uniform(size=rows) < bad / 2, math.nan, 3.0), "L")
        start = time.process_time()
        _, problems = drains_needed(drained, "8 L", target, errors="collect")
        assert len(problems) == numpy.count_nonzero((target == 1.0) | numpy.isnan(drained.magnitude))
        return time.process_time() - start

    taken(500)
    few, many = min(taken(2_000) for _ in range(3)), min(taken(16_000) for _ in range(2))
    assert many < 24 * few + 0.05


# -- columns of other libraries


def test_a_series_comes_back_as_a_series_of_its_index():
    frame = pandas.DataFrame({"drained": ["3.3 L", "3 1/2 qt"], "old": [0.1, 0.2]}, index=["first", "second"])
    fresh = drain_refill(frame["drained"], "8.85 L")
    assert isinstance(fresh, pandas.Series)
    assert fresh.index.tolist() == ["first", "second"]
    assert fresh.tolist() == drain_refill(frame["drained"].tolist(), "8.85 L").tolist()
    frame["fresh"] = fresh
    assert frame["fresh"].tolist() == fresh.tolist()
    passed = light_passed(frame["old"], "8 mm", pandas.Series([0.7, 0.8], index=frame.index))
    assert passed.tolist() == light_passed([0.1, 0.2], "8 mm", [0.7, 0.8]).tolist()
    assert light_passed(frame["old"], litres(8, 9).magnitude * APP.mm, 0.7).index.equals(frame.index)
    needed = volume_needed(frame["old"], "8 L")
    assert needed.units == APP.litre
    assert needed.magnitude.tolist() == volume_needed([0.1, 0.2], "8 L").magnitude.tolist()
    assert quantity(frame["old"], "L").magnitude.tolist() == [0.1, 0.2]


def test_series_of_two_indexes_do_not_belong_together():
    one, other = pandas.Series([0.1, 0.2], index=[1, 2]), pandas.Series([0.7, 0.7], index=[2, 1])
    with pytest.raises(RangeError, match="a different index") as caught:
        light_passed(one, "8 mm", other)
    assert caught.value.code == "list.order"
    assert light_passed(one, "8 mm", other.reindex([1, 2])).index.tolist() == [1, 2]


def test_what_a_series_lacks_is_a_bad_row():
    series = pandas.Series([0.1, None, 7.0], index=[5, 6, 7])
    with pytest.raises(RangeError, match=r"old\[1\]"):
        light_passed(series, "8 mm", 0.7)
    answer, problems = light_passed(series, "8 mm", 0.7, errors="collect")
    assert answer.isna().tolist() == [False, True, True]
    assert answer.index.tolist() == [5, 6, 7]
    assert [(p.row, p.code) for p in problems] == [(1, "number.not_finite"), (2, "range.outside")]
    for nullable in (pandas.array([0.1, None], dtype="Float64"), pandas.array([1, None], dtype="Int64")):
        assert light_passed(pandas.Series(nullable), "8 mm", 0.7, errors="mask").isna().tolist() == [False, True]


class Series:
    """A column as a library without an index has it: made of a name and values, read by `to_numpy`."""

    def __init__(self, name, values):
        self.name = name
        self.values = numpy.asarray(values)

    def to_numpy(self):
        return self.values

    def __array__(self, dtype=None, copy=None):
        raise AssertionError("the column was turned into an array behind its back")

    def __len__(self):
        return len(self.values)


def test_a_column_without_an_index_comes_back_as_one_of_its_kind():
    fresh = light_passed(Series("old", [0.1, 0.2]), "8 mm", 0.7)
    assert isinstance(fresh, Series)
    assert fresh.name == "old"
    assert fresh.values.tolist() == light_passed([0.1, 0.2], "8 mm", 0.7).tolist()
    assert drain_refill(Series("typed", ["3 L", "x"]), "8 L", errors="mask").values.tolist()[0] == 0.375


class Labelled:
    """Values with labels, as another library has them: not made of a name and values, perhaps computed by dask, perhaps not."""

    def __init__(self, values, labels=None, name="old"):
        if labels is None or len(numpy.shape(values)) != 1:
            raise ValueError("labels have to fit the values")
        self.values, self.labels, self.name = numpy.asarray(values), labels, name

    ndim = 1

    def to_numpy(self):
        return self.values

    def __array__(self, dtype=None, copy=None):
        return self.values

    def __dask_graph__(self):
        return None

    def __len__(self):
        return len(self.values)


OLD = [0.1, 0.2]


@pytest.mark.parametrize("value", [
    pandas.DataFrame({"old": OLD}), pandas.DataFrame({"name": OLD}), pandas.Index(OLD), pandas.Index(OLD, name="old"),
    pandas.RangeIndex(2), Labelled(OLD, ["a", "b"]), Series("old", [OLD]),
], ids=["table", "table with a name", "index", "index with a name", "range", "labels", "column of tables"])  # fmt: skip
@pytest.mark.parametrize("errors", ["raise", "mask", "collect"])
def test_what_has_labels_that_an_answer_cannot_keep_is_refused(value, errors):
    """Tables lost their columns without a word, an index ended in an error of its own library, labels became an array of dask."""
    calls = [lambda: light_passed(value, "8 mm", 0.7, errors=errors), lambda: quantity(value, "L"), lambda: measured(value, standard=0.1)]
    for call in calls[: 3 if errors == "raise" else 1]:
        with pytest.raises(RangeError, match="would lose its labels") as caught:
            call()
        assert caught.value.code == "list.type"
        assert caught.value.argument in ("old", "value")
    assert light_passed(value.to_numpy()[:1] / 10, "8 mm", 0.7).shape[:1] == (1,)


def test_what_a_mask_hides_is_not_read_and_stays_hidden():
    old = numpy.ma.array([0.1, 7.0, 0.3], mask=[False, True, False])
    passed = light_passed(old, "8 mm", 0.7)
    assert isinstance(passed, numpy.ma.MaskedArray)
    assert passed.mask.tolist() == [False, True, False]
    assert passed.compressed().tolist() == light_passed([0.1, 0.3], "8 mm", 0.7).tolist()
    both = light_passed(old, "8 mm", numpy.ma.array([0.7, 0.7, 0.7], mask=[True, False, False]))
    assert both.mask.tolist() == [True, True, False]
    warm = volume_at(quantity(numpy.ma.array([1.0, -math.inf, 3.0], mask=[0, 1, 0]), "L"), "80 °C", "20 °C", "847 kg/m³")
    assert warm.magnitude.mask.tolist() == [False, True, False]
    assert convert(quantity(old, "L"), "mL").magnitude.compressed().tolist() == [100.0, 300.0]
    nothing_hidden = light_passed(numpy.ma.array([0.1, 0.2]), "8 mm", 0.7)
    assert isinstance(nothing_hidden, numpy.ma.MaskedArray)
    assert not nothing_hidden.mask.any()
    with pytest.raises(RangeError, match=r"old\[2\]"):
        light_passed(numpy.ma.array([0.1, 0.2, 7.0], mask=[0, 1, 0]), "8 mm", 0.7)
    assert light_passed(numpy.ma.array([0.1, 0.2, 7.0], mask=[0, 1, 0]), "8 mm", 0.7, errors="mask").mask.tolist() == [False, True, True]
    with pytest.raises(RangeError, match="must be finite"):
        quantity(numpy.ma.array([1.0, math.nan, 2.0], mask=[1, 0, 0]), "L")


def test_single_values_stand_beside_a_masked_column():
    old = numpy.ma.array([0.1, 0.2], mask=[0, 1])
    assert light_passed(old, quantity("8 mm"), 0.7).compressed() == pytest.approx([light_passed(0.1, "8 mm", 0.7)])
    assert volume_needed(old, quantity("8 L")).magnitude[0] == pytest.approx(volume_needed(0.1, "8 L").magnitude)
    uncertain = light_passed(old, measured("8 mm", standard="0.1 mm"), 0.7)
    assert uncertainty.standard(uncertain[0]) == pytest.approx(light_passed(0.1, measured("8 mm", standard="0.1 mm"), 0.7).std_dev)
    numbers = APP.Quantity(numpy.ma.array([3.0, 99.0], mask=[0, 1], dtype=object), "L")
    assert drain_refill(numbers, "8 L").dtype == float
    assert convert(numbers, "mL").magnitude.compressed().tolist() == [3000.0]
    doubtful = APP.Quantity(numpy.ma.array([uncertainty.source(3.0, 0.1), 99.0], mask=[0, 1], dtype=object), "L")
    assert uncertainty.standard(convert(doubtful, "mL").magnitude.compressed()[0]) == pytest.approx(100.0)
    objects = numpy.ma.array([quantity("3 L"), quantity("99 L")], mask=[0, 1], dtype=object)
    assert drain_refill(objects, "8 L").compressed().tolist() == [0.375]


def test_a_container_of_one_value_and_a_list_of_containers():
    for value in (numpy.ma.array(0.1), pandas.Series([0.1]).iloc[0], numpy.ma.array([0.1, 0.2])[0]):
        assert light_passed(value, "8 mm", 0.7) == pytest.approx(light_passed(0.1, "8 mm", 0.7))
        assert light_passed(value, "8 mm", 0.7, errors="mask") == pytest.approx(light_passed(0.1, "8 mm", 0.7))
    for nothing in (numpy.ma.masked, numpy.ma.array([0.1, 0.2], mask=[1, 0])[0], numpy.ma.array(0.1, mask=True)):
        for given in ((nothing, "8 mm"), ([0.1, 0.2], nothing)):
            for errors in ({}, {"errors": "mask"}):
                with pytest.raises(SumpwiseError):
                    light_passed(*given, 0.7, **errors)
    with pytest.raises(RangeError, match="not computed yet"):
        light_passed(da.ones(()), "8 mm", 0.7)
    with pytest.raises(RangeError, match="not computed yet"):
        volume_needed(0.9, APP.Quantity(da.ones(()), "L"))
    with pytest.raises(RangeError, match="a masked element"):
        volume_needed(0.9, APP.Quantity(numpy.ma.array(8.0, mask=True), "L"))
    assert volume_needed(0.9, APP.Quantity(numpy.ma.array(8.0), "L")).magnitude == pytest.approx(volume_needed(0.9, "8 L").magnitude)
    for inner in (pandas.Series([3.0, 2.0]), numpy.ma.array([3.0, 2.0]), da.ones(2), numpy.ma.masked):
        for call in (
            lambda inner=inner: light_passed([inner, 0.1], "8 mm", 0.7, errors="raise"), lambda inner=inner: convert([inner, "3 L"], "L"),
            lambda inner=inner: light_passed([0.1, inner], "8 mm", 0.7), lambda inner=inner: measured([0.1, inner], standard=0.1),
        ):  # fmt: skip
            with pytest.raises(SumpwiseError):
                call()
        assert [p.row for p in light_passed([inner, 0.1], "8 mm", 0.7, errors="collect").problems] == [0]


def test_an_array_of_dask_stays_lazy():
    computed = []

    def noted(block):
        computed.append(len(block))
        return block

    plain = numpy.linspace(0.0, 1.0, 10)
    waiting = da.from_array(plain, chunks=4).map_blocks(noted, dtype=float, meta=numpy.empty(0))
    passed = light_passed(waiting, "8 mm", 0.7)
    fresh = drain_refill(quantity(waiting, "L"), litres(*(8.0 + plain)))
    needed = volume_needed(waiting * 0.9, "8 US qt")
    both = exchange(quantity(waiting, "L"), "8 L", tanks=3)
    inches = convert(quantity(waiting, "mm"), "in")
    assert computed == []
    assert all(isinstance(x, da.Array) for x in (passed, fresh, needed.magnitude, *both, inches.magnitude))
    assert passed.compute().tolist() == light_passed(plain, "8 mm", 0.7).tolist()
    assert fresh.compute().tolist() == drain_refill(litres(*plain), litres(*(8.0 + plain))).tolist()
    assert needed.units == APP.quart
    assert needed.magnitude.compute() == pytest.approx(volume_needed(plain * 0.9, "8 US qt").magnitude)
    assert both.outlet.compute().tolist() == exchange(litres(*plain), "8 L", tanks=3).outlet.tolist()
    assert inches.magnitude.compute() == pytest.approx(plain / 25.4)
    assert computed


def test_what_is_wrong_in_a_lazy_array_is_said_when_it_is_computed():
    waiting = da.from_array(numpy.array([0.1, 0.2, 7.0, 0.3]), chunks=2)
    passed = light_passed(waiting, "8 mm", 0.7)
    with pytest.raises(RangeError, match="out of range"):
        passed.compute()
    assert numpy.isnan(light_passed(waiting, "8 mm", 0.7, errors="mask").compute()).tolist() == [False, False, True, False]
    with pytest.raises(RangeError, match="not computed yet"):
        light_passed(waiting, "8 mm", 0.7, errors="collect")
    with pytest.raises(UnitError, match="has no unit"):
        drain_refill(waiting, "8 L")
    with pytest.raises(UnitError, match="expected a volume"):
        drain_refill(quantity(waiting, "kg"), "8 L")
    with pytest.raises(RangeError, match="uncertain beside"):
        drain_refill(quantity(waiting, "L"), "8 ± 0.1 L")


def test_a_lazy_answer_is_sent_to_another_process():
    waiting = da.linspace(0.0, 1.0, 10, chunks=4)
    for lazy in (light_passed(waiting, "8 mm", 0.7), volume_at(quantity(waiting, "L"), "80 °C", "20 °C", "847 kg/m³").magnitude):
        assert cloudpickle.loads(cloudpickle.dumps(lazy)).compute().tolist() == lazy.compute().tolist()


def test_a_lazy_object_that_is_not_an_array_is_refused():
    class Frame:
        """A column in partitions."""

        ndim = 1
        name = "old"

        def __dask_graph__(self):
            raise AssertionError("nobody asked for it")

        def __array__(self, dtype=None, copy=None):
            raise AssertionError("the column was computed behind its back")

        def __len__(self):
            raise AssertionError("the column was computed behind its back")

    with pytest.raises(RangeError, match="map the function over its partitions") as caught:
        light_passed(Frame(), "8 mm", 0.7)
    assert caught.value.code == "list.lazy"


def test_where_one_value_is_expected_a_lazy_or_masked_array_is_refused():
    with pytest.raises(RangeError, match="compute it first") as caught:
        Vessel("pail", quantity(da.ones(3), "L"))
    assert caught.value.code == "list.lazy"
    with pytest.raises(RangeError, match="a masked element") as caught:
        measured(numpy.ma.array([1.0, 2.0], mask=[0, 1]), standard=0.1)
    assert caught.value.code == "list.masked"
    assert measured(pandas.Series([1.0, 2.0]), standard=0.1).std_dev.tolist() == [0.1, 0.1]
    with pytest.raises(RangeError, match="takes one value, not an array"):
        exchange("3 L", "8 L", tanks=pandas.Series([1, 2]))


def test_every_function_of_arrays_masks_its_rows():
    samples = {
        "volume": "3 L", "temperature": "20 °C", "interval": "10 Δ°C", "torque": "30 N·m", "length": "300 mm", "viscosity": "30 mm²/s",
        "density": "850 kg/m³", "flow": "3 L/min", "mass": "1 kg", "time": "4 y", "angle": "10 deg",
        "fraction": 0.5, "number": 0.5, "count": 2,
    }  # fmt: skip
    tried = 0
    for name in sumpwise.__all__:
        function = getattr(sumpwise, name)
        arguments = getattr(function, "arguments", {})
        for chosen, spec in arguments.items():
            if spec.scalar:
                continue
            given = {key: samples[one.kinds[0]] for key, one in arguments.items()}
            given |= {
                "zero": 273.15, "air_density": "1.2 kg/m³", "weights_density": "8000 kg/m³", "viscosity_100": "6 mm²/s", "capacity": "8 L",
                "age_without": "5 y", "upper": "37 N·m", "tolerance": 0.04,
            }  # fmt: skip
            given = {key: value for key, value in given.items() if key in arguments}
            if name in ("pour_rate", "pour_reynolds"):
                given |= {"bore": "10 mm", "roughness": "0 mm"}
            given[chosen] = [given[chosen], "nonsense", None]
            answer, problems = function(**given, errors="collect")
            assert [p.row for p in problems][-2:] == [1, 2], (name, chosen)
            parts = answer if isinstance(answer, tuple) else (answer.lower, answer.upper) if hasattr(answer, "lower") else (answer,)
            for part in parts:
                assert numpy.isnan(numpy.asarray(getattr(part, "magnitude", part), dtype=float)[1:]).all(), (name, chosen)
            tried += 1
    assert tried > 60


# -- functions whose arguments are described only when they come


DOUBTFUL = (
    (drain_refill_series, (["3 L", ["1 L", "x", "9 L"]], "8 L"), {1: "number.missing", 2: "range.above_bound"}),
    (drain_refill_series, (["1 L", "2 L"], litres(8, 1, -1)), {1: "range.above_bound", 2: "range.outside"}),
    (blend_viscosity, ([[0.5, 0.2, 0.5], [0.5, 0.4, 0.5]], ["5 cSt", ["20 cSt", "1 cSt", "0.1 cSt"]]),
        {1: "fraction.sum", 2: "range.outside"}),
    (normalized_error, (["3.2 L", "x", "3 kg"], "0.1 L", "3 L", "0.1 L"), {1: "number.missing", 2: "unit.kind"}),
    (zeta_score, (["86 °C", "87 °C", "88 °C"], ["1 °C", "-2 °F", "0 K"], "88 °C", ["1 K", "1 K", "0 K"]),
        {1: "range.outside", 2: "uncertainty.missing"}),
    (standard_uncertainty, (["2 °F", "x", "-1 K"],), {1: "number.missing", 2: "range.absolute_zero"}),
    (STICK.error, (["5 mm", "x", "4 kg"], "40 °C"), {1: "number.missing", 2: "unit.kind"}),
    (STICK.error, ("5 mm", ["40 °C", "400 °C"]), {1: "range.outside"}),
    (STICK.predict, (["5 mm", "6 mm"], "40 °C", ["80 °C", "-60 °C"]), {1: "range.outside"}),
    (STICK.growth, (["20 °C", "x"], "80 °C"), {1: "number.missing"}),
    (OverflowPlug("8.85 L", "847 kg/m³", "35-45 °C").error, (["30 °C", "x", "50 °C"],), {1: "number.missing"}),
)  # fmt: skip


@pytest.mark.parametrize(("function", "given", "wrong"), DOUBTFUL, ids=[f"{f.__qualname__} {i}" for i, (f, *_) in enumerate(DOUBTFUL)])
def test_bad_rows_are_told_apart_wherever_rows_are_independent(function, given, wrong):
    answer, problems = function(*given, errors="collect")
    assert {p.row: p.code for p in problems} == wrong
    best = uncertainty.nominals(getattr(answer, "magnitude", answer))
    assert numpy.flatnonzero(numpy.isnan(best)).tolist() == list(wrong)
    masked = function(*given, errors="mask")
    assert numpy.array_equal(uncertainty.nominals(getattr(masked, "magnitude", masked)), best, equal_nan=True)
    with pytest.raises(SumpwiseError):
        function(*given)


def test_a_good_row_beside_bad_ones_is_what_it_is_alone():
    assert drain_refill_series(["3 L", ["1 L", "x"]], "8 L", errors="mask")[0] == drain_refill_series(["3 L", "1 L"], "8 L")
    assert normalized_error(["3.2 L", "x"], "0.1 L", "3 L", "0.1 L", errors="mask")[0] == normalized_error("3.2 L", "0.1 L", "3 L", "0.1 L")
    half = standard_uncertainty(["2 °F", "x"], errors="mask")[0]
    assert (half.magnitude, half.units) == (pytest.approx(2 / 3**0.5), APP.delta_degree_Fahrenheit)
    off, alone = STICK.error("5 mm", ["40 °C", "x"], errors="mask")[0].magnitude, STICK.error("5 mm", "40 °C").magnitude
    assert (off.nominal_value, off.std_dev) == (pytest.approx(alone.nominal_value), pytest.approx(alone.std_dev))
    blended = blend_viscosity([0.5, 0.5], ["5 cSt", ["20 cSt", "x"]], errors="mask")[0]
    assert blended.magnitude == blend_viscosity([0.5, 0.5], ["5 cSt", "20 cSt"]).magnitude


def test_columns_of_other_libraries_behave_the_same_there_too():
    x = pandas.Series([1.0, 2.0], index=["a", "b"])
    assert zeta_score(x, 0.3, 2.0, 0.4).to_dict() == {"a": -2.0, "b": 0.0}
    assert standard_uncertainty(numpy.ma.array([3.0, 9.0], mask=[False, True])).mask.tolist() == [False, True]
    assert isinstance(normalized_error(da.ones(4, chunks=2), 0.3, 2.0, 0.4), da.Array)


@pytest.mark.parametrize("column", [list, numpy.array, lambda rows: rows[0]], ids=["list", "array", "single"])
def test_no_answer_has_an_uncertainty_that_cannot_be_squared(column):
    fresh = measured(0.6, standard=0.08)
    with pytest.raises(RangeError, match="no finite answer") as caught:
        cost_per_point(column([1e300, 2e300]), fresh)
    assert caught.value.code == "answer.none"
    with pytest.raises(RangeError, match="no finite answer"):
        cost_per_point(column([1e300, 2e300]), measured(numpy.array([0.6, 0.7]), standard=0.08))
    assert uncertainty.standard(cost_per_point(1e140, fresh)) > 1e137


@pytest.mark.parametrize("value", [memoryview(b"12"), memoryview(numpy.ones(3)), bytearray(b"1"), {"a": 1}, {1.0}])
@pytest.mark.parametrize("function", [standard_uncertainty, lambda x, **how: zeta_score(x, 0.1, 1.0, 0.1, **how)])
def test_what_is_not_a_column_is_refused_there_too(function, value):
    for errors in ("raise", "mask"):
        with pytest.raises(SumpwiseError):
            function(value, errors=errors)


def test_an_array_of_one_element_is_not_a_single_value_for_any_numpy():
    with pytest.raises(TypeError):
        real(numpy.array([1.0]))
    with pytest.raises(TypeError):
        real(pandas.Series([1.0]))
    assert real(numpy.array(1.5)) == 1.5
    for call in (lambda x: sumpwise.rounded(x, "mL"), lambda x: sumpwise.expanded(x, "95 %")):
        with pytest.raises(SumpwiseError):
            call(litres(1.0))


@pytest.mark.parametrize("name", [name for name in sumpwise.__all__ if hasattr(getattr(sumpwise, name), "arguments")])
def test_the_signature_says_what_becomes_of_bad_rows(name):
    function = getattr(sumpwise, name)
    said = inspect.signature(function).parameters
    assert [*said] == [*function.arguments, "errors"]
    assert (said["errors"].kind, said["errors"].default) == (inspect.Parameter.KEYWORD_ONLY, "raise")
    assert "\n    errors : str\n" in f"\n    {inspect.cleandoc(function.__doc__)}".replace("\n", "\n    ")
    with pytest.raises(TypeError, match="computes nothing"):
        inspect.unwrap(function)(*[None] * len(function.arguments))
