"""The number card: every number in both systems, and right by the library's own check."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from laws.lawbook import law
from sumpwise import uncertainty
from sumpwise.description import check_text
from sumpwise.errors import SumpwiseError
from sumpwise.quantities import _pint
from sumpwise.quantities.asking import quantity, span
from sumpwise.quantities.spans import Span
from sumpwise.quantities.units import by_symbol
from sumpwise.service.cards import number_card
from sumpwise.service.facts.safety import cautions
from sumpwise.service.job import Job
from sumpwise.service.render.writer import spoken
from sumpwise.service.schema import RED_ROWS


def only(value: Any, **options: Any) -> str:
    (line,) = number_card({"x": value}, **options).lines
    return line.text


def litres(value: Any) -> Any:
    return _pint.build(value, by_symbol("L"))


def newton_metres(value: Any) -> Any:
    return _pint.build(value, by_symbol("N·m"))


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("3.6 L", "3.6 L (3.8 US qt)"),
        (quantity("3.60 L"), "3.60 L (3.80 US qt)"),
        ("9.4 qt", "9.4 US qt (8.90 L)"),
        ("5½ qt", "5½ US qt (5.2 L)"),
        ("2 qt 8 fl oz", "2.25 US qt (2.13 L)"),
        ("946 mL", "946 mL (31.99 US fl oz)"),
        ("6.7 imp qt", "6.7 imp qt (7.6 L)"),
        ("8.0 ± 0.3 L", "8.0 ± 0.3 L (8.45 ± 0.32 US qt)"),
        ("34 N·m", "34 newton metres (25.1 pound-feet)"),
        ("25 ft-lb", "25 pound-feet (34 newton metres)"),
        ("9.5 N·m", "9.5 newton metres (84.1 pound-inches)"),
        ("3.5 kgf·m", "3.5 kgf·m (34 newton metres)"),
        ("31–37 N·m", "31–37 newton metres (22.9–27.2 pound-feet)"),
        (span("82–92 °C"), "82–92 °C (180–197 °F)"),
        ("180–200 °F", "180–200 °F (82.3–93.3 °C)"),
        ("-40 to -30 °C", "−40 to −30 °C (−40 to −22 °F)"),
        ("3–6 mm", "3–6 mm (0.119–0.236 in)"),
        ("3.2–3.6 L", "3.2–3.6 L (3.4–3.8 US qt)"),  # an estimate: to the nearest
        ("10 Δ°C", "10 Δ°C (18 Δ°F)"),
        ("56 000 km", "56 000 km (34 800 mi)"),
        ("29.6 mm²/s", "29.6 mm²/s"),
        ("4 y", "4 y"),
        ("90 %", "90 %"),
        (0.776, "78 %"),
        (0.0512345, "5.1 %"),
        (1.0, "100 %"),
        (0.0, "0 %"),
        (3, "3"),
    ],
)
def test_both_systems(value: Any, text: str) -> None:
    assert only(value) == text


def test_a_measured_value_shows_its_expanded_uncertainty() -> None:
    total, fresh = litres(uncertainty.source(8.853712, 0.0621)), uncertainty.source(0.776, 0.012)
    card = number_card({"Total": total, "Fresh": fresh, "Read": "4.50(8) L"})
    assert [line.text for line in card.lines] == ["8.85 ± 0.12 L (9.35 ± 0.13 US qt)", "77.6 ± 2.4 %", "4.50 ± 0.16 L (4.76 ± 0.17 US qt)"]
    assert card.lines[0].data["k"] == 2
    assert card.lines[0].data["uncertainty"] == pytest.approx(0.1242, rel=1e-12)
    assert any("k = 2" in note for note in card.notes)
    assert not number_card({"Total": "8.85 L"}).notes


def test_computed_limits_go_inward_in_both_systems() -> None:
    band = Span(newton_metres(31 / 0.96), newton_metres(37 / 1.04))
    assert only(band) == "32.3–35.5 newton metres (23.83–26.18 pound-feet)"


def test_torque_is_in_words_the_first_time() -> None:
    card = number_card({"Plug": "34 N·m", "Filter": "10 N·m", "Nut": "39 N·m", "Cap": "84 lbf·in"})
    assert [line.text for line in card.lines] == [
        "34 newton metres (25.1 pound-feet)", "10 N·m (89 pound-inches)", "39 N·m (28.8 lbf·ft)", "84 lbf·in (9.5 N·m)",
    ]  # fmt: skip


def test_the_imperial_quart_on_demand() -> None:
    assert only("3.6 L", quart="imperial") == "3.6 L (3.2 imp qt)"
    assert only("946 mL", quart="imperial") == "946 mL (33.29 imp fl oz)"


def test_sources_behind_a_switch_and_cautions_always() -> None:
    card = number_card({"Plug": "34 N·m", "Pour": "1 L/min"}, sources={"Pour": "assumed: nobody measured it"}, title="Example wagon")
    assert "assumed" not in card.to_text()
    assert "Pour: 1 L/min (0.26 US gal/min) [assumed: nobody measured it]" in card.to_text(sources=True)
    assert "assumed: nobody measured it" in card.to_markdown(sources=True)
    for text in (card.to_text(), card.to_markdown(), str(card), card._repr_markdown_()):
        assert all(spoken().sentence(caution) in text for caution in cautions())
        assert all(row in text for row in RED_ROWS)
    assert card.to_text().startswith("Example wagon\n\nPlug: 34")
    assert card.to_markdown().startswith("## Example wagon\n\n- **Plug:** 34")


def test_the_json_form_is_complete() -> None:
    data = json.loads(number_card({"Plug": "31–37 N·m", "Fill": "8.85 L"}, sources={"Fill": "book"}).to_json())
    assert data["version"] == 1
    assert data["lines"][0] == {
        "label": "Plug", "text": "31–37 newton metres (22.9–27.2 pound-feet)", "source": "", "lower": 31.0, "upper": 37.0, "unit": "N·m",
        "texts": ["31–37 newton metres", "22.9–27.2 pound-feet"],
    }  # fmt: skip
    assert data["lines"][1]["value"] == 8.85
    assert data["lines"][1]["source"] == "book"
    assert data["cautions"]


def test_what_people_wrote_cannot_steer_the_page() -> None:
    card = number_card({"a\x1b[2J|*b*": "1 L"}, sources={"a\x1b[2J|*b*": "<script>\x07"}, title="`t`\n#")
    for text in (card.to_text(True), card.to_markdown(True)):
        assert all(c.isprintable() or c == "\n" for c in text)
    assert "<script>" not in card.to_markdown(True).replace("\\<", "")


def test_the_card_of_the_demo_job() -> None:
    card = number_card(Job.demo())
    said = {line.label: line.text for line in card.lines}
    assert card.title == Job.demo().title
    assert said["Total fill"] == "8.85 L (9.35 US qt)"
    assert said["Drain plug, torque"] == "34 newton metres (25.1 pound-feet)"
    assert said["Drain plug, window"] == "31–37 N·m (22.9–27.2 lbf·ft)"
    assert said["Drain plug, wrench set to"].startswith("28.1–30.9 N·m (")
    assert said["Level window"] == "82–92 °C (180–197 °F)"
    assert any(label.startswith("Fresh inside after") for label in said)
    assert all(line.source for line in card.lines)
    findings = check_text(card.to_text())
    assert len(findings) >= 10
    assert {finding.verdict for finding in findings} == {"agrees"}


@pytest.mark.parametrize("units", ["as written", "metric", "US", "imperial"])
def test_the_card_of_a_job_passes_the_check_in_every_order_and_said_aloud(units: str) -> None:
    card = number_card(Job.demo(), units=units)
    for text in (card.to_text(), card.to_markdown(), card.to_script()):
        findings = check_text(text)
        assert len(findings) >= 10
        assert {finding.verdict for finding in findings} == {"agrees"}


def test_the_reader_names_the_system_that_comes_first() -> None:
    values = {"Drain": "3.6 L", "Plug": "25 ft-lb", "Window": "82–92 °C"}
    said = {units: [line.text for line in number_card(values, units=units).lines] for units in ("as written", "metric", "US", "imperial")}
    assert said["as written"] == ["3.6 L (3.8 US qt)", "25 pound-feet (34 newton metres)", "82–92 °C (180–197 °F)"]
    assert said["metric"] == ["3.6 L (3.8 US qt)", "34 newton metres (25 pound-feet)", "82–92 °C (180–197 °F)"]
    assert said["US"] == ["3.8 US qt (3.6 L)", "25 pound-feet (34 newton metres)", "180–197 °F (82.5–91.5 °C)"]
    assert said["imperial"][0] == "3.2 imp qt (3.6 L)"
    script = number_card(values).to_script().splitlines()
    assert script[0] == "Drain: 3.6 litres, that's 3.8 US quarts."
    assert script[2] == "Window: 82 to 92 degrees Celsius, that's 180 to 197 degrees Fahrenheit."
    with pytest.raises(SumpwiseError, match="not a system of units"):
        number_card(values, units="nautical")


def test_a_stop_sign_comes_first_and_withholds_the_method() -> None:
    inputs = Job.demo().to_dict()
    inputs["log"].append({"event": "seen", "seen": "pink or milky fluid"})
    card = number_card(Job.from_dict(inputs))
    assert card.to_text().splitlines()[2].startswith("Stop: pink or milky fluid – coolant in the fluid")
    assert card.to_dict()["stop"] == card.stop
    assert not any(line.label.startswith(("Fresh", "Drain plug, wrench")) for line in card.lines)


@pytest.mark.parametrize(
    ("values", "options", "words"),
    [
        ({"x": "6.1"}, {}, "x: .*no unit"),
        ({"x": "nonsense"}, {}, "x: .*expected a number"),
        ({"x": None}, {}, "x: .*not a number for a card"),
        ({"x": True}, {}, "x: .*not a number for a card"),
        ({"x": 1.5}, {}, "x: .*not a share"),
        ({"x": [1, 2]}, {}, "x: .*not a number for a card"),
        ({"x": litres(1.0) / 3}, {}, "x: .*digits"),
        ({"": "1 L"}, {}, "not a label"),
        ({3: "1 L"}, {}, "not a label"),
        ({"x": "1 L"}, {"quart": "French"}, "not a quart"),
        ({"x": "1 L"}, {"sources": {"y": "book"}}, "not the label of a number on the card"),
    ],
)
def test_refusals_name_the_line(values: Any, options: dict[str, Any], words: str) -> None:
    with pytest.raises(SumpwiseError, match=words):
        number_card(values, **options)


units = st.sampled_from(
    ("L", "mL", "US qt", "imp qt", "US fl oz", "°C", "°F", "N·m", "lbf·ft", "lbf·in", "kgf·m", "mm", "in", "km", "mi", "bar", "psi")
)
numbers = st.decimals("0.1", "999", places=1)


@law("number_card", "check_text")
@example([(Decimal("248.8"), Decimal("299.5"), "L", "measured")])
@given(st.lists(st.tuples(numbers, numbers, units, st.sampled_from(("one", "span", "measured"))), min_size=1, max_size=5))
def test_a_card_passes_the_check(rows: list[tuple[Any, Any, str, str]]) -> None:
    """Whatever a card says, the check of a text agrees with it."""
    values: dict[str, Any] = {}
    for index, (one, other, unit, form) in enumerate(rows):
        low, high = sorted((one, other))
        if form == "span" and low < high:
            values[f"row {index}"] = f"{low} to {high} {unit}"
        elif form == "measured" and unit[0] != "°":
            values[f"row {index}"] = _pint.build(uncertainty.source(float(high), float(low) / 50), by_symbol(unit))
        else:
            values[f"row {index}"] = f"{one} {unit}"
    card = number_card(values)
    findings = check_text(card.to_text())
    assert len(findings) == len(rows)
    assert {finding.verdict for finding in findings} == {"agrees"}


@pytest.mark.parametrize("text", ["4 1/2 ± 1/4 qt", "(4 1/2 ± 1/4) qt", "4 1/2 +/- 1/4 qt"])
def test_a_fraction_with_a_fraction_as_its_uncertainty_is_written_once(text):
    line = number_card({"Drain": text}).lines[0].text
    assert line.startswith("4 1/2 ± 0.25 US qt (4.2")
    assert line.count("±") == 2


@pytest.mark.parametrize("units", ["as written", "metric", "US", "imperial", "both"])
@pytest.mark.parametrize("path", sorted((Path(__file__).parent / "files" / "jobs").glob("*.toml")), ids=lambda path: path.stem)
def test_the_check_finds_nothing_in_the_card_of_any_job(path, units):
    card = number_card(Job.from_toml(path), units=units)
    for text in (card.to_markdown(), str(card)):
        assert [(found.stated, found.expected) for found in check_text(text) if found.verdict != "agrees"] == []


def test_a_tolerance_sets_the_digits_of_its_number():
    assert [found.verdict for found in check_text("2.4 ± 0.1 US qt (2.271 ± 0.095 L)")] == ["agrees"]
    assert [found.verdict for found in check_text("0.919 ± 0.069 imp qt (1.045 ± 0.078 L)")] == ["agrees"]
    assert [found.grade for found in check_text("2.4 ± 0.1 US qt (2.371 ± 0.095 L)")] == ["wrong"]
    assert [found.grade for found in check_text("3.3 ± 0.1 L (3.4871 ± 0.1 qt)")] == ["style"]
    (found,) = check_text("Tighten to 25 ± 5 N·m (18 ± 7 lb·ft).")  # 5 N·m are 3.7 lbf·ft
    assert (found.grade, found.expected) == ("wrong", "18.4 ± 3.7 lbf·ft")
