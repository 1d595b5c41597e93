"""What is wrong with a job: every problem with its place, and what was meant instead."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from difflib import get_close_matches
from typing import Any

from sumpwise.errors import LONGEST_LIKENED, FileError, pointer_to

MOST_PROBLEMS = 2_000
"""The most problems of a job that are told one by one."""
MOST_COMPARED = 20_000
"""With how many known words the unknown ones of a job are compared, to guess what was meant: that takes long."""
MOST_NAMED, LONGEST_NAMED = 12, 80
"""How many known names a problem lists, and the longest, in characters: a job may have many problems, and many names."""


class Problems:
    """The problems of one job, in the order in which they were met; `name` is where the job came from, for messages."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.found: list[FileError] = []
        self._places: set[tuple[object, ...]] = set()
        self._compared = 0

    def wrong(self, code: str, pointer: Iterable[object], problem: str, place: str, **more: Any) -> None:
        """Note a problem; of very many, the first, and that there are more."""
        if len(self.found) > MOST_PROBLEMS:
            return
        if len(self.found) == MOST_PROBLEMS:
            problem, code, pointer, place = f"has more than {MOST_PROBLEMS} problems", "limit.count", (), "in all"
            more = {"limits": (0, MOST_PROBLEMS, ""), "hint": "mend these first"}
        steps = tuple(pointer)
        self._places.add(steps)
        error = FileError(problem, code=code, argument=f"{self.name}: {place}", **more)
        error.pointer = pointer_to(steps)
        self.found.append(error)

    def refused(self, *pointer: object) -> bool:
        """Whether a place, or one that holds it, was refused."""
        return bool(self._places) and any(pointer[:length] in self._places for length in range(1, len(pointer) + 1))

    def near(self, word: str, known: Collection[str], cutoff: float) -> str:
        """The known word that was meant, as a question; empty if there is none like it, or if there was too much to compare already."""
        self._compared += len(known)
        near = self._compared <= MOST_COMPARED and len(word) <= LONGEST_LIKENED and get_close_matches(word, known, n=1, cutoff=cutoff)
        return f"did you mean {near[0]}?" if near else ""

    def in_order(self, inputs: dict[str, Any]) -> list[FileError]:
        """The problems in the order of the tables and entries of a job; what concerns the whole of it comes last."""
        tables = {str(key): i for i, key in enumerate(inputs)}

        def place(error: FileError) -> tuple[int, int]:
            table, _, rest = error.pointer[1:].partition("/")
            entry = rest.partition("/")[0]
            return tables.get(table, len(tables)), int(entry) if entry.isdecimal() else 0

        return sorted(self.found, key=place) if len(self.found) > 1 else self.found


def names(known: Collection[str], lead: str = "known: ") -> str:
    """The first of some names that a person gave, after a lead; empty if there are none."""
    first = [name if len(name) <= LONGEST_NAMED else f"{name[: LONGEST_NAMED - 1]}…" for name in sorted(known)[:MOST_NAMED]]
    return f"{lead}{', '.join(first)}{f' and {len(known) - MOST_NAMED} more' if len(known) > MOST_NAMED else ''}" if first else ""
