"""The one table of units: every factor against pint's own registry, every spelling read, none with two meanings."""

from __future__ import annotations

import pickle

import mpmath
import pint
import pytest

from sumpwise.errors import UnitError
from sumpwise.quantities import _pint, units
from sumpwise.quantities.notation import read


@pytest.fixture(scope="module")
def registry():
    return pint.UnitRegistry()


@pytest.mark.parametrize("symbol", units.SYMBOLS)
def test_each_unit_against_pint(symbol, registry):
    unit = units.SYMBOLS[symbol]
    named, internal = registry.Unit(unit.pint), registry.Unit(units.internal_unit(unit.kind).pint)
    zero = registry.Quantity(0.0, named).m_as(internal)
    assert unit.offset == pytest.approx(zero, abs=1e-12 * 273.15)
    assert unit.factor == pytest.approx(registry.Quantity(1.0, named).m_as(internal) - zero, rel=1e-12)
    assert units.SPELLINGS[units.key(symbol)] is unit
    for written in (f"{named:D}", f"{named:P}", f"{named:C}"):
        assert read(f"2 {written}").unit is unit


def test_a_radian_is_known_to_thirty_four_digits():
    unit = units.SYMBOLS["rad"]
    with mpmath.workdps(60):
        assert (unit.num, unit.den) == (int(mpmath.nint(180 / mpmath.pi * mpmath.mpf(10) ** 32)), 10**32)


def test_no_spelling_means_two_units():
    meant = {}
    for row in units._ROWS:
        for spelling in {units.key(one) for one in (row[0], row[1], *row[-1].split("|"))}:
            assert meant.setdefault(spelling, row[0]) == row[0], spelling
    assert {spelling: unit.symbol for spelling, unit in units.SPELLINGS.items()} == meant
    assert all(units.key(spelling) == spelling and 0 < len(spelling) <= 40 for spelling in meant)
    assert not set(meant) & set(units.REFUSED)


@pytest.mark.parametrize("spelling", sorted(units.SPELLINGS.keys() - {"1"}))
def test_every_spelling_is_read(spelling):
    unit = units.SPELLINGS[spelling]
    assert read(f"3 {spelling}").unit is unit
    assert read(f"3 {spelling}", unit.kind).unit is unit


def test_the_table_is_whole():
    assert set(units.INTERNAL.values()) <= set(units.SYMBOLS)
    assert set(units.ACCEPTED) == {*units.INTERNAL, "number", "count"}
    for kind, symbol in units.INTERNAL.items():
        unit = units.SYMBOLS[symbol]
        assert (unit.kind, unit.factor, unit.offset) == (kind, 1.0, 0.0)
    for unit in units.SYMBOLS.values():
        assert unit.kind in units.INTERNAL
        assert unit.den > 0 < unit.num
        assert unit.source
        assert unit.system in {"SI", "US", "imperial", ""}
        assert pickle.loads(pickle.dumps(unit)) is unit
    for kind, accepted in units.ACCEPTED.items():
        if kind in units.INTERNAL and kind != "fraction":
            assert read(units.EXAMPLES[kind], kind).unit.kind == kind
            for spelling in accepted.replace(" (", ", ").replace(")", "").split(", "):
                assert read(f"1 {spelling}", kind).unit.kind == kind
    with pytest.raises(UnitError, match="not a kind of quantity"):
        units.internal_unit("colour")


def test_counterparts_state_the_same_thing_in_the_other_system():
    for unit in units.SYMBOLS.values():
        if unit.counterpart:
            other = units.SYMBOLS[unit.counterpart]
            assert other.kind == unit.kind
            assert (other.system == "SI") != (unit.system == "SI") or unit.symbol in ("kgf·m", "kgf·cm")  # old metric torque
        if unit.mistaken:
            other = units.SYMBOLS[unit.mistaken]
            assert other.kind == unit.kind
            assert other.mistaken == unit.symbol
            assert other.system != unit.system or unit.kind == "torque"
    assert [units.SYMBOLS[s].counterpart for s in ("US qt", "L", "N·m")] == ["L", "US qt", "lbf·ft"]
    assert [units.SYMBOLS[s].mistaken for s in ("US qt", "lbf·ft", "L")] == ["imp qt", "lbf·in", ""]


def test_a_unit_of_a_registry_pickles_as_what_it_is():
    own = _pint.unit_of(pint.UnitRegistry().Quantity(1.0, "barrel"))
    again = pickle.loads(pickle.dumps(own))
    assert (again.symbol, again.kind, again.factor) == (own.symbol, own.kind, own.factor)
