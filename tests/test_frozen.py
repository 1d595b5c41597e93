"""What the library hands out can be kept and shared: a record never changes."""

from __future__ import annotations

import dataclasses
import importlib
import pkgutil

import pytest

import sumpwise

MODULES = [m.name for m in pkgutil.walk_packages(sumpwise.__path__, "sumpwise.") if not m.name.endswith("__main__")]


@pytest.mark.parametrize("module", MODULES)
def test_every_record_is_frozen(module):
    for name, thing in vars(importlib.import_module(module)).items():
        if isinstance(thing, type) and dataclasses.is_dataclass(thing) and thing.__module__ == module:
            assert thing.__dataclass_params__.frozen, name
