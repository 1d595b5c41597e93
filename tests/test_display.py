"""How results show themselves: readable, in notebooks too, and harmless whatever a text in them says."""

from __future__ import annotations

import copy
import html.parser
import io
import sys

import pytest

from sumpwise import (
    FluidHistory,
    Job,
    Ledger,
    ServiceRecord,
    SumpwiseError,
    Vessel,
    book_meaning,
    budget,
    burst_plan,
    cheapest_packs,
    check_text,
    compare_methods,
    drain_refill,
    evidence,
    measured,
    monte_carlo,
    number_card,
    plan,
    validate,
    verify,
)
from sumpwise.__main__ import main
from sumpwise._display import at_the_start, html_lines, inline, literal, markdown_table, sentence

EVIL = "<script>alert(1)</script>\x1b[31m\x07\u202e[x](javascript:y)|*b*\ud800"
"""Markup, terminal control, text direction, a link, a lone surrogate."""


class Tags(html.parser.HTMLParser):
    """Collects the elements of a page, which must close."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: set[str] = set()
        self.open: list[str] = []
        self.text = ""

    def handle_starttag(self, tag, attrs):
        assert not attrs or (tag == "th" and attrs in ([("scope", "col")], [("scope", "row")])) or (tag == "ol" and attrs[0][0] == "start")
        self.seen.add(tag)
        self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text += data


def evil_job() -> Job:
    data = copy.deepcopy(Job.demo().to_dict())
    data["title"] = data["vehicle"]["name"] = data["fluid"]["name"] = EVIL
    for table in ("bolt", "component", "pack", "vessel"):
        data[table][0]["name"] = EVIL
    for entry in data["log"]:
        if entry.get("vessel") == "pail":
            entry["vessel"] = EVIL
        if "what" in entry:
            entry["what"] = EVIL
        if "note" in entry:
            entry["note"] = EVIL
    return Job.from_dict(data)


def evil_ledger() -> Ledger:
    pail = Vessel(EVIL, "0.25 L", 0.98, 0.004)
    started = Ledger("847 kg/m³").started(measured("-0.17 L", standard="0.03 L", name=EVIL))
    return started.drained(pail, "3.35 L", "44 °C", thermometer=EVIL).lost("0.11 ± 0.05 L", EVIL, "38 °C").emptied(pail)


def shown_things():
    job, ledger = evil_job(), evil_ledger()
    record = ServiceRecord.of(job, measured(0.776, standard=0.02))
    record.learned[EVIL] = record.learned["flow"] | {"from": EVIL}
    return {
        "sheet": plan(job), "comparison": compare_methods(job), "record": record, "ledger": ledger, "explanation": ledger.explain(),
        "budget": budget(ledger.balance), "findings": check_text(f"Fill {EVIL} with 6.1 L (6.4 US qt) and 29 N·m / 39 lbf·ft {EVIL}"),
        "draws": monte_carlo(drain_refill, ["3.3 ± 0.1 L", "8.85 L"], draws=1000, seed=1),
        "card": number_card(job), "free card": number_card({EVIL: "3.6 L"}, title=EVIL, sources={EVIL: EVIL}),
    }  # fmt: skip


THINGS = shown_things()
PLAIN = {
    "job": evil_job(), "vessel": Vessel(EVIL, "0.25 L"), "history": FluidHistory("-9 y").replace(0.375, "0 y"),
    "section": plan(evil_job()).section("buy"),
    "burst plan": burst_plan("7.5 L", "3.75 L/min", "1.1 L/min", "1.6 L", "9 L", burst="1.25 L"),
    "meanings": book_meaning("3.6 ± 0.1 L", {EVIL: "3.24(5) L", "with pan and filter": "3.65(6) L"}),
    "purchase": cheapest_packs([("5 L", 46.5, EVIL), ("1 L", 9.9)], "12.37(45) L"),
    "validation": validate(lambda a: 2 * a, [measured(1.0, standard=0.1, name=EVIL)], seed=1),
    "evidence": evidence("drain_refill")[0], "report": verify(),
}  # fmt: skip


def test_what_a_terminal_shows_of_large_results_is_one_line_of_what_matters():
    # six bursts of 20 s and pours of 68.2 s: alone half a minute between one and the next, eleven times; helped, the pours alone
    assert repr(PLAIN["burst plan"]) == "<BurstPlan: 6 bursts, 14:19 alone, 6:49 with a helper>"
    assert repr(PLAIN["report"]).startswith("<Verification: ")
    assert repr(PLAIN["report"]).count(" values printed in ") == 1
    assert repr(PLAIN["report"].rows[0]).endswith(": agrees>")
    bought = cheapest_packs([("5 L", 46.5), ("1 L", 9.9)], "12.37(45) L", currency="coins")
    assert repr(bought).startswith("<Purchase: 2 × 5 L + 4 × 1 L = 132.60 coins, 14 L, chance of running short 0.0")
    assert repr(bought).endswith("; next up 3 × 5 L = 139.50 coins>")
    assert repr(PLAIN["section"]).startswith("Section('buy', 'What to buy, for the whole job', ")
    assert repr(THINGS["card"].lines[0]) == "<CardLine: Total fill: 8.85 L (9.35 US qt)>"


def test_what_is_a_table_in_a_notebook_is_one_when_it_is_printed():
    assert str(check_text("Drain 8.5 qt (7.5 L).")).splitlines() == [
        "| place | verdict          | stated | right |          write |",
        "|------:|:-----------------|-------:|------:|---------------:|",
        "|   1:7 | disagrees, wrong |  7.5 L | 8.0 L | 8.5 qt (8.0 L) |",
        "",
        "1 claim: 0 agree, 1 disagrees, 0 ambiguous.",
    ]
    ledger = str(Ledger("847 kg/m³").drained(Vessel("pail", "0.25 L"), "3.3 L", "44 °C"))
    assert "| temperature                    | +0.059 |" in ledger
    assert str(THINGS["comparison"]).startswith("## Methods side by side\n\n")
    assert str(PLAIN["section"]).startswith("## What to buy, for the whole job\n\nBuy ")


@pytest.mark.parametrize("name", THINGS)
def test_a_notebook_gets_closed_elements_and_no_foreign_ones(name):
    page = THINGS[name]._repr_html_()
    tags = Tags()
    tags.feed(page)
    assert tags.open == []
    assert tags.seen <= {"h1", "h2", "p", "strong", "table", "thead", "tbody", "tr", "th", "td", "ul", "ol", "li"}
    assert "table" in tags.seen
    assert "\n".join(page.splitlines()).replace("\n", "").isprintable()
    if "script" in tags.text:
        assert "alert(1)" in tags.text


@pytest.mark.parametrize("name", THINGS)
def test_markdown_holds_no_markup_of_a_text(name):
    shown = THINGS[name]._repr_markdown_()
    assert "<script" not in shown.replace("\\<", "")
    assert "[x](" not in shown.replace("\\[", "")
    assert "|---" in shown or "-|" in shown or "- **" in shown
    tables = [[len(line) for line in part.splitlines() if line.startswith("|")] for part in shown.split("\n\n")]
    assert all(len(set(widths)) <= 1 for widths in tables)


@pytest.mark.parametrize("name", [*THINGS, *PLAIN])
def test_nothing_that_is_printed_can_steer_a_terminal(name):
    thing = (THINGS | PLAIN)[name]
    views = [repr(thing), str(thing)]
    methods = [view for view in ("_repr_markdown_", "to_markdown", "to_text") if hasattr(thing, view) and name != "findings"]
    views += [getattr(thing, view)() for view in methods]
    for view in views:
        odd = {c for c in view if not c.isprintable() and c not in "\n\u00a0\u2007\u2009\u202f"}
        assert odd == set(), view[:300]
        view.encode("utf-8")
    assert len(repr(thing)) < 2000  # the longest has 1503 where pint writes a quantity a little longer


def test_a_path_of_control_characters_is_shown_escaped(capsys):
    assert main([f"no{EVIL}.toml"]) == 2
    said = capsys.readouterr().err
    assert "\x1b" not in said
    assert "\u202e" not in said
    assert "cannot be read" in said


def test_the_sheet_of_a_hostile_job_prints_escaped(tmp_path, capsys):
    path = tmp_path / "job.toml"
    evil = "\\u001b[31m\\u0007\\u202e<b>"
    path.write_text(
        f'title = "{evil}"\n[vehicle]\nname = "{evil}"\n[capacity]\ntotal = "8 L"\nplug_drain = "3 L"\n'
        f'[fluid]\ndensity_15 = "847 kg/m³"\ntemperature = "17 °C"\n[[component]]\nname = "{evil}"\nvolume = "1 L"\n', encoding="utf-8",
    )  # fmt: skip
    main([str(path)])
    shown = capsys.readouterr()
    for character in "\x1b\x07\u202e":
        assert character not in shown.out + shown.err


def test_check_prints_no_control_character_of_its_input(monkeypatch, capsys):
    class Given:
        buffer = io.BytesIO("Fill \x1b[31m 6.1 L (6.9 US qt)\x07\u202e.\n".encode())

    monkeypatch.setattr(sys, "stdin", Given)
    main(["check"])
    shown = capsys.readouterr().out
    assert "disagrees" in shown
    assert not {"\x1b", "\x07", "\u202e"} & set(shown)


def test_an_error_shows_only_printable_parts():
    error = SumpwiseError(EVIL, code=EVIL, argument=EVIL, value=EVIL, allowed=EVIL, hint=EVIL)
    assert str(error).isprintable()
    assert len(str(SumpwiseError("x" * 10_000, code="value.type", argument="y" * 10_000, value="z" * 10_000))) < 1000


def test_a_table_lines_up_and_numbers_stand_to_the_right():
    assert markdown_table(["name", "litres"], [["a|b", "3.20"], ["c", "12.5"]], inline).splitlines() == [
        "| name | litres |",
        "|:-----|-------:|",
        "| a\\|b |   3.20 |",
        "| c    |   12.5 |",
    ]


def test_a_sentence_keeps_its_emphasis_and_a_literal_keeps_nothing():
    assert sentence("**1.2 L** <b>[x]") == "**1.2 L** \\<b>\\[x]"
    assert literal("**1|2**") == "\\*\\*1\\|2\\*\\*"


@pytest.mark.parametrize("text", ["1. drain", "12) pour", "3.", "- a", "+ b", "= c", "7- d"])
def test_a_text_at_the_start_of_a_line_begins_no_list(text):
    number = text[: len(text) - len(text.lstrip("0123456789"))]
    assert at_the_start(text) == f"{number}\\{text[len(number):]}"


@pytest.mark.parametrize("name", ["sheet", "card", "record", "budget"])
def test_a_screen_reader_is_told_what_heads_each_cell(name):
    page = THINGS[name]._repr_html_()
    heads, *rows = page.partition("<tbody>")[0], *page.partition("<tbody>")[2].split("<tr>")[1:]
    assert heads.count("<th") == heads.count('<th scope="col">') + heads.count("<thead>") > 1
    assert '<th scope="row">' in page
    assert all(row.count("<th") <= 1 for row in rows[:3])


def test_a_screen_reader_is_told_of_lists():
    page = THINGS["sheet"]._repr_html_()
    assert "<p>- " not in page
    assert "<p>1. " not in page
    assert page.count("<ul>") == page.count("</ul>") > 1
    assert THINGS["card"]._repr_html_().count("<li>") == len(THINGS["card"].cautions)


def test_lines_become_paragraphs_and_lists_in_html():
    lines = ["First.", "- a <b>", "- c", "2. d", "3. e", "Last.", "\u00b2. no item", f"{'9' * 5000}. no item"]
    assert html_lines(lines)[:-2] == [
        "<p>First.</p>", "<ul>", "<li>a &lt;b&gt;</li>", "<li>c</li>", "</ul>", '<ol start="2">', "<li>d</li>", "<li>e</li>", "</ol>",
        "<p>Last.</p>",
    ]  # fmt: skip
    assert html_lines(["- a"]) == ["<ul>", "<li>a</li>", "</ul>"]
    assert html_lines([]) == []
