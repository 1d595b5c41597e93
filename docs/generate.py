"""Write the pages that come from the package itself: API, nomenclature, job format, verification values, pictures."""

from __future__ import annotations

import inspect
from itertools import groupby
from pathlib import Path

import nomenclature
import pictures

import sumpwise
from sumpwise import Job, _face
from sumpwise.codes import CODES
from sumpwise.service import intake, schema
from sumpwise.service.json_schema import found, in_words, without
from sumpwise.service.keys import Choice, Key
from sumpwise.service.words.english import WORDS
from sumpwise.verification.entries import label_of, outside_sources
from sumpwise.verification.publications import KNOWN, MEANINGS
from sumpwise.verification.runner import Verification, verify

ABOUT = {
    "quantities": "Numbers with units",
    "measurement": "How well a number is known",
    "fluid": "The fluid",
    "ageing": "How a fill ages",
    "mixing": "How fresh the fill gets",
    "inference": "From what is seen to what is not",
    "filling": "Vessels, ledger, level, pouring",
    "buying": "What to buy",
    "torque": "Torque of plugs and bolts",
    "description": "The numbers in a text",
    "service": "The whole job",
    "verification": "The check values",
    "plots": "Plots",
    "testing": "For the tests of applications that embed the library",
    "errors": "Errors",
}
HERE = Path(__file__).parent
TESTING = ("assert_close", "assert_agrees", "assert_refuses", "shares", "quantities", "uncertain_quantities", "notations")


def version() -> str:
    """The version of the package."""
    return sumpwise.__version__


def places() -> dict[str, str]:
    """Public name -> module."""
    return _face.places()


