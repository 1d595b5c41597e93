"""How people say that two numbers are one: each way of saying it, with a right and with a wrong second number."""

from __future__ import annotations

import pytest

from shared import grades
from sumpwise.description import check_text
from sumpwise.description.joints import joint_of, leaning

PAIRS = [
    ("3.3 L", "3.5 qt", "4.5 qt"), ("2 gallons", "7.6 liters", "9.6 liters"), ("4.5 quarts", "4.3 litres", "4.5 litres"),
    ("34 Nm", "25 ft-lb", "46 ft-lb"), ("25 ft-lbs", "34 Nm", "18 Nm"), ("9.5 N·m", "84 in-lb", "84 ft-lb"), ("80 °C", "176 °F", "144 °F"),
    ("194°F", "90°C", "108°C"), ("60,000 miles", "97,000 km", "37,000 km"), ("5.5 bar", "80 psi", "60 psi"),
]  # fmt: skip
SAID = r"""
{} ({})
{}({})
{} [{}]
{} / {}
{}/{}
{} = {}
{} == {}
{}≈{}
{} -> {}
{} => {}
{} ({}).
{} (or {})
{} (or about {})
{} (about {})
{} (approx. {})
{} (approx {})
{} (~{})
{} (≈ {})
{} (= {})
{} (roughly {})
{} (c. {})
{} (ca. {})
{} (i.e. {})
{} (ie {})
{} (aka {})
{} (a.k.a. {})
{} (read: {})
{} (say {})
{} (nearly {})
{} (near enough {})
{} (exactly {})
{} (that's {})
{} (that is {})
{} (which is {})
{} (equals {})
{} (equivalent to {})
{} (converts to {})
{} (corresponds to {})
{} (converted: {})
{} (rounded to {})
{} (metric: {})
{} (US: {})
{} (in metric: {})
{} (in freedom units that's {})
{} (call it {})
{} ({} or so)
{} ({}, give or take)
{} ({}, roughly)
{} ({} approx.)
{} ({} total)
{} ({} each)
{} ({}!)
{} ({}?)
{} ({} in metric)
{} ({} for the Americans)
{} ({} for everyone else)
{} ({} if you prefer)
{} ({} on my gauge)
{} total ({})
{} in total ({})
{} max ({} max)
{} (dry) / {}
{} or so ({})
{} of fluid ({})
{} of new fluid ({})
{} of fluid came out ({})
{}, that's {}
{} thats about {}
{}, that is, {}
{}, that'd be {}
{}, that would be {}
{}, that makes {}
{}, that's basically {}
{}, that's exactly {}
{}, that's {} to you and me
{}, and that's {}
{} so that's {}
{} okay so that's about {}
{}, which is {}
{}, which is around {}
{} which would be {}
{}, which equals {}
{}, which means {}
{}, which gives you {}
{}, which comes out to {}
{}, which works out to about {}
{}, which translates to {}
{}, works out as {}
{}, that works out to be {}
{} translates to {}
{} comes out at {}
{} amounts to {}
{} is equal to {}
{} is the same as {}
{} is equivalent to {}
{}, the equivalent of {}
{}, or roughly {}
{} or about {}
{}, or {} for those of you in Europe
{}, or exactly {}
{}, or more precisely {}
{}; or {}
{}, i.e., {}
{} aka {}
{} a.k.a. {}
{}, also known as {}
{}, meaning {}
{}, in other words {}
{}, that is to say {}
{} namely {}
{}, making it {}
{}, giving you {}
{}, call it {}
{}, let's call it {}
{}, we'll call that {}
{}, let's say {}
{}, say {}
{}, basically {}
{}, pretty much {}
{}, almost {}
{}, close to {}
{}, in metric {}
{}, in metric that is {}
{}, or in metric {}
{}, and in litres that's {}
{} in old money {}
{}, for metric people that's {}
{}, for you metric guys {}
{}, if you work in metric that's {}
{}, converted to metric that's {}
{}: that's {}
{} - that's {}
{} — about {}
{} — or {}
{} – roughly {} –
{} came out. That's {}.
{} came out, that's {}.
{} of fluid came out, which is {}.
{}. That's {}.
{}. So that's {}.
{}. Which is {}.
{}. That would be {}.
{}. Converts to {}.
{}. That comes out to {}.
{}. It converts to {}.
{}. This works out to {}.
{}. Equivalent to {}.
{}. Call it {}.
{}. In litres: {}
{}. In metric that's {}.
{}. For metric folks that's {}.
{}. If you're on metric that's {}.
{}... that's {}
{}! That's {}!
{}\n({})
{}\nthat's {}
""".strip().splitlines()  # fmt: skip
LOOSE = r"""
{}, {}
{} {}
{} - {}
{}; {}
{}, uh, {}
{} or {}
{} is {}
{}, so figure {}
{} so count on {}
{}, so you're looking at {}
{}. So {}.
{}. Or about {}.
{} of fluid, or {}
| {} | {} |
{}\n{}
""".strip().splitlines()
"""Said so loosely that only the numbers can tell: what a known slip explains is found all the same."""
EXPLAINED = [pair for pair in PAIRS if pair[0] in ("34 Nm", "25 ft-lbs", "80 °C", "60,000 miles", "9.5 N·m")]


