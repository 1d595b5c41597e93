"""The promise of the compatibility page: every public name, its arguments, their order and their defaults.

`files/signatures.txt` is what callers rely on. A line is added with a new name or a new optional argument at the end; a line that changes
in any other way breaks somebody's call, and belongs in the changelog.
"""

from __future__ import annotations

import functools
import inspect
from pathlib import Path

import pytest

import sumpwise

PROMISED = Path(__file__).with_name("files").joinpath("signatures.txt").read_text(encoding="utf-8").splitlines()


def written(name, function):
    """The call without its annotations: what may be given by position, by name, and what stands in for it."""
    signature = inspect.signature(function)
    bare = [p.replace(annotation=p.empty) for p in signature.parameters.values()]
    return f"{name}{inspect.Signature(bare)}"


@functools.cache
def signatures():
    found = []
    for name in sorted(sumpwise.__all__):
        thing = getattr(sumpwise, name)
        if inspect.isclass(thing) and not issubclass(thing, Exception):
            found.append(written(name, thing))
            for part, method in sorted(vars(thing).items()):
                if not part.startswith("_") and (inspect.isfunction(method) or isinstance(method, (classmethod, staticmethod))):
                    found.append(written(f"{name}.{part}", getattr(thing, part)))
        elif callable(thing) and not inspect.isclass(thing):
            found.append(written(name, thing))
    return found


@pytest.mark.parametrize("line", PROMISED)
def test_a_promised_signature_stands(line):
    assert line in signatures()


def test_every_public_signature_is_promised():
    assert sorted(set(signatures()) - set(PROMISED)) == []
