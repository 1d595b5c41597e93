"""Command line: `python -m sumpwise [JOB.toml]`, and the commands of `COMMANDS`: `compare`, `log`, `record`, `next`, `verify`, `check`.

No arithmetic here.
"""

from __future__ import annotations

import signal
import sys

if __name__ == "__main__":  # while there is nobody yet to say that it was stopped
    signal.signal(signal.SIGINT, signal.SIG_DFL)

import argparse
import os
from collections.abc import Sequence
from itertools import groupby

from sumpwise._terminal import AGREES, DISAGREES, ODDLY_WRITTEN, Parser, complain, escaped, run, stop
from sumpwise.errors import FileError, RangeError, likened, printable

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable

    from sumpwise.service.job import Job

PLAN = "plan"
"""The command that is meant if there is none."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command with its arguments, by default those of the process.

    The status is 0 if all is well, 1 if a check disagrees, 2 if something cannot be read or written, 3 if numbers in a text are only oddly
    written, 130 if it was stopped.
    """
    words = list(sys.argv[1:] if arguments is None else arguments)
    return run(lambda: _command(words)(words))


def _command(words: list[str]) -> Callable[[list[str]], tuple[str, int]]:
    """The function of the command that the words begin with, which is taken off them; without one, or with `plan`, that of a plan."""
    first = words[0] if words else ""
    named = [name for name in COMMANDS if name] + [PLAN]
    if first in named:
        del words[0]
        return COMMANDS["" if first == PLAN else first][0]
    meant = "" if os.path.exists(first) else likened(first, named)
    if meant:
        raise RangeError("is neither a command nor a file", code="value.choice", argument="command", value=first, hint=meant)
    return COMMANDS[""][0]


def _parser(name: str) -> Parser:
    parser = Parser(prog=f"python -m sumpwise {name}".strip(), description=COMMANDS[name][1])
    if not name:
        parser.formatter_class = argparse.RawDescriptionHelpFormatter
        lines = [f"  {other:<10}{about}" for other, (_, about) in COMMANDS.items() if other]
        parser.epilog = "\n".join(["other commands, each with its own --help:", *lines])
    return parser


def _as_json(parser: Parser) -> None:
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")


def _in_units(parser: Parser) -> None:
    text = "units of the sheet: as written (in the job), metric, US, imperial or both; by default, what the job says under [report]"
    parser.add_argument("--units", metavar="UNITS", help=text)


def _job(path: str) -> Job:
    """The job in a file; if it has several problems all are printed, the last by the caller."""
    from pathlib import Path

    from sumpwise.service.job import Job

    try:
        return Job.from_toml(path)
    except FileError as error:
        if error.code == "file.unreadable":
            raise
        *others, last = Job.problems(Path(path)) or [error]
        for other in others:
            complain(f"sumpwise: {other}")
        raise last from None


def _plan(words: list[str]) -> tuple[str, int]:
    parser = _parser("")
    _as_json(parser)
    parser.add_argument("job", nargs="?", help="a job file in TOML; by default, the packaged demo")
    _in_units(parser)
    parser.add_argument("--full", action="store_true", help="the full sheet: methods side by side, account of the log, all assumptions")
    parser.add_argument("--pictures", metavar="DIR", help="also draw the pictures into this folder, as SVG files")
    parser.epilog = f"{parser.epilog}\n\n{_columns()}"
    options = parser.parse_args(words)
    from sumpwise.service.job import Job
    from sumpwise.service.planning import plan
    from sumpwise.service.words import catalogue

    job = Job.demo() if options.job is None else _job(options.job)
    sheet, drawn = plan(job, options.units), []
    if options.pictures is not None:
        from sumpwise.service.drawing import save_pictures

        drawn = save_pictures(job, options.pictures, options.units)
    if options.json:
        return escaped(sheet.to_json()), AGREES
    more = [] if options.full else [catalogue()["brief.more"]]
    more += [f"{catalogue()['brief.pictures']} {printable(', '.join(drawn))}"] if drawn else []
    return "\n".join([sheet.to_markdown(full=options.full), *more]), AGREES


