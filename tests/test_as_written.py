"""How people really write it: units before their numbers, rates, thousands, what was and what became, lists of equations."""

from __future__ import annotations

import pytest

from shared import grades
from sumpwise.description import check_text

UNIT_FIRST = [
    ("5.1 liters, which in quarts is 4.8", ["wrong"]),
    ("6.2 liters, which in quarts is 6.6", ["agrees"]),
    ("Spec is 22 lb-ft. In Nm: 16.", ["wrong"]),
    ("Spec is 18 lb-ft. In Nm: 24.", ["agrees"]),
    ("It takes 6.2 liters. In quarts that's 6.6.", ["agrees"]),
    ("It takes 6.2 liters. In quarts that's 5.9.", ["wrong"]),
    ("It takes 6.2 L (in quarts: 6.6).", ["agrees"]),
    ("It takes 6.2 L (in quarts: 5.9)", ["wrong"]),
    ("34 Nm, or in lb-ft about 25", ["agrees"]),
    ("34 Nm, or in lb-ft about 46", ["wrong"]),
    ("80 °C, in Fahrenheit that would be 176", ["agrees"]),
    ("80 °C, in Fahrenheit that would be 144", ["wrong"]),
    ("5 liters in two quarts jugs", []),
    ("Measure 5 L in mL: 5000", ["agrees"]),
    ("It holds 5 L. In quarts 2015 models differ.", []),
    ("4 L came out in quarts bottles: 2 were full", []),
    ("6 L. In litres 3 is enough for the small one.", []),
    ("Torque in Nm: 34, 10 and 9.5", []),
    ("The plug is 34 Nm. Torques in Nm: 10, 12", []),
]
ANNOUNCED = [
    ("All temps °F (°C). Shop 60 (16), pan after the drive 175 (97).", ["agrees", "wrong"]),
    ("Volumes: L (qt). Drain 3.6 (3.8), dry 8.9 (9.4)", ["agrees", "agrees"]),
    ("Torque Nm (lb-ft). Plug 34 (25), pan 10 (74)", ["agrees", "wrong"]),
    ("Everything in Nm (lb-ft), sizes in mm. Plug 34 (25), pan 10 (74)", ["agrees", "wrong"]),
]
GAPS = [
    ("Bolt          Nm    lb-ft\nDrain plug    34    25\nCrossmember   52    83", ["agrees", "wrong"]),
    ("Fill      L     qt\nDrain     3.6   3.8\nDry       9.1   19", ["agrees", "wrong"]),
]
RATES = [
    ("1.2 L per burst (1.27 qt per burst), 6 bursts", ["agrees"]),
    ("1.2 L per burst (1.6 qt per burst), 6 bursts", ["wrong"]),
    ("2 qt per minute (1.9 L per minute)", ["agrees"]),
    ("2 qt per minute (2.1 L per minute)", ["wrong"]),
    ("2 qt per min. (1.9 L per min.)", ["agrees"]),
    ("on the grade it rises 2 °C per mile (36 °F per mile)", ["wrong"]),
    ("on the grade it rises 5 °C per mile (9 °F per mile)", ["agrees"]),
    ("3.5 L per drain (3.7 qt)", ["agrees"]),
    ("3.5 L per drain (3.3 qt)", ["wrong"]),
    ("3.5 L (3.3 qt) per drain", ["wrong"]),
    ("Burns 1 qt per 1,000 miles (0.6 L per 1,000 km)", []),
    ("60 km per hour (37 miles per hour)", []),
    ("30 miles per gallon (13 km per litre)", []),
    ("5 L per drain (6 qt per year)", []),
    ("10 Nm per bolt (89 in-lb per bolt)", ["agrees"]),
    ("10 Nm per bolt (89 ft-lb per bolt)", ["wrong"]),
    ("4 qt per service, 2 services per year", []),
    ("$9 per qt, 5 L per can", []),
    ("3 L per side, 5 qt per side with coolers", []),
    ("0.5 L per 10,000 km (0.5 qt per 6,000 miles)", []),
    ("1 L per week, 1 qt per week", []),
    ("5 gal per hour (19 L per hour)", []),
    ("10 °C per minute (18 °F per minute)", ["agrees"]),
    ("10 °C per minute (50 °F per minute)", ["wrong"]),
]
THOUSANDS = [
    ("I do mine at 15-20k miles (24-32k km)", ["agrees"]),
    ("I do mine at 15-20k miles (9-12k km)", ["wrong"]),
    ("15k-20k miles (24k-32k km)", ["agrees"]),
    ("15 to 20k miles (24 to 32k km)", ["agrees"]),
    ("30-40k mi / 48-64k km", ["agrees"]),
    ("60k-mile (97k-km) service", ["agrees"]),
    ("60K mi (97K km)", ["agrees"]),
    ("60k mi (37k km)", ["wrong"]),
    ("60kmi", []),
    ("60kmiles (97kkm)", []),
    ("60k-80k mi (97k-129k km)", ["agrees"]),
]
ISH = [
    ("20ish Nm (15ish ft lb)", ["agrees"]),
    ("20ish Nm (27ish ft lb)", ["wrong"]),
    ("20-ish Nm (15-ish ft lb)", ["agrees"]),
    ("6 ish quarts (5.7 L)", ["agrees"]),
    ("6 qt-ish (5.7 L-ish)", ["agrees"]),
    ("6 quarts ish (5.7 L)", ["agrees"]),
    ("80ish °C, 176ish °F", ["agrees"]),
    ("6 qt-ish (6.3 L-ish)", ["wrong"]),
]
BRACKETS = [
    ("Plug (34 Nm) (25 lb ft). New washer.", ["agrees"]),
    ("Plug (34 Nm) (46 lb ft). New washer.", ["wrong"]),
    ("Plug [34 Nm] [46 lb ft].", ["wrong"]),
    ("can (5 L) (6 qt jug is fine too)", []),
    ("Drain (3.5 L), dry (8.9 qt)", []),
    ("pan (5 L) (2WD) and (6 qt) (4WD)", []),
]
BULLETS = [
    ("• Drain: 3.6 L\n• = 3.8 qt", ["agrees"]),
    ("• Drain: 3.6 L\n• = 3.4 qt", ["wrong"]),
    ("- Drain: 3.6 L\n- that's 3.8 qt", ["agrees"]),
    ("- Drain: 3.6 L\n- that's 3.4 qt", ["wrong"]),
    ("* 3.6 L\n* = 3.4 qt", ["wrong"]),
    ("- 4.5 qt out\n- 5.5 L in", []),
    ("• 3.4 L\n• 4.5 qt", []),
    ("- 5 L can\n- 6 qt pan", []),
    ("• 34 N·m\n• 30 lb-ft", []),
    ("1. 34 N·m\n2. 30 lb-ft", []),
    ("- plug 34 N·m\n- pan 9 lb-ft", []),
]
SPEECH = [
    ("we got four and a quarter quarts out of her that's about four liters", ["agrees"]),
    ("we got four and a quarter quarts out of it that's about six liters", ["wrong"]),
    ("we're down four quarts here so three point eight liters goes back", ["agrees"]),
    ("4 qt here, 5 L there", []),
    ("4.4 qt here, 5.5 L there", []),
]
CHANGES = [
    ("before -> after: 3.4 L -> 4 qt", []),
    ("Pan swap took a drain from 3.4 L → 5.2 qt, worth it", []),
    ("Old bulletin 34 N·m → new bulletin 20 lb-ft.", []),
    ("Upgrade: 4.2 L pan ➜ 6 qt pan", []),
    ("drain went 3.4 L -> 4.5 qt with the deep pan", []),
    ("Temp was 105 °C → now 190 °F", []),
    ("temps: 105 °C -> 190 °F after the cooler", []),
    ("Pan capacity 3.4 L → 4.5 qt after the swap", []),
    ("from 3.4 L to 4.5 qt", []),
    ("from 34 N·m to 20 lb-ft", []),
    ("Level from 3 mm → 1/4 in", []),
    ("Line pressure rose 60 psi → 5 bar", []),
    ("changed 34 N·m => 20 lb-ft in 2016", []),
    ("Converted my notes: 5.2 qt → 5.5 L", ["wrong"]),
    ("3.6 L → 3.4 qt", ["wrong"]),
    ("Drain: 34 N·m → 46 lb-ft", ["wrong"]),
    ("80 °C → 144 °F", ["wrong"]),
    ("5.2 qt → 4.9 L after the filter", ["agrees"]),
    ("5 qt -> 4.7 L, 34 N·m -> 46 lb-ft", ["agrees", "wrong"]),
    ("From the book: 5.2 qt → 5.5 L", ["wrong"]),
    ("Now the fill: 5.2 qt → 5.5 L", ["wrong"]),
    ("Before you start: 5.2 qt → 5.5 L", ["wrong"]),
    ("New washer, 34 N·m → 46 lb-ft", ["wrong"]),
    ("new fluid: 5.2 qt → 5.5 L", ["wrong"]),
]
STATES = [
    ("| | Before | After |\n|---|---|---|\n| Temp on the hill | 210 °F | 85 °C |\n| Fluid in pan | 3.4 L | 4 qt |", []),
    ("| | Front | Rear |\n|---|---|---|\n| Fill | 1.2 L | 1.5 qt |", []),
    ("| | Stock | Deep pan |\n|---|---|---|\n| Fill | 3.4 L | 4 qt |", []),
    ("| | 2012 | 2016 |\n|---|---|---|\n| Plug | 34 N·m | 20 lb-ft |", []),
    ("\t5-speed\t6-speed\nPlug\t34 N·m\t20 lb-ft", []),
    ("| | Metric | US |\n|---|---|---|\n| Plug | 34 N·m | 20 lb-ft |", ["wrong"]),
    ("| Item | Value | Conversion |\n|---|---|---|\n| Plug | 34 N·m | 20 lb-ft |", ["wrong"]),
    ("| Old | New |\n|---|---|\n| 34 N·m | 20 lb-ft |", []),
    ("| Plug | 34 N·m | 20 lb-ft |", ["wrong"]),
]
EQUATIONS = [
    ("1 gal = 3.58 L, 1 qt = a quarter of that", ["wrong"]),
    ("Cheat sheet: 1 qt = 946 ml, 1 pt = 473 ml", ["agrees", "agrees"]),
    ("1 qt = 946 mL, 1 gal = 3.785 L, 1 L = 1.06 qt", ["agrees", "agrees", "agrees"]),
    ("1 qt is 946 mL, 1 gal is 3.785 L", ["agrees", "agrees"]),
    ("1 gal = 3.785 L; 1 qt = 1.946 L; 1 pt = 473 mL", ["agrees", "wrong", "agrees"]),
    ("34 N·m = 25 lb-ft, 24 N·m = 33 lb-ft", ["agrees", "wrong"]),
    ("1 bar = 14.5 psi, 1 kPa = 0.145 psi", ["agrees", "agrees"]),
    ("1 in = 25.4 mm, 1 ft = 305 mm", ["agrees", "agrees"]),
    ("34 N·m, 25 lb-ft, 3.5 kgf·m", ["agrees", "agrees"]),
    ("34 N·m = 25 lb-ft = 3.5 kgf·m", ["agrees", "agrees"]),
    ("3.6 L → 3.8 qt, 1 gal → 3.8 L", ["agrees", "agrees"]),
    ("5 L = 5.3 qt and 1 gal = 3.8 L", ["agrees", "agrees"]),
    ("1 kg = 2.2 lb, 1 oz = 28 g", ["agrees", "agrees"]),
    ("10 N·m equals 89 in-lb, 1 ft-lb equals 12 in-lb", ["agrees", "agrees"]),
]
DEADLINES = [
    ("Temperatures are given in °C with °F in brackets. Open the plug at 40 (104), done by 80 (144).", ["agrees", "wrong"]),
    ("Be finished by 80 °C (144 °F)", ["wrong"]),
    ("done by 80 °C (176 °F)", ["agrees"]),
    ("the plug must be back by 45 °C (81 °F)", ["wrong"]),
    ("the plug must be back by 45 °C (113 °F)", ["agrees"]),
    ("fell by 80 °C (144 °F)", ["agrees"]),
    ("It beats the old cooler by 10 °C (18 °F)", ["agrees"]),
    ("It missed the window by 5 °C (9 °F)", ["agrees"]),
    ("close it by 80 °C (144 °F)", ["wrong"]),
    ("be closed up again by 80 °C (144 °F)", ["wrong"]),
    ("It should be in by 50 °C (90 °F)", ["wrong"]),
    ("Tight by 50 °C (90 °F) at the latest", ["wrong"]),
    ("Reach that by 80 °C (144 °F)", ["wrong"]),
]