def sentence(template: str, one: str, other: str) -> str:
    text = template.replace("\\n", "\n").format(one, other)
    return text if template.startswith("|") else f"By the book it takes {text}"


@pytest.mark.parametrize("template", [*SAID, *LOOSE])
def test_a_right_pair_agrees_in_any_words(template: str) -> None:
    for one, right, _ in PAIRS:
        assert [finding.verdict for finding in check_text(sentence(template, one, right))] == ["agrees"], (one, right)


@pytest.mark.parametrize("template", SAID)
def test_a_wrong_pair_is_wrong_in_any_words(template: str) -> None:
    for one, _, wrong in PAIRS:
        assert [finding.grade for finding in check_text(sentence(template, one, wrong))] == ["wrong"], (one, wrong)


@pytest.mark.parametrize("template", LOOSE)
def test_a_slip_is_found_where_two_numbers_are_only_side_by_side(template: str) -> None:
    for one, _, wrong in EXPLAINED:
        assert [finding.grade for finding in check_text(sentence(template, one, wrong))] == ["wrong"], (one, wrong)


QUIET = [
    "5 L is not enough. Get 7 quarts to be safe.", "The 6 qt pan (5 L drain) is the deep one.", "15 qt (if the converter is empty)",
    "I bought 6 L and used 5 quarts of it.", "Pour 4 qt, run it, then another 2 L.", "3 L and 5 qt", "5 L plus 1 qt", "5 L but not 7 qt",
    "Line temp 95 °C in, 180 °F out.", "At 2000 rpm 6 bar, 95 psi in reverse.", "drive three miles or five kilometers to warm it",
    "That took 4 L. It is 2 quarts low.", "It drained 4 L. That's 2 quarts less than he got.", "5 L. I read 7 qt somewhere.",
    "The can is 5 L. In reverse it took 7 qt.", "10 m of hose, 3 ft of it bad", "2 qt bottle, 1 L bottle", "34 Nm and 60 ft-lb",
    "Between 3 L and 5 qt", "3 L from the pan and 5 qt in all", "34 Nm for the plug, 60 ft-lb for the mount", "Used: 5 qt. Bought: 6 L.",
    "I need 4 L. You need 5 quarts.", "5 L, another 7 qt", "180,000 km or in 4 years", "It takes 4 L, he says 6 qt",
    "5 L (I think 7 qt is wrong)",
]  # fmt: skip


@pytest.mark.parametrize("text", QUIET)
def test_two_different_things_are_not_a_pair(text: str) -> None:
    assert not check_text(text)


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("5 L, just over 5 qt", "agrees"), ("5 L, just under 5 qt", "disagrees"), ("5.2 qt, nearly 5 L", "agrees"),
        ("34 Nm (just over 46 ft-lb)", "disagrees"), ("80 °C, just under 180 °F", "agrees"), ("80 °C, a hair over 180 °F", "disagrees"),
    ],
)  # fmt: skip
def test_a_number_may_be_rounded_the_way_it_is_said_to_be(text: str, verdict: str) -> None:
    assert [finding.verdict for finding in check_text(text)] == [verdict]