def _columns() -> str:
    """What each column of a sheet holds."""
    from textwrap import fill

    from sumpwise.service.words import catalogue

    words = catalogue()
    columns = [id_.removesuffix(".means") for id_ in words if ".column." in id_ and id_.endswith(".means")]
    lines = ["columns of the tables:"]
    for section, heads in groupby(columns, key=lambda head: head.partition(".")[0]):
        lines.append(f"  {section}")
        explained = (f"{words[head]}: {words[f'{head}.means']}" for head in heads)
        lines += [fill(one, 100, initial_indent="    ", subsequent_indent="      ") for one in explained]
    return "\n".join(lines)


def _compare(words: list[str]) -> tuple[str, int]:
    parser = _parser("compare")
    _as_json(parser)
    parser.add_argument("job", help="a job file in TOML")
    parser.add_argument("other", help="another job file, such as a copy with a change")
    _in_units(parser)
    options = parser.parse_args(words)
    from sumpwise.service.differing import compare
    from sumpwise.service.planning import plan

    told = compare(*(plan(_job(path), options.units) for path in (options.job, options.other)))
    return escaped(told.to_json()) if options.json else told.to_markdown().rstrip(), AGREES


LOGGED = {
    "vessel": "which vessel; by default, the last one of its kind in the log, or the only one; whole packs need none",
    "temperature": "temperature of the fluid that was read, such as 75F",
    "thermometer": "which thermometer",
    "what": "what was lost, or where it came out: pan, plug, burst or overflow",
    "outlet-old": "old fraction of the vial that matched, such as 45%%",
    "duration": "how long the engine ran",
    "note": "anything to remember",
}
"""Option of `log` -> its help."""


def _log(words: list[str]) -> tuple[str, int]:
    parser = _parser("log")
    parser.add_argument("job", help="the job file in TOML")
    parser.add_argument("event", help="stick, drained, poured, emptied, lost, drive or seen")
    parser.add_argument("value", nargs="?", help='the reading, the volume lost, or the stop sign, such as "1 qt"')
    for option, text in LOGGED.items():
        parser.add_argument(f"--{option}", metavar=option.upper(), help=text)
    parser.add_argument("--cumulative", action="store_true", help="the vessel was not emptied since its last reading")
    _in_units(parser)
    # no option begins with a digit, so a negative number is a value
    options = vars(parser.parse_args([f"−{word[1:]}" if word[:1] == "-" and word[1:2].isdigit() else word for word in words]))
    from sumpwise.service.entering import entered
    from sumpwise.service.planning import plan

    job, event, value, units = (options.pop(name) for name in ("job", "event", "value", "units"))
    sheet = plan(entered(job, event, value, **options), units)
    told = [section.to_markdown() for section in sheet.sections if section.key in ("stopped", "conflict", "now", "next")]
    return "\n\n".join(told), AGREES


def _on_the_day(parser: Parser, when: str) -> None:
    parser.add_argument("--date", metavar="DAY", help=f"{when}, such as 2026-11-27")
    parser.add_argument("--odometer", metavar="DISTANCE", help='odometer reading on that day, such as "79 800 mi"')


def _whole(text: str) -> int:
    if not text.isdecimal():
        raise argparse.ArgumentTypeError(f"{printable(text)!r} is not a whole number")
    return int(text[:9])


