"""The names of what is accepted: every argument of a public function is annotated by its kind, as its description says."""

import ast
import importlib
from pathlib import Path

import pytest

import sumpwise
from sumpwise import _face, accepted

ROOT = Path(sumpwise.__file__).parent
KINDS = {
    "volume": "VolumeLike", "temperature": "TemperatureLike", "interval": "IntervalLike", "heating rate": "HeatingRateLike",
    "torque": "TorqueLike", "length": "LengthLike", "pressure": "PressureLike", "viscosity": "ViscosityLike", "density": "DensityLike",
    "flow": "FlowLike", "mass": "MassLike", "force": "ForceLike", "time": "TimeLike", "angle": "AngleLike", "fraction": "FractionLike",
    "number": "NumberLike", "count": "CountLike",
}  # fmt: skip
FREE = {
    "data", "inputs", "others", "result", "estimates", "covariance", "function", "values", "seed", "packs", "components", "rhythms",
    "changes", "seen", "ranges", "jobs", "level", "default", "own", "read", "fresh", "date", "distance", "elapsed", "sources", "prior",
    "inside_band", "outlet_band", "band", "observed", "lower", "upper",
}  # fmt: skip
"""Arguments that are plain data, functions, objects of several classes, or what `Argument` reads by itself."""


def functions():
    """Every public function and method with its syntax tree: name, node, function."""
    for name, where in sorted(_face.places().items()):
        tree = ast.parse(Path(importlib.import_module(where).__file__).read_text(encoding="utf-8"))
        thing = getattr(sumpwise, name)
        for node in tree.body:
            if getattr(node, "name", "") == name and isinstance(node, ast.FunctionDef):
                yield name, node, thing
            elif getattr(node, "name", "") == name and isinstance(node, ast.ClassDef) and not issubclass(thing, Exception):
                yield from (
                    (f"{name}.{part.name}", part, getattr(thing, part.name))
                    for part in node.body
                    if isinstance(part, ast.FunctionDef) and (part.name == "__init__" or not part.name.startswith("_"))
                )


def annotations(node):
    return {a.arg: ast.unparse(a.annotation) for a in [*node.args.args, *node.args.kwonlyargs] if a.annotation is not None}


@pytest.mark.parametrize(("node", "function"), [pytest.param(n, f, id=name) for name, n, f in functions() if hasattr(f, "arguments")])
def test_a_computing_function_is_annotated_by_the_kinds_it_reads(node, function):
    for name, stated in annotations(node).items():
        described = function.arguments[name]
        kinds = {"MomentLike"} if set(described.kinds) == {"time", "length"} else {KINDS[kind] for kind in described.kinds}
        assert set(stated.split(" | ")) == kinds | ({"None"} if described.optional else set())


def test_no_argument_of_the_face_is_anything_at_all_but_for_plain_data():
    bare = {name: [a for a, stated in annotations(node).items() if stated == "Any" and a not in FREE] for name, node, _ in functions()}
    assert {name: arguments for name, arguments in bare.items() if arguments} == {}


def test_every_name_stands_for_something_that_can_be_imported():
    for name in KINDS.values():
        assert hasattr(accepted, name)
