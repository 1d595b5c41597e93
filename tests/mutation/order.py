"""Which tests run which lines, so that a mutant is shown to those that can notice it: two small plugins of pytest."""

from __future__ import annotations

import json
import pathlib
import time
from collections.abc import Iterator

import coverage
import pytest


class Watch:
    """In the run without a mutant: which test ran which line of some files, and how much processor time it took."""

    def __init__(self, files: list[str]) -> None:
        self.took: dict[str, float] = {}
        self.coverage = coverage.Coverage(data_file=None, include=files, config_file=False)
        self.coverage.start()

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self.coverage.switch_context(item.nodeid)
        began = time.process_time()
        yield
        self.took[item.nodeid] = time.process_time() - began
        self.coverage.switch_context("")

    def keep(self, folder: pathlib.Path) -> None:
        self.coverage.stop()
        data = self.coverage.get_data()
        lines = {
            str(pathlib.Path(file).relative_to(folder)): {
                line: [test for test in tests if test] for line, tests in data.contexts_by_lineno(file).items()
            }
            for file in data.measured_files()
        }
        (folder / "order.json").write_text(json.dumps({"took": self.took, "lines": lines}))


class Only:
    """In the run of a mutant: some tests alone, in their order."""

    def __init__(self, tests: list[str]) -> None:
        self.place = {test: i for i, test in enumerate(tests)}

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = sorted((item for item in items if item.nodeid in self.place), key=lambda item: self.place[item.nodeid])


def of_line(told: dict, file: str, line: int) -> list[str]:
    """The tests that ran a line, the quickest first, then the others of their modules, which may look at what those have made.

    None, if it ran when its module was imported, or in another process.
    """
    ran = told["lines"].get(file, {}).get(str(line), [])
    modules = {test.split("::")[0] for test in ran}
    return sorted((test for test in told["took"] if test.split("::")[0] in modules), key=lambda test: (test not in ran, told["took"][test]))
