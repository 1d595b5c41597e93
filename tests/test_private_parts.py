"""The private parts of pint and uncertainties that the library relies on: each is there and means what is assumed.

A release of either that takes one away fails here by its name, instead of somewhere inside an answer.
"""

from __future__ import annotations

import ast
import math
import re
from fractions import Fraction
from pathlib import Path

import pint
import pytest
from uncertainties import ufloat
from uncertainties.core import AffineScalarFunc, LinearCombination, Variable

import sumpwise

REGISTRY = pint.UnitRegistry()
FRACTIONS = pint.UnitRegistry(non_int_type=Fraction)
LITRES = REGISTRY.Quantity(3.6, "liter")
WARM = REGISTRY.Quantity(20.0, "degC")
SOURCE = ufloat(3.0, 0.2, tag="pail")
TWICE = 2 * SOURCE


def _made_by_hand():
    """A Quantity without its `__new__`, from its two attributes."""
    bare = object.__new__(REGISTRY.Quantity)
    bare._magnitude, bare._units = 3.6, LITRES._units
    return bare


PARTS = {
    "pint": {
        "Quantity._magnitude": lambda: LITRES._magnitude == 3.6,
        "Quantity._units": lambda: LITRES._units == REGISTRY.Unit("liter")._units and dict(LITRES._units) == {"liter": 1},
        "Quantity._units is hashable": lambda: hash(LITRES._units) == hash(REGISTRY.Quantity(1.0, "liter")._units),
        "Quantity._REGISTRY": lambda: type(LITRES)._REGISTRY is REGISTRY,
        "Quantity._is_multiplicative": lambda: LITRES._is_multiplicative and not WARM._is_multiplicative,
        "Quantity from _magnitude and _units": lambda: _made_by_hand() == LITRES and math.isclose(_made_by_hand().to("mL").magnitude, 3600),
        "Registry._units": lambda: REGISTRY._units["liter"].name == "liter" and len(REGISTRY._units.maps) >= 1,
        "definition.converter.scale": lambda: REGISTRY._units["liter"].converter.scale is not None,
        "definition.converter.offset": lambda: math.isclose(float(REGISTRY._units["degree_Celsius"].converter.offset), 273.15),
        "definition.reference": lambda: dict(REGISTRY._units["minute"].reference) == {"second": 1},
        "Registry._units with a context": lambda: len(_in_a_context()) > 1,
        "definition.is_base": lambda: REGISTRY._units["meter"].is_base and not REGISTRY._units["liter"].is_base,
        "converter.is_multiplicative": lambda: _of_converters("is_multiplicative") == [True, False, False],
        "converter.is_logarithmic": lambda: _of_converters("is_logarithmic") == [False, False, True],
        "Registry.get_name defines a prefixed unit": lambda: REGISTRY.get_name("deciliter") in REGISTRY._units,
        "Registry.non_int_type": lambda: REGISTRY.non_int_type is float and FRACTIONS.non_int_type is Fraction,
        "Registry.force_ndarray": lambda: [pint.UnitRegistry(force_ndarray=on).force_ndarray for on in (True, False)] == [True, False],
        "Registry.force_ndarray_like": lambda: REGISTRY.force_ndarray_like is False,
        "application_registry.get": lambda: hasattr(pint.application_registry.get(), "Unit"),
    },
    "uncertainties": {
        "AffineScalarFunc._nominal_value": lambda: SOURCE._nominal_value == 3.0 and TWICE._nominal_value == 6.0,
        "AffineScalarFunc._linear_part": lambda: isinstance(TWICE._linear_part, LinearCombination),
        "LinearCombination.linear_combo": lambda: isinstance((3 * TWICE)._linear_part.linear_combo, list)
        and isinstance(SOURCE._linear_part.linear_combo, dict),
        "AffineScalarFunc(value, linear)": lambda: math.isclose(AffineScalarFunc(1.0, LinearCombination({SOURCE: 2.0})).std_dev, 0.4),
        "AffineScalarFunc.derivatives": lambda: dict(TWICE.derivatives) == {SOURCE: 2.0},
        "Variable is its own derivative": lambda: dict(SOURCE.derivatives) == {SOURCE: 1.0},
        "Variable(value, standard, tag)": lambda: set(Variable.__slots__) == {"_std_dev", "tag"} and SOURCE.std_dev == 0.2,
        "Variable._std_dev, set by its property": lambda: _set_by_its_property() == (0.3, "refused"),
        "Variable.tag": lambda: SOURCE.tag == "pail" and isinstance(SOURCE, Variable),
        "a source is known by itself, not by its numbers": lambda: (SOURCE - ufloat(3.0, 0.2)).std_dev > 0 == (SOURCE - SOURCE).std_dev,
    },
}  # fmt: skip


def _of_converters(question):
    return [getattr(REGISTRY._units[name].converter, question) for name in ("liter", "degree_Celsius", "decibel")]


def _set_by_its_property():
    pail = ufloat(3.0, 0.2)
    Variable.std_dev.fset(pail, 0.3)
    try:
        Variable.std_dev.fset(pail, -0.1)
    except Exception:
        return pail._std_dev, "refused"
    return pail._std_dev, "taken"


def _in_a_context():
    registry = pint.UnitRegistry()
    context = pint.Context("garage")
    context.redefine("liter = 1.1 * decimeter ** 3")
    registry.add_context(context)
    with registry.context("garage"):
        return list(registry._units.maps)


@pytest.mark.parametrize(("library", "part"), [(library, part) for library, parts in PARTS.items() for part in parts])
def test_a_private_part_is_there_and_means_what_it_is_taken_for(library, part):
    version = __import__(library).__version__
    try:
        found = PARTS[library][part]()
    except (AttributeError, KeyError, TypeError) as error:
        pytest.fail(f"{library} {version} no longer has {part}: {error}; look at quantities/_pint.py and uncertainty/sources.py")
    assert found, f"{part} of {library} {version} means something else now: look at quantities/_pint.py and uncertainty/sources.py"


ASKING = ("getattr", "hasattr", "setattr", "attrgetter")


def _private_names(source):
    """The attributes that a module asks of an object: `x._name`, `getattr(x, "_name")`, `attrgetter("_name")`."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Attribute):
            yield node.attr
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ASKING:
            yield from (a.value for a in node.args if isinstance(a, ast.Constant) and isinstance(a.value, str))


def test_no_other_private_part_is_used():
    """Every attribute that the library uses and that only one of the two has as a private part is in the list."""
    package = Path(sumpwise.__file__).parent
    sources = {path: path.read_text(encoding="utf-8") for path in package.rglob("*.py")}
    theirs = {name for thing in (LITRES, REGISTRY, LITRES.units, SOURCE, TWICE, SOURCE._linear_part) for name in dir(thing)}
    theirs = {name for name in theirs if name.startswith("_") and not name.startswith("__")}
    listed = {word for parts in PARTS.values() for part in parts for word in re.split(r"[ .,]+", part) if word.startswith("_")}
    asked = {name for path, source in sources.items() if path.name in ("_pint.py", "sources.py") for name in _private_names(source)}
    for path, source in sources.items():
        if path.name not in ("_pint.py", "sources.py"):  # elsewhere a class of the library may have an attribute of the same name
            asked |= {name for name in _private_names(source) if f"self.{name} " not in source and f'"{name}"' not in source}
    assert asked & theirs == listed
