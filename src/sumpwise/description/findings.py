"""Findings of a check of a text, and their places in the text."""

from __future__ import annotations

from array import array
from bisect import bisect_right
from dataclasses import asdict, dataclass
from typing import Any

from sumpwise.description.normalising import Text

VERDICTS = ("agrees", "disagrees", "ambiguous")


@dataclass(frozen=True, slots=True)
class Finding:
    """One claim of a text and the result of checking it.

    Attributes
    ----------
    start, end : int
        Where the claim is: `text[start:end]`.
    line, column : int
        The same place, both counted from one.
    verdict : str
        "agrees", "disagrees" or "ambiguous".
    stated : str
        What the text says.
    expected : str
        What would be right.
    suggestion : str
        The phrase rewritten; empty if it agrees.
    slip : str
        The slip that explains the number, if one does.
    note : str
        More about the finding.
    grade : str
        If it disagrees: "wrong" if a reader would act on a wrong number, "style" if it is only oddly written; else empty.
    time : str
        In the captions of a video, the time of its cue; else empty.
    """

    start: int
    end: int
    line: int
    column: int
    verdict: str
    stated: str
    expected: str
    suggestion: str = ""
    slip: str = ""
    note: str = ""
    grade: str = ""
    time: str = ""

    def __str__(self) -> str:
        return f"{self.line}:{self.column}: {f'{self.time} ' if self.time else ''}{self.sentence}"

    @property
    def sentence(self) -> str:
        """The finding in one line, without its place."""
        if self.verdict == "agrees":
            return f"agrees: {safe(self.stated)}"
        why = "; ".join(safe(part) for part in (self.grade, self.slip, self.note) if part)
        return f"{self.verdict}: {safe(self.stated)}; right: {safe(self.expected)}{f' ({why})' if why else ''}"

    @property
    def cells(self) -> tuple[str, ...]:
        """The cells of a table row, under `TITLES`."""
        verdict = f"{self.verdict}, {self.grade}" if self.grade else self.verdict
        return f"{self.line}:{self.column}", verdict, self.stated, self.expected, self.suggestion

    def to_dict(self) -> dict[str, Any]:
        """Return the finding as plain data."""
        return asdict(self)


class Place:
    """Makes findings about places in the text as it was written, with line and column, both counted from one."""

    def __init__(self, whole: Text) -> None:
        self.whole = whole
        self.us_measure = False
        """Whether a bare quart or gallon was found to be the US one."""
        self.agreed: dict[tuple[object, object, int], str] = {}
        """Printed texts of readings that agree, cached because a text repeats its numbers."""
        self.imperial_measure = False
        """Whether an imperial measure was named."""
        self.settled: dict[tuple[int, int], tuple[Finding, Finding]] = {}
        """What a finding about a bare quart or gallon becomes in a text that uses US measures, and in one that uses imperial ones alone."""
        self._starts = line_starts(whole.written)

    def finding(
        self,
        start: int,
        end: int,
        verdict: str,
        stated: str,
        expected: str,
        suggestion: str = "",
        slip: str = "",
        note: str = "",
        grade: str = "",
    ) -> Finding:
        """Make a finding about a place in the text as it is read."""
        start, end = self.whole.normal.written(start, end)
        line = bisect_right(self._starts, start)
        column, time = start - self._starts[line - 1] + 1, self.whole.time(start)
        return Finding(start, end, line, column, verdict, stated, expected, suggestion, slip, note, grade, time)

    def line(self, start: int) -> int:
        """The line of a place in the text as it is read."""
        return bisect_right(self._starts, self.whole.normal.written(start, start + 1)[0])

    def written(self, start: int, end: int) -> str:
        """A stretch of the text as it was written, by its place in the text as it is read."""
        start, end = self.whole.normal.written(start, end) if start < end else (0, 0)
        return self.whole.written[start:end]


def line_starts(text: str) -> array[int]:
    """Where the lines of a text begin."""
    starts = array("Q", [0])
    at = text.find("\n")
    while at >= 0:
        starts.append(at + 1)
        at = text.find("\n", at + 1)
    return starts


def safe(text: str) -> str:
    """The text on one line, with unprintable characters replaced."""
    return "".join(c if c.isprintable() or c in "\u00a0\u2007\u2009\u202f" else " " if c in "\t\n\r" else "\ufffd" for c in text)
