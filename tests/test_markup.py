"""A description as it is read: without markup, cue times and invisible characters; every place traced back to the text as written."""

from __future__ import annotations

import tracemalloc

import pytest

from sumpwise.description import check_text
from sumpwise.description.normalising import Text
from sumpwise.quantities.normalising import Normal

SAME = [
    "**Plug:** `34 N·m` (46 lb-ft)", "<b>34&nbsp;N&middot;m</b> (<i>46 lb-ft</i>)", "34 N·m<br>(46 lb-ft)",
    "<p>34 N·m</p><p>(46 lb-ft)</p>",
    "34&#8239;N·m (46&#x202f;lb-ft)", "34\u00a0N·m (46\u202flb\u2011ft)", "34\u200b N·m (46 lb-ft)", "\u202a34 N·m\u202c (46 lb-ft)",
    "３４ N·m （46 lb-ft）", "34 N∙m (46 lb∙ft)", "34 N•m (46 lb•ft)", "34 N⋅m (46 lb⋅ft)", "34 N.m (46 lb.ft)", "34 Nm. (46 lb. ft.)",
    "34 NM (46 LB-FT)", "34 newton-metres (46 foot-pounds)", "34 N · m (46 lbf · ft)", "34 N·m \\(46 lb-ft\\)", "~~34~~ 34 N·m (46 lb-ft)",
    "34 N·m\r\n(46 lb-ft)", "[34 N·m](https://example.invalid/34nm) (46 lb-ft)", "<!-- 34 --> 34 N·m (46 lb-ft)", "*34 N·m* (*46 lb-ft*)",
    "34 N·m<!-- a\nb --> (46 lb-ft)", "__34 N·m__ / __46 lb-ft__", "34 N·m — 46 lb-ft", "34 N·m = <strong>46</strong> lb-ft",
]  # fmt: skip


@pytest.mark.parametrize("text", SAME)
def test_markup_hides_no_slip(text: str) -> None:
    (finding,) = check_text(text)
    assert (finding.grade, finding.slip) == ("wrong", "units swapped")
    assert "46" in text[finding.start : finding.end]


NOTHING = [
    "https://example.invalid/34nm-46ftlb", "<img width=\"34\" height=\"46\">", "[see](https://example.invalid/5L=9qt)",
    "www.example.invalid/5l/9qt",
    "<a href=\"5qt-4l\">fluid</a>", "<!-- 34 Nm (46 ft-lb) -->", "#34Nm #46ftlb",
]  # fmt: skip


@pytest.mark.parametrize("text", NOTHING)
def test_what_shows_nothing_is_not_read(text: str) -> None:
    assert not check_text(text)


def test_every_place_leads_back_through_all_stages() -> None:
    text = "<p>six and a half&nbsp;quarts</p>\r\n| Nm | ft-lb |\r\n| 34 | 46 |\r\n"
    whole = Text(text)
    assert whole.read.startswith("\n6 1/2 quarts")
    at = whole.read.index("46")
    assert text[slice(*whole.normal.written(at, at + 2))] == "46"
    at = whole.read.index("6 1/2")
    assert text[slice(*whole.normal.written(at, at + 5))] == "six and a half"
    assert whole.was_words(at)
    assert not whole.was_words(whole.read.index("46"))


def test_what_is_said_in_words_at_the_very_beginning_leads_back_to_them() -> None:
    normal = Normal("Six quarts").edited([(0, 3, "6")])
    assert normal.text == "6 quarts"
    assert [normal.written(0, 1), normal.written(0, 8), normal.written(2, 8)] == [(0, 3), (0, 10), (4, 10)]


def test_an_edit_keeps_the_places_around_it() -> None:
    normal = Normal("a quart, two quarts").edited([(0, 1, "1"), (9, 12, "2")])
    assert normal.text == "1 quart, 2 quarts"
    assert normal.written(9, 17) == (9, 19)
    assert normal.written(2, 7) == (2, 7)
    assert [normal.is_new(i) for i in (0, 1, 9, 10)] == [True, False, True, False]
    assert Normal("a").edited([]).text == "a"


CUES = """1
00:00:01,000 --> 00:00:04,000
The lock nut: twenty-nine newton meters,

2
00:00:04,100 --> 00:00:06,000
that's thirty-nine foot pounds.
"""


@pytest.mark.parametrize("text", [CUES, "WEBVTT\n\n" + CUES.replace(",000", ".000").replace(",100", ".100")])
def test_a_mend_stands_in_the_cue_of_the_wrong_number(text: str) -> None:
    (finding,) = check_text(text)
    assert text[finding.start : finding.end] == "thirty-nine foot pounds"
    assert (finding.time, finding.suggestion) == ("00:00:04", "21 foot pounds")
    assert finding.note.startswith("compared with 29 newton meters in line ")
    assert "-->" not in check_text(text).to_text(text)


