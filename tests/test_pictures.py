"""The pictures of a sheet: what they show is what the sheet says, in the reader's units, and what a job holds is text in them."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from itertools import pairwise
from pathlib import Path

import pytest

from shared import SVG, texts
from sumpwise import FileError, Job, compare_methods, draw_pictures, plan, save_pictures
from sumpwise.__main__ import main
from sumpwise._chart import TOP, WIDTH, Axis, Chart, Rows

JOBS = sorted((Path(__file__).parent / "files" / "jobs").glob("*.toml"))
DEMO = Job.demo()
LOG = DEMO.to_dict()["log"]
EVIL = '<script>alert(1)</script> & "x" ]]> \x07 \u202e'


def lines(svg):
    """The points of each line, on the paper."""
    return [[tuple(map(float, pair.split(","))) for pair in one.get("points").split()] for one in ET.fromstring(svg).iter(f"{SVG}polyline")]


def values(svg, places):
    """Places on the paper as values of the axes, by the marks of the axes themselves."""
    found = {"x": [], "y": []}
    foot = max(float(one.get("y2")) for one in ET.fromstring(svg).iter(f"{SVG}line") if one.get("x1") == one.get("x2"))
    for element in ET.fromstring(svg).iter(f"{SVG}text"):
        number = (element.text or "").replace("\N{MINUS SIGN}", "-")
        if re.fullmatch(r"-?\d+(\.\d+)?", number):
            x, y, anchor = float(element.get("x")), float(element.get("y")), element.get("text-anchor")
            if anchor == "middle" and y > foot:
                found["x"].append((x, float(number)))
            elif anchor == "end" and x < 100:
                found["y"].append((y - 4, float(number)))

    def line(marks):
        (a, first), (b, last) = marks[0], marks[-1]
        return lambda place: first + (place - a) * (last - first) / (b - a)

    across, up = line(found["x"]), line(found["y"])
    return [(across(x), up(y)) for x, y in places]


def band(svg):
    """The grey band in values of the axes: at each x its lower and its upper limit."""
    [polygon] = ET.fromstring(svg).iter(f"{SVG}polygon")
    corners = values(svg, [tuple(map(float, pair.split(","))) for pair in polygon.get("points").split()])
    there, back = corners[: len(corners) // 2], corners[: len(corners) // 2 - 1 : -1]
    return [(x, low, high) for (x, low), (_, high) in zip(there, back, strict=True)]


def dashes(svg, name):
    """The dashes of the line, straight or through points, that ends where its name at the right points to."""
    root = ET.fromstring(svg)
    [label] = [one for one in root.iter(f"{SVG}text") if one.text == name and one.get("text-anchor") == "start"]
    straight = list(root.iter(f"{SVG}line"))
    to = (float(label.get("x")) - 3, float(label.get("y")) - 13 + 17 / 2)
    [lead] = [one for one in straight if (float(one.get("x2")), float(one.get("y2"))) == pytest.approx(to, abs=0.11)]
    ends = [(float(one.get("x2")), float(one.get("y2")), one) for one in straight if float(one.get("x1")) < float(one.get("x2"))]
    ends += [(*map(float, one.get("points").split()[-1].split(",")), one) for one in root.iter(f"{SVG}polyline")]
    end = (float(lead.get("x1")) - 5, float(lead.get("y1")))
    named = [one for x, y, one in ends if (x, y) == pytest.approx(end, abs=0.11) and one.get("stroke") != "#eee"]
    return named[-1].get("stroke-dasharray")


PLUG = {
    "vehicle": {"name": "example wagon", "level_check": "overflow plug"}, "capacity": {"total": "7.6 L"},
    "fluid": {"density_15": "850 kg/m³"}, "level": {"window": "40-46 °C"},
}  # fmt: skip
"""A job whose level is checked at an overflow plug."""
SHORT = PLUG | {
    "vessel": [{"name": "pan", "graduation": "0.1 L"}],
    "log": [{"event": "drained", "vessel": "pan", "reading": "3 L"}, {"event": "poured", "vessel": "pan", "reading": "2.5 L"}],
}
"""The same, and a pour that is half a litre short of what was drained."""


def level_of(data):
    return draw_pictures(Job.from_dict(data)).get("level")


def test_fresh_is_what_the_steps_and_the_log_say():
    svg = draw_pictures(DEMO)["fresh"]
    planned, outlet, logged = (values(svg, points) for points in lines(svg))
    bursts = plan(DEMO).section("steps").data["bursts"]
    for (litres, share), burst in zip(planned[2:], bursts, strict=True):
        assert litres == pytest.approx(burst["poured"], abs=0.02)
        assert share == pytest.approx(100 * burst["resident_fresh"]["value"], abs=0.2)
    assert outlet[-1][1] == pytest.approx(100 * bursts[-1]["outlet_fresh"]["value"], abs=0.2)
    unmatched = DEMO.with_(log=[{key: value for key, value in entry.items() if key != "outlet_old"} for entry in DEMO.to_dict()["log"]])
    now = plan(unmatched).section("now").data  # the line is by the litres alone; the sheet goes by the vials too
    assert logged[-1][1] == pytest.approx(100 * now["fresh"]["value"], abs=0.2)
    assert {"target 75 %", "stop: 11.2 L"} <= set(texts(svg))


def test_the_band_of_fresh_is_two_standard_uncertainties_to_either_side():
    svg = draw_pictures(DEMO)["fresh"]
    [polygon] = ET.fromstring(svg).iter(f"{SVG}polygon")
    band = [tuple(map(float, pair.split(","))) for pair in polygon.get("points").split()]
    last = plan(DEMO).section("steps").data["bursts"][-1]["resident_fresh"]
    low, high = (up for _, up in values(svg, band[len(band) // 2 - 1 : len(band) // 2 + 1]))
    assert high - low == pytest.approx(4 * 100 * last["standard_uncertainty"], abs=0.3)
    assert (high + low) / 2 == pytest.approx(100 * last["value"], abs=0.3)


def test_the_target_stands_at_its_share_and_what_was_done_is_heavier_than_what_is_planned():
    svg = draw_pictures(DEMO)["fresh"]
    aimed = dashes(svg, "target 75 %")
    straight = [one for one in ET.fromstring(svg).iter(f"{SVG}line") if one.get("stroke-dasharray") == aimed]
    flat = [float(one.get("y1")) for one in straight if one.get("y1") == one.get("y2")]
    assert [up for _, up in values(svg, [(0, y) for y in flat])] == [pytest.approx(75, abs=0.2)]
    planned, _, logged = (float(one.get("stroke-width")) for one in ET.fromstring(svg).iter(f"{SVG}polyline"))
    assert logged > planned


def test_what_is_there_is_drawn_solid_and_what_is_aimed_at_or_predicted_is_dashed():
    pictures, plug = draw_pictures(DEMO), level_of(PLUG)
    assert dashes(plug, "lip of the plug") is None
    assert dashes(pictures["level"], "upper mark") is None
    assert dashes(pictures["level"], "lower mark") is None
    assert dashes(pictures["level"], "what this fill shows") is not None
    assert dashes(pictures["fresh"], "target 75 %") is not None
    assert dashes(plug, "correct fill") is not None


def test_the_crosses_are_the_fresh_shares_seen_at_the_hose():
    svg = draw_pictures(DEMO)["fresh"]
    crosses = re.findall(r'd="M([\d.]+) ([\d.]+)l10 10m0 -10l-10 10"', svg)
    seen = [up for _, up in values(svg, [(float(x) + 5, float(y) + 5) for x, y in crosses])]
    assert seen == pytest.approx([100 - float(one["outlet_old"].split()[0]) for one in LOG if "outlet_old" in one], abs=0.2)


@pytest.mark.parametrize("method", ["drain", "drains", "bursts", "machine stirred", "drain and machine"])
def test_each_method_ends_at_its_litres_and_its_fresh_share(method):
    job = DEMO.with_(log=[], target={"method": method})
    svg, told = draw_pictures(job)["fresh"], compare_methods(job)[method]
    litres, share = values(svg, lines(svg)[0])[-1]
    assert share == pytest.approx(100 * told.fresh.nominal_value, abs=0.2)
    trim = 0.25 if method == "bursts" else 0.0
    assert litres == pytest.approx(getattr(told.volume.m_as("L"), "nominal_value", told.volume.m_as("L")) - trim, rel=0.005)


def test_age_ends_where_the_history_does():
    """Nine years old and nothing done for ten more; one drain of 3.3/8.85 each four years, at 0, 4 and 8."""
    svg = draw_pictures(DEMO)["age"]
    nothing, drain = (values(svg, points) for points in lines(svg)[:2])
    assert nothing[-1] == pytest.approx((10, 19), abs=0.05)
    r = 3.3 / 8.85
    after = 9.0
    for _ in range(3):
        after = (1 - r) * after + 4
    assert drain[-1] == pytest.approx((10, after - 2), abs=0.05)


def test_the_account_is_the_count_after_each_entry():
    svg = draw_pictures(DEMO)["account"]
    [count] = lines(svg)
    said = [text for text in texts(svg) if re.match(r"\d+ \w", text)]
    assert said[1] == "2 drained 3.35 L"
    assert len(count) == len(said) == len([one for one in LOG if one["event"] in ("stick", "drained", "poured", "lost")])
    assert count[0][1] < count[-1][1]  # from the top down
    assert "+0.05 ± 0.11 L" in texts(svg)


@pytest.mark.parametrize(("units", "litres"), [("metric", 1.0), ("US", 0.946353)])
def test_the_bars_and_the_sticks_of_the_account_are_two_standard_uncertainties_to_either_side(units, litres):
    svg, told = draw_pictures(DEMO, units)["account"], plan(DEMO).section("balance").data["off_target"]
    root = ET.fromstring(svg)
    paper = [(float(e.get("x")), float((e.text or "").replace("\N{MINUS SIGN}", "-"))) for e in root.iter(f"{SVG}text")
             if e.get("text-anchor") == "middle" and re.fullmatch(r"[-\N{MINUS SIGN}]?[\d.]+", e.text or "")]  # fmt: skip
    (a, first), (b, last) = paper[0], paper[-1]

    def value(x):
        return (first + (float(x) - a) * (last - first) / (b - a)) * litres

    bars = [one for one in root.iter(f"{SVG}rect") if one.get("height") == "14"]
    rows = lines(svg)[0]
    assert [float(one.get("y")) + 7 for one in bars] == pytest.approx([y for _, y in rows])
    ends = value(bars[-1].get("x")), value(float(bars[-1].get("x")) + float(bars[-1].get("width")))
    count, u = told["count"]["value"], told["count"]["standard_uncertainty"]
    assert ends == pytest.approx((count - 2 * u, count + 2 * u), abs=0.004)
    sticks = [one for one in root.iter(f"{SVG}line") if one.get("stroke-width") == "1.6"]
    stick, u = told["stick"]["value"], told["stick"]["standard_uncertainty"]
    assert (value(sticks[-1].get("x1")), value(sticks[-1].get("x2"))) == pytest.approx((stick - 2 * u, stick + 2 * u), abs=0.004)


def test_the_window_of_the_account_is_half_the_marks_to_either_side():
    svg = draw_pictures(DEMO)["account"]
    [window] = [one for one in ET.fromstring(svg).iter(f"{SVG}rect") if one.get("stroke-dasharray")]
    left, width = float(window.get("x")), float(window.get("width"))
    marks = [(float(one.get("x")), float(one.text.replace("\N{MINUS SIGN}", "-"))) for one in ET.fromstring(svg).iter(f"{SVG}text")
             if one.get("text-anchor") == "middle" and re.fullmatch(r"[-\N{MINUS SIGN}]?[\d.]+", one.text or "")]  # fmt: skip
    (a, first), (b, last) = marks[0], marks[-1]
    ends = [first + (x - a) * (last - first) / (b - a) for x in (left, left + width)]
    assert ends == pytest.approx([-0.21, 0.21], abs=0.01)


def test_the_level_shows_what_the_stick_predicts():
    """A fill on target stands at the middle of the marks in the middle of the window: 6.5 mm at 87 °C, 0.21 mm less a degree below."""
    svg = draw_pictures(DEMO.with_(log=[]))["level"]
    [curve] = (values(svg, points) for points in lines(svg))
    at = {round(t): mm for t, mm in curve}
    assert curve[0][0] == pytest.approx(20, abs=0.2)
    assert min(abs(mm - 6.5) for t, mm in curve if abs(t - 87) < 2) < 0.4
    assert (curve[-1][1] - curve[0][1]) / (curve[-1][0] - curve[0][0]) == pytest.approx(0.206, abs=0.01)
    assert at
    assert "a correct fill" in texts(svg)
    assert "what this fill shows" in texts(draw_pictures(DEMO)["level"])


def test_a_stick_read_before_anything_was_moved_is_what_the_fill_shows():
    """1 mm at 86 °C: the curve passes through what was read."""
    svg = draw_pictures(DEMO.with_(log=LOG[:1]))["level"]
    [curve] = (values(svg, points) for points in lines(svg))
    (t, mm), (later, higher) = next(pair for pair in pairwise(curve) if pair[0][0] <= 86 <= pair[1][0])
    assert mm + (86 - t) * (higher - mm) / (later - t) == pytest.approx(1, abs=0.3)
    assert "what this fill shows" in texts(svg)


def test_the_band_on_the_stick_is_two_standard_uncertainties_of_fill_and_prediction():
    """The uncertainties of the fill, 13 mm for 0.42 L, and of the prediction are independent: squares add up at every temperature."""
    off = plan(DEMO).section("balance").data["off_target"]["joint"]["standard_uncertainty"] * 13 / 0.42
    of_both, of_prediction = (band(draw_pictures(job)["level"]) for job in (DEMO, DEMO.with_(log=[])))
    for (t, low, high), (same, least, most) in zip(of_both, of_prediction, strict=True):
        assert same == pytest.approx(t, abs=0.2)
        assert high - low == pytest.approx(((most - least) ** 2 + (4 * off) ** 2) ** 0.5, abs=0.15)
    assert of_prediction[0][2] - of_prediction[0][1] > 1


@pytest.mark.parametrize(("data", "hottest"), [(DEMO.with_(log=[]).to_dict(), 97), (PLUG, 61)])
def test_the_level_is_drawn_in_even_steps_to_above_the_window(data, hottest):
    """Five degrees above the window of a stick, fifteen above that of a plug."""
    svg = level_of(data)
    temperatures = [t for t, _ in values(svg, lines(svg)[-1])]
    assert temperatures[-1] == pytest.approx(hottest, abs=0.2)
    steps = [b - a for a, b in pairwise(temperatures)]
    assert max(steps) - min(steps) < 0.4


def test_the_axis_of_the_stick_goes_no_further_than_what_is_drawn():
    for job in (DEMO, DEMO.with_(log=[])):
        svg = draw_pictures(job)["level"]
        marks = sorted({float(text.replace("\N{MINUS SIGN}", "-")) for text in texts(svg) if re.fullmatch(r"[-\N{MINUS SIGN}]?\d+", text)})
        lowest = min(low for _, low, _ in band(svg))
        assert min(marks) <= lowest + 0.1
        assert lowest - min(marks) < 5


def described(svg):
    return ET.fromstring(svg).find(f"{SVG}desc").text


def test_the_picture_of_new_fluid_says_what_the_method_ends_with():
    job = DEMO.with_(log=[])
    planned = plan(job).section("steps").data["bursts"][-1]["resident_fresh"]
    said, u = map(int, re.search(r"(\d+) ± (\d+) % of the fill is new fluid", described(draw_pictures(job)["fresh"])).groups())
    assert (said, u) == pytest.approx((100 * planned["value"], 100 * planned["standard_uncertainty"]), abs=0.51)


@pytest.mark.parametrize("job", [PLUG, SHORT], ids=["no log", "half a litre short"])
def test_the_axis_of_the_plug_goes_no_further_than_what_is_drawn(job):
    svg = level_of(job)
    drawn = [litres for points in lines(svg) for _, litres in values(svg, points)]
    drawn += [limit for _, *limits in (band(svg) if job is SHORT else []) for limit in limits]
    marks = [float(text.replace("\N{MINUS SIGN}", "-")) for text in texts(svg) if re.fullmatch(r"[-\N{MINUS SIGN}]?\d\.\d+", text)]
    step = marks[1] - marks[0]
    assert min(marks) - 0.02 <= min(drawn) < min(marks) + step
    assert max(marks) - step < max(0.0, *drawn) <= max(marks) + 0.02


def test_the_overflow_plug_is_reached_in_the_middle_of_its_window():
    """7.6 L, 40-46 °C: a degree is 7.6·(0.6278/850 - 3·23e-6) L, 5.1 mL; a pour that is half a litre short ends half a litre below."""
    svg = level_of(PLUG)
    [right] = (values(svg, points) for points in lines(svg))
    assert (right[-1][1] - right[0][1]) / (right[-1][0] - right[0][0]) == pytest.approx(0.0051, abs=0.0003)
    assert min(abs(litres) for t, litres in right if abs(t - 43) < 1.2) < 0.005
    assert {"check window", "lip of the plug", "correct fill"} <= set(texts(svg))
    svg = level_of(SHORT)
    this, right = (values(svg, points) for points in lines(svg))
    assert this[0][1] - right[0][1] == pytest.approx(-0.5, abs=0.1)
    assert "this fill by the count" in " ".join(texts(svg))
    for (t, litres), (same, low, high) in zip(this, band(svg), strict=True):
        assert same == pytest.approx(t, abs=0.2)
        assert (low + high) / 2 == pytest.approx(litres, abs=0.02)
        assert 0 < high - low < 1
    off = plan(Job.from_dict(SHORT)).section("now").data["off_target"]
    assert high - low == pytest.approx(4 * off["standard_uncertainty"], abs=0.01)
    assert level_of({key: table for key, table in PLUG.items() if key != "level"}) is None
    assert level_of(PLUG | {"vehicle": {"name": "axle", "kind": "axle"}}) is None


def test_a_fill_far_off_is_not_predicted_on_the_stick():
    assert "a correct fill" in texts(draw_pictures(DEMO.with_(log=LOG[:2]))["level"])


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
@pytest.mark.parametrize("units", ["metric", "US", "both"])
def test_every_job_has_pictures_in_the_readers_units(path, units):
    job = Job.from_toml(path)
    for name, svg in draw_pictures(job, units).items():
        root = ET.fromstring(svg)
        assert root.get("role") == "img"
        named = root.get("aria-labelledby").split()
        assert [element.get("id") for element in root if element.tag in (f"{SVG}title", f"{SVG}desc")] == named
        assert all(element.text for element in root if element.tag in (f"{SVG}title", f"{SVG}desc"))
        said = " ".join([*texts(svg), *(e.text for e in root.iter(f"{SVG}desc"))])
        foreign = r"\d ?(?:L|mL|mm|°C)\b|, (?:L|mm|°C)$" if units == "US" else r"\bqt\b|°F|fl oz|\d in\b"
        assert units == "both" or not re.search(foreign, said), (name, said)


def test_a_sealed_unit_has_nothing_to_pour():
    for path in JOBS:
        if path.stem.startswith("sealed"):
            assert set(draw_pictures(Job.from_toml(path))) == {"age"}


def test_black_and_grey_alone_and_no_two_lines_alike():
    for svg in draw_pictures(DEMO).values():
        assert set(re.findall(r"#[0-9a-f]+", svg)) <= {"#000", "#555", "#ccc", "#eee", "#fff"}
        strokes = [one.get("stroke-dasharray") for one in ET.fromstring(svg).iter(f"{SVG}polyline")]
        assert len(set(strokes)) == len(strokes)


def test_what_was_written_in_a_job_is_text():
    data = DEMO.to_dict() | {"title": EVIL}
    data["vessel"][0]["name"] = EVIL
    log = [entry | ({"vessel": EVIL} if entry.get("vessel") == DEMO.to_dict()["vessel"][0]["name"] else {}) for entry in LOG]
    log[3]["what"] = EVIL
    for svg in draw_pictures(Job.from_dict(data | {"log": log})).values():
        root = ET.fromstring(svg)
        assert not [element for element in root.iter() if "script" in element.tag]
        assert "\x07" not in svg
        assert "\u202e" not in svg


def test_labels_stand_apart_and_on_the_paper():
    for job in (DEMO, DEMO.with_(log=[])):
        for name, svg in draw_pictures(job).items():
            root = ET.fromstring(svg)
            at_the_right = sorted(
                float(e.get("y")) for e in root.iter(f"{SVG}text") if e.get("text-anchor") == "start" and float(e.get("x")) > WIDTH - 200
            )
            assert all(b - a > 15 for a, b in pairwise(at_the_right)), name
            assert all(TOP - 20 < y < float(root.get("height")) for y in at_the_right)


def test_a_long_log_shows_its_end():
    pours = [{"event": "poured", "vessel": "jug", "reading": "0.10 L", "temperature": "20 °C"}] * 60
    svg = draw_pictures(DEMO.with_(log=[LOG[0], LOG[1], *pours]))["account"]
    assert len(lines(svg)[0]) == 40
    assert "62 poured 0.10 L" in texts(svg)


def test_a_disputed_log_draws_what_can_be_drawn():
    wrong = [dict(entry) for entry in LOG]
    wrong[5]["reading"] = "4.70 L"
    assert {"fresh", "level", "account", "age"} == set(draw_pictures(DEMO.with_(log=wrong)))
    backwards = [*LOG[:7], LOG[6] | {"reading": "0.25 L"}]
    assert "account" not in draw_pictures(DEMO.with_(log=backwards))


@pytest.mark.parametrize(
    ("low", "high", "first", "last"), [(0, 11.2, 0, 12), (-0.013, 0.004, -0.015, 0.005), (3, 3, 2, 4), (0, 1e6, 0, 1e6)]
)
def test_an_axis_ends_at_whole_steps(low, high, first, last):
    axis = Axis("x", low, high)
    assert axis.low == pytest.approx(first)
    assert axis.high == pytest.approx(last)
    ticks = axis.ticks()
    assert 3 <= len(ticks) <= 10
    for value, text in ticks:
        assert float(text.replace("\N{MINUS SIGN}", "-")) == pytest.approx(value, abs=1e-12)


def test_a_chart_of_rows_makes_room_for_their_names():
    chart = Chart("a", "t", "d", Axis("x", 0, 1), Rows(["short", "a rather longer name of a row"]))
    assert chart.left > Chart("a", "t", "d", Axis("x", 0, 1), Rows(["short"])).left
    assert chart.at(0, 0)[1] < chart.at(0, 1)[1]


# -- into a folder


def test_the_command_draws_into_a_folder_beside_the_sheet(tmp_path, capsys):
    folder = tmp_path / "new" / "pictures"
    assert main(["--pictures", str(folder)]) == 0
    out = capsys.readouterr().out
    assert sorted(path.name for path in folder.iterdir()) == ["account.svg", "age.svg", "fresh.svg", "level.svg"]
    assert out.splitlines()[-1].startswith("Pictures: ")
    assert "fresh.svg" in out
    assert (folder / "fresh.svg").read_text(encoding="utf-8") == draw_pictures(DEMO)["fresh"]
    assert main(["--pictures", str(folder), "--json"]) == 0
    assert capsys.readouterr().out.startswith("{")


def test_a_strangers_file_is_left_alone_and_nothing_is_replaced(tmp_path, capsys):
    save_pictures(DEMO.with_(log=[]), tmp_path)
    before = (tmp_path / "fresh.svg").read_bytes()
    (tmp_path / "level.svg").write_text("<svg>mine</svg>", encoding="utf-8")
    assert main(["--pictures", str(tmp_path)]) == 2
    assert "level.svg: exists already, and is not a picture drawn by sumpwise" in capsys.readouterr().err
    assert (tmp_path / "level.svg").read_text(encoding="utf-8") == "<svg>mine</svg>"
    assert (tmp_path / "fresh.svg").read_bytes() == before
    with pytest.raises(FileError) as refused:
        save_pictures(DEMO, tmp_path)
    assert refused.value.code == "file.foreign"


def test_a_folder_that_cannot_be_is_said(tmp_path):
    (tmp_path / "file").write_text("x", encoding="utf-8")
    for folder in (tmp_path / "file", tmp_path / "a\0b", 3):
        with pytest.raises(FileError):
            save_pictures(DEMO, folder)


def test_a_reading_written_as_a_bare_zero_is_drawn_and_printed():
    """Zero needs no unit, so a job may hold the number itself."""
    job = DEMO.with_(log=[{"event": "stick", "reading": 0, "temperature": "86 °C"}])
    assert plan(job).section("level").rows[0][0] == "0"
    assert "level" in draw_pictures(job)
