"""So many of one size and what they are together; feet and inches; ounces behind quarts; and other ways to write one quantity in parts."""

from __future__ import annotations

import pytest

from sumpwise.description import check_text

PRODUCTS = [
    ("12 x 1 qt (11.4 L)", "agrees", "11.4 L"),
    ("12 x 1 qt (12.4 L)", "wrong", "11.4 L"),
    ("12 x 1 qt (0.95 L)", "agrees", "0.95 L"),
    ("12 x 1 qt (1.95 L)", "wrong", "11.4 L"),
    ("4 × 946 mL = 3.8 L", "agrees", "3.784 L"),
    ("4 × 946 mL = 4.8 L", "wrong", "3.784 L"),
    ("two 5-quart jugs (9.5 L)", "agrees", "9.5 L"),
    ("two five-quart jugs (8.5 L)", "wrong", "9.5 L"),
    ("2 5-quart jugs (9.5 L)", "agrees", "9.5 L"),
    ("three one-liter bottles (3.2 qt)", "agrees", "3.2 US qt"),
    ("2 five-gallon pails (28 L)", "wrong", "38 L"),
    ("2 x 5 qt jugs = 10 qt", "agrees", "10 US qt"),
    ("2 x 5 qt jugs = 12 qt", "wrong", "10 US qt"),
    ("four 1 L bottles (5 L)", "wrong", "4 L"),
    ("three bottles of 946 mL (2.84 L)", "agrees", "2.838 L"),
    ("Three drains at 3.5 quarts each is 11.5 quarts all told, so buy twelve.", "wrong", "10.5 US qt"),
    ("six bursts of 1.25 L (8.9 qt)", "wrong", "7.93 US qt"),
    ("One 5 L can and four 1 L bottles makes 9 L, and the box wants 8.85.", "agrees", "9 L"),
    ("Two 5 L cans and three 1 L bottles makes 12 L on the shelf.", "wrong", "13 L"),
    ("two 5-quart jugs and a 1 qt bottle (10.4 L)", "agrees", "10.4 L"),
    ("5 L + 4 x 1 L = 10 L", "wrong", "9 L"),
    ("I have two 5 L (10.6 qt)", "agrees", "10.6 US qt"),
    ("I have two 5 L (5.3 qt)", "agrees", "5.3 US qt"),
    ("I have three 4 L (15.9 qt)", "wrong", "12.7 US qt"),
    ("two 1 L and one 4 L (6.3 qt)", "agrees", "6.3 US qt"),
    ("I've used four of the five 1 L bottles (4.2 qt)", "agrees", "4.2 US qt"),
    ("Only two of three 1 L went in (2.1 qt).", "agrees", "2.1 US qt"),
    ("12 quarts (0.95 L each)", "agrees", "0.95 L"),
    ("Three gallon jugs (3.8 L each)", "agrees", "3.8 L"),
    ("2 gallons (9.6 liters each)", "wrong", "7.6 L"),
]


@pytest.mark.parametrize(("text", "verdict", "expected"), PRODUCTS)
def test_a_product_is_compared_with_what_it_is_said_to_be(text, verdict, expected):
    (found,) = check_text(text)
    assert (found.grade or found.verdict, found.expected) == (verdict, expected)
    if verdict == "wrong":
        assert text[found.start : found.end].endswith((found.stated, found.stated + ")"))
        number = expected.split()[0]
        assert number in found.suggestion


@pytest.mark.parametrize(
    "text",
    [
        "2 x 5 L, 10.6 qt", "2 x 5 L or 12 qt", "I need 8.9 L (2 x 5 L)", "3 x 5 L (13 L used)", "Buy two 4 L jugs (8 L used)",
        "two 5 qt jugs, 9 qt used", "3 x 4 L in, 14 L out", "4 x 1 qt ($36)", "two 30 L drums for 5 people",
        "10 L (2.6 qt each)", "of the two 5 L, 9 qt is left",
    ],
)  # fmt: skip
def test_what_is_not_said_of_all_together_is_not_compared(text):
    assert not check_text(text)