def write(folder: Path) -> None:
    """Write every generated page, replacing only what changed."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in pages().items():
        path = folder / name
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8")
    pictures.write(folder / "pictures")


def pages() -> dict[str, str]:
    """Name -> text of every generated page."""
    report = verify()
    rooms = dict(sorted(_face.ROOMS.items(), key=lambda item: list(ABOUT).index(item[0])))
    made = {f"{room}.rst": _room(room, modules) for room, modules in rooms.items()}
    made["testing.rst"] = _room("testing", {"": TESTING})
    made["index.rst"] = _index([*rooms, "testing"])
    made["nomenclature.rst"] = nomenclature.page()
    made["job_format.rst"] = job_format()
    made["facts.rst"] = facts()
    made["verification_values.rst"] = values(report)
    made["error_codes.txt"] = error_codes()
    made["benchmarks.txt"] = benchmarks(HERE.parent / "benchmarks")
    made["reports.txt"] = reports(HERE)
    made["verification_summary.txt"] = summary(report)
    return made


def _heading(text: str, mark: str = "=") -> str:
    return f"{text}\n{mark * len(text)}\n"


def _room(room: str, modules: dict[str, tuple[str, ...]]) -> str:
    origin = f"``from sumpwise.{room} import …``"
    origin = origin if room == "testing" else f"``from sumpwise import …`` or {origin}"
    parts = [_heading(f"{ABOUT[room]}: ``{room}``"), f"{origin}.\n"]
    for names in modules.values():
        for name in names:
            where = f"sumpwise.{room}"
            thing = _face.load(where, name)
            kind = "autoclass" if inspect.isclass(thing) else "autofunction" if callable(thing) else "autodata"
            more = "\n   :members:" if kind == "autoclass" else ""
            parts.append(f".. {kind}:: {where}.{name}{more}\n")
    return "\n".join(parts)


def _index(rooms: list[str]) -> str:
    parts = [_heading("API by room"), "Every public name, by the room it lives in.\n", ".. list-table::\n   :widths: 25 75\n"]
    for room in rooms:
        names = TESTING if room == "testing" else tuple(name for names in _face.ROOMS[room].values() for name in names)
        parts.append(f"   * - :doc:`{room}`\n     - {', '.join(f'``{name}``' for name in names)}")
    return "\n".join(parts) + "\n\n.. toctree::\n   :hidden:\n\n" + "".join(f"   {room}\n" for room in rooms)


def error_codes() -> str:
    """The error codes and their meanings."""
    rows = "\n".join(f"   * - ``{code}``\n     - {meaning}" for code, meaning in CODES.items())
    return f".. list-table::\n   :header-rows: 1\n   :widths: 30 70\n\n   * - code\n     - meaning\n{rows}\n"


# -- the job file, from the tables that read it


def job_format() -> str:
    """Every table, list and key of a job file."""
    parts = [_heading("The keys of a job file")]
    parts.append(
        f"A job file starts with ``format = \"{intake.FORMAT}\"`` and ``version = {intake.VERSION}`` and may have a ``title``. "
        f"{_listed(schema.NEEDED_TABLES)} must be there; a key in **bold** must be there when its table is. A value is a text in "
        f":doc:`workshop notation <../notation>` unless it says otherwise. What is assumed for a missing key is listed with its reason, "
        f"and is printed as an assumption if a sheet uses it. The last column shows the packaged demo. How to write one: "
        f":doc:`../../how-to/job_file`.\n"
    )
    demo = Job.demo().to_dict()
    for name, keys in schema.TABLES.items():
        parts += [_heading(f"[{name}]", "-"), _keys(keys, demo.get(name, {}))]
    for name, keys in schema.LISTS.items():
        shown: dict[str, object] = {}
        for entry in demo.get(name, []):
            shown = {**entry, **shown}
        parts += [_heading(f"[[{name}]]", "-"), f"One ``[[{name}]]`` for each.\n", _keys(keys, shown)]
    parts.append("What an event of the log also needs:\n")
    parts.append(".. list-table::\n   :header-rows: 1\n\n   * - event\n     - needs")
    parts += [f"   * - ``{event}``\n     - {_listed(needs) or 'nothing'}" for event, needs in schema.EVENT_NEEDS.items()]
    parts.append(
        "\nThe reading of a ``stick`` is a length above the lower mark and may be negative; that of a vessel is a volume. An entry "
        "``seen`` names a stop sign: the sheet then begins with it and withholds the steps.\n"
    )
    return "\n".join(parts)


def _keys(keys: dict[str, Key], demo: dict[str, object]) -> str:
    head = ("key", "meaning", "value", "default, and how to find it", "demo")
    lines = [".. list-table::\n   :header-rows: 1\n   :widths: 16 24 20 26 14\n", f"   * - {f'{chr(10)}     - '.join(head)}"]
    for key, spec in keys.items():
        name = f"**{key}**" if spec.required else key
        value = demo.get(key, "")
        shown = f"``{str(value).lower() if isinstance(value, bool) else value}``" if value != "" else ""
        said = "; ".join(filter(None, (without(spec), found(spec))))
        cells = (name, spec.meaning, _marked(spec.kind), said, shown)
        lines.append(f"   * - {f'{chr(10)}     - '.join(cells)}")
    return "\n".join(lines) + "\n"


def _marked(kind: schema.Field) -> str:
    return f"one of {_listed(kind.words)}" if isinstance(kind, Choice) else in_words(kind)


def _listed(words: tuple[str, ...]) -> str:
    return ", ".join(f"``{word}``" for word in words)


def _literal(text: str) -> str:
    """A text as it is; spaces at its ends, which a literal cannot hold, are said."""
    inner = text.strip()
    if not inner:
        return "nothing"
    return f"``{inner}``" if inner == text else f"``{inner}`` and its spaces"


def facts() -> str:
    """Every fact and word of a sheet by its id, with its sentence in English."""
    parts = [_heading("Facts and words of a sheet")]
    parts.append(
        "What a sheet says, by its stable id: a fact of the JSON form has it as ``id``, a verdict or a word of a table as ``word``. "
        "The slots are in braces; they are the keys of ``values``. If a word depends on a count, both forms are given. "
        "Sections come in alphabetical order of their keys. A translation is a table with the same ids.\n"
    )
    groups: dict[str, list[str]] = {}
    for key in sorted(WORDS):
        groups.setdefault(key.partition(".")[0], []).append(key)
    for group, keys in groups.items():
        parts.append(_heading(group, "-"))
        parts.append(".. list-table::\n   :widths: 25 75\n   :class: longtable\n")
        parts += [f"   * - ``{key}``\n     - {_literal(WORDS[key])}" for key in keys]
        parts[-1] += "\n"
    return "\n".join(parts)


def reports(folder: Path) -> str:
    """A table of contents of the reference pages that the index does not name: reports written by a command."""
    index = (folder / "index.rst").read_text(encoding="utf-8")
    names = sorted(f"reference/{path.stem}" for path in (folder / "reference").glob("*.rst"))
    extra = [f"   {name}\n" for name in names if f"   {name}\n" not in index]
    return ".. toctree::\n   :hidden:\n\n" + "".join(extra) if extra else "\n"


# -- the benchmarks, from the table and the notes beside them


def benchmarks(folder: Path) -> str:
    """The table that `benchmarks/run.py` wrote, where it was run, and what was tried."""
    files = sorted(folder.glob("*.md"), key=lambda path: path.name == "NOTES.md")
    return "\n".join(_from_markdown(path.read_text(encoding="utf-8")) for path in files)


def _from_markdown(text: str) -> str:
    """The little Markdown of those two files: headings, paragraphs, lists, code, one table."""
    lines: list[str] = []
    for line in text.replace("`", "``").splitlines():
        if line.startswith("#"):
            depth, _, title = line.partition(" ")
            lines.append(_heading(title, "-" if len(depth) == 1 else "~"))
        elif line.startswith("|"):
            cells = [_escaped(cell.strip().replace("``", "")) for cell in line.strip("|").split("|")]
            if set(line) <= set("|-: "):
                continue
            if not lines or not lines[-1].startswith("   "):
                lines += ["", ".. list-table::", "   :header-rows: 1", ""]
            lines.append("   * - " + "\n     - ".join(cells))
        else:
            lines.append(line)
    return "\n".join(lines) + "\n"


# -- the check values, from the files that are recomputed


def summary(report: Verification) -> str:
    """What agrees, and how it is known."""
    values, sources = report.headline
    lesser, texts = report.lesser
    converting, tabled = report.narrow
    differ = sum(row.passed and row.differs for row in report.rows)
    return (
        f"**{values} values printed in {sources} laws, standards, manuals, papers or books agree**, and {lesser} in {texts} texts of less "
        f"weight: web pages, solved exercises, quotations. Of the former, {converting} convert units, and {tabled} of the others stand in "
        "two publications, with long tables of air changes and of coverage factors. "
        f"In total, {len(report.rows)} check values of {report.evaluations} different "
        f"evaluations are recomputed; {differ} rows of the sources are known to differ, with the reason.\n\n" + known(report)
    )


def known(report: Verification) -> str:
    """A table of how values are known: how many of each, and what the word means."""
    lines = [".. list-table::\n   :header-rows: 1\n   :widths: 20 10 70\n\n   * - known as\n     - values\n     - which means"]
    lines += [f"   * - ``{way}``\n     - {report.counts.get(way, 0)}\n     - {MEANINGS[way]}" for way in KNOWN]
    return "\n".join(lines) + "\n"


def values(report: Verification) -> str:
    """Every check value with what was computed for it, one section per function; then every publication and where to find it."""
    parts = [_heading("Check values"), summary(report)]
    rooms = {name: where.split(".")[1] for name, where in _face.places().items()}
    ordered = sorted(report.rows, key=lambda row: (list(ABOUT).index(rooms[row.entry.function.split(".")[0]]), row.entry.function))
    for function, rows in groupby(ordered, key=lambda row: row.entry.function):
        parts.append("\n" + _heading(f"``{function}``", "-") + sources(function, *report.functions[function]))
        parts.append(".. list-table::\n   :header-rows: 1\n   :class: longtable\n   :widths: 34 18 18 10 20\n")
        parts.append("   * - source\n     - printed\n     - computed\n     - difference\n     - known")
        for row in rows:
            e = row.entry
            printed = f"{e.printed} (here {e.means})" if e.means else e.printed
            how = f"{e.known}: {e.derived}" if e.derived else e.known
            how += f"; differs: {e.differs}" if e.differs else ""
            cells = [f"{e.publication}, {e.where}", printed, row.computed, _short(row.difference), how]
            parts.append("   * - " + "\n     - ".join(_escaped(str(c)) for c in cells))
    return "\n".join([*parts, *_publications(report)]) + "\n"


def sources(function: str, values: int, evaluations: int) -> str:
    """How often a function is checked, against which independent outside sources, and its label if there are fewer than two."""
    outside = outside_sources(function)
    label = f" **{label_of(outside).capitalize()}.**" if label_of(outside) else ""
    often = f"Check values: {values}; different evaluations: {evaluations}. "
    return f"{often}Outside sources: {', '.join(f'``{name}``' for name in outside) or 'none'}.{label}\n"


def _publications(report: Verification) -> list[str]:
    """Every publication with its locator, the day its row was seen and a quotation of it."""
    parts = ["\n" + _heading("The publications", "-")]
    parts += ["Each name is that of the file in ``src/sumpwise/verification/``.\n"]
    parts += [".. list-table::\n   :header-rows: 1\n   :class: longtable\n   :widths: 16 30 34 20\n"]
    parts += ["   * - name\n     - publication\n     - where to find it, when seen, what it says\n     - rows"]
    for cited in sorted({row.entry.cited for row in report.rows}, key=lambda cited: cited.name):
        seen = f" Seen {cited.seen}." if cited.seen else ""
        where = f"{cited.locator or cited.recipe}.{seen}" + (f" “{cited.quotation}”" if cited.quotation else "")
        note = "; ".join(text for text in (cited.rows, cited.note) if text)
        cells = [cited.name, f"{cited.citation}: {cited.known}", where, note]
        parts.append("   * - " + "\n     - ".join(_escaped(c) for c in cells))
    return parts


def _short(difference: object) -> str:
    """A difference to two digits; 0 if it is within the last bits of a float."""
    if not isinstance(difference, float):
        return str(difference)
    return "0" if difference == 0 else f"{difference:.1e}".replace("-", "−")


def _escaped(text: str) -> str:
    for c in "\\*`|_":
        text = text.replace(c, "\\" + c)
    return text or "–"
