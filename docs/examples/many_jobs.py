"""A folder of job files on the engine you have: each part of the list is one dask task, on this machine or on a cluster."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import dask

from sumpwise import plan_many


def sheets(paths: list[Path]) -> list[tuple[str, dict[str, Any] | None, str]]:
    """Name, sheet as plain data, code of the error: what can be sent back from another machine."""
    return [
        (planned.given.name, planned.sheet.to_dict() if planned.sheet else None, planned.error.code if planned.error else "")
        for planned in plan_many(paths)
    ]


def folder(path: str | Path, part: int = 100) -> list[tuple[str, dict[str, Any] | None, str]]:
    """All job files of a folder, in order of name."""
    paths = sorted(Path(path).glob("*.toml"))
    tasks = [dask.delayed(sheets)(paths[start : start + part]) for start in range(0, len(paths), part)]
    return [line for lines in dask.compute(*tasks) for line in lines]


if __name__ == "__main__":
    for name, sheet, code in folder(sys.argv[1]):
        print(name, sheet["title"] if sheet else code)