FEET = [
    ("I'm 5' 2\" (157 cm) tall", ["agrees"]),
    ("5'2\" (175 cm)", ["wrong"]),
    ("5′ 2″ (157 cm)", ["agrees"]),
    ("5'-6\" (168 cm)", ["agrees"]),
    ("6' of hose (1.8 m)", ["agrees"]),
    ("6' (2.8 m) of hose", ["wrong"]),
    ("a turn of 45° 30' 10\" more (3 cm of travel)", []),
    ("the '5' and the '2' (3 cm apart)", []),
    ("it's 5' tall", []),
]
PARTS = [
    ("put in what came out, 3 qt 12 oz (3.2 L)", ["agrees"]),
    ("3 qt and 12 oz (3.9 L)", ["wrong"]),
    ("1 gal 12 oz (4.1 L)", ["agrees"]),
]
WORDS = [
    ("half a quart (half a liter)", ["style"]),
    ("0.5 qt (0.5 L)", ["wrong"]),
    ("Five litres is 1.1 gallons, proper imperial ones that is.", ["agrees"]),
    ("Five litres is 1.3 gallons, the American ones.", ["agrees"]),
    ("In metric that'd be 41 Nm for the 30 lb-ft plug.", ["agrees"]),
    ("In metric that'd be 14 Nm for the 30 lb-ft plug.", ["wrong"]),
    ("Use 14 Nm for the 30 lb-ft plug.", []),
    ("marks 13 mm apart (0.15 in)", ["wrong"]),
    ("Pour 3 quarts more, so 3.8 liters.", ["wrong"]),
    ("Pour 3 quarts more (2.8 liters).", ["agrees"]),
    ("3 quarts more (5 liters in all)", []),
    ("3 quarts more, 5 liters in all", []),
    ("Level is checked at 45 degrees, 131 Fahrenheit in old money.", ["wrong"]),
    ("Level is checked at 40 degrees, 104 Fahrenheit in old money.", ["agrees"]),
    ("Turn it 45 degrees, then at 113 Fahrenheit check the level.", []),
    ("hose 1.2 m long (4 ft)", ["agrees"]),
    ("Fluid capacity — 8.0 US qts — 6.7 litres", ["wrong"]),
    ("Pressure in reverse 210 psi (1,148 kPa)", ["wrong"]),
    ("Pressure in reverse 210 psi (1,448 kPa)", ["agrees"]),
    ("500 ㎖ (17 fl oz), 5 ㎏ (12 lb), 36 ㎪ (5.2 psi)", ["agrees", "wrong", "agrees"]),
    ("I am filling with 6 litters (6.3 quarts)", ["agrees"]),
    ("It moves 2.5 litres a minute, 2.6 quarts a minute.", ["agrees"]),
    ("It moves 2.5 liters a minute (3.6 quarts a minute).", ["wrong"]),
    ("Hose 3/8 in ID (9.5 mm), 3/4 in drive (19 mm), 5 in deep (12.7 cm)", ["agrees", "agrees", "agrees"]),
    ("There were 5 in the box (12.7 cm)", []),
    ("Rear axle ..... 2.4 L ..... 2.5 qt", ["agrees"]),
]
MEASURES = [
    ("10 fl oz (284 ml)", ["ambiguous"]),
    ("10 US fl oz (284 ml)", ["wrong"]),
    ("five litres (just under nine pints)", ["ambiguous"]),
    ("five litres (just over nine pints)", ["wrong"]),
    ("2 Imp. gallons (9.1 L) from dry, five litres (just under nine pints) at a drain", ["agrees", "agrees"]),
    ("8 imp fl oz (237 ml)", ["wrong"]),
    ("A 12 oz can (355 ml), then 10 fl oz (284 ml).", ["agrees", "wrong"]),
    ("10 imp fl oz (284 ml), then 10 fl oz (284 ml).", ["agrees", "agrees"]),
    ("2 Imp. gallons (9.1 L) from dry, 16 pints (9.1 L) as others say.", ["agrees", "agrees"]),
    ("2 Imp. gallons (9.1 L), 4 quarts (3.8 L), 16 pints (9.1 L)", ["agrees", "agrees", "wrong"]),
]
TABLES = [
    ("| Item | US | Metric |\n|---|---|---|\n| Fill | 9.4 qt | 8.9 L |\n| Plug | 20 ft-lb | 72 N·m |", ["agrees", "wrong"]),
    ("Item      US        Metric\nPan drop  6.3 qt    6.0 L\nFill plug 20 ft-lb  72 N·m", ["agrees", "wrong"]),
    ("| a fill, L | qt |\n|---|---|\n| 3 | 3.2 |", ["agrees"]),
    ("| a | b |\n|---|---|\n| 3 | 5 |", []),
    ("| a filter | a gasket |\n|---|---|\n| 3 | 5 |", []),
]


@pytest.mark.parametrize(("text", "verdicts"), [*FEET, *PARTS, *WORDS, *MEASURES, *TABLES])
def test_quantities_in_parts_and_other_ways_to_write_them(text, verdicts):
    assert [found.grade or found.verdict for found in check_text(text)] == verdicts


def test_a_conversion_before_its_original_is_the_one_to_mend():
    (found,) = check_text("In metric that'd be 14 Nm for the 30 lb-ft plug.")
    assert (found.stated, found.expected, found.suggestion) == ("14 Nm", "41 N·m", "41 Nm")


def test_an_article_in_a_header_is_not_a_year():
    text = "| a change | months |\n|---|---|\n| 3 | 25 |\n"
    assert [found.stated for found in check_text(text)] == []
    assert [found.stated for found in check_text(text.replace("a change", "change, y"))] == ["25 month"]


def test_a_bare_measure_in_an_imperial_text_is_printed_as_what_it_is():
    named, bare = check_text("10 imp fl oz (284 ml), then 10 fl oz (284 ml).")
    assert named.expected == bare.expected