@pytest.mark.parametrize(
    ("text", "suggestion"),
    [
        ("5.5 quarts (5.8 litres)", "5.5 quarts (5.2 litres)"), ("a 4.7-liter (6-quart) jug", "4.7-liter (5.0-quart)"),
        ("9.5 N·m (84 FT-LBS)", "9.5 N·m (7.01 FT-LBS)"), ("80 °C (144°F)", "80 °C (176°F)"),
        ("two quarts thats two point nine liters", "two quarts thats 1.9 liters"),
    ],
)  # fmt: skip
def test_a_mend_keeps_the_unit_as_it_is_spelled(text: str, suggestion: str) -> None:
    (finding,) = check_text(text)
    assert finding.suggestion == suggestion


def test_what_was_compared_is_counted_for_every_kind_of_claim() -> None:
    text = "Drain plug 34 N·m\nTwo drains of 40 % make 64 % new.\nDrain plug 43 N·m\nJug 5 L"
    findings = check_text(text)
    assert (findings.counts.seen, findings.counts.compared) == (5, 4)
    assert [(one.value, one.unit) for one in findings.alone] == [(5.0, "L")]


LONG = {
    "claims": "I drained 3.6 L (3.8 US qt), then 34 N·m (25 ft-lb). It is only words and again words, and nothing to be read here.\n",
    "captions": "so we pour in five quarts thats four point seven liters and a quart and a half later it is full\n",
    "table": "| a bolt of it | Nm | ft-lb |\n|---|---|---|\n| the drain plug | 34 | 25 |\n| the fill plug | 40 | 30 |\n\n",
    "page": "<p>**Plug:** 34&nbsp;N·m (25 ft-lb), then <b>6.1 L</b></p>\r\n",
    "cues": "1\n00:00:01,000 --> 00:00:02,000\nhere are some words of it\n\n",
}


@pytest.mark.parametrize("piece", LONG.values(), ids=LONG)
def test_a_long_text_takes_at_most_ten_times_its_room(piece: str) -> None:
    text = piece * (400_000 // len(piece))
    tracemalloc.start()
    try:
        check_text(text, 200)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak <= 10 * len(text.encode())


@pytest.mark.parametrize(
    "text",
    [
        "0:01 so you want five quarts\n0:04 thats five point three liters\n0:07 in there\n",
        "00:01\nso you want five quarts\n00:04\nthats five point three liters\n00:07\nin there\n",
        "[00:01] so you want 5 quarts\n[00:04] that's 5.3 liters\n[00:07] in there",
    ],
)
def test_a_transcript_with_times_before_its_lines(text: str) -> None:
    (finding,) = check_text(text)
    assert (finding.grade, finding.time, finding.suggestion) == ("wrong", "00:00:04", "4.7 liters")


def test_the_chapters_of_a_page_are_not_a_transcript() -> None:
    text = "0:00 Intro\n1:25 Drain 3.4 L\n4:40 4 qt more\n\nThe pan took 5 L. Thanks for watching, and mind the hot fluid."
    assert not check_text(text)
    assert not Text(text).spoken


@pytest.mark.parametrize(
    ("text", "heard"),
    [
        ("an extension of twelve inches or thirty\ncentimeters to get past the pipe", ["12 in", "30 cm"]),
        ("pan bolts nine\nnewton meters", ["9 N·m"]),
        ("the plug takes 25\nfoot\npounds", ["25 lbf·ft"]),
        ("about twenty\nfive\nfoot pounds", ["25 lbf·ft"]),
        ("thats minus four\nfahrenheit this morning", ["-4 °F"]),
        ("the plug is fifty\nfive foot\npounds", ["55 lbf·ft"]),
        ("due at sixty\nthousand miles", ["60000 mi"]),
        ("one point\nfour liters", ["1.4 L"]),
        ("page 12\nfill it", []),
    ],
)
def test_captions_are_wrapped_anywhere(text, heard):
    assert [f"{seen.value:g} {seen.unit}" for seen in check_text(text).seen] == heard


@pytest.mark.parametrize("mark", ["¹", "²", "<sup>2</sup>", "†", " ‡", "§", " [1]", "[2]", "¹²", "*"])
def test_the_mark_of_a_footnote_is_no_part_of_a_unit(mark):
    assert [one.verdict for one in check_text(f"34 N·m{mark} (25 lb-ft{mark})")] == ["agrees"]
    (wrong,) = check_text(f"Plug: 34 N·m{mark} (46 lb-ft{mark})").wrong
    assert wrong.expected == "25.1 lbf·ft"


@pytest.mark.parametrize(
    ("text", "unit"),
    [("29.6 mm<sup>2</sup>/s", "mm²/s"), ("29.6 mm²/s", "mm²/s"), ("61 in³", "in³"), ("847 kg/m³", "kg/m³"), ("80<sup>o</sup>C", "°C")],
)
def test_a_power_is_part_of_its_unit(text, unit):
    assert [one.unit for one in check_text(text).seen] == [unit]


def test_a_moment_of_inertia_is_no_torque():
    assert check_text("0.05 kg·m² (34 N·m)").seen[0].unit == "N·m"
