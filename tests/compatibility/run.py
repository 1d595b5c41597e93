"""The suite on the oldest and the newest of everything that is allowed, against the wheel, with the source tree out of the way.

    python tests/compatibility/run.py [--python PATH]... [--only RUN]... [--kept FILE] [--table FILE] [--frozen] [--typed]
                                        [--artefacts] [--materials FILE] [--environments FOLDER] [--workers N]

Builds sdist and wheel twice from copies in different places, compares them byte by byte, checks what is in them, and for each Python found
(3.11 and later, by name on PATH or given; free-threaded ones count apart, as "3.13t") makes two fresh environments, one with the newest
allowed dependencies and one with the lowest that have a wheel for it, installs the wheel in both and runs the suite of the unpacked sdist
without its `src`. `--only 3.13` or `--only "3.11 lowest"` runs one of them; `--kept` keeps the result of each, so that the others stay as
they were; `--environments` keeps what was installed and uses it again, where only the wheel is new; `--workers 2` runs two tests at a time.
`--artefacts` stops after the building, `--materials` writes what an installation brings along, `--frozen` adds a frozen app that runs the
demo job, `--typed` has mypy and pyright look strictly at a small app that uses the installed package. Deprecation warnings of
dependencies are errors throughout. It needs the network, or an index of packages that pip knows.
"""

from __future__ import annotations

import argparse
import datetime
import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import tarfile
import tempfile
import tomllib
import zipfile
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
OLDEST = (3, 11)
NAMES = [f"python3.{minor}" for minor in range(11, 20)]
PROBE = """import sys, sysconfig
print(*sys.version_info[:2], "t" * bool(sysconfig.get_config_var("Py_GIL_DISABLED")), sys.executable, sep="\\n")"""
REPORT = """import numpy, pint, platform, sys, uncertainties
free = "" if getattr(sys, "_is_gil_enabled", lambda: True)() else " free-threaded"
print(platform.python_version() + free, numpy.__version__, pint.__version__, uncertainties.__version__, sep="\\n")"""