def _record(words: list[str]) -> tuple[str, int]:
    parser = _parser("record")
    parser.add_argument("job", help="the job file in TOML, its log complete; with --remove the record file alone")
    parser.add_argument("record", nargs="?", help="the record file of this vehicle; a new one is started if there is none")
    _on_the_day(parser, "day of the service; by default that of the job, else today")
    parser.add_argument("--fresh", metavar="SHARE", help='share of new fluid inside, such as "80 %%"; by default, worked out from the log')
    parser.add_argument("--remove", metavar="N", type=_whole, help="take service number N out of the record instead, as it is printed")
    options = parser.parse_args(words)
    from datetime import date

    from sumpwise.service.filing import recorded, removed, repeated
    from sumpwise.service.served import told

    if options.remove is not None:
        if options.record or options.fresh or options.date or options.odometer:
            parser.error("--remove takes the record file and nothing else")
        left, gone = removed(options.job, options.remove)
        return f"Taken out of {options.job}: the service {told(gone)}.\n{left}", AGREES
    if options.record is None:
        parser.error("the record file is missing")
    job, today = _job(options.job), date.today()
    kept = recorded(job, options.record, options.fresh, date=options.date, distance=options.odometer, today=today)
    said = [f"A new record, {options.record}." if len(kept.services) == 1 else f"Recorded in {options.record}."]
    if options.date is None and not job.has("vehicle", "date"):
        said.append(f"The day is assumed to be today, {today}; use --date for another.")
    if again := repeated(kept):
        said.append(f"Its log is that of service {again}: if it was the same work, take it out again with --remove {len(kept.services)}.")
    if kept.services[-1].contradicted:
        said.append("Count and stick disagree in this log, so no volume was learned from it.")
    return "\n".join([*said, str(kept)]), AGREES


def _next(words: list[str]) -> tuple[str, int]:
    parser = _parser("next")
    parser.add_argument("record", help="the record file of a vehicle")
    parser.add_argument("job", nargs="?", help="the job file to write, which must not exist yet; by default, the job is printed")
    _on_the_day(parser, "day of the next service; by default, the day when it is due")
    options = parser.parse_args(words)
    from sumpwise.service.filing import begun
    from sumpwise.service.record import ServiceRecord

    record = ServiceRecord.load(options.record)
    if options.job is None:
        return record.next_toml(distance=options.odometer, date=options.date).rstrip(), AGREES
    begun(record, options.job, distance=options.odometer, date=options.date)
    return f"Written to {options.job}. Check it, then: python -m sumpwise {options.job}", AGREES


FORMATS = {"job": "Job", "sheet": "Sheet", "record": "ServiceRecord", "ledger": "Ledger", "error": "SumpwiseError"}
"""File of `schemas/` that `schema` prints -> the class that knows it."""


def _schema(words: list[str]) -> tuple[str, int]:
    parser = _parser("schema")
    parser.add_argument("format", choices=FORMATS, help="which format")
    options = parser.parse_args(words)
    from importlib.resources import files

    return escaped(files("sumpwise").joinpath(f"schemas/{options.format}.json").read_text(encoding="utf-8").rstrip()), AGREES


def _verify(words: list[str]) -> tuple[str, int]:
    _parser("verify").parse_args(words)
    from sumpwise.verification.runner import table, verify

    report = verify()
    return table(report), AGREES if report.passed else DISAGREES


def _check(words: list[str]) -> tuple[str, int]:
    parser = _parser("check")
    _as_json(parser)
    parser.add_argument("file", nargs="?", default="-", help="a text file in UTF-8; - or nothing for standard input")
    parser.add_argument("--unchecked", action="store_true", help="also list the numbers that were not checked")
    options = parser.parse_args(words)
    from sumpwise.description.checking import report_for_file

    report = report_for_file(options.file, options.unchecked)
    status = DISAGREES if report.wrong else ODDLY_WRITTEN if report.disagrees else AGREES
    return escaped(report.to_json()) if options.json else str(report), status


COMMANDS = {
    "": (_plan, "Plan a fluid service from a job file and print its sheet; by default, plan the packaged demo."),
    "compare": (_compare, "What if: plan two job files, and say which results differ, by how much and why."),
    "log": (_log, "Append one entry to the log of a job file, and say where the work is and what comes next."),
    "record": (_record, "Enter the service in the log of a job into the record of its vehicle, or remove one."),
    "next": (_next, "Write the job file of the next service from the record of a vehicle, with what was learned."),
    "schema": (_schema, "Print the JSON Schema of a format: job, sheet, record, ledger or error."),
    "verify": (_verify, "Recompute every check value in this environment."),
    "check": (_check, "Check the numbers in a text: pairs in two units, spans, claims about mixing."),
}
"""Command -> its function and description; without a command, a plan."""


if __name__ == "__main__":
    signal.signal(signal.SIGINT, stop)
    raise SystemExit(main())
