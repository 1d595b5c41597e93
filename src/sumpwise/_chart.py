"""Charts as hand-written SVG: plain numbers in, text out; black and grey, lines that differ in stroke and are named at their ends."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from math import ceil, floor, inf, log10
from typing import Any

from sumpwise._display import escaped
from sumpwise._files import content_of, save
from sumpwise.errors import FileError

INK, MIDDLE, PALE, FAINT = "#000", "#555", "#ccc", "#eee"
"""Greys, dark to light."""
STROKES = ("", "9 4", "2 3", "12 3 2 3", "5 2", "16 5", "1 5", "9 3 2 3 2 3")
"""Line styles: lengths of dashes and gaps."""
WIDTH = 780
TOP, BOTTOM, RIGHT = 58, 54, 200
LETTER = 7.2
"""Approximate width of a letter in labels."""
SPACING = 17
"""Least distance between two labels at the right."""
LONGEST = 90
"""The longest title, in letters."""

MARKED = "drawn by sumpwise"
"""A mark inside every picture, so that it is recognised."""

LARGEST = 1_000_000
"""The largest existing picture that is read before it is replaced, in bytes."""
ALIKE = 1e-9
"""Two values must differ by this share of their size to span an axis."""

Point = tuple[float, float]


class Picture(str):
    """A complete SVG as text, which displays in a notebook and can be saved to a file."""

    __slots__ = ()

    def _repr_svg_(self) -> str:
        return str(self)

    @staticmethod
    def may_stand_at(path: Any) -> None:
        """Refuse a path whose file exists and was not drawn by sumpwise.

        Raises
        ------
        FileError
            With the path.
        """
        if os.path.lexists(path) and MARKED.encode() not in content_of(path, "give another name", LARGEST)[1]:
            problem = "exists already, and is not a picture drawn by sumpwise"
            raise FileError(problem, code="file.foreign", argument=os.fspath(path), hint="give another name, or move the file away")

    def save(self, path: Any) -> str:
        """Write it to a file, whole or not at all; an earlier picture of the same name is replaced.

        Parameters
        ----------
        path : str or path
            Such as `level.svg`.

        Returns
        -------
        str
            The real name of the file.

        Raises
        ------
        FileError
            When a file of that name exists and is not a picture drawn by sumpwise, or it cannot be written.
        """
        self.may_stand_at(path)
        return save(path, self.encode())


class Axis:
    """Values along one side of a chart, with a label that includes the unit.

    It ends at whole steps around the range that it must show; or, if it `ends` there, at the highest value itself.
    """

    def __init__(self, label: str, low: float, high: float, ends: bool = False) -> None:
        self.label = label
        end = high if ends else inf
        if not high - low > ALIKE * max(1.0, abs(low), abs(high)):
            low, high = low - 1.0, high + 1.0
        self.step, self.places = _step(high - low)
        self.low, self.high = floor(low / self.step + 1e-9) * self.step, min(end, ceil(high / self.step - 1e-9) * self.step)

    def ticks(self) -> list[tuple[float, str]]:
        """Values that are marked, and how they are written."""
        first, last = ceil(self.low / self.step - 1e-9), floor(self.high / self.step + 1e-9)
        return [(k * self.step, f"{k * self.step:.{self.places}f}".replace("-", "\N{MINUS SIGN}")) for k in range(first, last + 1)]

    def share(self, value: float) -> float:
        """How far along the axis a value is, from 0 to 1; values beyond the ends are at the ends."""
        return min(1.0, max(0.0, (value - self.low) / (self.high - self.low)))


def _step(span: float) -> tuple[float, int]:
    """A round step that divides a range into five to nine, and the decimals it needs."""
    power = floor(log10(span / 5))
    factor = next(factor for factor in (1, 2, 5, 10) if factor * 10.0**power >= span / 8)
    return factor * 10.0**power, max(0, -power - (factor == 10))


class Rows:
    """Names down the left side of a chart instead of values, from the top."""

    def __init__(self, names: Sequence[str]) -> None:
        self.label = ""
        self.names = names

    def share(self, value: float) -> float:
        """How far up row `value` is, counted from 0 at the top."""
        return 1.0 - (value + 0.5) / len(self.names)


class Chart:
    """A chart that is drawn piece by piece.

    The name, letters only, is for ids inside the picture; the description has its figures in a sentence, for people who cannot see it.
    """

    def __init__(self, name: str, title: str, description: str, x: Axis, y: Axis | Rows) -> None:
        self.name = name
        self.title = title if len(title) <= LONGEST else title[: LONGEST - 1] + "…"
        self.description = description
        self.x, self.y = x, y
        rows = y.names if isinstance(y, Rows) else []
        self.left = 30 + LETTER * max(map(len, rows)) if rows else 74.0
        self.width = WIDTH - self.left - RIGHT
        self.height = float(max(120, 22 * len(rows)) if rows else 350)
        self.under: list[str] = []
        self.over: list[str] = []
        self.ends: list[tuple[float, float, str]] = []
        self.keys: list[str] = []

    def at(self, x: float, y: float) -> Point:
        """Position of a point on the paper."""
        return self.left + self.width * self.x.share(x), TOP + self.height * (1.0 - self.y.share(y))

    # -- pieces

    def line(self, points: Sequence[Point], stroke: int = 0, label: str = "", width: float = 1.8, marks: bool = False) -> None:
        """A line through points, named at its end."""
        placed = [self.at(x, y) for x, y in points]
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in placed)
        self.over.append(f'<polyline points="{path}" fill="none" stroke="{INK}" stroke-width="{width}"{_dashed(stroke)}/>')
        if marks:
            self.over += [_mark(x, y, stroke) for x, y in placed]
        if label and placed:
            self.ends.append((*placed[-1], label))

    def band(self, points: Sequence[tuple[float, float, float]], stroke: int = 0) -> None:
        """A band between a lower and an upper limit at each x: grey, or between two thin lines of a stroke."""
        if stroke:
            for side in (1, 2):
                path = "L".join("{:.1f} {:.1f}".format(*self.at(one[0], one[side])) for one in points)
                self.under.append(f'<path d="M{path}" fill="none" stroke="{MIDDLE}" stroke-width="0.8"{_dashed(stroke)}/>')
            return
        there = [self.at(x, low) for x, low, _ in points]
        back = [self.at(x, high) for x, _, high in reversed(points)]
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in (*there, *back))
        self.under.append(f'<polygon points="{path}" fill="{PALE}" fill-opacity="0.6"/>')

    def bar(self, row: float, low: float, high: float, fill: str = PALE, edge: str = "none") -> None:
        """A bar between two limits on a row."""
        (left, y), (right, _) = self.at(min(low, high), row), self.at(max(low, high), row)
        area = f'x="{left:.1f}" y="{y - 7:.1f}" width="{max(right - left, 1):.1f}" height="14"'
        self.under.append(f'<rect {area} fill="{fill}" stroke="{edge}"/>')

    def drop(self, x: float, row: float) -> None:
        """A thin line from one row down to the next."""
        (place, top), (_, foot) = self.at(x, row), self.at(x, row + 1)
        self.under.append(_straight(place, top, place, foot, MIDDLE))

    def named(self, x: float, y: float, label: str) -> None:
        """A name at the right for a point."""
        self.ends.append((*self.at(x, y), label))

    def stick(self, window: Point, top: float, names: Sequence[str]) -> None:
        """The check window, then the marks with the target between them, with their names in this order."""
        self.window(*window, names[0])
        for height, name, stroke in zip((0.0, top / 2, top), names[1:], (0, 2, 0), strict=True):
            self.level(height, name, stroke)

    def level(self, y: float, label: str, stroke: int = 0) -> None:
        """A horizontal line, named at the right."""
        (left, height), (right, _) = self.at(self.x.low, y), self.at(self.x.high, y)
        self.under.append(_straight(left, height, right, height, MIDDLE, stroke))
        self.ends.append((right, height, label))

    def stop(self, x: float, label: str, stroke: int = 0) -> None:
        """A vertical line, named at the bottom."""
        place, _ = self.at(x, 0)
        self.under.append(_straight(place, TOP, place, TOP + self.height, MIDDLE, stroke))
        side = "end" if place > self.left + self.width / 2 else "start"
        if label:
            self.over.append(_text(place + (-5 if side == "end" else 5), TOP + self.height - 8, label, side))

    def window(self, low: float, high: float, label: str) -> None:
        """A shaded range of x, named at the top."""
        (left, _), (right, _) = self.at(low, 0), self.at(high, 0)
        area = f'x="{left:.1f}" y="{TOP}" width="{right - left:.1f}" height="{self.height:.1f}"'
        self.under.append(f'<rect {area} fill="{FAINT}" stroke="{MIDDLE}" stroke-dasharray="2 3"/>')
        middle = min((left + right) / 2, self.left + self.width - LETTER * len(label) / 2)
        self.over.append(_text(middle, TOP - 6, label, "middle"))

    def point(self, x: float, y: float, label: str) -> None:
        """A point that was read, with a label next to it."""
        a, b = self.at(x, y)
        self.over.append(f'<circle cx="{a:.1f}" cy="{b:.1f}" r="4.5" fill="#fff" stroke="{INK}" stroke-width="1.6"/>')
        self.over.append(_text(a - 9, b - 7, label, "end"))

    def cross(self, x: float, y: float, u: float = 0.0) -> None:
        """A point found in another way, with its uncertainty along x."""
        a, b = self.at(x, y)
        if u:
            self.over.append(_straight(self.at(x - u, y)[0], b, self.at(x + u, y)[0], b, INK, width=1.6))
        self.over.append(f'<path d="M{a - 5:.1f} {b - 5:.1f}l10 10m0 -10l-10 10" stroke="{INK}" stroke-width="2"/>')

    def between(self, x: float, low: float, high: float, label: str) -> None:
        """A point in the middle between two limits at one x, named at the right."""
        (a, foot), (_, top) = self.at(x, low), self.at(x, high)
        self.over.append(_straight(a, foot, a, top, INK, width=1.6))
        self.over.append(f'<circle cx="{a:.1f}" cy="{(foot + top) / 2:.1f}" r="4.5" fill="{INK}" stroke="{INK}"/>')
        self.ends.append((a, (foot + top) / 2, label))

    def key(self, text: str) -> None:
        """A key to the single points, below the axis."""
        self.keys.append(text)

    # -- the whole picture

    def picture(self) -> Picture:
        """The chart as an SVG document."""
        height = TOP + self.height + BOTTOM
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:.0f}" width="{WIDTH}" height="{height:.0f}" role="img" '
            f'aria-labelledby="{self.name}-title {self.name}-desc" font-family="sans-serif" font-size="13">'
        )
        return Picture("\n".join([
            head, f"<metadata>{MARKED}</metadata>", f'<title id="{self.name}-title">{escaped(self.title)}</title>',
            f'<desc id="{self.name}-desc">{escaped(self.description)}</desc>',
            f'<rect width="{WIDTH}" height="{height:.0f}" fill="#fff"/>',
            f'<text x="16" y="24" font-size="15" font-weight="bold">{escaped(self.title)}</text>',
            *self._frame(), *self.under, *self.over, *self._ends(), "</svg>", "",
        ]))  # fmt: skip

    def _frame(self) -> Iterable[str]:
        """Axes, their ticks, and their names."""
        foot, right = TOP + self.height, self.left + self.width
        yield f'<rect x="{self.left:.1f}" y="{TOP}" width="{self.width:.1f}" height="{self.height:.1f}" fill="none" stroke="{PALE}"/>'
        for value, text in self.x.ticks():
            x, _ = self.at(value, 0)
            yield _straight(x, TOP, x, foot, FAINT)
            yield _straight(x, foot, x, foot + 5, INK)
            yield _text(x, foot + 19, text, "middle")
        yield _straight(self.left, foot, right, foot, INK)
        yield _text(self.left + self.width / 2, foot + 42, self.x.label, "middle")
        yield from (_text(WIDTH - 10, foot + 42 - SPACING * i, text, "end") for i, text in enumerate(self.keys))
        if isinstance(self.y, Rows):
            for row, name in enumerate(self.y.names):
                yield _text(self.left - 10, self.at(0, row)[1] + 4, name, "end")
            return
        for value, text in self.y.ticks():
            _, y = self.at(0, value)
            yield _straight(self.left, y, right, y, FAINT)
            yield _straight(self.left - 5, y, self.left, y, INK)
            yield _text(self.left - 9, y + 4, text, "end")
        yield _straight(self.left, TOP, self.left, foot, INK)
        middle = TOP + self.height / 2
        label = escaped(self.y.label)
        yield f'<text x="18" y="{middle:.1f}" text-anchor="middle" transform="rotate(-90 18 {middle:.1f})">{label}</text>'

    def _ends(self) -> Iterable[str]:
        """The names of the lines at the right, each next to its end, without overlaps."""
        labels = sorted(self.ends, key=lambda end: end[1])
        lines = [_folded(text) for _, _, text in labels]
        heights = [SPACING * len(folded) for folded in lines]
        places: list[float] = []
        for (_, y, _), height in zip(labels, heights, strict=True):
            top = y - height / 2
            places.append(max(top, places[-1] + heights[len(places) - 1]) if places else max(top, TOP - 10.0))
        limit = TOP + self.height + 12
        for i in range(len(places) - 1, -1, -1):
            places[i] = min(places[i], limit - heights[i])
            limit = places[i]
        for (x, y, _), top, folded, height in zip(labels, places, lines, heights, strict=True):
            start = self.left + self.width + 16
            yield _straight(x + 5, y, start - 3, top + height / 2, MIDDLE, width=0.7)
            for i, text in enumerate(folded):
                yield _text(start, top + SPACING * i + 13, text)


def _folded(text: str) -> list[str]:
    """A label in lines that fit the margin, cut if too long."""
    from textwrap import wrap

    most = int((RIGHT - 24) / LETTER)
    return [line for part in text.split("\n") for line in wrap(part, most, max_lines=3, placeholder="…")] or [""]


def _dashed(stroke: int) -> str:
    dash = STROKES[stroke % len(STROKES)]
    return f' stroke-dasharray="{dash}"' if dash else ""


def _straight(a: float, b: float, c: float, d: float, colour: str, stroke: int = 0, width: float = 1.0) -> str:
    return (
        f'<line x1="{a:.1f}" y1="{b:.1f}" x2="{c:.1f}" y2="{d:.1f}" stroke="{colour}" stroke-width="{width}"{_dashed(stroke)}/>'
    )


def _text(x: float, y: float, text: str, anchor: str = "start") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escaped(text)}</text>'


def _mark(x: float, y: float, stroke: int) -> str:
    """A mark on a line: round, square or triangular, depending on its stroke."""
    if stroke % 3 == 0:
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.6" fill="#fff" stroke="{INK}"/>'
    if stroke % 3 == 1:
        return f'<rect x="{x - 3.4:.1f}" y="{y - 3.4:.1f}" width="6.8" height="6.8" fill="#fff" stroke="{INK}"/>'
    return f'<path d="M{x:.1f} {y - 4:.1f}l4 7.5h-8z" fill="#fff" stroke="{INK}"/>'
