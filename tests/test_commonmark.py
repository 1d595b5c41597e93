"""Texts that people wrote, seen by a CommonMark parser with raw HTML on: nothing in them becomes a tag, a link, code or a fence."""

from __future__ import annotations

from collections import Counter
from functools import cache
from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from sumpwise import (
    Circuit,
    Job,
    Vessel,
    best_use,
    book_meaning,
    cheapest_packs,
    check_text,
    compare,
    compare_methods,
    number_card,
    plan,
)
from sumpwise._display import MARKS, literal, markdown_table
from sumpwise.service.drawing import draw_pictures
from sumpwise.service.keys import TEXT
from sumpwise.service.schema import LISTS, TABLES

PARSER = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])
HOSTILE = [
    "<script>alert(1)</script>", "\\<img src=x onerror=1>", "\\\\<b>", "<!-- note", "<https://example.invalid>", "&lt;b&gt;", "&#60;b>",
    "[x](javascript:1)", "\\[x](y)", "![i](j)", "[a]: b", "`code`", "\\`x`", "``", "~~~", "```\nfence", "~~gone~~", "a|b", "\\|",
    "| a | b |", "**b**", "__b__", "*a*", "_a_", "# head", "- item", "+ item", "* item", "1. one", "2) two", "> said", "---", "===",
    "    code", "\tcode", "a\n\n<b>", "a\r\n~~~\r\nb", "\u2028<b>",
]  # fmt: skip
LIVE = {"html_block", "html_inline", "fence", "code_block", "code_inline", "link_open", "image", "s_open"}


def tokens(text):
    waiting = list(PARSER.parse(text))
    while waiting:
        one = waiting.pop()
        waiting += one.children or []
        yield one


def live(text):
    """What a parser makes of a text beyond words, headings, lists, emphasis and tables."""
    return sorted(one.type for one in tokens(text) if one.type in LIVE)


def words(text):
    """What a reader sees."""
    inline = [one for one in PARSER.parse(text) if one.type == "inline"]
    parts = [child for one in inline for child in one.children]
    return " ".join("".join(" " if c.type in ("softbreak", "hardbreak") else c.content for c in parts).split())


def test_the_parser_would_see_what_is_live():
    assert live("<b>x</b> [a](b) `c` ~~d~~") == ["code_inline", "html_inline", "html_inline", "link_open", "s_open"]
    assert live("~~~\nx\n~~~") == ["fence"]


@pytest.mark.parametrize("text", HOSTILE)
@pytest.mark.parametrize("frame", ["{}", "- **{}**: 3 L", "is {} and", "| a |\n|---|\n| {} |", "> {}"])
def test_a_text_stays_words_wherever_it_stands(text, frame):
    shown = frame.format(literal(text))
    assert live(shown) == []
    kinds = {one.type for one in PARSER.parse(shown)}
    assert kinds == {one.type for one in PARSER.parse(frame.format("plain"))}
    assert words(shown) == words(frame.format("plain")).replace("plain", " ".join(literal_words(text).split()))


def literal_words(text):
    return "".join(c if c.isprintable() or c in " \u00a0" else " " if c == "\n" else c.encode("unicode_escape").decode() for c in text)


@given(st.text(alphabet=MARKS + "-+=.1) \nab", max_size=30).filter(str.strip))
def test_any_text_stays_words(text):
    for shown in (literal(text), f"- {literal(text)}", f"so {literal(text)}"):
        assert live(shown) == []
    assert [one.type for one in PARSER.parse(literal(text))] == ["paragraph_open", "inline", "paragraph_close"]


@pytest.mark.parametrize("text", HOSTILE)
def test_results_with_names_in_them_stay_words(text):
    found = [
        number_card({text: "3.6 L"}, title=text, sources={text: text}),
        book_meaning("3.6 ± 0.1 L", {text: "3.24(5) L", "the other": "3.65(6) L"}),
        cheapest_packs([("5 L", 46.5, text), ("1 L", 9.9, "bottle")], "12(1) L", currency=text),
        best_use(Circuit("4 L", "2.5 L", "0.6 L"), "3 L", drain="3 L"),
        Vessel(text, "0.25 L"),
    ]
    for one in found:
        for method in ("_repr_markdown_", "to_markdown"):
            if hasattr(one, method):
                assert live(getattr(one, method)()) == [], method
    assert live(number_card({text: "3.6 L"}, title=text, sources={text: text}).to_markdown(sources=True)) == []
    assert live(markdown_table(["a"], [[text]], literal)) == []


NAMED = {"title", *(name for keys in (TABLES | LISTS).values() for name, key in keys.items() if key.kind == TEXT)}
"""Keys of a job whose text is a user's own."""


def told(value, text, key=""):
    """A job whose every name begins with a text."""
    if isinstance(value, dict):
        return {k: told(v, text, k) for k, v in value.items()}
    if isinstance(value, list):
        return [told(v, text, key) for v in value]
    return f"{text} {value}" if key in NAMED and isinstance(value, str) else value


