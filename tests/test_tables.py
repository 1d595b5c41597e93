"""Tables whose head has the units, or whose cells stand side by side: Markdown, tabs, HTML, grids."""

from __future__ import annotations

import pytest

from shared import grades
from sumpwise.description import check_text
from sumpwise.description.tables import _column

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


@pytest.mark.parametrize(
    "head", ["| Bolt | N·m¹ | lb-ft² |", "| Bolt | Nm* | ft-lb* |", "| Bolt | N·m † | lb-ft ‡ |", "| Bolt | N·m [1] | lb-ft [1] |"]
)
def test_the_units_of_a_head_with_footnotes(head: str) -> None:
    assert grades(f"{head}\n|---|---|---|\n| plug | 34 | 25 |\n| cover | 10 | 89 |") == ["agrees", "wrong"]


def test_raised_footnotes_in_html() -> None:
    head = "<table><tr><th>Gear</th><th>bar<sup>1</sup></th><th>psi<sup>1</sup></th></tr>"
    assert grades(f"{head}<tr><td>P</td><td>2.5</td><td>36</td></tr><tr><td>D</td><td>6</td><td>78</td></tr></table>") == [
        "agrees",
        "wrong",
    ]


@pytest.mark.parametrize("name", ["1st drain", "2WD", "5-speed", "2015", "4 cyl", "1 pan"])
def test_a_head_may_begin_with_a_digit(name: str) -> None:
    assert grades(f"| Unit | {name} (L) | {name} (qt) |\n|---|---|---|\n| wagon | 3.3 | 3.5 |\n| van | 3.4 | 4.6 |") == ["agrees", "wrong"]


@pytest.mark.parametrize(
    "head", ["| 1st drain, L | 2nd drain, qt |", "| 2WD (L) | 4WD (qt) |", "| 34 N·m | 25 lb-ft |", "| 5 L | 5.3 qt |", "| 2015 | L |"]
)
def test_heads_that_name_two_things_or_are_values_are_not_one(head: str) -> None:
    assert "wrong" not in grades(f"{head}\n|---|---|\n| 34 | 46 |\n| 10 | 89 |")


SIDEWAYS = {
    "markdown": "| | Plug | Pan |\n|---|---|---|\n| N·m | 34 | 10 |\n| lb-ft | 25 | {} |",
    "tabs": "Bolt\tPlug\tPan\nN·m\t34\t10\nlb-ft\t25\t{}",
    "gaps": "Bolt     Plug   Pan\nN·m      34     10\nlb-ft    25     {}",
    "words": "| | Plug | Pan |\n|---|---|---|\n| Torque, N·m | 34 | 10 |\n| Torque, lb-ft | 25 | {} |",
    "html": "<table><tr><th></th><th>Plug</th><th>Pan</th></tr><tr><td>N·m</td><td>34</td><td>10</td></tr>"
    "<tr><td>lb-ft</td><td>25</td><td>{}</td></tr></table>",
    "three rows": "| N·m | 34 | 10 |\n| kgf·m | 3.5 | 1.0 |\n| lb-ft | 25 | {} |",
}


@pytest.mark.parametrize("form", SIDEWAYS.values(), ids=SIDEWAYS)
def test_a_table_on_its_side(form: str) -> None:
    assert set(grades(form.format("7.4"))) == {"agrees"}
    (wrong,) = check_text(form.format("74")).wrong
    assert wrong.expected == "7.4 lbf·ft"
    assert wrong.suggestion == "7.4"


@pytest.mark.parametrize(
    "table",
    [
        "| Torque | Front | Rear |\n|---|---|---|\n| N·m | 34 | 40 |\n| Qty | 2 | 4 |",
        "| Unit | 1st | 2nd |\n|---|---|---|\n| Drained L | 3.3 | 3.3 |\n| Poured qt | 3.6 | 3.4 |",
        "| mm | 10 | 13 | 17 |\n| in | 1/4 | 1/2 | 3/4 |",
        "| Sockets mm | 10 | 12 |\n| Sockets in | 1/4 | 3/4 |",
        "| L | 3.6 | 8.8 |\n\n| qt | 1 | 2 |",
        "| hot L | 3.6 | 8.9 |\n| cold L | 3.5 | 8.7 |",
        "| N·m | 34 | 10 |\n| lb-ft | 25 |",
        "| out, L | 3.3 | 3.2 |\n| in, qt | 3.6 | 3.3 |",
    ],
)
def test_rows_that_are_not_one_thing(table: str) -> None:
    assert grades(table) == []


ANNOUNCED = [
    "Torques in N·m (lb-ft): drain plug 34 (25), pan 10 ({}).",
    "All torques are in Nm [lb-ft].\nDrain plug: 34 [25]\nPan: 10 [{}]",
    "Torque values (Nm / ft-lb)\n\n- plug 34 / 25\n- pan 10 / {}",
    "Torque, N·m (lb-ft)\n- plug 34 (25)\n- pan 10 ({})",
    "Torques in newton metres with pound-feet in brackets. Plug 34 (25). Pan ~10 (~{}).",
]


@pytest.mark.parametrize("text", ANNOUNCED)
def test_units_said_once_for_a_list(text: str) -> None:
    assert grades(text.format("7.4")) == ["agrees", "agrees"]
    (wrong,) = check_text(text.format("74")).wrong
    assert wrong.expected == "7.4 lbf·ft"
    assert wrong.suggestion.count("7.4") == 1
    assert "lbf" not in wrong.suggestion


@pytest.mark.parametrize(
    "text",
    [
        "Amounts in litres. Pan drop: 3.6 (2 cans). Dry fill: 8.8 (4 cans).",
        "Torques in N·m. Plug 34 (1), pan 10 (18), filter 12 (3): how many in brackets.",
        "Torques in N·m (lb-ft): plug 34 (2 of them), pan 10 (18 of them).",
        "Torques in N·m (lb-ft) are in the video. Filmed on 12 (13) of March, chapters 3 (5) and 9 (2).",
        "Sizes in mm (inch drive): socket 24 (1/2), 10 (3/8)",
        "Torques in N·m (lb-ft).\n\nPlug 34 (25).\n\nChapters 3 (4), 5 (6)",
    ],
)
def test_other_pairs_of_numbers_get_no_units(text: str) -> None:
    assert "wrong" not in grades(text)


@pytest.mark.parametrize("cell", ["34 N·m", "34 ft lb dry", "2 fl oz", "34 US fl oz", "12 imp fl oz"])
def test_a_value_is_no_head_of_a_column(cell):
    assert _column(cell) is None
