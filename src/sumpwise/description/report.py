"""The findings of a check of a text, what it looked at, and how they are shown."""

from __future__ import annotations

import json
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

from sumpwise._display import Displayed
from sumpwise.description.comparing import compared
from sumpwise.description.findings import VERDICTS, Finding, Place, line_starts, safe
from sumpwise.description.grades import STYLE, WRONG
from sumpwise.description.items import Items
from sumpwise.description.mention import Refused
from sumpwise.description.mentions import batches
from sumpwise.description.normalising import Text

TITLES = ("place", "verdict", "stated", "right", "write")
WIDEST = 100
"""How many characters of a line are shown around a finding."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A number with a unit that was read.

    Attributes
    ----------
    start, end : int
        Where it is.
    value : float
        The number, in `unit`.
    unit : str
        The symbol of the unit.
    kind : str
        The kind of quantity.
    """

    start: int
    end: int
    value: float
    unit: str
    kind: str


@dataclass(frozen=True, slots=True)
class Unread:
    """A number with a unit that could not be read.

    Attributes
    ----------
    start, end : int
        Where it is.
    text : str
        The text there.
    reason : str
        Why it was not read.
    """

    start: int
    end: int
    text: str
    reason: str


class Counts:
    """How many numbers with units a text has, how many were compared and how many not read, and whether all were looked at."""

    __slots__ = ("compared", "complete", "seen", "unread")

    def __init__(self) -> None:
        self.seen = self.compared = self.unread = 0
        self.complete = True


class Findings(Displayed, tuple[Finding, ...]):
    """The findings of one text, in its order."""

    text: str
    counts: Counts

    def __new__(cls, findings: Iterable[Finding] = (), text: str = "", counts: Counts | None = None) -> Findings:
        """Collect findings about a text."""
        made = super().__new__(cls, findings)
        made.text = text
        made.counts = counts or Counts()
        return made

    def __reduce__(self) -> tuple[Any, ...]:
        return (Findings, (tuple(self), self.text, self.counts))

    @property
    def seen(self) -> tuple[Seen, ...]:
        """Every number with a unit that was read, in the order of the text; both ends of a span."""
        return self._looked_at()[0]

    @property
    def compared(self) -> tuple[Seen, ...]:
        """The numbers that were compared with another."""
        return self._looked_at()[1]

    @property
    def alone(self) -> tuple[Seen, ...]:
        """The numbers that are not said to equal anything, so that nothing was checked."""
        compared = {(one.start, one.end) for one in self.compared}
        return tuple(one for one in self.seen if (one.start, one.end) not in compared)

    @property
    def unread(self) -> tuple[Unread, ...]:
        """The numbers with a unit that could not be read, with the reason."""
        return self._looked_at()[2]

    def _looked_at(self) -> tuple[tuple[Seen, ...], tuple[Seen, ...], tuple[Unread, ...]]:
        """Read the text again for its numbers: the list of them all is made only on request."""
        whole = Text(self.text)
        place, items, refused = Place(whole), Items(), list[Refused]()
        seen: list[Seen] = []
        held: list[Seen] = []
        begin = 0
        for found in batches(whole.read, refused):
            readings = [mention.ends for mention in found]
            end = found[-1].end if found else len(whole.read)
            for _ in compared(whole, found, place, items, begin, end):
                pass
            begin = end
            for mention, ends in zip(found, readings, strict=True):
                at = whole.normal.written(mention.start, mention.end)
                for one in ends:
                    seen.append(Seen(*at, one.value, one.unit.symbol, one.unit.kind))
                    if mention.compared:
                        held.append(seen[-1])
        places = [(*whole.normal.written(one.start, one.end), one.reason) for one in refused]
        return tuple(seen), tuple(held), tuple(Unread(a, b, self.text[a:b], reason) for a, b, reason in places)

    @property
    def wrong(self) -> tuple[Finding, ...]:
        """The findings on which a reader would act on a wrong number."""
        return tuple(finding for finding in self if finding.grade == WRONG)

    @property
    def style(self) -> tuple[Finding, ...]:
        """The findings that disagree but are only oddly written."""
        return tuple(finding for finding in self if finding.grade == STYLE)

    @property
    def passed(self) -> bool:
        """Whether nothing disagrees."""
        return not any(finding.verdict == "disagrees" for finding in self)

    @property
    def summary(self) -> str:
        """How many claims there are, and how they fared."""
        if not self:
            return "no claims found"
        counts = Counter(finding.verdict for finding in self)
        agree, disagree, doubtful = (counts[v] for v in VERDICTS)
        claims = "claim" if len(self) == 1 else "claims"
        agreeing, disagreeing = ("agrees" if agree == 1 else "agree"), ("disagrees" if disagree == 1 else "disagree")
        return f"{len(self)} {claims}: {agree} {agreeing}, {disagree} {disagreeing}, {doubtful} ambiguous"

    @property
    def looked_at(self) -> str:
        """The grades, and how many numbers with units were seen, compared, alone and not read."""
        counts = self.counts
        grades = f"{len(self.wrong)} wrong, {len(self.style)} style; " if not self.passed else ""
        alone = counts.seen - counts.compared
        rest = "" if counts.complete else "; stopped at the limit of findings: the rest was not compared"
        numbers = f"numbers with units: {counts.seen} seen, {counts.compared} compared, {alone} alone, {counts.unread} not read"
        return f"{grades}{numbers}{rest}"

    def unchecked(self, text: str) -> list[str]:
        """One line for each number that was not checked: alone in the text, or not read, with the reason."""
        lines = [(one.start, f"alone: {safe(text[one.start : one.end])}") for one in self.alone]
        lines += [(one.start, f"not read: {safe(one.text)}: {safe(one.reason)}") for one in self.unread]
        starts = line_starts(text)
        placed = [(start, bisect_right(starts, start), said) for start, said in sorted(lines)]
        return [f"{line}:{start - starts[line - 1] + 1}: {said}" for start, line, said in placed]

    def to_text(self, text: str, name: str = "", unchecked: bool = False) -> str:
        """Return one line for each finding, the line of the text with carets under the place, and a summary.

        Parameters
        ----------
        text : str
            The text that was checked.
        name : str
            Its name, shown before each place.
        unchecked : bool
            Whether to list the numbers that were not checked, too.

        Returns
        -------
        str
            Without control characters from the text or the name.
        """
        lines = text.split("\n")
        place = f"{safe(name)}:" if name else ""
        parts = []
        for finding in self:
            shown, mark = _marked(lines[finding.line - 1], finding)
            parts += [f"{place}{finding}", f"    {shown}", f"    {mark}"]
            if finding.suggestion:
                parts.append(f"    write: {safe(finding.suggestion)}")
        parts += [f"{place}{line}" for line in self.unchecked(text)] if unchecked else []
        parts += [f"{place} {self.looked_at}".strip()] if self.counts.seen + self.counts.unread else []
        return "\n".join([*parts, f"{place} {self.summary}".strip()]) + "\n"

    def to_dict(self, unchecked: bool = False) -> dict[str, Any]:
        """Return the findings as plain data, with the numbers that were not checked if asked for."""
        counts = Counter(finding.verdict for finding in self)
        looked = {
            "seen": self.counts.seen, "compared": self.counts.compared, "unread": self.counts.unread, "complete": self.counts.complete,
        }  # fmt: skip
        grades = {WRONG: len(self.wrong), STYLE: len(self.style)}
        said = {"version": 1, **{v: counts[v] for v in VERDICTS}, **grades, **looked, "findings": [finding.to_dict() for finding in self]}
        if unchecked:
            said["unchecked"] = {"alone": [asdict(one) for one in self.alone], "unread": [asdict(one) for one in self.unread]}
        return said

    def to_json(self) -> str:
        """Return the findings as JSON."""
        return json.dumps(self.to_dict(), ensure_ascii=False, indent=2)

    def to_markdown(self) -> str:
        """Return the findings as a Markdown table."""
        return self._repr_markdown_()

    def _table(self) -> tuple[list[str], list[list[str]]]:
        return list(TITLES), [list(finding.cells) for finding in self]

    def _below(self) -> list[str]:
        return [f"{self.summary}."]

    def __repr__(self) -> str:
        return f"<Findings: {self.summary}>"


