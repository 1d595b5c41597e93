"""Mutation testing of the computing rooms: change one operator or number of a room at a time and see whether its tests notice.

    python tests/mutation/run.py torque                          every mutant of a room
    python tests/mutation/run.py quantities --sample 400 --seed 7
    python tests/mutation/run.py torque --again                  what survived without a reason, after tests were added
    python tests/mutation/run.py --report                        docs/reference/mutation.rst from the results kept

Cosmic Ray makes the mutants; `rooms.toml` says which files and which operators. Which tests can notice a mutant is found, not listed:
each module of tests is run once without a mutant to see which lines its tests run (kept in `mutants/` until its text changes), and a
mutant is shown to the tests of the whole suite that run its line, until they have taken two minutes of a processor. The checkout is never
touched: a scratch copy is mutated. Each mutant runs in a fork of this process, which has the third-party libraries loaded already, under
a Hypothesis profile without chance. `equivalent.toml` gives the reason for each survivor that changes nothing.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import gc
import importlib
import io
import itertools
import json
import math
import os
import pathlib
import random
import re
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import tokenize
import tomllib

import order
from cosmic_ray.commands.init import init
from cosmic_ray.mutating import mutate_code
from cosmic_ray.plugins import get_operator
from cosmic_ray.work_db import WorkDB, use_db

HERE = pathlib.Path(__file__).parent
ROOT = HERE.parents[1]
ROOMS = tomllib.loads((HERE / "rooms.toml").read_text())
REASONS = tomllib.loads((HERE / "equivalent.toml").read_text())["alike"]
MEMORY = 6 << 30
LONGEST = 1200.0
KEPT = ROOT / "mutants" / "lines"
PRELOAD = (
    "_hypothesis_pytestplugin",
    "numpy", "numpy.random", "scipy.integrate", "scipy.optimize", "scipy.special", "scipy.stats", "scipy.linalg",
    "pint", "uncertainties.umath", "mpmath", "fluids", "chemicals", "GTC", "dask.array", "pytest",
    "hypothesis.strategies", "hypothesis.stateful", "hypothesis.extra.numpy", "fractions", "decimal",
)  # fmt: skip


def unmutated_lines(source: str) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Where a change cannot change a number.

    Annotations, blocks for the type checker, the words of a refusal, `__slots__`, the flags `strict=` and `slots=` that guard what is
    so by construction, and the star that says that the arguments after it go by name.
    """
    spans = []
    tokens = list(tokenize.generate_tokens(io.StringIO(source).readline))
    spans += [(mark.start, mark.end) for mark, after in itertools.pairwise(tokens) if mark.string == "*" and after.string == ","]
    for node in ast.walk(ast.parse(source)):
        parts: list[ast.AST | None] = []
        if isinstance(node, ast.arg | ast.AnnAssign):
            parts = [node.annotation]
        elif isinstance(node, ast.FunctionDef):
            parts = [node.returns]
        elif isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call):
            parts = [*node.exc.args, *(word.value for word in node.exc.keywords)]
        elif isinstance(node, ast.keyword) and node.arg in ("strict", "slots"):
            parts = [node.value]
        elif (isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING") or (
            isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) in ("TYPE_CHECKING", "__slots__")
        ):
            parts = [node]
        spans += [((p.lineno, p.col_offset), (p.end_lineno, p.end_col_offset)) for p in parts if p is not None]
    return spans


class Mutant:
    """One change of one file, in words that do not depend on line numbers."""

    def __init__(self, spec, source: str) -> None:
        operator = get_operator(spec.operator_name)(**spec.operator_args)
        self.path, self.operator = str(spec.module_path), spec.operator_name.removeprefix("core/")
        self.where = spec.definition_name or "module"
        self.line, self.source = spec.start_pos[0], mutate_code(source, operator, spec.occurrence)
        old, new = source.splitlines(), (self.source or "").splitlines()
        first = next((i for i, (a, b) in enumerate(zip(old, new, strict=False)) if a != b), 0)
        last = next((i for i, (a, b) in enumerate(zip(old[::-1], new[::-1], strict=False)) if a != b), 0)
        self.old = " ".join(" ".join(old[first : len(old) - last]).split())
        self.new = " ".join(" ".join(new[first : len(new) - last]).split())

    def plain(self) -> dict[str, object]:
        return {"file": self.path, "in": self.where, "line": self.line, "old": self.old, "new": self.new, "operator": self.operator}


