"""Tables whose head has the units, or whose cells stand side by side: Markdown, tabs, HTML, grids."""

from __future__ import annotations

import pytest

from sumpwise.description import check_text

HEADS = [
    "| Bolt | Nm | ft-lb |", "| Bolt | Torque (Nm) | Torque (ft-lb) |", "| Bolt | Torque, N·m | Torque, lbf·ft |",
    "| Bolt | Metric (Nm) | US (lb-ft) |",
    "| Bolt | [N·m] | [lbf·ft] |", "| Bolt | Torque Nm | ft-lb |", "| Bolt | Nm | FT-LB |", "| Bolt | **Nm** | **ft-lb** |",
    "| Bolt | Nm ¹ | ft-lb ¹ |",
    "|Bolt|Nm|ft-lb|",
]  # fmt: skip
BOTH = ["| Bolt | Nm (ft-lb) |", "| Bolt | Torque Nm / ft-lb |", "| Bolt | Nm/ft-lb |", "| Bolt | Torque Nm [ft-lb] |"]
FORMS = {
    "markdown": "| Bolt | Nm | ft-lb |\n|:--|--:|--:|\n| plug | {} | {} |",
    "no outer strokes": "Bolt | Nm | ft-lb\n--- | --- | ---\nplug | {} | {}",
    "no rule": "| Bolt | Nm | ft-lb |\n| plug | {} | {} |",
    "tabs": "Bolt\tNm\tft-lb\nplug\t{}\t{}",
    "grid": "+------+----+-------+\n| Bolt | Nm | ft-lb |\n+------+----+-------+\n| plug | {} | {} |\n+------+----+-------+",
    "html": "<table><tr><th>Bolt</th><th>Nm</th><th>ft-lb</th></tr><tr><td>plug</td><td>{}</td><td>{}</td></tr></table>",
    "html in lines": "<table>\n <tr>\n  <th>Bolt</th>\n  <th>Nm</th>\n  <th>ft-lb</th>\n </tr>\n"
    " <tr>\n  <td>plug</td>\n  <td>{}</td>\n  <td>{}</td>\n </tr>\n"
    "</table>",
    "html with a body": "<table><thead><tr><th>Bolt<th>Nm<th>ft-lb</tr></thead>\n<tbody>\n<tr><td>plug<td>{}<td>{}</tr></tbody></table>",
    "gaps": "Bolt        Nm     ft-lb\nplug        {}     {}",
    "crlf": "| Bolt | Nm | ft-lb |\r\n|---|---|---|\r\n| plug | {} | {} |\r\n",
    "a third unit": "| Bolt | Nm | ft-lb | kgf·m |\n|---|---|---|---|\n| plug | {} | {} | 3.5 |",
    "a note behind": "| Bolt | Nm | ft-lb |\n|---|---|---|\n| plug | {} (dry) | {}* |",
    "about": "| Bolt | Nm | ft-lb |\n|---|---|---|\n| plug | ~{} | ~{} |",
    "cells with units": "| plug | {} Nm | {} ft-lb |",
    "cells with units and tabs": "plug\t{} Nm\t{} ft-lb",
    "a bracket in a cell": "| plug | {} Nm | ({} ft-lb) |",
    "one cell": "| plug | {} Nm ({} ft-lb) |",
}


def grades(text: str) -> list[str]:
    return [finding.grade or finding.verdict for finding in check_text(text)]


@pytest.mark.parametrize("form", FORMS.values(), ids=FORMS)
def test_a_table_in_any_form(form: str) -> None:
    assert set(grades(form.format(34, 25))) == {"agrees"}
    assert "wrong" in grades(form.format(34, 46))


@pytest.mark.parametrize("head", HEADS)
def test_the_units_of_a_head(head: str) -> None:
    rule = "|---|---|---|"
    assert grades(f"{head}\n{rule}\n| plug | 34 | 25 |\n| cover | 10 | 89 |") == ["agrees", "wrong"]


def test_a_row_of_values_is_no_head() -> None:
    assert grades("| 1 L | 1 US qt |\n| 5 | 20 |") == ["wrong"]  # nobody knows what 5 and 20 are


@pytest.mark.parametrize("head", BOTH)
@pytest.mark.parametrize("cell", ["{} ({})", "{} / {}", "{}/{}", "{} [{}]"])
def test_two_units_in_one_head(head: str, cell: str) -> None:
    rows = [f"| {name} | {cell.format(*pair)} |" for name, pair in (("plug", (34, 25)), ("cover", (10, 89)))]
    assert grades("\n".join([head, "|---|---|", *rows])) == ["agrees", "wrong"]


@pytest.mark.parametrize(
    ("head", "rows", "due"),
    [
        ("| Check at mi | km |", ["600 | 970", "3000 | 1900"], ["agrees", "wrong"]),
        ("| Temp (°C) | Temp (°F) |", ["40–50 | 104–122", "50–60 | 90–140"], ["agrees", "wrong"]),
        ("| Litres | Quarts |", ["3.5 | 3.7", "8.9 | 7.8"], ["agrees", "wrong"]),
        ("| mm | in |", ["24 | 15/16", "10 | 1/2"], ["agrees", "wrong"]),
        ("| km | mi |", ["60,000 | 37,000", "100k | 160k"], ["agrees", "wrong"]),
        ("| Capacity L | Drain qt |", ["8.9 | 3.4"], []),
        ("| Capacity (L) | Service fill (L) |", ["8.9 | 3.4"], []),
        ("| mm | Nm |", ["24 | 34"], []),
        ("| Year | Dry (L) |", ["2015 | 8.9"], []),
        ("| Nm | lb·ft |", ["9 | -"], []),
        ("| Range Nm | Range ft-lb |", ["5-25 | ", " | 20-150"], []),
    ],
)  # fmt: skip
def test_what_columns_are_one_thing(head: str, rows: list[str], due: list[str]) -> None:
    assert grades("\n".join([head, "|---|---|", *(f"| {row} |" for row in rows)])) == due


def test_a_finding_stands_in_its_cell() -> None:
    text = "| Bolt | Nm | ft-lb |\n|---|---|---|\n| plug | 34 | 46 |\n"
    (finding,) = check_text(text)
    assert (finding.line, text[finding.start : finding.end]) == (3, "34 | 46")
    assert (finding.stated, finding.expected) == ("46 lbf·ft", "25.1 lbf·ft")
