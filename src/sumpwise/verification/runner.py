"""Recomputes every check value with the installed library, in exact arithmetic on the printed text."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import Any

from sumpwise import uncertainty
from sumpwise.errors import SumpwiseError
from sumpwise.quantities.units import Unit, by_symbol
from sumpwise.verification.entries import Entry, label_of, load, nested, outside_sources
from sumpwise.verification.publications import KNOWN, Publication

RESOLUTION = Fraction(1, 2**50)
"""The relative error that a 53-bit float may pick up over a few operations."""


HEAD = ("where", "call", "printed", "computed", "off by", "allowed", "agrees")
"""Columns of the printed report; "off by" and "allowed" are in the printed unit."""

TOLD = ("function", "call", "printed", "means", "tolerance", "source", "known", "note", "derived", "differs")
CITED, OUTCOME = ("locator", "seen", "quotation"), ("computed", "difference", "passed", "problem")
"""What a report as plain data has of an entry, of its publication, and of a row."""

FUNCTIONS = ("function", "values", "evaluations", "outside sources", "label")
"""Columns of the table of functions; those with fewer than two outside sources have a label."""


@dataclass(frozen=True, slots=True)
class Row:
    """One check value and its recomputed answer.

    Attributes
    ----------
    entry : Entry
        What was published.
    computed : str
        The answer in the printed unit, with two more digits than printed.
    difference : float or None
        Computed minus printed, in the printed unit; None for a text.
    passed : bool
        Whether the difference is within the tolerance; for a row whose source is known to differ, whether it still does.
    problem : str
        What went wrong, if something did.
    """

    entry: Entry
    computed: str
    difference: float | None
    passed: bool
    problem: str = ""

    @property
    def differs(self) -> bool:
        """Whether source and library are known to differ here; the entry says why."""
        return bool(self.entry.differs)

    def __repr__(self) -> str:
        outcome = self.problem or ("agrees" if self.passed and not self.differs else "differs")
        return f"<Row: {self.entry.call} = {self.computed}, printed {self.entry.printed}: {outcome}>"


@dataclass(frozen=True, slots=True)
class Verification:
    """The outcome of `verify`: a row for every check value.

    Attributes
    ----------
    rows : tuple of Row
        In the order of the publications.
    """

    rows: tuple[Row, ...]

    @property
    def passed(self) -> bool:
        """Whether every value was reproduced, or differs as its entry says; a report without rows proves nothing."""
        return bool(self.rows) and all(row.passed for row in self.rows)

    @property
    def failures(self) -> tuple[Row, ...]:
        """The rows that did not agree."""
        return tuple(row for row in self.rows if not row.passed)

    @property
    def counts(self) -> dict[str, int]:
        """Number of values for each way of knowing, best first, including rows that differ."""
        known = Counter(row.entry.known for row in self.rows)
        return {way: known[way] for way in KNOWN if known[way]}

    @property
    def headline(self) -> tuple[int, int]:
        """Number of published values that are reproduced, and of the laws, standards, manuals, papers and books that print them."""
        return self._agreeing("published")

    @property
    def lesser(self) -> tuple[int, int]:
        """Number of secondary values that are reproduced, and of the web pages, solved exercises and other texts that print them."""
        return self._agreeing("secondary")

    @property
    def narrow(self) -> tuple[int, int]:
        """How many of the published values that are reproduced convert units, and how many of the others two publications print."""
        others = Counter(entry.publication for entry in self._agreed("published") if entry.function != "convert")
        return self.headline[0] - others.total(), sum(count for _, count in others.most_common(2))

    def _agreeing(self, way: str) -> tuple[int, int]:
        entries = self._agreed(way)
        return len(entries), len({entry.publication for entry in entries})

    def _agreed(self, way: str) -> list[Entry]:
        return [row.entry for row in self.rows if row.entry.known == way and row.passed and not row.differs]

    @property
    def evaluations(self) -> int:
        """How many different evaluations the values check: a conversion that ten sources print counts as one."""
        return len({row.entry.evaluation for row in self.rows})

    @property
    def functions(self) -> dict[str, tuple[int, int]]:
        """For each function, how many values check it, and how many different evaluations those are."""
        made: dict[str, list[tuple[str, ...]]] = {}
        for row in self.rows:
            made.setdefault(row.entry.function, []).append(row.entry.evaluation)
        return {function: (len(made[function]), len(set(made[function]))) for function in sorted(made)}

    @property
    def summary(self) -> str:
        """What agrees, what differs and what failed; published and secondary values are counted apart."""
        values, sources = self.headline
        lesser, texts = self.lesser
        converting, tabled = self.narrow
        differ = sum(row.passed and row.differs for row in self.rows)
        agree = sum(row.passed and not row.differs for row in self.rows)
        ways = ", ".join(f"{count} {way}" for way, count in self.counts.items())
        failed = f", {len(self.failures)} FAIL" if self.failures else ""
        return (
            f"{values} values printed in {sources} laws, standards, manuals, papers or books agree, "
            f"and {lesser} in {texts} texts of less weight (web pages, solved exercises, quotations). "
            f"Of the former, {converting} convert units, and {tabled} of the others stand in two publications. "
            f"Of all {len(self.rows)} check values ({self.evaluations} different evaluations: {ways}) "
            f"{agree} agree and {differ} differ as noted{failed}."
        )

    def __repr__(self) -> str:
        return f"<Verification: {self.summary}>"

    def to_markdown(self) -> str:
        """Return the report as Markdown: a table for each publication, a table of the functions, and the summary."""
        return table(self)

    def to_dict(self) -> dict[str, Any]:
        """Return the report as plain data."""
        return {
            "version": 1,
            "passed": self.passed,
            "counts": self.counts,
            "evaluations": self.evaluations,
            "functions": {name: {"values": values, "evaluations": different} for name, (values, different) in self.functions.items()},
            "rows": [
                {key: getattr(of, key) for of, keys in ((row.entry, TOLD), (row.entry.cited, CITED), (row, OUTCOME)) for key in keys}
                for row in self.rows
            ],
        }

    def __str__(self) -> str:
        return self.to_markdown()


def _made(value: Any) -> Any:
    """An argument as the call takes it: a table with one key that is a public name is itself a call."""
    import sumpwise

    call = nested(value)
    if call:
        return getattr(sumpwise, call[0])(**_arguments(call[1]))
    if isinstance(value, dict):
        return {key: _made(v) for key, v in value.items()}
    if isinstance(value, list):
        return [_made(v) for v in value]
    return value


def _arguments(arguments: Mapping[str, Any]) -> dict[str, Any]:
    return {key: _made(value) for key, value in arguments.items()}


def _part(answer: Any, part: str) -> Any:
    for name in part.split(".") if part else ():
        if name in ("nominal", "standard") and not hasattr(answer, name):
            answer = _uncertain_part(answer, name)
        elif name.isdigit():
            answer = answer[int(name)]
        elif isinstance(answer, Mapping):
            answer = answer[name]
        else:
            answer = getattr(answer, name)
    return answer() if callable(answer) and not hasattr(answer, "magnitude") else answer


def _uncertain_part(answer: Any, name: str) -> Any:
    """Best value or standard uncertainty of an uncertain answer; the uncertainty of a temperature is an interval."""
    number = uncertainty.nominal if name == "nominal" else uncertainty.standard
    if not hasattr(answer, "magnitude"):
        return number(answer)
    from sumpwise.quantities import _pint

    unit = _pint.unit_of(answer)
    if name == "standard" and unit.kind == "temperature":
        unit = by_symbol("Δ°F" if unit.symbol == "°F" else "Δ°C")
    return _pint.build(number(_pint.magnitude(answer)), unit)


def answer_of(entry: Entry) -> Any:
    """Make the call an entry describes and return the part of the answer that was printed."""
    import sumpwise

    name, _, method = entry.function.partition(".")
    target = getattr(sumpwise, name)
    if method:
        target = target if entry.of is None else target(**_arguments(entry.of))
        for step, arguments in entry.after:
            target = getattr(target, step)(**_arguments(arguments))
        target = getattr(target, method)
    return _part(target(**_arguments(entry.arguments)) if callable(target) else target, entry.part)


def _plain(text: str) -> str:
    return " ".join(text.replace("\u00a0", " ").replace("\u202f", " ").replace("\u2009", " ").split())


def _in_unit(answer: Any, printed: Unit) -> Fraction:
    """The answer as an exact number in the printed unit: a float is taken as the ratio it represents, factors are exact."""
    unit = by_symbol("1")
    if hasattr(answer, "magnitude"):
        from sumpwise.quantities import _pint

        unit, answer = _pint.unit_of(answer), _pint.magnitude(answer)
    if unit.kind != printed.kind:
        raise SumpwiseError(f"the answer is of kind {unit.kind}, the printed value of kind {printed.kind}", code="unit.kind")
    internal = Fraction(uncertainty.nominal(answer)) * Fraction(unit.num, unit.den) + Fraction(unit.offset_num, unit.den)
    return (internal - Fraction(printed.offset_num, printed.den)) * Fraction(printed.den, printed.num)


def _compare(entry: Entry, answer: Any) -> Row:
    target = entry.target
    if isinstance(answer, str) or target.value is None:
        agrees = isinstance(answer, str) and _plain(answer) == _plain(target.text)
        return Row(entry, str(answer), None, agrees, "" if agrees else f"FAILS: printed {target.text!r}")
    value = _in_unit(answer, target.unit)
    difference = value - target.value
    allowed = Fraction(0) if isinstance(answer, int) and entry.allowed == Fraction(1, 2) else entry.allowed
    passed = abs(difference) <= allowed + abs(target.value) * RESOLUTION
    shown = f"{float(value):.12g}" if target.places is None else f"{float(value):.{max(0, target.places + 2)}f}"
    return Row(entry, shown if target.unit.symbol == "1" else f"{shown} {target.unit.symbol}", float(difference), passed)


def check(entry: Entry) -> Row:
    """Recompute one check value; any failure becomes part of the row and never raises."""
    try:
        row = _compare(entry, answer_of(entry))
    except Exception as error:
        return Row(entry, "", None, False, f"FAILS: {type(error).__name__}: {error}")
    if not entry.differs:
        return row
    return Row(entry, row.computed, row.difference, not row.passed, "FAILS: it agrees now, so remove `differs`" if row.passed else "")


def verify() -> Verification:
    """Recompute every check value with the installed library.

    Returns
    -------
    Verification
        `.passed`, `.rows`, `.summary`; it prints as a Markdown table for each publication.

    Notes
    -----
    Printed values are compared in the printed unit, in exact rational arithmetic, within half a unit of the last printed digit unless an
    entry states another tolerance and the reason. Counts and texts must be equal. If a source is known to differ, the entry says why, and
    the row must differ.

    Examples
    --------
    >>> from sumpwise import verify
    >>> verify().passed
    True
    """
    return Verification(tuple(check(entry) for entry in load()))


def _cell(text: str) -> str:
    return _plain(text).replace("|", "\\|")


def _line(row: Row) -> tuple[str, ...]:
    entry = row.entry
    printed = f"{entry.printed} (here {entry.means})" if entry.means else entry.printed
    off = "" if row.difference is None else f"{row.difference:+.2g}"
    allowed = "equal" if entry.target.value is None else f"{entry.tolerance:.2g}"
    outcome = (f"differs: {entry.differs}" if row.differs else "yes") if row.passed else row.problem or "NO"
    return entry.where, f"`{entry.call}`", printed, row.computed, off, allowed, outcome


def table(report: Verification) -> str:
    """The report as Markdown that reads well in a terminal: a padded table for each publication, one of the functions, the summary."""
    parts = ["# Check values, recomputed here"]
    for (cited, known), rows in groupby(report.rows, key=lambda row: (row.entry.cited, row.entry.known)):
        parts += [f"## {cited.citation}: {known}", *_found(cited), _padded([HEAD, *map(_line, rows)])]
    parts += ["## The functions", _padded([FUNCTIONS, *(_held(name, *counts) for name, counts in report.functions.items())])]
    return "\n\n".join([*parts, report.summary]) + "\n"


def _held(function: str, values: int, evaluations: int) -> tuple[str, ...]:
    outside = outside_sources(function)
    return f"`{function}`", str(values), str(evaluations), str(len(outside)), label_of(outside)


def _found(cited: Publication) -> list[str]:
    """Where to find the publication, when its row was seen, and what it says."""
    located = f"{cited.locator} (seen {cited.seen})" if cited.seen else cited.locator
    where = "; ".join(text for text in (located, cited.recipe) if text)
    return [f"{where}: “{cited.quotation}”" if cited.quotation else where] if where else []


def _padded(lines: list[tuple[str, ...]]) -> str:
    cells = [[_cell(text) for text in line] for line in lines]
    widths = [max(3, *(len(line[i]) for line in cells)) for i in range(len(cells[0]))]
    rule = ["-" * width for width in widths]
    lines_out = (" | ".join(text.ljust(width) for text, width in zip(line, widths, strict=True)) for line in [cells[0], rule, *cells[1:]])
    return "\n".join(f"| {line} |" for line in lines_out)
