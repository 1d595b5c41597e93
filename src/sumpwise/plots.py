"""Pictures of what the library computes: SVG in black and grey, labelled with units, with lines that differ in stroke.

Every function takes plain numbers in the units its labels state and returns a `Picture`: the SVG as a text, which shows itself in a
notebook and has `.save(path)`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import isfinite
from typing import Any

from sumpwise._chart import INK, MIDDLE, PALE, STROKES, Axis, Chart, Picture, Rows
from sumpwise.errors import RangeError, SumpwiseError, expect

LARGEST = 1e9
"""Largest number that can be drawn."""
NAME = 80
"""How many letters of a name are drawn."""


def _numbers(values: Any, name: str, length: int | None = None) -> list[float]:
    if isinstance(values, (str, bytes, Mapping)) or not hasattr(values, "__iter__"):
        raise RangeError("is not a sequence of numbers", code="list.type", argument=name, value=values)
    try:
        numbers = [float(v) for v in (values.tolist() if hasattr(values, "dtype") else values)]
    except (TypeError, ValueError):
        hint = "convert to the unit of the label first"
        raise RangeError("is not a sequence of plain numbers", code="list.type", argument=name, value=values, hint=hint) from None
    if not numbers or not all(map(isfinite, numbers)):
        raise RangeError("must hold finite numbers, at least one", code="number.not_finite", argument=name, value=values)
    if max(map(abs, numbers)) > LARGEST:
        raise RangeError("is too large to be drawn", code="range.outside", argument=name, value=values, allowed=f"up to {LARGEST:g}")
    if length is not None and len(numbers) != length:
        raise RangeError(
            f"has {len(numbers)} numbers", code="list.length", argument=name, value=values, allowed=f"{length}, one for each point"
        )
    return numbers


def _band(band: Any, name: str, length: int) -> tuple[list[float], list[float]]:
    if isinstance(band, (str, bytes, Mapping)) or not hasattr(band, "__len__") or len(band) != 2:
        raise RangeError("is not a band", code="list.type", argument=name, value=band, allowed="a pair of sequences, lower and upper")
    lower, upper = _numbers(band[0], f"{name}, lower", length), _numbers(band[1], f"{name}, upper", length)
    if any(low > high for low, high in zip(lower, upper, strict=True)):
        raise RangeError("runs downward", code="range.reversed", argument=name, value=band, allowed="the lower limits first")
    return lower, upper


def _text(label: Any) -> str:
    return "".join(c if c.isprintable() else " " for c in str(label))[:NAME]


def _chart(name: str, x: Axis, y: Axis | Rows, title: Any, description: Any) -> Chart:
    """A chart; without a title, its axis labels become the title."""
    expect(title, str, "title")
    expect(description, str, "description")
    called = title or f"{y.label} against {x.label}" * bool(y.label) or x.label
    return Chart(name, _text(called), description or called, x, y)


def _percent(values: list[float]) -> list[float]:
    return [100.0 * v for v in values]


def plot_freshness(
    poured: Sequence[float], inside: Sequence[float], outlet: Sequence[float], inside_band: Any = None, outlet_band: Any = None,
    target: float | None = None, title: str = "", description: str = "",
) -> Picture:  # fmt: skip
    """Freshness inside and at the outlet against the litres poured.

    Parameters
    ----------
    poured : sequence of float
        Litres of fresh fluid poured so far.
    inside, outlet : sequence of float
        Fresh fraction of the fluid inside, and of what runs out of the line, 0 to 1, one for each point.
    inside_band, outlet_band : pair of sequences, optional
        Lower and upper limits of the two: a grey band for the first, two thin lines for the second.
    target : float, optional
        Target for the fresh fraction, drawn as a line across.
    title, description : str
        Title above the picture, and a description of it for people who cannot see it.

    Returns
    -------
    Picture

    Raises
    ------
    SumpwiseError
        If data are not finite numbers or differ in length.

    Examples
    --------
    >>> from sumpwise.plots import plot_freshness
    >>> picture = plot_freshness([3.7, 4.9, 6.1], [0.42, 0.54, 0.61], [0.40, 0.54, 0.64])
    >>> "fresh fluid poured, L" in picture
    True
    """
    x = _numbers(poured, "poured")
    chart = _chart("freshness", Axis("fresh fluid poured, L", min(x), max(x)), Axis("fresh, %", 0.0, 100.0), title, description)
    if target is not None:
        chart.level(_percent(_numbers([target], "target"))[0], "target", 4)
    for stroke, (values, name, band) in enumerate(((inside, "inside", inside_band), (outlet, "outlet", outlet_band))):
        y = _percent(_numbers(values, name, len(x)))
        if band is not None:
            lower, upper = (_percent(edge) for edge in _band(band, f"{name}_band", len(x)))
            chart.band(list(zip(x, lower, upper, strict=True)), stroke)
        chart.line(list(zip(x, y, strict=True)), stroke, name, marks=True)
    return chart.picture()


def plot_level(
    temperatures: Sequence[float], readings: Sequence[float], window: Sequence[float], upper_mark: float, band: Any = None,
    observed: Any = None, title: str = "", description: str = "",
) -> Picture:  # fmt: skip
    """Level on the dipstick against temperature, with the check window and the marks.

    Parameters
    ----------
    temperatures : sequence of float
        °C.
    readings : sequence of float
        Expected millimetres above the lower mark at each temperature.
    window : pair of float
        °C between which the marks hold.
    upper_mark : float
        Millimetres from the lower mark to the upper.
    band : pair of sequences, optional
        Lower and upper limits of the expected readings.
    observed : pair of sequences, optional
        Temperatures and readings that were taken, numbered in order.
    title, description : str
        Title above the picture, and a description of it for people who cannot see it.

    Returns
    -------
    Picture

    Raises
    ------
    SumpwiseError
        If data are not finite numbers or differ in length.

    Examples
    --------
    >>> from sumpwise.plots import plot_level
    >>> picture = plot_level([20, 60, 100], [-10.4, -2.2, 6.1], (82, 92), 13)
    >>> "above the lower mark, mm" in picture
    True
    """
    x = _numbers(temperatures, "temperatures")
    y = _numbers(readings, "readings", len(x))
    (low, high), (top,) = _numbers(window, "window", 2), _numbers([upper_mark], "upper_mark")
    if not (low < high and top > 0):
        raise RangeError(
            "runs downward", code="range.reversed", argument="window" if low >= high else "upper_mark",
            value=window if low >= high else upper_mark,
        )  # fmt: skip
    limits = None if band is None else _band(band, "band", len(x))
    seen: list[tuple[float, float]] = []
    if observed is not None:
        if not hasattr(observed, "__len__") or len(observed) != 2:
            raise RangeError(
                "is not a pair of sequences", code="list.type", argument="observed", value=observed, allowed="temperatures and readings"
            )
        degrees = _numbers(observed[0], "observed, temperatures")
        seen = list(zip(degrees, _numbers(observed[1], "observed, readings", len(degrees)), strict=True))
    across, up = [*x, low, high, *(t for t, _ in seen)], [0.0, top, *y, *(mm for _, mm in seen), *(limits[0] + limits[1] if limits else ())]
    chart = _chart(
        "level", Axis("fluid temperature, °C", min(across), max(across)), Axis("reading above the lower mark, mm", min(up), max(up)), title,
        description,
    )  # fmt: skip
    chart.stick((low, high), top, ("check window", "lower mark", "target", "upper mark"))
    if limits is not None:
        chart.band(list(zip(x, *limits, strict=True)))
    chart.line(list(zip(x, y, strict=True)), 1, "this fill")
    for number, (t, mm) in enumerate(seen, 1):
        chart.point(t, mm, str(number))
    if seen:
        chart.key("○ read")
    return chart.picture()


def plot_balance(
    causes: Sequence[str], contributions: Sequence[float], uncertainty: float | None = None, total: str = "balance", title: str = "",
    description: str = "",
) -> Picture:  # fmt: skip
    """The fluid balance as a waterfall chart of its causes, down to their sum.

    Parameters
    ----------
    causes : sequence of str
        Name of each step, starting with the raw readings.
    contributions : sequence of float
        Litres that each cause adds, one for each; negative is to the left.
    uncertainty : float, optional
        Standard uncertainty of the sum in litres, drawn as one either way.
    total : str
        Name of the sum.
    title, description : str
        Title above the picture, and a description of it for people who cannot see it.

    Returns
    -------
    Picture

    Raises
    ------
    SumpwiseError
        If data are not finite numbers or differ in length.

    Examples
    --------
    >>> from sumpwise.plots import plot_balance
    >>> picture = plot_balance(["raw readings", "temperature", "pail scale"], [-0.36, 0.27, 0.20], 0.08)
    >>> "+0.11 ± 0.08" in picture
    True
    """
    if not isinstance(causes, Sequence) or isinstance(causes, (str, bytes)):
        raise RangeError("is not a sequence of names", code="list.type", argument="causes", value=causes)
    steps = _numbers(contributions, "contributions", len(causes))
    spread = None if uncertainty is None else _numbers([uncertainty], "uncertainty")[0]
    if spread is not None and spread < 0:
        raise RangeError("must not be negative", code="range.outside", argument="uncertainty", value=uncertainty)
    sums = [0.0]
    for step in steps:
        sums.append(sums[-1] + step)
    last, end, doubt = len(steps), sums[-1], spread or 0.0
    reach = [*sums, end - doubt, end + doubt]
    rows = Rows([_text(c) for c in (*causes, total)])
    chart = _chart("balance", Axis("litres at 20 °C", min(reach), max(reach)), rows, title, description)
    chart.stop(0.0, "", 2)
    words = [*(f"{step:+z.2f}" for step in steps), f"{end:+z.2f}" + ("" if spread is None else f" ± {spread:.2f}")]
    for row, (step, before) in enumerate(zip(steps, sums, strict=False)):
        chart.bar(row, before, before + step, PALE if step < 0 else MIDDLE, INK)
        chart.drop(before + step, row)
    chart.bar(last, 0.0, end, "#fff", INK)
    chart.cross(end, last, doubt)
    for row, (word, at) in enumerate(zip(words, [*map(max, sums, sums[1:]), end + doubt], strict=True)):
        chart.named(at, row, word.replace("-", "\N{MINUS SIGN}"))
    return chart.picture()


def plot_mean_age(years: Sequence[float], ages: Mapping[str, Sequence[float]], title: str = "", description: str = "") -> Picture:
    """Mean age of the fluid over the years, for each service method.

    Parameters
    ----------
    years : sequence of float
        From now.
    ages : mapping of str to sequence of float
        Mean age of the fluid in years for each method, one per entry of `years`. A change is a drop between two equal years.
    title, description : str
        Title above the picture, and a description of it for people who cannot see it.

    Returns
    -------
    Picture

    Raises
    ------
    SumpwiseError
        If data are not finite numbers or differ in length, or there are more methods than can be told apart.

    Examples
    --------
    >>> from sumpwise.plots import plot_mean_age
    >>> picture = plot_mean_age([0, 0, 5], {"drain now": [9.0, 5.6, 10.6], "nothing": [9.0, 9.0, 14.0]})
    >>> "mean age of the fluid, years" in picture
    True
    """
    x = _numbers(years, "years")
    lines = _by_method(ages, "ages", len(x))
    up = [age for values in lines.values() for age in values]
    return _lines("age", "years from now", Axis("mean age of the fluid, years", min(0.0, *up), max(up)), x, lines, title, description)


def plot_methods(litres: Sequence[float], fresh: Mapping[str, Sequence[float]], title: str = "", description: str = "") -> Picture:
    """Freshness inside against the litres used, for each method.

    Parameters
    ----------
    litres : sequence of float
        Fresh fluid used.
    fresh : mapping of str to sequence of float
        Fresh fraction inside, 0 to 1, for each method, one per entry of `litres`.
    title, description : str
        Title above the picture, and a description of it for people who cannot see it.

    Returns
    -------
    Picture

    Raises
    ------
    SumpwiseError
        If data are not finite numbers or differ in length, or there are more methods than can be told apart.

    Examples
    --------
    >>> from sumpwise.plots import plot_methods
    >>> picture = plot_methods([0, 4, 8], {"stirred": [0, 0.39, 0.63], "plug": [0, 0.5, 1.0]})
    >>> [name in picture for name in ("stirred", "plug")]
    [True, True]
    """
    x = _numbers(litres, "litres")
    lines = {method: _percent(values) for method, values in _by_method(fresh, "fresh", len(x)).items()}
    return _lines("methods", "fresh fluid used, L", Axis("fresh inside, %", 0.0, 100.0), x, lines, title, description)


def _by_method(series: Any, name: str, length: int) -> dict[str, list[float]]:
    if not isinstance(series, Mapping) or not series:
        raise SumpwiseError(
            "is not a mapping of methods to numbers", code="value.type", argument=name, value=series, hint="{'one drain': [...], ...}"
        )
    if len(series) > len(STROKES):
        few = f"at most {len(STROKES)}, to be told apart without colour"
        raise RangeError(f"has {len(series)} methods", code="list.length", argument=name, value=list(series), allowed=few)
    return {_text(method): _numbers(values, f"{name}, {_text(method)}", length) for method, values in series.items()}


def _lines(name: str, along: str, y: Axis, x: list[float], lines: dict[str, list[float]], title: str, description: str) -> Picture:
    """One line per method."""
    chart = _chart(name, Axis(along, min(x), max(x), ends=True), y, title, description)
    for stroke, (method, values) in enumerate(lines.items()):
        chart.line(list(zip(x, values, strict=True)), stroke, method)
    return chart.picture()
