"""The generated files of the package: the stubs agree to the letter with `_face.ROOMS`, the one list of names; the JSON Schemas agree with
the tables that the readers use.

`python tests/test_face.py` writes the stubs, the literal `__all__` and the schemas again.
"""

from __future__ import annotations

import importlib
import json
import re
import sys
from pathlib import Path

import pytest

import sumpwise
from sumpwise import _face
from sumpwise.__main__ import FORMATS

ROOT = Path(sumpwise.__file__).parent
PACKAGES = ["", *(room for room in _face.ROOMS if (ROOT / room / "__init__.py").is_file())]
LITERAL = re.compile(r"^__all__ = \[\n(?:    \".*\",\n)*\]\n", re.MULTILINE)


def listed(names: list[str]) -> str:
    return "__all__ = [\n" + "".join(f'    "{name}",\n' for name in names) + "]\n"


def stub(room: str) -> str:
    """What the stub of a room, or of the face, must say."""
    places = _face.places(room)
    imports = sorted(f"from {module} import {name} as {name}\n" for name, module in places.items())
    version = "\n__version__: str\n" if not room else ""
    return f"{''.join(imports)}{version}\n{listed(sorted(places))}"


def face(source: str) -> str:
    """The face's own source with the literal list of its names."""
    return LITERAL.sub(listed(sorted(_face.places())), source, count=1)


@pytest.mark.parametrize("room", PACKAGES)
def test_the_stub_agrees_with_the_rooms(room):
    assert (ROOT / room / "__init__.pyi").read_text(encoding="utf-8") == stub(room)


@pytest.mark.parametrize("room", PACKAGES)
def test_every_name_is_where_the_rooms_say(room):
    package = importlib.import_module(f"sumpwise.{room}".rstrip("."))
    for name, module in _face.places(room).items():
        value = getattr(package, name)
        assert value is getattr(importlib.import_module(module), name)
        assert value is getattr(sumpwise, name)
        assert value.__name__ == name
    assert sorted(package.__all__) == sorted(_face.places(room))
    assert set(package.__all__) <= set(dir(package))
    with pytest.raises(AttributeError, match="transmute"):
        _ = package.transmute


@pytest.mark.parametrize(("room", "part"), _face.LARGER.items())
def test_a_room_still_hands_out_what_was_divided_from_it(room, part):
    package = importlib.import_module(f"sumpwise.{room}")
    for name in _face.places(part):
        assert getattr(package, name) is getattr(sumpwise, name)
        assert name not in package.__all__


def test_the_list_of_the_face_is_literal():
    source = (ROOT / "__init__.py").read_text(encoding="utf-8")
    assert LITERAL.search(source)
    assert face(source) == source


def test_no_module_bears_the_name_of_a_public_function():
    modules = {path.stem for path in ROOT.rglob("*.py")} | {path.name for path in ROOT.rglob("*") if path.is_dir()}
    assert not modules & set(_face.places())
    assert len(_face.places()) == sum(len(names) for modules in _face.ROOMS.values() for names in modules.values())


def schema(name: str) -> str:
    """The JSON Schema of a format, as its file has it."""
    made = getattr(sumpwise, FORMATS[name]).json_schema()
    return json.dumps(made, ensure_ascii=False, indent=1) + "\n"


def shipped(name: str) -> Path:
    return ROOT / "schemas" / f"{name}.json"


@pytest.mark.parametrize("name", FORMATS)
def test_the_shipped_schema_is_what_the_tables_give(name):
    assert shipped(name).read_text(encoding="utf-8") == schema(name)


if __name__ == "__main__":
    for one in PACKAGES:
        (ROOT / one / "__init__.pyi").write_text(stub(one), encoding="utf-8")
    init = ROOT / "__init__.py"
    init.write_text(face(init.read_text(encoding="utf-8")), encoding="utf-8")
    for one in FORMATS:
        shipped(one).write_text(schema(one), encoding="utf-8")
    sys.stdout.write(f"{len(PACKAGES)} stubs and {len(FORMATS)} schemas written\n")
