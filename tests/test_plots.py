"""The pictures: what they show, that they are grey and labelled with units, and that they leave matplotlib alone."""

from __future__ import annotations

import io
import math
import subprocess
import sys

import matplotlib
import numpy as np
import pytest
from matplotlib.colors import to_rgb

from sumpwise.errors import SumpwiseError
from sumpwise.plots import LINES, plot_balance, plot_freshness, plot_level, plot_mean_age, plot_methods

POURED, INSIDE, OUTLET = [3.7, 4.9, 6.1], [0.42, 0.54, 0.61], [0.40, 0.54, 0.64]


def freshness():
    inside_band, outlet_band = ([0.38, 0.5, 0.57], [0.46, 0.58, 0.65]), ([0.37, 0.5, 0.6], [0.43, 0.58, 0.68])
    return plot_freshness(POURED, INSIDE, OUTLET, inside_band, outlet_band, 0.75, "Bursts")


def level():
    return plot_level([20, 60, 100], [-10.4, -2.2, 6.1], (82, 92), 13, ([-11, -3, 5], [-9, -1, 7]), ([61, 86], [-2, 3.5]), "Level")


def balance():
    return plot_balance(["raw readings", "temperature", "pail scale"], [-0.36, 0.27, 0.20], 0.08, title="Balance")


def mean_age():
    return plot_mean_age([0, 0, 5], {"drain now": [9.0, 5.6, 10.6], "nothing": [9.0, 9.0, 14.0]}, "Age")


def methods():
    return plot_methods([0, 4, 8], {"stirred": [0, 0.39, 0.63], "plug": [0, 0.5, 1.0]}, "Methods")


ALL = (freshness, level, balance, mean_age, methods)


def drawn(figure):
    picture = io.BytesIO()
    figure.savefig(picture, format="rgba", dpi=60)
    return np.frombuffer(picture.getvalue(), dtype=np.uint8).reshape(-1, 4)


@pytest.mark.parametrize("picture", ALL)
def test_every_pixel_is_grey(picture):
    red, green, blue, _ = drawn(picture()).T
    assert (red == green).all()
    assert (green == blue).all()
    assert len(np.unique(red)) > 10


@pytest.mark.parametrize(
    ("picture", "x", "y"),
    [
        (freshness, "fresh fluid poured, L", "fresh, %"),
        (level, "fluid temperature, °C", "reading above the lower mark, mm"),
        (balance, "litres at 20 °C", ""),
        (mean_age, "years from now", "mean age of the fluid, years"),
        (methods, "fresh fluid used, L", "fresh inside, %"),
    ],
)
def test_every_axis_says_what_in_which_unit(picture, x, y):
    axes = picture().axes[0]
    assert (axes.get_xlabel(), axes.get_ylabel()) == (x, y)
    assert axes.get_title(loc="left")


def test_freshness_shows_both_lines_in_percent_with_their_bands():
    axes = freshness().axes[0]
    inside, outlet, target = axes.lines
    assert inside.get_xdata().tolist() == POURED
    assert inside.get_ydata().tolist() == pytest.approx([42, 54, 61])
    assert outlet.get_ydata().tolist() == pytest.approx([40, 54, 64])
    assert target.get_ydata()[0] == 75
    assert [(b.get_datalim(axes.transData).y0, b.get_datalim(axes.transData).y1) for b in axes.collections] == [(38, 65), (37, 68)]
    assert inside.get_linestyle() != outlet.get_linestyle()
    assert len(plot_freshness(POURED, INSIDE, OUTLET).axes[0].collections) == 0


def test_level_shows_window_marks_target_and_what_was_read():
    axes = level().axes[0]
    assert (axes.patches[0].get_x(), axes.patches[0].get_x() + axes.patches[0].get_width()) == (82, 92)
    assert [line.get_ydata()[0] for line in axes.lines[:3]] == [0, 6.5, 13]
    assert axes.lines[3].get_ydata().tolist() == [-10.4, -2.2, 6.1]
    assert axes.lines[4].get_ydata().tolist() == [-2, 3.5]
    assert len(plot_level([20, 100], [-10.4, 6.1], (82, 92), 13).axes[0].lines) == 4
    assert {t.get_text() for t in axes.texts} == {"check window", "lower mark", "target", "upper mark"}


