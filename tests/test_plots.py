"""The pictures of plain numbers: what they show and where, that they are grey and labelled with units, and that names stay text."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest

from shared import SVG, texts
from sumpwise._chart import LETTER, LONGEST, STROKES, TOP, WIDTH, Axis, Chart, Picture, Rows
from sumpwise.errors import FileError, SumpwiseError
from sumpwise.plots import plot_balance, plot_freshness, plot_level, plot_mean_age, plot_methods

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


def scales(svg):
    """Places on the paper to values: two marks of each axis say how."""
    found = {"x": [], "y": []}
    for element in ET.fromstring(svg).iter(f"{SVG}text"):
        number = (element.text or "").replace("\N{MINUS SIGN}", "-")
        if re.fullmatch(r"-?\d+(\.\d+)?", number):
            x, y, anchor = float(element.get("x")), float(element.get("y")), element.get("text-anchor")
            if anchor == "middle":
                found["x"].append((x, float(number)))
            elif anchor == "end" and x < 80:
                found["y"].append((y - 4, float(number)))

    def line(marks):
        (a, first), (b, last) = marks[0], marks[-1]
        return lambda place: first + (place - a) * (last - first) / (b - a)

    return line(found["x"]), line(found["y"]) if found["y"] else None


def lines(svg):
    """The points of each line in values of the axes."""
    x, y = scales(svg)
    every = [one.get("points").split() for one in ET.fromstring(svg).iter(f"{SVG}polyline")]
    return [[(x(float(a)), y(float(b))) for a, b in (pair.split(",") for pair in points)] for points in every]


@pytest.mark.parametrize("picture", ALL)
def test_every_shade_is_grey_and_every_picture_says_what_it_is(picture):
    svg = picture()
    assert isinstance(svg, Picture)
    for shade in re.findall(r"#([0-9a-f]+)\b", svg):
        assert len(set(shade)) == 1
    root = ET.fromstring(svg)
    assert root.get("role") == "img"
    assert next(one.text for one in root if one.tag == f"{SVG}title") in texts(svg)
    assert next(one.text for one in root if one.tag == f"{SVG}desc")
    assert svg._repr_svg_() == str(svg)


@pytest.mark.parametrize(
    ("picture", "axes"),
    [
        (freshness, {"fresh fluid poured, L", "fresh, %"}),
        (level, {"fluid temperature, °C", "reading above the lower mark, mm"}),
        (balance, {"litres at 20 °C"}),
        (mean_age, {"years from now", "mean age of the fluid, years"}),
        (methods, {"fresh fluid used, L", "fresh inside, %"}),
    ],
)
def test_every_axis_says_what_in_which_unit(picture, axes):
    assert axes <= set(texts(picture()))


def test_a_picture_without_a_title_is_called_by_its_axes():
    assert "fresh, % against fresh fluid poured, L" in texts(plot_freshness(POURED, INSIDE, OUTLET))
    assert "litres at 20 °C" in texts(plot_balance(["a"], [0.1]))
    assert "<desc" in plot_methods([0, 1], {"a": [0, 1]}, description="made of one")
    assert "made of one" in plot_methods([0, 1], {"a": [0, 1]}, description="made of one")


def test_freshness_shows_both_lines_in_percent_with_their_bands():
    svg = freshness()
    inside, outlet = lines(svg)
    assert inside == [pytest.approx((at, 100 * share), abs=0.2) for at, share in zip(POURED, INSIDE, strict=True)]
    assert outlet == [pytest.approx((at, 100 * share), abs=0.2) for at, share in zip(POURED, OUTLET, strict=True)]
    x, y = scales(svg)
    [area] = ET.fromstring(svg).iter(f"{SVG}polygon")
    corners = [(x(float(a)), y(float(b))) for a, b in (pair.split(",") for pair in area.get("points").split())]
    assert (min(b for _, b in corners), max(b for _, b in corners)) == pytest.approx((38, 65), abs=0.2)
    edges = [one.get("d") for one in ET.fromstring(svg).iter(f"{SVG}path") if "L" in one.get("d")]
    heights = [[y(float(pair.split()[1])) for pair in edge[1:].split("L")] for edge in edges]
    assert heights == [pytest.approx([37, 50, 60], abs=0.2), pytest.approx([43, 58, 68], abs=0.2)]
    assert [[x(float(pair.split()[0])) for pair in edge[1:].split("L")] for edge in edges] == [pytest.approx(POURED, abs=0.02)] * 2
    assert {"inside", "outlet", "target"} <= set(texts(svg))
    plain = plot_freshness(POURED, INSIDE, OUTLET)
    assert "<polygon" not in plain
    assert "target" not in texts(plain)


def test_level_shows_window_marks_target_and_what_was_read():
    svg = level()
    x, y = scales(svg)
    [curve] = lines(svg)
    assert curve == [pytest.approx(point, abs=0.2) for point in ((20, -10.4), (60, -2.2), (100, 6.1))]
    shade = next(one for one in ET.fromstring(svg).iter(f"{SVG}rect") if one.get("stroke-dasharray"))
    left, width = float(shade.get("x")), float(shade.get("width"))
    assert (x(left), x(left + width)) == pytest.approx((82, 92), abs=0.3)
    read = [(x(float(one.get("cx"))), y(float(one.get("cy")))) for one in ET.fromstring(svg).iter(f"{SVG}circle")]
    assert read == [pytest.approx((61, -2), abs=0.3), pytest.approx((86, 3.5), abs=0.3)]
    assert {"check window", "lower mark", "target", "upper mark", "this fill", "1", "2", "○ read"} <= set(texts(svg))
    assert "<circle" not in plot_level([20, 100], [-10.4, 6.1], (82, 92), 13)


def test_the_waterfall_ends_at_the_sum():
    svg = balance()
    x, _ = scales(svg)
    bars = [(x(float(one.get("x"))), float(one.get("width"))) for one in ET.fromstring(svg).iter(f"{SVG}rect") if one.get("height") == "14"]
    scale = x(1.0) - x(0.0)
    assert [(left, width * scale) for left, width in bars] == [
        pytest.approx(bar, abs=0.01) for bar in ((-0.36, 0.36), (-0.36, 0.27), (-0.09, 0.20), (0.0, 0.11))
    ]
    told = texts(svg)
    assert {"−0.36", "+0.27", "+0.20", "+0.11 ± 0.08"} <= set(told)
    assert {"raw readings", "temperature", "pail scale", "balance"} <= set(told)
    whiskers = [one for one in ET.fromstring(svg).iter(f"{SVG}line") if one.get("stroke-width") == "1.6"]
    doubt = [(x(float(one.get("x1"))), x(float(one.get("x2")))) for one in whiskers]
    assert doubt == [pytest.approx((0.03, 0.19), abs=0.01)]
    assert texts(plot_balance(["a"], [0.0])).count("+0.00") == 2


@pytest.mark.parametrize(("sum_", "doubt"), [(0.1, 0.5), (-0.1, 0.5), (2.0, 3.0)])
def test_a_sum_of_great_uncertainty_has_all_of_it_on_the_axis(sum_, doubt):
    svg = plot_balance(["raw readings"], [sum_], doubt)
    across, _ = scales(svg)
    (stick,) = (one for one in ET.fromstring(svg).iter(f"{SVG}line") if one.get("stroke-width") == "1.6")
    assert (across(float(stick.get("x1"))), across(float(stick.get("x2")))) == pytest.approx((sum_ - doubt, sum_ + doubt), abs=0.01)


def test_ages_and_methods_show_every_series_distinctly():
    now, nothing = lines(mean_age())
    assert [age for _, age in now] == pytest.approx([9.0, 5.6, 10.6], abs=0.1)
    assert [age for _, age in nothing] == pytest.approx([9.0, 9.0, 14.0], abs=0.1)
    assert [share for _, share in lines(methods())[1]] == pytest.approx([0, 50, 100], abs=0.2)
    many = plot_methods([0, 1], {f"method {i}": [0, 0.1 * i] for i in range(len(STROKES))})
    strokes = [one.get("stroke-dasharray") for one in ET.fromstring(many).iter(f"{SVG}polyline")]
    assert len(set(strokes)) == len(strokes) == len(STROKES)
    assert {f"method {i}" for i in range(len(STROKES))} <= set(texts(many))


def test_names_are_taken_literally():
    svg = plot_methods([0, 1], {"5 < \\frac{ or 6 & \n": [0, 0.5]}, title='a "b" < c\x1b')
    assert "5 < \\frac{ or 6 &" in " ".join(texts(svg))
    assert any(one.startswith('a "b" < c') for one in texts(svg))
    ET.fromstring(plot_balance(["<bad x", "]]>"], [1.0, 2.0], total="<&>"))


@pytest.mark.parametrize("values", [[0.0, 0.0], [1e-300, 2e-300], [1e9, 1e9 - 1e-3], [-1e9, 1e9]])
def test_numbers_of_any_size_have_an_axis(values):
    picture = ET.fromstring(plot_mean_age(values, {"a": values}))
    wide, high = map(float, picture.get("viewBox").split()[2:])
    places = [pair.split(",") for one in picture.iter(f"{SVG}polyline") for pair in one.get("points").split()]
    assert len(places) == 2
    assert all(0 <= float(x) <= wide and 0 <= float(y) <= high for x, y in places)
    marks = [element.text for element in picture.iter(f"{SVG}text") if re.fullmatch(r"[-\N{MINUS SIGN}0-9.e+]+", element.text or "")]
    assert len(set(marks)) > 2
    assert max(map(len, marks)) <= 12  # digits beyond those of a float would be noise, and would not fit


def test_a_picture_is_saved_whole_and_over_nothing_of_another(tmp_path):
    path = tmp_path / "level.svg"
    assert level().save(path) == str(path.resolve())
    assert path.read_text(encoding="utf-8") == level()
    methods().save(path)
    assert path.read_text(encoding="utf-8") == methods()
    other = tmp_path / "mine.svg"
    other.write_text("<svg/>", encoding="utf-8")
    with pytest.raises(FileError, match="is not a picture drawn by sumpwise"):
        level().save(other)
    assert other.read_text(encoding="utf-8") == "<svg/>"


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: plot_freshness(POURED, INSIDE[:2], OUTLET), "3, one for each point"),
        (lambda: plot_freshness("3.7", INSIDE, OUTLET), "not a sequence"),
        (lambda: plot_freshness(3.7, INSIDE, OUTLET), "not a sequence"),
        (lambda: plot_freshness([], [], []), "at least one"),
        (lambda: plot_freshness(["3.7 L"], [0.1], [0.1]), "plain numbers"),
        (lambda: plot_freshness([3.7], [math.nan], [0.1]), "finite"),
        (lambda: plot_freshness([1e12], [0.1], [0.1]), "too large"),
        (lambda: plot_freshness(POURED, INSIDE, OUTLET, title=3), "title"),
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
        (lambda: plot_mean_age([0, 1], {str(i): [0, 1] for i in range(9)}), "at most 8"),
        (lambda: plot_methods([0, 1], {"a": [0]}), "fresh, a"),
    ],
)
def test_refusals_say_what_and_how_to_mend(call, says):
    with pytest.raises(SumpwiseError, match=says):
        call()


# -- on the paper


def spans(svg):
    """Each text with the place where it begins and ends, by the width of a letter, and its height."""
    for one in ET.fromstring(svg).iter(f"{SVG}text"):
        if one.get("transform") is None and one.get("font-weight") is None:
            at, size = float(one.get("x")), LETTER * len(one.text or "")
            begin = at - size * {"start": 0, "middle": 0.5, "end": 1}[one.get("text-anchor")]
            yield one.text, begin, begin + size, float(one.get("y"))


def a_chart():
    chart = Chart("a", "t", "d", Axis("across", 0, 10), Axis("up", 0, 10))
    chart.line([(0, 0), (10, 10)], 0, "a name at the right that is rather too long for the margin beside it")
    chart.window(7, 9, "check window")
    chart.stop(9.8, "stop here")
    chart.stop(0.2, "or here")
    chart.point(5, 5, "1")
    return chart


def test_everything_is_on_the_paper_and_names_of_stops_are_inside_the_frame():
    chart = a_chart()
    svg = chart.picture()
    height = float(ET.fromstring(svg).get("height"))
    for text, begin, end, y in spans(svg):
        assert 0 <= begin <= end <= WIDTH, text
        assert TOP - 20 < y < height, text
        if text in ("stop here", "or here"):
            assert chart.left < begin < end < chart.left + chart.width
            assert TOP + chart.height - 20 < y < TOP + chart.height
    for one in ET.fromstring(svg).iter(f"{SVG}line"):
        assert all(0 <= float(one.get(name)) <= WIDTH for name in ("x1", "x2"))


def test_names_stand_where_what_they_name_is():
    chart = a_chart()
    places = {text: (begin, end, y) for text, begin, end, y in spans(chart.picture())}
    (left, _), (right, _) = chart.at(7, 0), chart.at(9, 0)
    assert sum(places["check window"][:2]) / 2 == pytest.approx((left + right) / 2, abs=1)
    assert sum(places["across"][:2]) / 2 == pytest.approx(chart.left + chart.width / 2, abs=1)
    assert places["1"][1] < chart.at(5, 5)[0]  # beside its point, not on it


def test_an_axis_is_marked_from_one_end_to_the_other():
    for low, high in ((0, 10), (-3.2, 7.7), (82, 92), (0.01, 0.034)):
        values = [value for value, _ in Axis("x", low, high).ticks()]
        assert values[0] <= low < values[1]
        assert values[-2] < high <= values[-1] + 1e-12
        ending = Axis("x", low, high, ends=True)
        assert 0 <= high - ending.ticks()[-1][0] < ending.step


def test_the_marks_of_both_axes_are_short_and_outside_the_frame_and_their_names_stand_in_the_middle():
    chart = a_chart()
    root = ET.fromstring(chart.picture())
    foot = TOP + chart.height
    marks = [[float(one.get(name)) for name in ("x1", "y1", "x2", "y2")] for one in root.iter(f"{SVG}line") if one.get("stroke") == "#000"]
    across = [mark for mark in marks if mark[1] == foot and mark[0] == mark[2]]
    up = [mark for mark in marks if mark[0] < chart.left]
    assert len(across) == len(chart.x.ticks())
    assert len(up) == len(chart.y.ticks())
    assert {y2 - y1 for _, y1, _, y2 in across} == {x2 - x1 for x1, _, x2, _ in up} == {5.0}
    (name,) = (one for one in root.iter(f"{SVG}text") if one.get("transform"))
    assert float(name.get("y")) == pytest.approx(TOP + chart.height / 2)
    assert name.get("transform") == f"rotate(-90 {name.get('x')} {name.get('y')})"


def test_axes_are_solid_and_a_name_at_the_top_begins_no_higher_than_the_frame():
    chart = Chart("a", "t", "d", Axis("x", 0, 1), Axis("y", 0, 1))
    chart.named(1, 1, "one line\nand another")
    svg = chart.picture()
    assert "stroke-dasharray" not in svg
    assert min(y for text, _, _, y in spans(svg) if text == "one line") > TOP


def test_rows_stand_evenly_within_the_frame():
    chart = Chart("a", "t", "d", Axis("x", 0, 1), Rows([f"row {i}" for i in range(40)]))
    places = [chart.at(0, row)[1] for row in range(40)]
    steps = [b - a for a, b in pairwise(places)]
    assert steps == pytest.approx([steps[0]] * 39)
    assert steps[0] > 17
    assert places[0] - TOP == pytest.approx(TOP + chart.height - places[-1])


def test_a_long_title_is_cut_with_an_ellipsis():
    title = Chart("a", "word " * 40, "d", Axis("x", 0, 1), Axis("y", 0, 1)).title
    assert len(title) == LONGEST
    assert title.startswith("word word")
    assert title.endswith("…")


@pytest.mark.parametrize("high", [0.7, 1.3, 3, 4.2, 7.9, 30, 42, 79])
def test_an_axis_writes_no_decimal_that_is_nought_everywhere(high):
    written = [text for _, text in Axis("x", 0, high).ticks()]
    assert len(set(written)) == len(written)
    assert not all(text.endswith("0") for text in written if "." in text) or "." not in written[0]


def test_a_level_above_the_lower_mark_needs_nothing_below_it():
    lowest = [text for text in texts(plot_level([80, 100], [2, 12], (82, 92), 13)) if re.fullmatch(r"\N{MINUS SIGN}\d+", text)]
    assert lowest == []


def test_every_mark_stands_on_its_point_and_every_name_beside_the_end_of_its_line():
    picture = ET.fromstring(plot_freshness([3.7, 4.9, 6.1], [0.42, 0.54, 0.61], [0.10, 0.24, 0.34], target=0.9))
    round_, square = ([pair.split(",") for pair in one.get("points").split()] for one in picture.iter(f"{SVG}polyline"))
    circles = [(float(one.get("cx")), float(one.get("cy"))) for one in picture.iter(f"{SVG}circle")]
    rects = [one for one in picture.iter(f"{SVG}rect") if one.get("width") == one.get("height") == "6.8"]
    assert circles == [pytest.approx((float(x), float(y)), abs=0.1) for x, y in round_]
    middles = [(float(one.get("x")) + 3.4, float(one.get("y")) + 3.4) for one in rects]
    assert middles == [pytest.approx((float(x), float(y)), abs=0.1) for x, y in square]
    named = {one.text: float(one.get("y")) for one in picture.iter(f"{SVG}text")}
    assert named["inside"] == pytest.approx(float(round_[-1][1]), abs=10)
    assert named["outlet"] == pytest.approx(float(square[-1][1]), abs=10)


def test_a_band_may_be_as_narrow_as_its_line():
    line = [0.42, 0.54, 0.61]
    assert "<svg" in plot_freshness([3.7, 4.9, 6.1], line, line, inside_band=(line, line))
