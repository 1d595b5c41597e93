"""The house stands on its floors: imports go down only, rooms and modules alike, and each library is imported by one module alone."""

from __future__ import annotations

import ast
import re
import tomllib
from collections import Counter
from pathlib import Path

import house

FLOORS = [
    (
        "errors", "codes", "accepted", "_math", "_record", "_blocks", "_files", "_toml", "_stored", "_chart", "_jsonschema", "_display",
        "_terminal",
    ),
    ("quantities", "uncertainty"),
    ("measurement",),
    ("fluid", "mixing", "torque"),
    ("ageing", "inference", "filling", "buying", "description"),
    ("service",),
    ("verification", "plots", "testing", "__main__"),
]
"""The ground first; a room may import those on its own floor as long as there is no circle."""


def test_there_are_no_circles():
    drawn = house.arrows()
    assert house.circles(drawn) == []
    assert house.circles(house.rooms(drawn)) == []


def test_every_room_has_a_floor_and_imports_go_down_only():
    level = {room: floor for floor, rooms in enumerate(FLOORS) for room in rooms}
    drawn = house.rooms(house.arrows())
    assert set(drawn) == set(level)
    upward = [(room, other) for room, others in drawn.items() for other in others if level[other] > level[room]]
    assert upward == []


def test_a_circle_would_be_found():
    drawn = {"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": {"a"}}
    assert house.circles(drawn) == [["a", "b", "c"]]
    assert house.floors(drawn) == []


def test_one_module_alone_opens_the_door_to_each_library():
    for library, door in (("pint", "quantities._pint"), ("uncertainties", "uncertainty.sources")):
        pattern = re.compile(rf"^\s*(?:import|from) {library}\b", re.MULTILINE)
        found = [name for name, path in house.modules().items() if pattern.search(path.read_text(encoding="utf-8"))]
        assert found == [door]


def borrowed(texts):
    """Private names that a module imports from another."""
    return [
        f"{module}: {name.name}" for module, text in texts.items() for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("sumpwise.")
        for name in node.names if name.name.startswith("_") and f"{node.module}.{name.name}".removeprefix("sumpwise.") not in texts
    ]  # fmt: skip


def test_no_module_imports_a_private_name_of_another():
    assert borrowed({name: path.read_text(encoding="utf-8") for name, path in house.modules().items()}) == []


def test_a_private_name_that_is_borrowed_would_be_found():
    texts = {"a": "from sumpwise.b import _inner, outer\nfrom sumpwise import _math\nfrom sumpwise.b import _c\n", "b": "", "b._c": ""}
    assert borrowed(texts) == ["a: _inner"]


def test_the_page_for_developers_names_every_module_of_the_service():
    page = (Path(__file__).parents[1] / "DEVELOPERS.md").read_text(encoding="utf-8")
    alone = [path.name for path in (house.ROOT / "service").glob("*.py") if path.stem != "__init__"]
    assert [name for name in alone if f"`{name}`" not in page and f"service/{name}`" not in page] == []


def test_every_module_stands_in_one_room_of_the_mutation_runs():
    rooms = tomllib.loads((Path(__file__).parent / "mutation" / "rooms.toml").read_text(encoding="utf-8"))["rooms"]
    patterns = [pattern.removeprefix("src/sumpwise/") for room in rooms.values() for pattern in room["files"]]
    held = Counter(path for pattern in patterns for path in house.ROOT.glob(pattern))
    assert {path: held[path] for path in house.ROOT.rglob("*.py") if held[path] != 1} == {}


def keeps_alone(node):
    """Whether a class stores its arguments by hand and does nothing else but say what it is."""
    methods = {one.name: one for one in node.body if isinstance(one, ast.FunctionDef)}
    if node.bases or "__init__" not in methods or any(not name.startswith("__") for name in methods):
        return False
    stored = [one for one in methods["__init__"].body if not isinstance(one, ast.Expr)]
    return all(isinstance(one, ast.Assign) and all(isinstance(name, ast.Name) for name in named(one.value)) for one in stored)


def named(value):
    return value.elts if isinstance(value, ast.Tuple) else [value]


def test_a_record_is_a_named_tuple_or_a_frozen_dataclass():
    loads = {name: path.read_text(encoding="utf-8") for name, path in house.modules().items()}
    classes = [
        (name, node) for name, text in loads.items() if "TYPE_CHECKING = False" not in text
        for node in ast.walk(ast.parse(text)) if isinstance(node, ast.ClassDef)
    ]  # fmt: skip
    assert [f"{name}.{node.name}" for name, node in classes if keeps_alone(node)] == []
    dataclasses = [ast.unparse(one) for _, node in classes for one in node.decorator_list if "dataclass" in ast.unparse(one)]
    assert dataclasses
    assert [one for one in dataclasses if "frozen=True, slots=True" not in one] == []


def test_a_class_that_only_keeps_would_be_found():
    by_hand = "class A:\n    def __init__(self, a, b):\n        self.a = a\n        self.b = b\n"
    assert keeps_alone(ast.parse(by_hand).body[0])
    assert not keeps_alone(ast.parse(by_hand + "    def sum(self):\n        return self.a + self.b\n").body[0])


def names_of(node):
    """The names that a statement of a module defines."""
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        return {node.name}
    targets = node.targets if isinstance(node, ast.Assign) else [node.target] if isinstance(node, ast.AnnAssign) else []
    return {one.id for target in targets for one in ast.walk(target) if isinstance(one, ast.Name)}


def unused(texts, told):
    """Functions, classes and constants that neither their module uses nor one that imports them, nor gives to others; `told` are given."""
    trees = {module: ast.parse(text) for module, text in texts.items()}
    used = set(told) | {node.attr for tree in trees.values() for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    imported = {
        (node.module.removeprefix("sumpwise."), name.name) for tree in trees.values() for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module for name in node.names
    }  # fmt: skip
    found = []
    for module, tree in trees.items():
        loads = [{one.id for one in ast.walk(node) if isinstance(one, ast.Name) and isinstance(one.ctx, ast.Load)} for node in tree.body]
        users = Counter(name for names in loads for name in names)
        for node, names in zip(tree.body, loads, strict=True):
            own = names_of(node)
            if "__all__" in own:
                used |= {one.value for one in ast.walk(node) if isinstance(one, ast.Constant)}
            alone = all(users[name] == (name in names) and (module, name) not in imported for name in own)
            if alone and not own & used:
                found += [f"{module}.{name}" for name in own if not name.startswith("__")]
    return sorted(found)


def test_every_name_is_used():
    texts = {name: path.read_text(encoding="utf-8") for name, path in house.modules().items()}
    public = (house.ROOT / f"{house.FACE}.py").read_text(encoding="utf-8") + texts.pop("accepted")
    docs = [path.read_text(encoding="utf-8") for path in (Path(__file__).parents[1] / "docs").glob("*.py")]
    asked = [name.name for text in docs for node in ast.walk(ast.parse(text)) if isinstance(node, ast.ImportFrom) for name in node.names]
    assert unused(texts, [*re.findall(r"\w+", public), *asked]) == []


def test_a_name_that_nothing_uses_would_be_found():
    calling = "from sumpwise.a import told\ndef main(): told()\n"
    assert unused({"a": "LIMIT = 3\nONE = 1\ndef told(): return LIMIT\n", "b": calling}, ["main"]) == ["a.ONE"]
    assert unused({"a": "def figure(): return figure()\n", "b": "def main(figure): return figure\n"}, ["main"]) == ["a.figure"]