@pytest.mark.parametrize(("text", "due"), UNIT_FIRST, ids=[row[0][:40] for row in UNIT_FIRST])
def test_a_unit_may_stand_before_its_number(text: str, due: list[str]) -> None:
    assert grades(text) == due


@pytest.mark.parametrize(("text", "due"), ANNOUNCED, ids=[row[0][:40] for row in ANNOUNCED])
def test_two_units_may_be_said_for_a_list(text: str, due: list[str]) -> None:
    assert grades(text) == due


@pytest.mark.parametrize(("text", "due"), GAPS, ids=[row[0][:40] for row in GAPS])
def test_a_table_with_gaps_is_compared_row_by_row(text: str, due: list[str]) -> None:
    assert grades(text) == due


@pytest.mark.parametrize(("text", "due"), RATES, ids=[row[0][:40] for row in RATES])
def test_two_rates_are_compared_if_they_are_for_the_same_thing(text: str, due: list[str]) -> None:
    assert grades(text) == due


@pytest.mark.parametrize(("text", "due"), THOUSANDS, ids=[row[0][:40] for row in THOUSANDS])
def test_a_span_may_be_in_thousands(text: str, due: list[str]) -> None:
    assert grades(text) == due


@pytest.mark.parametrize(("text", "due"), ISH, ids=[row[0][:40] for row in ISH])
def test_a_number_may_be_called_rough_behind_it(text: str, due: list[str]) -> None:
    assert grades(text) == due


