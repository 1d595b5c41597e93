"""The file that pins the public surface for type checkers also runs."""

from __future__ import annotations

import importlib.util
import os
import sys
from pathlib import Path

import sumpwise
from sumpwise import _face

HERE = Path(__file__).parent / "typing" / "surface.py"


def _loaded(path):
    found = importlib.util.spec_from_file_location(path.stem, path)
    module = importlib.util.module_from_spec(found)
    sys.modules[path.stem] = module
    found.loader.exec_module(module)
    return module


SURFACE = _loaded(HERE)


def test_the_app_that_the_checkers_read_also_runs(tmp_path, capsys):
    app = _loaded(HERE.with_name("app.py"))
    missing = tmp_path / "missing.toml"
    assert app.main([str(HERE.parents[1] / "files" / "v1" / "job.toml"), str(missing)]) == 1
    printed = capsys.readouterr().out
    assert "temperature and scale together" in printed
    assert f"cannot be read: {os.strerror(2)}" in printed


def test_the_pinned_surface_runs(tmp_path):
    job = HERE.parents[1] / "files" / "v1" / "job.toml"
    for part in (
        SURFACE.texts_and_quantities, SURFACE.wrong_calls, SURFACE.values_without_a_unit, SURFACE.measurement,
        SURFACE.filling, SURFACE.texts, SURFACE.errors,
    ):  # fmt: skip
        part()
    SURFACE.service(job)


def test_the_package_says_that_it_is_typed():
    package = Path(sumpwise.__file__).parent
    assert (package / "py.typed").is_file()
    assert (package / "__init__.pyi").is_file()
    for room in _face.ROOMS:
        if (package / room).is_dir():
            assert (package / room / "__init__.pyi").is_file()


def test_the_package_carries_its_data_and_no_tests():
    package = Path(sumpwise.__file__).parent
    assert (package / "service" / "data" / "example_wagon.toml").is_file()
    assert len(list((package / "verification").glob("*.toml"))) > 50
    assert not [path for path in package.rglob("*.py") if path.name.startswith("test_") or path.name == "conftest.py"]