def test_the_words_tell_which_way_a_number_is_rounded() -> None:
    assert leaning(", just over ") == 1
    assert leaning(" (not quite ") == -1
    assert leaning(", over the ") == 0


@pytest.mark.parametrize("between", ["and", "plus", "then", "of hose and", "with the filter", "in 4", "%", "when cold", "(the", "minus"])
def test_other_words_join_nothing(between: str) -> None:
    assert joint_of(f" {between} ") is None


DOUBLES = [
    ("3.5 and 3.7 L (3.7 and 3.9 qt)", ["agrees", "agrees"]), ("3.5 or 3.7 L (3.7 or 4.9 qt)", ["agrees", "disagrees"]),
    ("22 and 30 ft-lb (30 and 61 Nm)", ["agrees", "disagrees"]), ("3.5 L and 4 L (3.7 qt and 4.2 qt)", ["agrees", "agrees"]),
    ("82 °C–92 (180–197 °F)", ["agrees"]), ("34 Nm - 46 ft-lb", ["disagrees"]), ("80 °C – 176 °F", ["agrees"]), ("34Nm-25ft-lb",
    ["agrees"]),
    ("9 L (2 gal)", ["ambiguous"]), ("9.5 L (8.4 qt)", ["ambiguous"]), ("6 L (2 gal)", ["disagrees"]), ("At –20 °C (–4 °F)", ["agrees"]),
    ("-5 L (5.3 qt)", ["agrees"]), ("15 lb. ft. (20 Nm)", ["agrees"]), ("15 lb. in. (20 Nm)", ["disagrees"]),
    ("half a gallon, two quarts", ["agrees"]), ("60k miles (97k km)", ["agrees"]), ("60k miles (37k km)", ["disagrees"]),
    ("step 2 and 5 L (5.3 qt)", ["agrees"]), ("3.2 mm (0.13 in)", ["disagrees"]), ("Drain plug to 35 lbs. Click.", ["ambiguous"]),
    ("Drain plug: 35 lbs", ["ambiguous"]), ("bolts to 9", []), ("bolts: 5 lb box", []), ("nuts at 12 o'clock", []),
]  # fmt: skip


@pytest.mark.parametrize(("text", "verdicts"), DOUBLES)
def test_forms_of_pairs(text: str, verdicts: list[str]) -> None:
    assert [finding.verdict for finding in check_text(text)] == verdicts


@pytest.mark.parametrize(
    ("text", "due"),
    [
        ("37–31 N·m (27–23 lb-ft)", [""]),
        ("It cools from 92–82 °C (197–180 °F).", [""]),
        ("40,000–30,000 miles (64,000–48,000 km)", [""]),
        ("30,000–40,000 miles (48,000–46,000 km)", ["wrong"]),
        ("82–72 °C (180–172 °F)", ["wrong"]),
        ("5-1/2 qt (5.2 L)", [""]),
    ],
)
def test_spans_given_downward_are_spans(text, due):
    assert [found.grade for found in check_text(text)] == due


@pytest.mark.parametrize("sign", ["➡️", "👉", "➜", "→", "↔"])
def test_an_arrow_of_any_kind_joins_two_numbers(sign):
    assert grades(f"🔧24 N·m {sign} 18 ft-lb") == ["agrees"]
    assert grades(f"🔧24 N·m {sign} 33 ft-lb") == ["wrong"]


@pytest.mark.parametrize(
    "text",
    ["a gallon and a quart (4.7 L)", "five quarts or a gallon and a quart", "1 gal + 1 qt = 4.7 L", "four liters or a gallon and a pint"],
)
def test_an_amount_in_two_units_is_not_judged_by_one_of_them(text):
    assert "wrong" not in grades(text)


def test_two_amounts_in_two_units_stand_crosswise_beside_their_conversions():
    assert grades("1 gal and 1 qt (3.8 L and 0.95 L)") == ["agrees", "agrees"]
    assert grades("1 gal and 1 qt (3.8 L and 9.5 L)") == ["agrees", "wrong"]