@pytest.mark.parametrize("text", ["<script>x</script>", "\\<img src=x>", "[x](y)", "`code`", "~~~", "a|b", "**b** _c_", "<!-- note"])
def test_the_names_of_a_job_stay_words_on_its_sheet(text):
    sheet = plan(Job.from_dict(told(Job.demo().to_dict(), text)))
    plain = plan(Job.demo())
    for full in (True, False):
        shown, other = sheet.to_markdown(full), plain.to_markdown(full)
        assert live(shown) == []
        assert sum(one.type == "tr_open" for one in tokens(shown)) == sum(one.type == "tr_open" for one in tokens(other))
    page = sheet._repr_html_()
    assert not any(mark in page for mark in ("<script", "<img", "<!--"))
    assert live(number_card(Job.from_dict(told(Job.demo().to_dict(), text))).to_markdown()) == []


def shapes(text):
    """The number of cells in each row of each table, as a reader sees them."""
    found = []
    for one in PARSER.parse(text):
        if one.type == "table_open":
            found.append([])
        elif one.type == "tr_open":
            found[-1].append(0)
        elif one.type in ("th_open", "td_open"):
            found[-1][-1] += 1
    return found


@cache
def wrote_tables(word):
    """Everything that shows a table in Markdown, of a job whose every name begins with a word: name -> Markdown."""
    data = told(Job.demo().to_dict(), word)
    data["component"] = [*data.get("component", ()), {"name": f"{word} case", "volume": "0.9 L", "fluid": f"{word} oil"}]
    data["pack"] = [*data["pack"], {"name": f"{word} tin", "volume": "1 L", "price": 9.0, "for": f"{word} case"}]
    data["log"] = [entry | ({"thermometer": f"{word} probe"} if "temperature" in entry else {}) for entry in data["log"]]
    job = Job.from_dict(data)
    early = Job.from_dict(data | {"log": data["log"][:3]})
    bare = Job.from_dict(data | {"log": []})
    tables = {f"{name} {part.key}": part.to_markdown() for name, one in (("sheet", job), ("before", bare)) for part in plan(one).sections}
    tables |= {"comparison": compare_methods(job)._repr_markdown_(), "card": number_card(job).to_markdown(sources=True)}
    tables |= {"compare": compare(plan(job), plan(early)).to_markdown(), "check": check_text(f"{word} 5 qt (5.7 L) {word}").to_markdown()}
    return {name: text for name, text in tables.items() if shapes(text)}


@pytest.mark.parametrize(
    "text", ["<b>", "<!-- note", "[x](y)", "``", "~~~", "a|b", "\\|", "| a | b |", "a\\|b\\\\|c", "\\", "a\n\nb | c"]
)
def test_every_table_is_whole_whatever_a_name_says(text):
    with_it, plainly = wrote_tables(text), wrote_tables("plain")
    assert len(plainly) >= 8
    assert {name: shapes(table) for name, table in with_it.items()} == {name: shapes(table) for name, table in plainly.items()}
    for name, table in with_it.items():
        assert live(table) == [], name
        assert all(len(set(rows)) == 1 for rows in shapes(table)), name


class Tags(HTMLParser):
    """The tags of a page, each with its attributes, as a browser reads them."""

    def __init__(self, page):
        super().__init__(convert_charrefs=True)
        self.found = Counter()
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.found[tag, *sorted(name for name, _ in attrs)] += 1

    def handle_comment(self, data):
        self.found["comment"] += 1


def kinds(page):
    return set(Tags(page).found)


def test_the_reader_of_pages_would_see_what_is_live():
    assert kinds("<b>x</b><img src=x onerror=y><!-- z -->&lt;i&gt;") == {("b",), ("img", "onerror", "src"), "comment"}


SOME = [
    "<script>x</script>", '\\<img src="x" onerror=y>', "[x](y)", "`code` & \"quoted\" 'so'", "~~~", "a|b", "**b** _c_", "<!-- note", "]]>",
]  # fmt: skip


@cache
def shown_of(word):
    """Tables in Markdown, pages and pictures of a job whose every name begins with a word."""
    data = told(Job.demo().to_dict(), word)
    job, other = Job.from_dict(data), Job.from_dict(data | {"log": data["log"][:3]})
    sheet, more = plan(job), [compare_methods(job), number_card(job)]
    tables = [compare(sheet, plan(other)).to_markdown(), check_text(f"{word} 5 qt (5.7 L) {word}").to_markdown()]
    tables += [part.to_markdown() for part in sheet.sections] + [part._repr_markdown_() for part in more]
    return tables, "".join(part._repr_html_() for part in (sheet, *more)), draw_pictures(job)


@pytest.mark.parametrize("text", [*SOME, "a\n\n<b>x</b>", "</text></svg><script>y</script>", "&lt;b&gt; &#60;i&#62;"])
def test_names_stay_words_in_every_table_page_and_picture(text):
    """Comparison, check and pictures of a job with hostile names have the same tags as with plain names, and no others."""
    (tables, page, pictures), (_, plain_page, plain_pictures) = shown_of(text), shown_of("plain")
    assert [live(one) for one in tables] == [[] for _ in tables]
    assert kinds(page) <= kinds(plain_page)
    for name, svg in pictures.items():
        assert kinds(svg) <= kinds(plain_pictures[name])
        assert "\n\n" not in svg  # which would end the block of HTML that it is in Markdown
        assert [one.type for one in PARSER.parse(svg)] == ["html_block"]
