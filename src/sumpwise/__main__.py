"""Command line: `python -m sumpwise [JOB.toml] [--json]`, `… verify`, `… check [FILE] [--json]`. No arithmetic here."""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Sequence

from sumpwise.errors import SumpwiseError


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command.

    Parameters
    ----------
    arguments : sequence of str, optional
        By default those of the process.

    Returns
    -------
    int
        0 when all is well, 1 when a check disagrees, 2 when something cannot be read.
    """
    words = list(sys.argv[1:] if arguments is None else arguments)
    command = {"verify": _verify, "check": _check}.get(words[0] if words else "", _job)
    if command is not _job:
        words = words[1:]
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    try:
        status = command(words)
        sys.stdout.flush()
        return status
    except SumpwiseError as error:
        print(f"sumpwise: {error}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def _parser(name: str, about: str) -> argparse.ArgumentParser:
    return argparse.ArgumentParser(prog=f"python -m sumpwise{name}", description=about)


def _job(words: list[str]) -> int:
    parser = _parser("", "Plan a fluid service from a job file and print its sheet; without a file, the packaged demo.")
    parser.epilog = "Other commands: verify (every published check value, recomputed here); check FILE (the numbers in a description)."
    parser.add_argument("job", nargs="?", help="a job file in TOML; without one, the packaged demo")
    parser.add_argument("--json", action="store_true", help="print JSON instead of Markdown")
    options = parser.parse_args(words)
    from sumpwise.service.job import Job
    from sumpwise.service.planning import plan

    sheet = plan(Job.demo() if options.job is None else Job.from_toml(options.job))
    print(sheet.to_json() if options.json else sheet.to_markdown())
    return 0


def _verify(words: list[str]) -> int:
    _parser(" verify", "Recompute every published check value in this environment.").parse_args(words)
    from sumpwise.verification.runner import table, verify

    report = verify()
    print(table(report))
    return 0 if report.passed else 1


def _check(words: list[str]) -> int:
    parser = _parser(" check", "Check the numbers in a text: pairs in two units, spans, claims of mixing.")
    parser.add_argument("file", nargs="?", default="-", help="a text file in UTF-8; - or nothing for standard input")
    parser.add_argument("--json", action="store_true", help="print JSON instead of lines")
    options = parser.parse_args(words)
    from sumpwise.description.checking import report_for_file

    report = report_for_file(options.file)
    print(report.to_json() if options.json else report)
    return 1 if report.disagrees else 0


if __name__ == "__main__":
    raise SystemExit(main())