def files_of(room: dict) -> list[str]:
    """A room's files; an asterisk stands for any name."""
    return [str(path.relative_to(ROOT)) for pattern in room["files"] for path in sorted(ROOT.glob(pattern))]


def specs_of(room: dict) -> list:
    """Every mutation the configured operators make in a room's files, in a fixed order."""
    excluded = re.compile("|".join(ROOMS["operators"]["exclude"]))
    quiet = {path: unmutated_lines((ROOT / path).read_text()) for path in files_of(room)}
    with tempfile.TemporaryDirectory() as folder, use_db(f"{folder}/session.sqlite", WorkDB.Mode.create) as base:
        init([pathlib.Path(path) for path in files_of(room)], base, {})
        found = [item.mutations[0] for item in base.work_items]
    kept = [
        spec
        for spec in found
        if not excluded.match(spec.operator_name) and not any(a <= tuple(spec.start_pos) < b for a, b in quiet[str(spec.module_path)])
    ]
    return sorted(kept, key=lambda s: (str(s.module_path), tuple(s.start_pos), s.operator_name, s.occurrence))


def warm() -> None:
    """Load what no mutation touches, once, before any fork: libraries, pint's definitions, pytest itself."""
    for module in PRELOAD:
        with contextlib.suppress(ImportError):
            importlib.import_module(module)
    import pint
    import pytest
    from pint.delegates.txt_defparser.defparser import DefParser

    parse, parsed = DefParser.parse_file, {}

    def parse_once(self, filename, cfg=None):
        key = (str(filename), repr(cfg), repr(self._default_config))
        if key not in parsed:
            parsed[key] = parse(self, filename, cfg)
        return parsed[key]

    DefParser.parse_file = parse_once
    _ = pint.get_application_registry().litre
    with tempfile.TemporaryDirectory() as folder, contextlib.redirect_stdout(io.StringIO()):
        law = pathlib.Path(folder, "test_law.py")
        law.write_text("from hypothesis import given, strategies\n\n@given(strategies.floats(0, 1))\ndef test_law(x): assert x <= 1\n")
        pytest.main(["-q", "-c", os.devnull, "-p", "no:cacheprovider", str(law)])
    gc.collect()
    gc.freeze()