def test_the_waterfall_ends_at_the_sum():
    axes = balance().axes[0]
    assert [b.get_x() for b in axes.patches] == pytest.approx([0, -0.36, -0.09, 0])
    assert [b.get_width() for b in axes.patches] == pytest.approx([-0.36, 0.27, 0.20, 0.11])
    assert [t.get_text() for t in axes.texts] == ["−0.36", "+0.27", "+0.20", "+0.11 ± 0.08"]
    assert [t.get_text() for t in axes.get_yticklabels()] == ["raw readings", "temperature", "pail scale", "balance"]
    whisker = axes.collections[0].get_segments()[0]
    assert sorted(whisker[:, 0]) == pytest.approx([0.03, 0.19])
    assert [t.get_text() for t in plot_balance(["a"], [0.0]).axes[0].texts] == ["+0.00", "+0.00"]


def test_ages_and_methods_show_every_series_told_apart():
    figure = mean_age()
    assert [line.get_label() for line in figure.axes[0].lines] == ["drain now", "nothing"]
    assert figure.axes[0].lines[0].get_ydata().tolist() == [9.0, 5.6, 10.6]
    assert methods().axes[0].lines[1].get_ydata().tolist() == [0, 50, 100]
    many = plot_methods([0, 1], {f"method {i}": [0, 0.1 * i] for i in range(len(LINES))})
    looks = {(line.get_linestyle(), line.get_color(), line.get_marker()) for line in many.axes[0].lines}
    assert len(looks) == len(LINES)
    assert all(len(set(to_rgb(line.get_color()))) == 1 for line in many.axes[0].lines)


def test_names_are_taken_literally():
    figure = plot_methods([0, 1], {"5 $ \\frac{ or 6 $\n": [0, 0.5]}, title="a $b_{$ c\x1b")
    assert figure.legends[0].get_texts()[0].get_text() == "5 $ \\frac{ or 6 $ "
    drawn(figure)
    drawn(plot_balance(["$\\bad{$ x"], [1.0], total="$_$"))


def test_matplotlib_itself_is_left_alone():
    before = dict(matplotlib.rcParams)
    for picture in ALL:
        picture()
    assert dict(matplotlib.rcParams) == before
    code = (
        "import sys; from sumpwise.plots import plot_methods; assert 'matplotlib' not in sys.modules; "
        "plot_methods([0, 1], {'a': [0, 1]}); assert 'matplotlib.pyplot' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_without_matplotlib_it_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "matplotlib.figure", None)
    with pytest.raises(ImportError, match=r"sumpwise\[plot\]"):
        methods()


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: plot_freshness(POURED, INSIDE[:2], OUTLET), "3, one for each point"),
        (lambda: plot_freshness("3.7", INSIDE, OUTLET), "not a sequence"),
        (lambda: plot_freshness(3.7, INSIDE, OUTLET), "not a sequence"),
        (lambda: plot_freshness([], [], []), "at least one"),
        (lambda: plot_freshness(["3.7 L"], [0.1], [0.1]), "plain numbers"),
        (lambda: plot_freshness([3.7], [math.nan], [0.1]), "finite"),
        (lambda: plot_freshness(POURED, INSIDE, OUTLET, inside_band=[0.1, 0.2, 0.3]), "not a band"),
        (lambda: plot_freshness(POURED, INSIDE, OUTLET, inside_band="ab"), "not a band"),
        (lambda: plot_freshness(POURED, INSIDE, OUTLET, outlet_band=(OUTLET, INSIDE)), "downward"),
        (lambda: plot_level([20], [1], (92, 82), 13), "window"),
        (lambda: plot_level([20], [1], (82, 92), 0), "upper_mark"),
        (lambda: plot_level([20], [1], (82, 92), 13, observed=[1, 2, 3]), "pair of sequences"),
        (lambda: plot_level([20], [1], (82, 92), 13, observed=([1, 2], [3])), "2, one for each point"),
        (lambda: plot_balance("raw", [1.0]), "not a sequence of names"),
        (lambda: plot_balance(3, [1.0]), "not a sequence of names"),
        (lambda: plot_balance(["raw"], [1.0, 2.0]), "one for each"),
        (lambda: plot_balance(["raw"], [1.0], -0.1), "negative"),
        (lambda: plot_mean_age([0, 1], {}), "not a mapping"),
        (lambda: plot_mean_age([0, 1], [[1, 2]]), "not a mapping"),
        (lambda: plot_mean_age([0, 1], {str(i): [0, 1] for i in range(8)}), "at most 7"),
        (lambda: plot_methods([0, 1], {"a": [0]}), "fresh, a"),
    ],
)
def test_refusals_say_what_and_how_to_mend(call, says):
    with pytest.raises(SumpwiseError, match=says):
        call()