@pytest.mark.parametrize(("text", "due"), BRACKETS, ids=[row[0][:40] for row in BRACKETS])
def test_two_numbers_may_have_a_bracket_each(text: str, due: list[str]) -> None:
    assert grades(text) == due


@pytest.mark.parametrize(("text", "due"), BULLETS, ids=[row[0][:40] for row in BULLETS])
def test_the_mark_of_a_list_item_is_no_word(text: str, due: list[str]) -> None:
    assert grades(text) == due


@pytest.mark.parametrize(("text", "due"), SPEECH, ids=[row[0][:40] for row in SPEECH])
def test_words_about_where_it_came_from_part_nothing(text: str, due: list[str]) -> None:
    assert grades(text) == due


@pytest.mark.parametrize(("text", "due"), CHANGES, ids=[row[0][:40] for row in CHANGES])
def test_what_was_and_what_became_are_not_one(text: str, due: list[str]) -> None:
    assert grades(text) == due


@pytest.mark.parametrize(("text", "due"), STATES, ids=[row[0][:40] for row in STATES])
def test_columns_of_two_things_are_not_one(text: str, due: list[str]) -> None:
    assert grades(text) == due


@pytest.mark.parametrize(("text", "due"), EQUATIONS, ids=[row[0][:40] for row in EQUATIONS])
def test_each_equation_of_a_list_stands_alone(text: str, due: list[str]) -> None:
    assert grades(text) == due


