"""What is not a value of any kind is refused with one kind of error wherever it is given, and memory is never shared."""

from __future__ import annotations

import collections
import datetime
import types
from decimal import Decimal
from fractions import Fraction

import numpy
import pint
import pytest

import sumpwise as sw
from sumpwise import SumpwiseError

REGISTRY = pint.application_registry.get()
Q = REGISTRY.Quantity


def masked(*values, hidden=1):
    return numpy.ma.masked_array(values, mask=[i == hidden for i in range(len(values))])


class Loud:
    """Something that cannot be a number and raises an error of its own."""

    def __float__(self):
        raise RuntimeError("no number")


NUMBERS_OF_NO_KIND = {
    "masked array": masked(0.25, 0.5, 0.75), "masked element": numpy.ma.masked, "list with a masked element": list(masked(0.25, 0.5)),
    "masked objects": numpy.ma.masked_array([0.25, 0.5], mask=[0, 1], dtype=object),
    "masked whole numbers": masked(0, 1), "masked single": numpy.ma.masked_array(0.5, mask=True),
    "complex": 0.5 + 0j, "numpy.complex64": numpy.complex64(0.5), "numpy.complex128": numpy.complex128(0.5),
    "numpy.clongdouble": numpy.clongdouble(0.5), "complex array": numpy.array([0.5 + 0j]), "complex in no dimension": numpy.array(0.5 + 0j),
    "list of complex": [0.5, numpy.complex128(0.5)], "objects with a complex": numpy.array([0.5, 0.5j], dtype=object),
    "True": True, "numpy.bool_": numpy.bool_(True), "truth values": numpy.array([True, False]), "list of truth": [numpy.bool_(True)],
    "objects with a truth": numpy.array([0.5, True], dtype=object), "truth in no dimension": numpy.array(True),
    "memoryview": memoryview(numpy.array([0.25, 0.5])), "bytes": b"1", "bytearray": bytearray(b"1"), "bytes array": numpy.array([b"1"]),
    "signalling nan": Decimal("sNaN"), "nan": Decimal("NaN"), "list with a signalling nan": [Decimal("sNaN")],
    "objects with a signalling nan": numpy.array([Decimal("sNaN"), 0.5], dtype=object),
    "infinity": Decimal("Infinity"), "too large": Decimal("1e400"), "too large a fraction": Fraction(10**400),
    "Quantity": REGISTRY.Quantity, "pint.Quantity": pint.Quantity, "Unit": REGISTRY.Unit, "a unit": REGISTRY.liter,
    "date": datetime.date(2024, 1, 1), "datetime": datetime.datetime(2024, 1, 1), "timedelta": datetime.timedelta(1),
    "numpy.datetime64": numpy.datetime64("2024-01-01"), "numpy.timedelta64": numpy.timedelta64(1, "D"),
    "datetimes": numpy.array(["2024-01-01"], dtype="M8[D]"), "timedeltas": numpy.array([1, 2], dtype="m8[s]"),
    "objects with a date": numpy.array([datetime.date(2024, 1, 1), 0.5], dtype=object),
    "dict": {0.25: 1, 0.5: 2}, "OrderedDict": collections.OrderedDict({0.25: 1}), "UserDict": collections.UserDict({0.25: 1}),
    "ChainMap": collections.ChainMap({0.25: 1}), "mappingproxy": types.MappingProxyType({0.25: 1}), "Counter": collections.Counter([0.25]),
    "set": {0.25, 0.5}, "frozenset": frozenset([0.25]), "record": numpy.array([(0.25, 0.5)], dtype=[("a", float), ("b", float)]),
    "object": object(), "own error": Loud(), "list of None": [None],
}  # fmt: skip


def keeps_the_mask(answer, given):
    """Whether a column came masked and is answered masked, with nothing under the mask read."""
    if not getattr(given, "ndim", 0) or not isinstance(given, numpy.ma.MaskedArray):
        return False
    parts = (answer.lower, answer.upper) if hasattr(answer, "lower") else (answer,)
    held = [getattr(part, "magnitude", part) for part in parts]
    return all(isinstance(x, numpy.ma.MaskedArray) and x.mask.tolist() == given.mask.tolist() for x in held)


