"""Quantities in everyday spellings: read as what they are or refused, never as something else."""

from __future__ import annotations

import pytest

from corpus.labels import HERE
from corpus.scoring import score_spellings
from sumpwise import check_text
from sumpwise.errors import SumpwiseError
from sumpwise.quantities import notation
from sumpwise.quantities.normalising import Normal, everyday, lowered
from sumpwise.quantities.speech import spoken


def test_no_spelling_is_read_as_another_quantity() -> None:
    score = score_spellings(HERE / "spellings.tsv")
    assert score.wrong == []
    assert score.refused == ["'34 nm': refused, 34 N·m was due"]  # a torque only where a torque is expected


def said(text: str) -> str:
    return Normal(text).edited(spoken(lowered(text))).text


@pytest.mark.parametrize(
    ("words", "figures"),
    [
        ("six and a half quarts", "6 1/2 quarts"), ("a quart and a half", "1 1/2 quart"), ("half an inch", "1/2 inch"),
        ("three quarters of a gallon", "3/4 gallon"), ("two and three quarter quarts", "2 3/4 quarts"), ("a quarter inch", "1/4 inch"),
        ("point eight liters", "0.8 liters"), ("three point oh five liters", "3.05 liters"), ("six point twenty five bar", "6.25 bar"),
        ("a hundred and seventy-six fahrenheit", "176 fahrenheit"), ("one forty fahrenheit", "140 fahrenheit"),
        ("one fifteen psi", "115 psi"), ("ninety six thousand five hundred kilometers", "96500 kilometers"), ("hundred miles", "100 miles"),
        ("four to five quarts", "4 to 5 quarts"), ("between four and five quarts", "between 4 and 5 quarts"),
        ("one forty to one fifty eight fahrenheit", "140 to 158 fahrenheit"), ("another liter", "1 liter"), ("one extra quart", "1 quart"),
        ("twenty-five\nfoot pounds", "25\nfoot pounds"), ("five point four US quarts", "5.4 US quarts"), ("minus ten celsius",
        "-10 celsius"),
        ("thirty thousand miles", "30000 miles"), ("a five-gallon pail", "a 5-gallon pail"), ("Six Quarts", "6 Quarts"),
        ("five eighths of a quart", "5/8 quart"), ("three and seven eighths quarts", "3 7/8 quarts"),
        ("12 point 5 liters of it", "12.5 liters of it"), ("3 point 25 liters of it", "3.25 liters of it"),
        ("pour 12 quarts and a half", "pour 12 1/2 quarts"), ("sixty to eighty thousand miles", "60000 to 80000 miles"),
        ("five thousand to eighty thousand miles", "5000 to 80000 miles"), ("from 3 to five quarts", "from 3 to 5 quarts"),
        ("between a two and three quarts", "between a 2 and 3 quarts"), ("that one three quarts", "that one 3 quarts"),
        ("one eighty five degrees", "185 degrees"), ("two twenty degrees", "220 degrees"),
        ("2 and a half quarts", "2 1/2 quarts"), ("two and three quarters of a gallon", "2 3/4 gallon"),
        ("three point fifteen liters", "3.15 liters"), ("about a half to three quarters of a quart", "about 1/2 to 3/4 quart"),
        ("one oh four fahrenheit", "104 fahrenheit"), ("six an a half quarts", "6 1/2 quarts"),
        ("six u.s quarts", "6 u.s quarts"), ("six and a half U.S. quarts", "6 1/2 U.S. quarts"),
    ],
)  # fmt: skip
def test_words_become_figures(words: str, figures: str) -> None:
    assert said(words) == figures


BELOW_TWENTY = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "thirteen", "fourteen",
    "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
]  # fmt: skip
TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
HUNDRED = [*BELOW_TWENTY, *(f"{ten} {one}" if one != "zero" else ten for ten in TENS for one in BELOW_TWENTY[:10])]
PARTS = {"half": 2, "third": 3, "quarter": 4, "fourth": 4, "fifth": 5, "eighth": 8, "tenth": 10, "sixteenth": 16}


@pytest.mark.parametrize("number", range(100))
def test_every_number_below_a_hundred_is_read_from_its_words(number: int) -> None:
    assert said(f"{HUNDRED[number]} quarts") == f"{number} quarts"
    assert said(f"two hundred and {HUNDRED[number]} quarts") == f"{200 + number} quarts"


@pytest.mark.parametrize("part", PARTS)
def test_every_part_of_a_unit_is_read_from_its_word(part: str) -> None:
    assert said(f"one {part} quart") == said(f"a {part} of a quart") == f"1/{PARTS[part]} quart"
    several = "halves" if part == "half" else f"{part}s"
    assert said(f"three {several} of a quart") == (f"3/{PARTS[part]} quart" if PARTS[part] > 3 else f"three {several} of a quart")
    assert said(f"two {several} of a quart") == (f"2/{PARTS[part]} quart" if PARTS[part] > 2 else f"two {several} of a quart")