@pytest.mark.parametrize("measure", ["(imperial)", "(UK)", "imp", "imperial", "UK"])
def test_the_measure_may_stand_behind_its_unit(measure):
    assert grades(f"6 qt {measure} = 6.8 L") == ["agrees"]
    assert grades(f"6 qt {measure} = 5.7 L") == ["wrong"]
    assert [one.unit for one in check_text(f"6 qt {measure} = 5.7 L").seen] == ["imp qt", "L"]


def test_a_list_goes_on_after_the_name_of_a_measure():
    assert grades("6.0 L (6.3 qt US, 5.3 imp qt)") == ["agrees", "agrees"]
    assert grades("6.0 L (6.3 qt (US), 6.3 imp qt)") == ["agrees", "wrong"]


def test_a_bare_pint_that_is_right_only_as_imperial_is_ambiguous_as_a_quart_is():
    assert grades("5 pints (2.8 litres)") == grades("6 quarts (6.8 litres)") == ["ambiguous"]
    assert grades("5 US pints (2.8 litres)") == ["wrong"]


def test_inches_by_a_mark_beside_another_length():
    def lengths(text):
        return [(one.value, one.unit) for one in check_text(text).seen]

    assert lengths('A 3 in × 5" tray') == [(3.0, "in"), (5.0, "in")]
    assert lengths('Tray: 12" x 16" x 3 in deep') == [(12.0, "in"), (16.0, "in"), (3.0, "in")]
    assert grades('Cut it at 5" (12.7 cm).') == ["agrees"]
    assert grades('Cut it at 5" (17.2 cm).') == ["wrong"]
    assert grades('the "top 5" / 10 cm rule') == []


def test_a_script_without_spaces_puts_none_before_a_number():
    assert grades("抜き取り量は３.６ Ｌ（３.８ ｑｔ）です") == ["agrees"]
    assert grades("抜き取り量は3.6 L(3.3 qt)です") == ["wrong"]
    assert grades("type A3.6 L (3.3 qt)") == []


def test_ounces_may_be_what_a_volume_weighs():
    assert grades("a pint of this stuff is about 14 oz") == []
    assert grades("500 mL came to 15 oz on my scale") == []
    assert grades("a pint (14 oz)") == ["wrong"]
    assert grades("a pint of this stuff is about 16 oz") == ["agrees"]


def test_two_temperatures_written_in_a_hurry():
    assert grades("Hot is 80c (176f)") == ["agrees"]
    assert grades("Hot is 80c (186f)") == ["wrong"]
    for first, second in (
        ("80C", "176f"), ("80c", "176F"), ("80 C", "176 f"), ("80 c", "176.0 F"), ("80 °C", "176f"), ("80c", "176 °F"),
        ("80–90C", "176–194f"), ("80-90c", "176-194F"), ("176f", "80C"), ("176F", "80c"), ("-40c", "-40F"),
        ("80 degrees C", "176f"), ("80c", "176 degrees F"), ("80 celsius", "176f"), ("80c", "176 Fahrenheit"), ("80℃", "176f"),
        ("80℃", "176℉"), ("80c to 90c", "176f to 194f"), ("80 deg c", "176 deg f"), ("80 °c", "176 °f"),
    ):  # fmt: skip
        wrong = second.replace("17", "18").replace("-19", "-20").replace("40F", "50F").replace("80", "90")
        for pair in ("{} ({})", "{} / {}", "{}/{}", "{} = {}", "{} or {}", "{}, that's {}"):
            assert set(grades(f"Hot is {pair.format(first, second)}.")) == {"agrees"}, (pair, first, second)
            assert "wrong" in grades(f"Hot is {pair.format(first, wrong)}."), (pair, first, wrong)
    for other in (
        "80C (176 fins)", "seats 4C (4c)", "4c/8 F-series", "80c's / 176f's", "grade 4C, 3 for the rest", "parts 12C/4fx",
        "80c a litre, 90c with tax",
    ):  # fmt: skip
        assert grades(other) == [], other


@pytest.mark.parametrize(
    "text", ["80 degrees C/176 °F", "34 newton meters/25 ft-lb", "-10 degrees C/14 °F", "-40 degrees C/-40 °F", "4.7 litres/5 US quarts"]
)
def test_a_slash_may_stand_close_behind_a_unit_of_several_words(text: str) -> None:
    assert grades(text) == ["agrees"]