@pytest.mark.filterwarnings("ignore:Warning. converting a masked element:UserWarning")
@pytest.mark.parametrize("given", NUMBERS_OF_NO_KIND.values(), ids=NUMBERS_OF_NO_KIND.keys())
@pytest.mark.parametrize("inside", [False, True], ids=["as it is", "as a magnitude"])
def test_what_is_not_a_number_is_refused_everywhere(given, inside):
    percent = litres = torques = given
    if inside:
        try:
            percent, litres, torques = Q(given, "percent"), Q(given, "liter"), Q(given, "newton*meter")
        except (TypeError, ValueError, AttributeError, pint.errors.PintError):
            return  # pint makes no Quantity of it
        if type(litres.magnitude) is not type(given):
            return  # pint makes an array of it, so nobody can see what it was
    asks = [
        lambda: sw.drain_refill("1 L", "8 L", 1, percent), lambda: sw.drain_refill("1 L", "8 L", percent),
        lambda: sw.drain_refill(litres, "8 L"), lambda: sw.drain_refill(["1 L", litres], "8 L"), lambda: sw.convert(litres, "mL"),
        lambda: sw.quantity(litres), lambda: sw.quantity(percent, "L"), lambda: sw.rounded(litres, "mL"), lambda: sw.rounded(percent, "%"),
        lambda: sw.rounded_inward(litres, "mL"), lambda: sw.setting_band(torques, "37 N·m", "4 %"),
        lambda: sw.measured(litres, limits="1 L"),
        lambda: sw.measured(percent, standard=0.1), lambda: sw.measured("8 L", limits=litres), lambda: sw.measured("1", standard=percent),
        lambda: sw.standard_uncertainty(litres), lambda: sw.standard_uncertainty(percent),
        lambda: sw.drain_refill_series(litres, "8 L"), lambda: sw.cheapest_packs(litres, "3 L"),
        lambda: sw.cheapest_packs([("1 L", 9)], litres),
        lambda: sw.monte_carlo(lambda x: x, [percent], draws=100), lambda: sw.expanded(litres), lambda: sw.budget(percent),
        lambda: sw.Circuit(litres, "2 L", "1 L"), lambda: sw.FluidHistory(litres), lambda: sw.Vessel("pail", litres),
        lambda: sw.Ledger(litres), lambda: sw.blend_viscosity(percent, ["5 cSt"]), lambda: sw.blend_viscosity(["100 %"], percent),
        lambda: sw.number_card({"volume": litres}), lambda: sw.best_estimate(litres),
    ]  # fmt: skip
    for number, ask in enumerate(asks):
        try:
            answer = ask()
        except SumpwiseError:
            continue
        if keeps_the_mask(answer, given):
            continue
        pytest.fail(f"ask {number} took it, and answered {answer!r}")


def test_a_mask_that_hides_nothing_stays_one():
    fresh = sw.drain_refill(Q(numpy.ma.masked_array([1.0, 2.0], mask=False), "L"), "8 L")
    small = sw.convert(Q(numpy.ma.masked_array([1.0, 2.0]), "L"), "mL").magnitude
    for answer, numbers in ((fresh, [0.125, 0.25]), (small, [1000.0, 2000.0])):
        assert isinstance(answer, numpy.ma.MaskedArray)
        assert answer.tolist() == numbers
        assert not answer.mask.any()


@pytest.mark.parametrize(
    "numbers",
    [
        [Decimal("1"), Fraction(2)], numpy.array([1, Decimal("2")], dtype=object), numpy.array([1, 2], dtype=numpy.uint8),
        numpy.array([1, 2], dtype=numpy.float16), numpy.array([1, 2], dtype=numpy.longdouble),
    ],
)  # fmt: skip
def test_numbers_of_other_classes_are_plain_floats(numbers):
    for given in (Q(numpy.asarray(numbers), "L"), [Q(n, "L") for n in numbers]):
        answer = sw.drain_refill(given, "8 L")
        assert answer.dtype == float
        assert answer.tolist() == [0.125, 0.25]


@pytest.mark.parametrize("unit", ["liter", "milliliter"])
def test_nothing_that_is_answered_shares_the_callers_memory(unit):
    array = numpy.array([1.0, 2.0])
    given = Q(array, unit)
    answers = [
        sw.convert(given, "L"), sw.convert(given, "mL"), sw.convert(given, unit), sw.quantity(given), sw.quantity(array, "L"),
        sw.convert([Q(1.0, "L"), Q(2.0, "L")], "L"), sw.standard_uncertainty(given), sw.volume_at(given, "20 °C", "20 °C", "850 kg/m³"),
    ]  # fmt: skip
    for answer in answers:
        before = answer.magnitude.copy()
        assert not numpy.may_share_memory(answer.magnitude, array)
        answer.magnitude[:] = -1.0
        assert array.tolist() == [1.0, 2.0]
        array[:] = 7.0
        assert (answer.magnitude == -1.0).all()
        array[:] = 1.0, 2.0
        assert before.tolist() != array.tolist() or before.shape == array.shape
    shares = numpy.array([0.25, 0.5])
    found = sw.drain_refill("0 L", "8 L", 0, shares)
    assert not numpy.may_share_memory(found, shares)


def test_a_text_quantity_and_uncertain_arrays_keep_what_they_are():
    written = sw.quantity("2.90 L")
    assert sw.quantity(written) is written
    doubtful = numpy.array([sw.measured(1.0, standard=0.1), 2.0], dtype=object)
    same = sw.quantity(Q(doubtful, "L"))
    assert not numpy.may_share_memory(same.magnitude, doubtful)
    assert (same.magnitude[0] - doubtful[0]).std_dev == 0.0


def test_a_circuit_keeps_its_own_numbers():
    sump, poured = numpy.array([4.0, 5.0]), numpy.array([1.0, 1.5])
    circuit = sw.Circuit(Q(sump, "L"), "2 L", "1 L")
    later = circuit.pour(Q(poured, "L"))
    held, after = circuit.sump_volume.magnitude.copy(), later.sump_volume.magnitude.copy()
    sump[:], poured[:] = 100.0, 100.0
    assert circuit.sump_volume.magnitude.tolist() == held.tolist() == [4.0, 5.0]
    assert later.sump_volume.magnitude.tolist() == after.tolist() == [5.0, 6.5]
    circuit.sump_volume.magnitude[:] = -1.0
    assert circuit.sump_volume.magnitude.tolist() == [4.0, 5.0]
