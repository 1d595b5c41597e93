"""Which tests of the suite run which lines, found once, so that a mutant is shown to those that can notice it."""

from __future__ import annotations

import ast
import contextlib
import hashlib
import importlib
import json
import pathlib
import pkgutil
import sys
import time
from collections import Counter
from collections.abc import Iterable, Iterator

import coverage
import pytest

IMPORT, COLLECTION = "import", "collection"
LONGEST_MODULE = 40.0
"""The seconds of a processor after which no further test of a module is looked at, with the watching of lines in them."""


class Watch:
    """In the run of a module of tests without a mutant: which test runs which line, how long it takes, and whether it passes."""

    def __init__(self, folder: pathlib.Path, data: pathlib.Path) -> None:
        self.took: dict[str, float] = {}
        self.failed: set[str] = set()
        self.others = False
        self.coverage = coverage.Coverage(data_file=str(data), include=[f"{folder}/src/sumpwise/*"], config_file=False)
        self.coverage.start()
        self.coverage.switch_context(IMPORT)
        for module in pkgutil.walk_packages(importlib.import_module("sumpwise").__path__, "sumpwise."):
            if not module.name.endswith("__main__"):
                with contextlib.suppress(ImportError):
                    importlib.import_module(module.name)
        self.coverage.switch_context(COLLECTION)
        self.began, self.collected = time.process_time(), 0.0
        sys.addaudithook(self.audit)

    def audit(self, event: str, _: object) -> None:
        self.others |= event in ("subprocess.Popen", "os.fork", "os.posix_spawn")

    def pytest_collection_finish(self) -> None:
        self.collected = time.process_time() - self.began

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self.coverage.switch_context(item.nodeid)
        began = time.process_time()
        yield
        self.took[item.nodeid] = time.process_time() - began
        self.coverage.switch_context(COLLECTION)
        if time.process_time() - self.began > LONGEST_MODULE:
            item.session.shouldstop = "long enough"

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if not report.passed:
            self.failed.add(report.nodeid)

    def keep(self, told: pathlib.Path) -> None:
        self.coverage.stop()
        self.coverage.save()
        took = {test: seconds for test, seconds in self.took.items() if test not in self.failed}
        told.write_text(json.dumps({"took": took, "failed": sorted(self.failed), "others": self.others, "collected": self.collected}))


class Only:
    """In the run of a mutant: some tests alone, in their order."""

    def __init__(self, tests: Iterable[str]) -> None:
        self.place = {test: i for i, test in enumerate(tests)}

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = sorted((item for item in items if item.nodeid in self.place), key=lambda item: self.place[item.nodeid])


class Tests:
    """What the runs of all modules of tests told about one file of the library."""

    def __init__(self, kept: pathlib.Path, file: str, source: str) -> None:
        self.statements = statements(source)
        self.took: dict[str, float] = {}
        self.others: set[str] = set()
        self.lines: dict[int, set[str]] = {}
        self.unsure: set[str] = set()
        self.collected: dict[str, float] = {}
        seen: Counter[str] = Counter()
        for told in sorted(kept.glob("*.json")):
            module = json.loads(told.read_text())
            self.took |= module["took"]
            self.collected |= {module_of(test): module["collected"] for test in module["took"]}
            if module["others"]:
                self.others |= {module_of(test) for test in module["took"]}
            data = coverage.CoverageData(str(told.with_suffix(".data")))
            data.read()
            for measured in data.measured_files():
                if measured.endswith(f"/{file}"):
                    for line, contexts in data.contexts_by_lineno(measured).items():
                        ran = [test for test in (module["took"] if COLLECTION in contexts else contexts) if test in module["took"]]
                        self.lines.setdefault(line, set()).update(ran)
                        seen.update({module_of(test) for test in ran})
                        if module["library"][file] != text_of(source):
                            self.unsure.update(ran)
            data.close()
        self.seen = seen

    def of_line(self, line: int, seconds: float) -> list[tuple[str, list[str]]]:
        """The tests that run a line, by modules: first those modules that run most of the file in little time, in each the quickest
        tests; then the other tests of these modules, which may look at what those have made. In all, so many seconds of them.

        Of a line that runs only when it is imported, the tests that run any line of its file; of a file of which no test runs a line,
        all tests; with those that start other processes, of whose lines nothing is known. If the file has changed since the tests
        were looked at, all those that ran a line of it.
        """
        span = next((span for span in self.statements if line in span), range(line, line + 1))
        ran = self.unsure.union(*(self.lines.get(at, ()) for at in span))
        if not ran:
            any_line = set().union(*self.lines.values())
            ran = (any_line or set(self.took)) | {test for test in self.took if module_of(test) in self.others}
        modules: dict[str, list[str]] = {}
        for test in sorted(ran, key=self.took.__getitem__):
            modules.setdefault(module_of(test), []).append(test)
        order = sorted(modules, key=lambda name: -self.seen[name] / (1 + self.cost([(name, modules[name])])))
        rest: dict[str, list[str]] = {}
        for test in sorted(self.took, key=self.took.__getitem__):
            if module_of(test) in modules and test not in ran:
                rest.setdefault(module_of(test), []).append(test)
        shown = []
        for name, tests in [(name, part[name]) for part in (modules, rest) for name in order if name in part]:
            within: list[str] = []
            seconds -= self.collected[name]
            for test in tests:
                if self.took[test] <= seconds or not (shown or within):
                    seconds -= self.took[test]
                    within.append(test)
            shown += [(name, within)] if within else []
        return shown

    def cost(self, shown: list[tuple[str, list[str]]]) -> float:
        """The seconds that some tests take without a mutant."""
        return sum(self.collected[name] + sum(map(self.took.__getitem__, tests)) for name, tests in shown)


def text_of(source: str) -> str:
    return hashlib.sha256(source.encode()).hexdigest()


def module_of(test: str) -> str:
    return test.split("::")[0]


def statements(source: str) -> list[range]:
    """The lines of each statement, of a compound one those before its body; the innermost first."""
    spans = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.stmt):
            body = getattr(node, "body", None)
            spans.append(range(node.lineno, (body[0].lineno if body else node.end_lineno + 1)))
    return sorted(spans, key=len)
