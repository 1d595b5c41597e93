"""The stretch of text from one number to the other, what a finding says about it, and how to rewrite it."""

from __future__ import annotations

from sumpwise.description import slips
from sumpwise.description.findings import Finding, Place
from sumpwise.description.mention import Mention
from sumpwise.quantities.spelling import unit_spelled
from sumpwise.quantities.units import SYMBOLS

BARE = {SYMBOLS[f"US {one}"]: SYMBOLS[f"imp {one}"] for one in ("qt", "gal", "pt", "fl oz")}
"""The US measures whose names are those of imperial ones too."""


class Phrase:
    """The stretch of text from one number to the other, and how to rewrite it."""

    def __init__(self, text: str, first: Mention, second: Mention, place: Place) -> None:
        self.text = text
        self.first = first
        self.second = second
        self.place = place
        self.end = second.end
        if "(" in text[first.end : second.start] and text[second.end : second.end + 1] == ")":
            self.end += 1

    def written(self, mention: Mention) -> str:
        """A mention as it is in the text, or its shared number with its own unit."""
        if mention.shared:
            return f"{self.number(self.first)} {mention.unit.symbol}"
        return " ".join(self.text[mention.start : mention.end].split())

    def number(self, mention: Mention) -> str:
        """The number of a mention, without its unit."""
        written = self.text[mention.start : mention.end]
        cut = next((i for i, c in enumerate(written) if c.isalpha() or c in "°%"), len(written))
        return written[:cut].rstrip(" -\u00a0\u202f\u2009")

    def disagrees(self, right: str, slip: str, grade: str, note: str = "") -> Finding:
        """The finding that the second number does not follow from the first."""
        return self.finding("disagrees", right, slip, note, grade)

    def finding(self, verdict: str, right: str, slip: str = "", note: str = "", grade: str = "") -> Finding:
        """The finding about the second number."""
        first, second = self.first, self.second
        start, end = min(first.start, second.start), max(first.end, self.end)
        if verdict == "agrees":
            suggestion = ""
        elif second.shared:
            suggestion = f"{self.place.written(start, first.end)} ({right})"
        elif start == second.start or "\n" in self.text[start : second.start] + self.place.written(start, second.start):
            # the correction goes where the second number is
            beside = f"compared with {self.written(first)} in line {self.place.line(start)}"
            note = f"{note}, {beside}" if note else beside
            start, end, suggestion = second.start, second.end, self.rewritten(right)
        else:
            suggestion = self.place.written(start, second.start) + self.rewritten(right) + self.place.written(second.end, end)
        return self.place.finding(start, end, verdict, self.written(second), right, suggestion, slip, note, grade)

    def rewritten(self, right: str) -> str:
        """What is right, with the unit as the writer spells it, or none in a column that has it in its header."""
        second = self.second
        symbol = f" {second.unit.symbol}"
        if second.shared or not right.endswith(symbol):
            return right
        number = right.removesuffix(symbol)
        if self.place.whole.is_headed(second):
            return number
        written = self.text[second.start : second.end]
        cut = max([i for i, c in enumerate(written) if c.isnumeric()]) + 1
        spelled = written[cut:]
        return number + spelled if unit_spelled(spelled.lstrip(" -)")) is second.unit else right

    def naming(self, quart: Mention, right: str) -> Finding:
        """The finding that a quart is right only as imperial."""
        lead, tail = self.place.written(self.first.start, quart.start), self.place.written(quart.end, self.end)
        unit = BARE[quart.unit].symbol
        suggestion = f"{lead}{self.number(quart)} {unit}{tail}"
        note = f"it is right only as {unit}: say which it is"
        stated = self.written(self.second)
        return self.place.finding(self.first.start, self.end, "ambiguous", stated, right, suggestion, slips.IMPERIAL, note)

    def hot_beside_cold(self) -> Finding:
        """The finding that two volumes were not measured at the same temperature."""
        end = self.second.until
        stated = f"{self.written(self.first)} and {self.written(self.second)}"
        suggestion = f"{self.place.written(self.first.start, end)}, both measured at 20 °C"
        note = "fluid shrinks by about 0.75 % for every 10 °C it cools"
        right = "both volumes at the same temperature"
        return self.place.finding(self.first.start, end, "ambiguous", stated, right, suggestion, slips.HOT_COLD, note)