@pytest.mark.parametrize(("text", "due"), DEADLINES, ids=[row[0][:40] for row in DEADLINES])
def test_a_deadline_is_no_difference(text: str, due: list[str]) -> None:
    assert grades(text) == due


HASTE = [
    ("ATF temp target: 40C/104F max 45C/133F", ["agrees", "wrong"]), ("open 40C/104F, shut 45C/113F", ["agrees", "agrees"]),
    ("M10: 35 ft-lb/47 Nm; M8: 18 ft-lb/42 Nm; M6: 89 in-lb/10 Nm", ["agrees", "wrong", "agrees"]),
    ("min 6 qt (5.7 L) max 7 qt (7.6 L)", ["agrees", "wrong"]), ("1st 3.3 L (3.5 qt), 2nd 3.4 L (4.6 qt)", ["agrees", "wrong"]),
    ("pour point minus 45 C (minus 49 F)", ["agrees"]), ("Minus 45 degrees C (minus 94 degrees F)", ["wrong"]),
    ("minus 40 C/F, its the same", ["agrees"]), ("90 C minus 20 C is 70 C", []), ("6 qt minus 2 qt is 4 qt", []),
    ("Is it 25 ft-lb or 25 Nm?", []), ("25 ft-lb or 25 Nm? The first, please.", []), ("25 ft-lb or 25 Nm, same thing", ["wrong"]),
    ("(34 N·m)/(46 lbf·ft)", ["wrong"]), ("(34 N·m) = (25 lbf·ft)", ["agrees"]),
    ("12 US quarts is the same thing as 12 imperial quarts", ["wrong"]), ("12 US qt, same amount as 10 imp qt", ["agrees"]),
    ("It was 3 pints low (2.4 L)", ["wrong"]), ("It was 3 pints low (1.4 L)", ["agrees"]), ("1 qt low = 1.95 L low", ["wrong"]),
    ('gap .5 mm (.020")', ["agrees"]), ('gap .5 mm (.20")', ["wrong"]), ('a 1.5 mm (.06") shim', ["agrees"]),
    ("hose 3/8in ID (9.5mm) x 1.5m (15ft)", ["agrees", "wrong"]), ("5in long (127mm)", ["agrees"]), ("5 in the pan (4.7 L)", []),
]  # fmt: skip