def fork(folder: pathlib.Path, stages: list[tuple[str, list[str]]], output: pathlib.Path, seconds: float, kept: pathlib.Path | None) -> int:
    """Run some tests of some modules in a child, module by module, until one fails, and give back how it ended. It may use so much
    time of a processor. Without a mutant, which tests of the module run which lines is kept."""
    child = os.fork()
    if child:
        return ended(child, time.monotonic() + LONGEST)
    os.setsid()
    os.chdir(folder)
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (math.ceil(seconds), math.ceil(seconds)))
    out = os.open(output, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(out, 1)
    os.dup2(out, 2)
    code = 70
    with contextlib.suppress(BaseException):
        sys.stdout, sys.stderr = io.TextIOWrapper(open(1, "wb", closefd=False)), io.TextIOWrapper(open(2, "wb", closefd=False))  # noqa: SIM115
        os.environ["PYTHONPATH"] = str(folder / "src")
        sys.path[:0] = [str(folder / "src"), str(folder / "tests"), str(folder)]
        import hypothesis
        import pytest

        hypothesis.settings.register_profile(
            "mutation", derandomize=True, database=None, deadline=None, max_examples=ROOMS["hypothesis"]["max_examples"],
            phases=(hypothesis.Phase.explicit, hypothesis.Phase.generate), suppress_health_check=list(hypothesis.HealthCheck),
        )  # fmt: skip
        watch = order.Watch(folder, kept.with_suffix(".data")) if kept else None
        options = ["-q", "--no-header", "--tb=line", "-p", "no:cacheprovider", "--import-mode=importlib"]
        options += ["-p", "_hypothesis_pytestplugin", "-W", "ignore::pytest.PytestAssertRewriteWarning", "--hypothesis-profile=mutation"]
        failed = 0
        for module, tests in stages:
            failed = int(pytest.main([*options, module, *([] if watch else ["-x"])], plugins=[watch or order.Only(tests)]))
            failed *= failed != pytest.ExitCode.NO_TESTS_COLLECTED
            if failed:
                break
        if watch:
            watch.keep(kept)
        sys.stdout.flush()
        sys.stderr.flush()
        code = failed
    os._exit(code)


def ended(child: int, until: float) -> int:
    """How a child ended; one that waits too long is ended with all that it started."""
    while True:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        if time.monotonic() > until:
            os.killpg(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return -signal.SIGKILL
        time.sleep(0.01)


def look(folder: pathlib.Path) -> None:
    """Run each module of tests that has changed since it was run last, without a mutant, and keep which of its tests run which lines.

    What was kept stays as long as the file of the tests does: a changed file of the library is known by its lines no more, only which
    tests run it."""
    KEPT.mkdir(parents=True, exist_ok=True)
    modules = {str(path.relative_to(folder)): path for path in sorted((folder / "tests").rglob("test_*.py"))}
    names = {name.removesuffix(".py").replace("/", "."): (name, path) for name, path in modules.items()}
    for old in KEPT.glob("*.json"):
        if old.stem not in names:
            old.unlink()
    library = {str(path.relative_to(folder)): order.text_of(path.read_text()) for path in (folder / "src").rglob("*.py")}
    for stem, (name, path) in names.items():
        told, text = KEPT / f"{stem}.json", order.text_of(path.read_text())
        if told.exists() and json.loads(told.read_text()).get("text") == text:
            continue
        for old in (told, told.with_suffix(".data")):
            old.unlink(missing_ok=True)
        began = time.monotonic()
        code = fork(folder, [(name, [])], folder / "output.txt", LONGEST, told)
        found = json.loads(told.read_text()) if told.exists() else {"took": {}, "failed": [], "others": False, "collected": 0.0}
        told.write_text(json.dumps(found | {"text": text, "library": library}))
        print(f"{name}: {len(found['took'])} tests, {time.monotonic() - began:.0f} s, ended with {code}", *found["failed"], flush=True)


def copy(folder: pathlib.Path) -> pathlib.Path:
    left_out = shutil.ignore_patterns("__pycache__", "mutation", ".hypothesis")
    for name in ("src", "tests"):
        shutil.copytree(ROOT / name, folder / name, ignore=left_out)
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, folder / name)
    return folder


def alike(survivor: dict) -> bool:
    """Whether a survivor changes no answer, by a reason that is written down."""
    return any((r["file"], r["old"]) == (survivor["file"], survivor["old"]) and survivor["new"] in r["new"] for r in REASONS)


def survivors(specs: list, before: dict, sources: dict[str, str]) -> tuple[list, int]:
    """Those mutations that survived the run before without a reason, matched by description; and how many went with their line."""
    left = [tuple(s[k] for k in ("file", "in", "operator", "old", "new")) for s in before["survived"] if not alike(s)]
    rough = {entry[:3] for entry in left}
    found = []
    for spec in specs:
        if (str(spec.module_path), spec.definition_name or "module", spec.operator_name.removeprefix("core/")) in rough:
            plain = Mutant(spec, sources[str(spec.module_path)]).plain()
            said = tuple(plain[k] for k in ("file", "in", "operator", "old", "new"))
            if said in left:
                left.remove(said)
                found.append(spec)
    for entry in left:
        print(f"  gone with its line: {entry}")
    return found, len(left)


def run(name: str, sample: int, seed: int, seconds: float, only: str, again: bool, folder: pathlib.Path) -> None:
    room = ROOMS["rooms"][name]
    specs = specs_of(room)
    sources = {path: (ROOT / path).read_text() for path in files_of(room)}
    results = HERE / "results" / f"{name}.json"
    total = len(specs)
    if sample and sample < total:
        chosen = sorted(random.Random(seed).sample(range(total), sample))
        specs = [specs[i] for i in chosen]
    ran, gone = len(specs), 0
    earlier = json.loads(results.read_text()) if results.exists() else {}
    before = earlier if again else None
    if before:
        specs, gone = survivors(specs_of(room), before, sources)
    specs = [spec for spec in specs if only in f"{spec.module_path}:{spec.definition_name}"]
    began, told = time.monotonic(), {}
    print(f"{name}: {len(specs)} of {total} mutants", flush=True)
    kept = [s for s in before["survived"] if alike(s)] if before else []
    survived, killed, late = [], 0, 0
    for spec in specs:
        mutant = Mutant(spec, sources[str(spec.module_path)])
        path, text = folder / mutant.path, sources[mutant.path]
        if mutant.path not in told:
            told[mutant.path] = order.Tests(KEPT, mutant.path, text)
        those = told[mutant.path].of_line(mutant.line, seconds)
        path.write_text(mutant.source)
        forget(path)
        most = 3 * told[mutant.path].cost(those) + 20
        code = fork(folder, those, folder / "output.txt", most, None)
        path.write_text(text)
        forget(path)
        if code:
            killed += 1
            late += code in (-signal.SIGXCPU, -signal.SIGKILL)
            by = re.findall(r"^(?:FAILED|ERROR) (\S+)", (folder / "output.txt").read_text(errors="replace"), re.MULTILINE)
            print(f"  killed {mutant.path}:{mutant.line} by {(by or [code])[0]}", flush=True)
        else:
            survived.append(mutant.plain())
            print(f"  survived {mutant.path}:{mutant.line} {mutant.where}\n    - {mutant.old}\n    + {mutant.new}", flush=True)
    took = time.monotonic() - began
    print(f"{name}: {killed} of {len(specs)} killed ({killed / max(len(specs), 1):.1%}), {late} of them by time, {took:.0f} s", flush=True)
    if only:
        return
    revision, day = subprocess.run(
        ["git", "log", "-1", "--format=%h %cs"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.split()  # fmt: skip
    first = {"seed": seed if ran < total else None, "first_run": ran, "first_killed": ran - len(survived)}
    first |= {"first_revision": revision, "first_day": day}
    samples = [*earlier.get("earlier", []), {key: earlier[key] for key in first}] if earlier else []
    result = before or {"mutants": total, "run": ran, "by_time": late, **first, "earlier": samples}
    result["run"] -= gone
    survived = [*kept, *survived]
    result |= {"killed": result["run"] - len(survived), "survived": survived}
    results.parent.mkdir(exist_ok=True)
    results.write_text(json.dumps(result, indent=1, ensure_ascii=False) + "\n")


def forget(path: pathlib.Path) -> None:
    """The compiled form of a file, which Python takes for the file's own if both were written within a second."""
    for stale in path.parent.glob(f"__pycache__/{path.stem}.*.pyc"):
        stale.unlink()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("room", nargs="*", choices=[*ROOMS["rooms"], []], help="rooms to run")
    parser.add_argument("--sample", type=int, default=0, help="run a random sample of this many mutants")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=120.0, help="so much time of tests for each mutant")
    parser.add_argument("--only", default="", help="run only what has this in file:definition, and keep no result")
    parser.add_argument("--again", action="store_true", help="run what survived the last run again, after tests were added")
    parser.add_argument("--report", action="store_true", help="write docs/reference/mutation.rst")
    options = parser.parse_args()
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    if options.room:
        warm()
        with tempfile.TemporaryDirectory() as scratch:
            folder = copy(pathlib.Path(scratch))
            look(folder)
            for name in options.room:
                run(name, options.sample, options.seed, options.seconds, options.only, options.again, folder)
    if options.report:
        import report

        report.write()


if __name__ == "__main__":
    main()