@pytest.mark.parametrize(
    ("words", "figures"),
    [
        ("2.5 thousand miles", "2500 miles"), ("two and a half thousand miles", "2500 miles"), ("half a hundred miles", "50 miles"),
        ("two point five thousand miles", "2500 miles"), ("1 1/2 thousand miles", "1 1/2 thousand miles"),
        ("$2 hundred miles", "$2 hundred miles"), ("1,200 thousand miles", "1,200 thousand miles"),
        ("2:5 hundred miles", "2:5 hundred miles"),
        ("a third of a thousand miles", "a third of a thousand miles"),
        ("every 60 to 80 thousand miles", "every 60000 to 80000 miles"), ("60-80 thousand miles", "60000-80000 miles"),
        ("60 – 80 thousand miles", "60000 – 80000 miles"), ("between 60 and 80 thousand miles", "between 60000 and 80000 miles"),
        ("1.5 to 2 thousand miles", "1500 to 2000 miles"), ("one and a half to two thousand miles", "1500 to 2000 miles"),
        ("60 to 80.5 thousand miles", "60000 to 80500 miles"), ("one to two hundred psi", "100 to 200 psi"),
        ("five hundred to two thousand miles", "500 to 2000 miles"), ("500 to 2 thousand miles", "500 to 2000 miles"),
        ("bolt 4 and 2 hundred miles", "bolt 4 and 200 miles"), ("step 2 and 5 thousand miles", "step 2 and 5000 miles"),
        ("minus one and a half to two thousand miles", "-1 1/2 to 2000 miles"), ("$60 to 80 thousand miles", "$60 to 80000 miles"),
    ],
)  # fmt: skip
def test_hundreds_and_thousands_hold_for_all_that_is_said_of_them(words: str, figures: str) -> None:
    """Both ends of a span are in thousands as long as the first then stays below the second; parts of other figures are not read."""
    assert said(words) == figures


@pytest.mark.parametrize("miles", ["60 to 80 thousand", "60-80 thousand", "60–80 thousand", "sixty to eighty thousand"])
def test_a_span_in_thousands_agrees_with_its_kilometres(miles: str) -> None:
    """A mile is 1.609344 km: 60 000 miles are 96 561 km and 80 000 are 128 748."""
    (found,) = check_text(f"Change it every {miles} miles (97,000 to 128,700 km).")
    assert found.verdict == "agrees"


@pytest.mark.parametrize(
    "words",
    [
        "six seven quarts", "nine eighty a liter", "9.80 a liter", "number one is on the left", "two wagons", "a hundred bucks",
        "point a quart",
        "twenty nineteen", "quart", "four hundred bucks a gallon", "hundred point quarts",
        "zero hundred miles", "two thirds and quarts", "ninety percent of you", "one more time", "the pints",
        "forty hundred five thousand six",
        "a the quart", "barely six", "minus a quart", "of quarts", "six quartz",
    ],
)  # fmt: skip
def test_what_is_not_a_number_before_a_unit_stays(words: str) -> None:
    assert said(words) == words


def test_places_are_mapped_back() -> None:
    text = "Pour six and a half quarts, ａbout ６ L."
    normal = Normal(text).edited(spoken(lowered(text))).folded()
    assert normal.text == "Pour 6 1/2 quarts, about 6 L."
    start = normal.text.index("6 1/2")
    first, last = normal.written(start, start + len("6 1/2 quarts"))
    assert text[first:last] == "six and a half quarts"
    first, last = normal.written(start, start + 1)  # a part of what was replaced is all of it
    assert text[first:last] == "six and a half"
    start = normal.text.index("6 L")
    first, last = normal.written(start, start + 3)
    assert text[first:last] == "６ L"
    assert Normal("plain").edited([]).folded().written(1, 3) == (1, 3)


def test_edits_follow_each_other() -> None:
    first = Normal("abcdefgh").edited([(1, 3, ""), (4, 5, "EEE")])
    assert first.text == "adEEEfgh"
    second = first.edited([(0, 1, "xx"), (6, 7, "")])
    assert second.text == "xxdEEEfh"
    assert second.written(0, 2) == (0, 1)
    assert second.written(2, 3) == (3, 4)
    assert second.written(3, 6) == (4, 5)
    assert second.written(7, 8) == (7, 8)


def test_an_error_is_about_the_text_as_it_was_written() -> None:
    with pytest.raises(SumpwiseError, match="read 'about six J'"):
        notation.read("about six J")
    assert notation.read("about six quarts").text == "about six quarts"
    assert everyday("6 quarts") == "6 quarts"