def run(*command: object, cwd: Path | None = None, check: bool = True, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run a command without the variables that would let the source tree in."""
    kept = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "PYTHONHOME", "VIRTUAL_ENV")}
    done = subprocess.run([str(c) for c in command], cwd=cwd, capture_output=True, text=True, env={**kept, **environment}, check=False)
    if check and done.returncode:
        raise SystemExit(f"{' '.join(map(str, command))}\n{done.stdout[-3000:]}\n{done.stderr[-3000:]}")
    return done


def pythons(given: list[str]) -> dict[str, str]:
    """Version, as "3.13" or "3.13t" without the global lock -> interpreter, of those that start; the ones given come first."""
    found: dict[tuple[int, int, str], str] = {}
    for name in [*given, sys.executable, *NAMES]:
        path = shutil.which(name)
        probe = run(path, "-c", PROBE, check=False) if path else None
        if probe is None or probe.returncode:
            if name in given:
                raise SystemExit(f"{name} does not start")
            continue
        major, minor, free, executable = probe.stdout.splitlines()
        if (int(major), int(minor)) >= OLDEST:
            found.setdefault((int(major), int(minor), free), executable)
    return {f"{major}.{minor}{free}": python for (major, minor, free), python in sorted(found.items())}


def environment(python: str, folder: Path) -> Path:
    """A fresh environment, or the one that is there; its interpreter."""
    inside = folder / ("Scripts" if os.name == "nt" else "bin") / "python"
    if not inside.exists():
        run(python, "-m", "venv", folder)
    return inside


def lowest(inside: Path) -> list[str]:
    """The run-time dependencies as exact pins: of each, the lowest version that is allowed and has a wheel for this Python."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    pins = []
    for requirement in project["dependencies"]:
        name, _, bound = requirement.partition(">=")
        wanted = ["download", "--no-deps", "--only-binary", ":all:", f"{name}==0"]  # pip then says which there are
        told = run(inside, "-m", "pip", *wanted, check=False).stderr.partition("from versions:")[2]
        offered = re.findall(r"\d+(?:\.\d+)+(?=[,)])", told)
        pins.append(f"{name}=={min((v for v in offered if _parts(v) >= _parts(bound)), key=_parts)}")
    return pins


def _parts(version: str) -> tuple[int, ...]:
    """A version, for comparing: 3.2 is 3.2.0."""
    parts = tuple(int(part) for part in version.split("."))
    return parts + (0,) * (3 - len(parts))


def built(python: str, work: Path) -> tuple[Path, Path]:
    """Wheel and sdist, the wheel made from the sdist; twice, from copies in two places, and the same to the byte."""
    builder = environment(python, work / "builder")
    run(builder, "-m", "pip", "install", "--quiet", "build")
    made = []
    for name in ("one", "another"):
        tree = work / name / "sumpwise"
        tracked = run("git", "ls-files", "-z", cwd=ROOT).stdout.split("\0")
        for file in filter(None, tracked):
            (tree / file).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(ROOT / file, tree / file)  # without its dates
        run(builder, "-m", "build", "--outdir", work / name / "dist", tree, SOURCE_DATE_EPOCH="315532800")
        made.append((next((work / name / "dist").glob("*.whl")), next((work / name / "dist").glob("*.tar.gz"))))
    for one, another in zip(*made, strict=True):
        if one.name != another.name or one.read_bytes() != another.read_bytes():
            raise SystemExit(f"{one.name} is not the same when it is built again")
        print(f"{hashlib.sha256(one.read_bytes()).hexdigest()}  {one.name}, the same built twice", flush=True)
    return made[0]


def materials(python: str, work: Path, wheel: Path) -> str:
    """A bill of materials (CycloneDX 1.5, JSON): the wheel and everything that it brings into a fresh environment, by version and hash."""
    inside = environment(python, work / "bill")
    run(inside, "-m", "pip", "install", "--quiet", "--report", work / "report.json", "--force-reinstall", wheel)
    installed = json.loads((work / "report.json").read_text(encoding="utf-8"))["install"]
    parts = []
    for one in sorted(installed, key=lambda entry: str(entry["metadata"]["name"]).lower()):
        about = one["metadata"]
        terms = about.get("license_expression") or about.get("license", "").partition("\n")[0]
        parts.append({
            "type": "library", "name": about["name"], "version": about["version"],
            "purl": f"pkg:pypi/{about['name'].lower()}@{about['version']}",
            "hashes": [{"alg": "SHA-256", "content": one["download_info"]["archive_info"]["hashes"]["sha256"]}],
            **({"licenses": [{"license": {"name": terms[:80]}}]} if terms else {}),
        })  # fmt: skip
    bill = {"bomFormat": "CycloneDX", "specVersion": "1.5", "version": 1, "components": parts}
    return json.dumps(bill, indent=1, ensure_ascii=False) + "\n"


def check_contents(wheel: Path, sdist: Path) -> str:
    """Refuse a wheel that lacks a file of the package or holds any other; say what it holds."""
    files = [p.relative_to(ROOT / "src") for p in (ROOT / "src" / "sumpwise").rglob("*") if p.is_file()]
    package = {p.as_posix() for p in files if "__pycache__" not in p.parts}
    with zipfile.ZipFile(wheel) as archive:
        inside = {name for name in archive.namelist() if ".dist-info/" not in name}
    if inside != package:
        raise SystemExit(f"the wheel lacks {sorted(package - inside)} or holds {sorted(inside - package)}")
    data = ("py.typed", "__init__.pyi", "schemas/job.json", "service/data/example_wagon.toml", "verification/nist_hb44.toml")
    wanted = {f"sumpwise/{name}" for name in data}
    if not wanted <= inside:
        raise SystemExit(f"the wheel lacks {sorted(wanted - inside)}")
    with tarfile.open(sdist) as archive:
        source = {name.partition("/")[2] for name in archive.getnames()}
    needed = {"pyproject.toml", "README.md", "LICENSE", "DEVELOPERS.md", "tests/files/v1/record.json", "docs/index.rst"}
    if not needed <= source:
        raise SystemExit(f"the sdist lacks {sorted(needed - source)}")
    evidence = sum(name.startswith("sumpwise/verification/") and name.endswith(".toml") for name in inside)
    held = f"{len(inside)} files in the wheel, {evidence} files of check values and the demo job among them, no tests"
    return f"{held}; {len(source)} entries in the sdist"


def tested(inside: Path, work: Path, wheel: Path, sdist: Path, low: bool, workers: int) -> dict[str, str]:
    """One environment: what was installed and how the suite ended."""
    folder = Path(tempfile.mkdtemp(dir=work))
    if run(inside, "-c", "import sumpwise", check=False).returncode:
        wanted = [f"{wheel}[test]", "pytest-xdist", *(lowest(inside) if low else ())]
        run(inside, "-m", "pip", "install", "--quiet", "--only-binary", ":all:", *wanted)
    else:
        run(inside, "-m", "pip", "install", "--quiet", "--force-reinstall", "--no-deps", wheel)
    with tarfile.open(sdist) as archive:
        archive.extractall(folder, filter="data")
    tree = next(p for p in folder.iterdir() if p.is_dir())
    shutil.rmtree(tree / "src")
    where = run(inside, "-c", "import sumpwise; print(sumpwise.__file__)", cwd=tree).stdout
    if "site-packages" not in where:
        raise SystemExit(f"the suite would test {where}")
    together = ["-n", workers, "--dist", "worksteal"] if workers > 1 else ["-p", "no:xdist"]
    unlocked = {"PYTHON_GIL": "0"} if run(inside, "-c", PROBE).stdout.splitlines()[2] else {}  # whatever else is loaded
    done = run(inside, "-m", "pytest", "-q", *together, "tests", "README.md", "--pyargs", "sumpwise", cwd=tree, check=False, **unlocked)
    run(inside, "-W", "error", "-m", "sumpwise", cwd=folder)
    python, numpy, pint, uncertainties = run(inside, "-c", REPORT).stdout.splitlines()
    ended = done.stdout.strip().splitlines()[-1]
    if done.returncode:
        print(done.stdout[-30000:], file=sys.stderr, flush=True)
    suite, day = re.sub(r" in [\d.]+s.*", "", ended.strip("= ")), datetime.date.today().isoformat()
    told = {"Python": python, "numpy": numpy, "pint": pint, "uncertainties": uncertainties, "suite": suite, "day": day}
    return told | {"failed": str(done.returncode)}


def frozen(python: str, work: Path, wheel: Path) -> str:
    """A frozen app that runs the demo job with no Python around; what it printed must be what the library prints."""
    inside = environment(python, work / "freezer")
    run(inside, "-m", "pip", "install", "--quiet", wheel, "pyinstaller")
    folder = work / "frozen"
    folder.mkdir()
    (folder / "app.py").write_text("from sumpwise.__main__ import main\n\nraise SystemExit(main())\n", encoding="utf-8")
    options = ["--noconfirm", "--log-level", "ERROR", "--collect-submodules", "sumpwise", "--collect-data", "sumpwise"]
    run(inside, "-m", "PyInstaller", *options, "app.py", cwd=folder)
    for words in ([], ["--json"], ["verify"]):
        plain = run(inside, "-m", "sumpwise", *words, cwd=work, PYTHONIOENCODING="utf-8").stdout
        app = run(folder / "dist" / "app" / "app", *words, cwd=work, PATH="", PYTHONIOENCODING="utf-8", PYTHONUTF8="1").stdout
        if app != plain or not app:
            raise SystemExit(f"the frozen app prints something else for {words}: {app[:300]}")
    version = run(inside, "-m", "PyInstaller", "--version").stdout.strip()
    return f"PyInstaller {version}: the demo job, its JSON and ``verify`` print what they print unfrozen"


def typed(python: str, work: Path, wheel: Path) -> str:
    """What the type checkers say of code that uses the installed package, strictly, with nothing of the source tree near."""
    inside = environment(python, work / "typed")
    run(inside, "-m", "pip", "install", "--quiet", wheel, "mypy", "pyright")
    folder = work / "app"
    folder.mkdir()
    for file in (ROOT / "tests" / "typing").glob("*.py"):
        shutil.copyfile(file, folder / file.name)
    (folder / "pyrightconfig.json").write_text(json.dumps({"typeCheckingMode": "strict"}), encoding="utf-8")
    run(inside, "-m", "mypy", "--config-file=", "--strict", *sorted(p.name for p in folder.glob("*.py")), cwd=folder)
    run(inside, "-m", "pyright", "--pythonpath", inside, cwd=folder)
    versions = run(inside, "-m", "mypy", "--version").stdout.split()[1], run(inside, "-m", "pyright", "--version").stdout.split()[-1]
    return f"mypy {versions[0]} and pyright {versions[1]}, both strict: no complaint about the apps in ``tests/typing`` against the wheel"


def _in_order(name: str) -> tuple[list[int], bool, bool]:
    version, _, pins = name.partition(" ")
    return [int(part) for part in version.rstrip("t").split(".")], version.endswith("t"), not pins


def table(kept: dict[str, dict[str, str]], notes: dict[str, str]) -> str:
    """The result as reStructuredText."""
    rows = [kept[name] for name in sorted(kept, key=_in_order)]
    columns = [c for c in rows[0] if c != "failed"]
    lines = [".. list-table::", "   :header-rows: 1", ""]
    for cells in (columns, *([row[c] for c in columns] for row in rows)):
        lines += [f"   {'*' if i == 0 else ' '} - {cell}" for i, cell in enumerate(cells)]
    return "\n".join([*lines, *(part for note in notes.values() for part in ("", f"{note}.")), ""])


def main() -> int:
    """Run a command; 1 when a suite failed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--python", action="append", default=[], help="a further interpreter, by name or path; may be repeated")
    parser.add_argument("--only", action="append", default=[], help="one of the runs, such as 3.13, or '3.11 lowest'; may be repeated")
    parser.add_argument("--kept", type=Path, help="where what each run came to is kept, as JSON")
    parser.add_argument("--table", type=Path, help="where the result goes as reStructuredText")
    parser.add_argument("--environments", type=Path, help="where what was installed for each run is kept, and taken from the next time")
    parser.add_argument("--workers", type=int, default=1, help="how many tests run at a time")
    parser.add_argument("--artefacts", action="store_true", help="build and check sdist and wheel, and no more")
    parser.add_argument("--materials", type=Path, help="where the bill of materials goes, as CycloneDX JSON")
    parser.add_argument("--frozen", action="store_true", help="freeze an app too")
    parser.add_argument("--typed", action="store_true", help="check the types of an app too")
    options = parser.parse_args()
    found = pythons(options.python)
    if not found:
        raise SystemExit("no Python 3.11 or later was found")
    with tempfile.TemporaryDirectory() as made:
        work = Path(made)
        first = next(iter(found.values()))
        wheel, sdist = built(first, work)
        contents = check_contents(wheel, sdist)
        print(contents, flush=True)
        if options.materials:
            options.materials.write_text(materials(first, work, wheel), encoding="utf-8")
        if options.artefacts:
            return 0
        kept: dict[str, dict[str, dict[str, str]]] = {"runs": {}, "notes": {}}
        if options.kept and options.kept.exists():
            kept = json.loads(options.kept.read_text(encoding="utf-8"))
        runs = {f"{version}{pins}": python for version, python in found.items() for pins in (" lowest", "")}
        if unknown := set(options.only) - set(runs):
            raise SystemExit(f"no run is called {', '.join(sorted(unknown))}: there are {', '.join(runs)}")

        def keep(kind: str, name: str, told: Any) -> None:
            kept[kind][name] = told
            print(name, told, flush=True)
            if options.kept:
                options.kept.write_text(json.dumps(kept, indent=1), encoding="utf-8")
            if options.table and kept["runs"]:
                options.table.write_text(table(kept["runs"], kept["notes"]), encoding="utf-8")

        keep("notes", "contents", contents)
        for name in options.only or runs:
            inside = environment(runs[name], (options.environments or work) / name.replace(" ", "-"))
            keep("runs", name, tested(inside, work, wheel, sdist, name.endswith(" lowest"), options.workers))
        for name, further in (("typed", typed), ("frozen", frozen)):
            if vars(options)[name]:
                keep("notes", name, f"{further(first, work, wheel)} ({datetime.date.today().isoformat()})")
    return int(any(row["failed"] != "0" for row in kept["runs"].values()))


if __name__ == "__main__":
    raise SystemExit(main())