@dataclass(frozen=True, slots=True)
class CheckedText:
    """The findings of a text with the text itself, as the command line prints them.

    Attributes
    ----------
    text, name : str
        The text and the name of its file; standard input has none.
    findings : Findings
        What the check found.
    unchecked : bool
        Whether the numbers that were not checked are listed too.
    """

    text: str
    findings: Findings
    name: str = ""
    unchecked: bool = False

    @property
    def disagrees(self) -> bool:
        """Whether something disagrees."""
        return not self.findings.passed

    @property
    def wrong(self) -> bool:
        """Whether a reader would act on a wrong number."""
        return bool(self.findings.wrong)

    def to_json(self) -> str:
        """Return the findings as JSON, with the name of the file."""
        return json.dumps({"file": self.name, **self.findings.to_dict(self.unchecked)}, ensure_ascii=False, indent=2)

    def __str__(self) -> str:
        return self.findings.to_text(self.text, self.name, self.unchecked).rstrip("\n")


def _marked(line: str, finding: Finding) -> tuple[str, str]:
    """A stretch of the line around the finding, and carets under it."""
    at = finding.column - 1
    length = max(1, min(finding.end - finding.start, len(line) - at, WIDEST))
    begin = max(0, min(at - (WIDEST - length) // 2, len(line) - WIDEST))
    shown = line[begin : begin + WIDEST]
    lead, tail = ("…" if begin else ""), ("…" if begin + WIDEST < len(line) else "")
    return lead + safe(shown) + tail, " " * (len(lead) + at - begin) + "^" * min(length, len(shown) - (at - begin))