@pytest.mark.parametrize(("text", "due"), HASTE, ids=[row[0][:40] for row in HASTE])
def test_what_is_written_in_haste(text: str, due: list[str]) -> None:
    assert grades(text) == due


@pytest.mark.parametrize("before", ["5 L in qt", "All in N·m (lb-ft). x 3 (4)", "5 L is about", "minus", "5 ish"])
def test_a_run_of_spaces_costs_no_more_than_its_length(before: str) -> None:
    from time import process_time

    began = process_time()
    check_text(f"{before}{' ' * 20_000}x 5.3 qt")
    assert process_time() - began < 1.0  # some milliseconds; a pattern with two ways to pass each space took minutes


@pytest.mark.parametrize(
    ("text", "verdicts"),
    [
        ("4 bottles of 1 qt each (3.8 L)", ["agrees"]), ("3 jugs, 5 qt each (14.2 L)", []),
        ("two drains of 3.5 qt each (6.6 L)", ["agrees"]),
        ("1 qt each (0.95 L)", ["agrees"]), ("5 qt each (4.9 L)", ["disagrees"]), ("two drains of 3.5 qt each (6.9 L)", ["disagrees"]),
        ("34 Nm each (29 ft-lb)", ["disagrees"]),
    ],
)  # fmt: skip
def test_what_is_told_of_each_may_be_followed_by_what_all_are_together(text, verdicts):
    assert [finding.verdict for finding in check_text(text)] == verdicts


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("20 °F (11 °C) more and it is too hot", "agrees"), ("10 °C (18 °F) more before it is checked", "agrees"),
        ("20 °F (11 °C) less would do", "agrees"), ("180 °F (82 °C) more or less", "agrees"), ("180 °F (100 °C) more or less", "disagrees"),
    ],
)  # fmt: skip
def test_so_many_degrees_more_are_a_difference_and_more_or_less_is_none(text, verdict):
    assert [finding.verdict for finding in check_text(text)] == [verdict]


@pytest.mark.parametrize("said", ["you're at 99 % new", "you are at 99 % new", "the fill is at 99 % new", "it's at 99 % new"])
def test_where_the_fill_is_at_is_a_result(said):
    [finding] = check_text(f"After 3 drain and fills of 3.3 L each in an 8.85 L box {said}.")
    assert (finding.verdict, finding.expected) == ("disagrees", "75 %")
    assert not check_text("3 drains at 37 % new, 8.85 L and 3.3 L")
