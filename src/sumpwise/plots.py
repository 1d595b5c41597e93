"""Pictures of what the library computes: plain, labelled with units, readable in greyscale. Needs the extra `plot`.

Every function takes plain numbers in the units of its labels and returns a matplotlib `Figure` of its own: it does not become the current
figure, changes no settings and opens no window. Save it with `figure.savefig(path)`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import isfinite
from typing import TYPE_CHECKING, Any

from sumpwise.errors import RangeError, SumpwiseError, expect

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK, MIDDLE, PALE, FAINT = "0.0", "0.45", "0.75", "0.92"
"""Four greys, dark to light."""

LINES: tuple[tuple[str, str, str], ...] = (
    ("-", INK, "o"), ("--", INK, "s"), ("-", MIDDLE, "^"), (":", INK, "D"), ("-.", MIDDLE, "v"), ("--", MIDDLE, "x"), ("-.", INK, "+"),
)  # fmt: skip
"""How lines differ without colour: line style, grey, marker."""


def _numbers(values: Any, name: str, length: int | None = None) -> list[float]:
    if isinstance(values, (str, bytes, Mapping)) or not hasattr(values, "__iter__"):
        raise RangeError("is not a sequence of numbers", code="list.type", argument=name, value=values)
    try:
        numbers = [float(v) for v in (values.tolist() if hasattr(values, "dtype") else values)]
    except (TypeError, ValueError):
        hint = "convert them to the unit of the label first"
        raise RangeError("is not a sequence of plain numbers", code="list.type", argument=name, value=values, hint=hint) from None
    if not numbers or not all(map(isfinite, numbers)):
        raise RangeError("must hold finite numbers, at least one", code="number.not_finite", argument=name, value=values)
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
    return "".join(c if c.isprintable() else " " for c in str(label))[:80]


def _named_so(label: Any) -> str:
    """A label for the legend, from which matplotlib omits labels that are empty or start with an underscore."""
    text = _text(label)
    return "\N{ZERO WIDTH SPACE}" + text if not text or text.startswith("_") else text


def _sheet(width: float = 6.8, height: float = 4.2) -> tuple[Figure, Axes]:
    try:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure
    except ImportError:
        raise ImportError("pictures need matplotlib: install sumpwise with its extra, sumpwise[plot]") from None
    figure = Figure(figsize=(width, height), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(True, color=FAINT, linewidth=0.8)
    axes.set_axisbelow(True)
    return figure, axes


def _named(axes: Axes, x: str, y: str, title: str) -> None:
    axes.set_xlabel(x)
    axes.set_ylabel(y)
    expect(title, str, "title")
    if title:
        axes.set_title(_text(title), loc="left", fontsize=11, parse_math=False)


def _percent(values: list[float]) -> list[float]:
    return [100.0 * v for v in values]


def plot_freshness(
    poured: Sequence[float], inside: Sequence[float], outlet: Sequence[float], inside_band: Any = None, outlet_band: Any = None,
    target: float | None = None, title: str = "",
) -> Figure:  # fmt: skip
    """Plot freshness inside and at the outlet against the litres poured.

    Parameters
    ----------
    poured : sequence of float
        Litres of fresh fluid poured so far.
    inside, outlet : sequence of float
        Fresh fraction of the fluid inside, and of what runs out of the line, 0 to 1, one for each point.
    inside_band, outlet_band : pair of sequences, optional
        Lower and upper limits of each.
    target : float, optional
        Target fresh fraction, drawn as a horizontal line.
    title : str
        Title above the picture.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    SumpwiseError
        For data that are not finite numbers or differ in length.
    ImportError
        If matplotlib is not installed.

    Examples
    --------
    >>> from sumpwise.plots import plot_freshness
    >>> figure = plot_freshness([3.7, 4.9, 6.1], [0.42, 0.54, 0.61], [0.40, 0.54, 0.64])
    >>> figure.axes[0].get_xlabel()
    'fresh fluid poured, L'
    """
    x = _numbers(poured, "poured")
    figure, axes = _sheet()
    for values, name, band, stroke, hatch in (
        (inside, "inside", inside_band, LINES[0], None), (outlet, "outlet", outlet_band, LINES[1], "////"),
    ):  # fmt: skip
        y = _percent(_numbers(values, name, len(x)))
        if band is not None:
            lower, upper = (_percent(edge) for edge in _band(band, f"{name}_band", len(x)))
            face = PALE if hatch is None else "none"
            axes.fill_between(x, lower, upper, facecolor=face, edgecolor=MIDDLE if hatch else face, hatch=hatch, linewidth=0.0, alpha=0.6)
        axes.plot(x, y, linestyle=stroke[0], color=stroke[1], marker=stroke[2], markersize=5, markerfacecolor="white", label=name)
    if target is not None:
        (share,) = _percent(_numbers([target], "target"))
        axes.axhline(share, color=MIDDLE, linewidth=1.0, linestyle=":")
        axes.annotate("target", (x[0], share), xytext=(0, 2), textcoords="offset points", va="bottom", color=MIDDLE, fontsize=9)
    axes.set_ylim(0, 100)
    _named(axes, "fresh fluid poured, L", "fresh, %", title)
    axes.legend(frameon=False, loc="lower right", handlelength=3.2)
    return figure


def plot_level(
    temperatures: Sequence[float], readings: Sequence[float], window: Sequence[float], upper_mark: float, band: Any = None,
    observed: Any = None, title: str = "",
) -> Figure:  # fmt: skip
    """Plot the level on the dipstick against temperature, with the check window and the marks.

    Parameters
    ----------
    temperatures : sequence of float
        Temperatures in °C.
    readings : sequence of float
        Expected reading at each temperature, in millimetres above the lower mark.
    window : pair of float
        Check window in °C, in which the marks are valid.
    upper_mark : float
        Millimetres from the lower mark to the upper mark.
    band : pair of sequences, optional
        Lower and upper limits of the expected readings.
    observed : pair of sequences, optional
        Temperatures and readings that were actually taken.
    title : str
        Title above the picture.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    SumpwiseError
        For data that are not finite numbers or differ in length.
    ImportError
        If matplotlib is not installed.

    Examples
    --------
    >>> from sumpwise.plots import plot_level
    >>> figure = plot_level([20, 60, 100], [-10.4, -2.2, 6.1], (82, 92), 13)
    >>> figure.axes[0].get_ylabel()
    'reading above the lower mark, mm'
    """
    x = _numbers(temperatures, "temperatures")
    y = _numbers(readings, "readings", len(x))
    (low, high), (top,) = _numbers(window, "window", 2), _numbers([upper_mark], "upper_mark")
    if not (low < high and top > 0):
        raise RangeError(
            "runs downward", code="range.reversed", argument="window" if low >= high else "upper_mark",
            value=window if low >= high else upper_mark,
        )  # fmt: skip
    figure, axes = _sheet()
    axes.axvspan(low, high, color=FAINT, zorder=0.5)
    axes.annotate(
        "check window", (0.5 * (low + high), 1.0), xycoords=("data", "axes fraction"), xytext=(0, -3), textcoords="offset points",
        ha="center", va="top", fontsize=9, color=MIDDLE,
    )  # fmt: skip
    for height, name, stroke in ((0.0, "lower mark", "-"), (0.5 * top, "target", ":"), (top, "upper mark", "-")):
        axes.axhline(height, color=MIDDLE, linewidth=1.0, linestyle=stroke)
        axes.annotate(
            name, (0.0, height), xycoords=("axes fraction", "data"), xytext=(4, 1), textcoords="offset points", va="bottom", fontsize=9,
            color=MIDDLE,
        )  # fmt: skip
    if band is not None:
        axes.fill_between(x, *_band(band, "band", len(x)), color=PALE, linewidth=0.0, alpha=0.6)
    axes.plot(x, y, color=INK, label="this fill")
    if observed is not None:
        if not hasattr(observed, "__len__") or len(observed) != 2:
            raise RangeError(
                "is not a pair of sequences", code="list.type", argument="observed", value=observed, allowed="(temperatures, readings)"
            )
        seen = _numbers(observed[0], "observed, temperatures")
        axes.plot(seen, _numbers(observed[1], "observed, readings", len(seen)), "o", color=INK, markerfacecolor="white", label="read")
    bottom, ceiling = axes.get_ylim()
    axes.set_ylim(bottom, ceiling + 0.08 * (ceiling - bottom))
    _named(axes, "fluid temperature, °C", "reading above the lower mark, mm", title)
    axes.legend(frameon=False, loc="lower right", handlelength=3.2)
    return figure


def plot_balance(
    causes: Sequence[str], contributions: Sequence[float], uncertainty: float | None = None, total: str = "balance", title: str = ""
) -> Figure:
    """Plot the fluid balance as a waterfall chart of its causes, down to their sum.

    Parameters
    ----------
    causes : sequence of str
        Names of the steps, starting with the raw readings.
    contributions : sequence of float
        Litres that each cause adds, one for each; negative is to the left.
    uncertainty : float, optional
        Standard uncertainty of the sum in litres, drawn as an error bar of one either way.
    total : str
        Label of the sum.
    title : str
        Title above the picture.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    SumpwiseError
        For data that are not finite numbers or differ in length.
    ImportError
        If matplotlib is not installed.

    Examples
    --------
    >>> from sumpwise.plots import plot_balance
    >>> figure = plot_balance(["raw readings", "temperature", "pail scale"], [-0.36, 0.27, 0.20], 0.08)
    >>> figure.axes[0].get_xlabel()
    'litres at 20 °C'
    """
    if not isinstance(causes, Sequence) or isinstance(causes, (str, bytes)):
        raise RangeError("is not a sequence of names", code="list.type", argument="causes", value=causes)
    steps = _numbers(contributions, "contributions", len(causes))
    spread = None if uncertainty is None else _numbers([uncertainty], "uncertainty")[0]
    if spread is not None and spread < 0:
        raise RangeError("must not be negative", code="range.outside", argument="uncertainty", value=uncertainty)
    figure, axes = _sheet(height=1.6 + 0.42 * (len(steps) + 1))
    axes.grid(False, axis="y")
    before, reach = 0.0, [0.0]
    for row, step in enumerate(steps):
        down = step < 0
        grey, hatch = (PALE, "////") if down else (MIDDLE, None)
        axes.barh(row, step, left=before, height=0.62, color=grey, hatch=hatch, edgecolor=INK, linewidth=0.8)
        axes.plot([before + step] * 2, [row, row + 1], color=INK, linewidth=0.8, zorder=0.9)
        before += step
        reach.append(before)
    last = len(steps)
    axes.barh(last, before, height=0.62, color="1.0", edgecolor=INK, linewidth=2.0, zorder=2)
    if spread:
        axes.errorbar(before, last, xerr=spread, color=INK, capsize=5, linewidth=1.6, zorder=3)
        reach += [before - spread, before + spread]
    edge = max(reach)
    words = [*(f"{step:+z.2f}" for step in steps), f"{before:+z.2f}" + ("" if spread is None else f" ± {spread:.2f}")]
    width = edge - min(reach) or 1.0
    for row, word in enumerate(words):
        weight = "bold" if row == last else "normal"
        axes.text(edge + 0.04 * width, row, word.replace("-", "\u2212"), va="center", fontsize=10, fontweight=weight)
    axes.axvline(0.0, color=INK, linewidth=0.8)
    axes.set_xlim(min(reach) - 0.06 * width, edge + 0.36 * width)
    axes.set_ylim(last + 0.6, -0.6)
    axes.set_yticks(range(last + 1), [_text(c) for c in (*causes, total)], parse_math=False)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    _named(axes, "litres at 20 °C", "", title)
    return figure


def plot_mean_age(years: Sequence[float], ages: Mapping[str, Sequence[float]], title: str = "") -> Figure:
    """Plot the mean age of the fluid over the years, for each way of servicing.

    Parameters
    ----------
    years : sequence of float
        Years from now.
    ages : mapping of str to sequence of float
        Method -> mean age of the fluid in years at each of `years`. Repeat a year to show a change as a vertical drop.
    title : str
        Title above the picture.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    SumpwiseError
        For data that are not finite numbers or differ in length, or more methods than can be told apart.
    ImportError
        If matplotlib is not installed.

    Examples
    --------
    >>> from sumpwise.plots import plot_mean_age
    >>> figure = plot_mean_age([0, 0, 5], {"drain now": [9.0, 5.6, 10.6], "nothing": [9.0, 9.0, 14.0]})
    >>> figure.axes[0].get_ylabel()
    'mean age of the fluid, years'
    """
    return _lines(years, "years", ages, "ages", 1.0, False, ("years from now", "mean age of the fluid, years", title))


def plot_methods(litres: Sequence[float], fresh: Mapping[str, Sequence[float]], title: str = "") -> Figure:
    """Plot freshness inside against the litres used, for each method.

    Parameters
    ----------
    litres : sequence of float
        Litres of fresh fluid used.
    fresh : mapping of str to sequence of float
        Method -> fresh fraction inside, 0 to 1, at each of `litres`.
    title : str
        Title above the picture.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    SumpwiseError
        For data that are not finite numbers or differ in length, or more methods than can be told apart.
    ImportError
        If matplotlib is not installed.

    Examples
    --------
    >>> from sumpwise.plots import plot_methods
    >>> figure = plot_methods([0, 4, 8], {"stirred": [0, 0.39, 0.63], "plug": [0, 0.5, 1.0]})
    >>> [line.get_label() for line in figure.axes[0].lines]
    ['stirred', 'plug']
    """
    return _lines(litres, "litres", fresh, "fresh", 100.0, True, ("fresh fluid used, L", "fresh inside, %", title))


def _lines(
    along: Any, along_name: str, series: Any, name: str, scale: float, share: bool, labels: tuple[str, str, str]
) -> Figure:
    x = _numbers(along, along_name)
    if not isinstance(series, Mapping) or not series:
        raise SumpwiseError(
            "is not a mapping of methods to numbers", code="value.type", argument=name, value=series, hint="{'one drain': [...], ...}"
        )
    if len(series) > len(LINES):
        few = f"at most {len(LINES)}, which is all that grey lines can tell apart"
        raise RangeError(f"has {len(series)} methods", code="list.length", argument=name, value=list(series), allowed=few)
    figure, axes = _sheet()
    every = max(1, len(x) // 8)
    for number, ((method, values), (stroke, grey, marker)) in enumerate(zip(series.items(), LINES, strict=False)):
        y = [scale * v for v in _numbers(values, f"{name}, {_text(method)}", len(x))]
        axes.plot(
            x, y, linestyle=stroke, color=grey, marker=marker, markersize=5, markerfacecolor="white", markevery=(number % every, every),
            label=_named_so(method), clip_on=False,
        )  # fmt: skip
    axes.set_xlim(min(x), max(x) if max(x) > min(x) else min(x) + 1.0)
    axes.set_ylim(bottom=0.0, top=100.0 if share else None)
    axes.locator_params(axis="y", integer=True)
    _named(axes, *labels)
    for text in figure.legend(frameon=False, loc="outside lower left", ncols=2, handlelength=3.2).get_texts():
        text.set_parse_math(False)
    return figure
