"""Temperature differences, told by the words around them: each way of saying it, with the right and with the wrong second number."""

from __future__ import annotations

import pytest

from shared import grades
from sumpwise.description import check_text

DIFFERENCES = """
It dropped {} in the cooler.
A drop of {}.
The two sensors differ by {}.
My two probes disagree by {}.
They are {} apart.
The gun is off by {}.
The pan reads {} lower than the sump.
It is {} cooler than the sump.
Fluid cools {} a minute.
It warms about {} per minute.
Each minute adds {}.
Add {} for the sensor.
Subtract {} for the sensor.
tolerance of {}
within {} of each other
accurate to {}
accurate to within {}
{} above ambient
{} over ambient
{} above the outside
{} hotter than outside
{} more than the air
it ran {} hotter
it ran hotter by {}
a {} rise
a {} temperature rise
a {} increase
a {} swing
a {} temperature drop
oil life halves every {}
oil life halves for each {}
for every {} the level rises
per {}
went up by {}
went up another {}
climbed another {}
ΔT {}
ΔT = {}
delta T of {}
delta of {}
temperature difference: {}
difference across the cooler is {}
the drop over the cooler was {}
the cooler sheds {}
the cooler knocks off {}
the cooler removes {}
the cooler takes out {}
takes it down {}
brings it down by {}
plus or minus {}
give or take {}
an error of {}
offset of {}
a margin of {}
{} of margin
{} of headroom
{} headroom
{} below the limit
{} away from the limit
{} warmer
it gained {} on the hill
it lost {} in ten minutes
shift of {}
a change of {}
rise: {}
steps of {}
{} too hot
It should not rise by more than {}.
It never rises more than {}.
It drops by no less than {}.
""".strip().splitlines()
POINTS = """
Check it at {}.
It was {} outside
climbed to {}
fell to {}
dropped to {}
drop it to {}
rose to {}
rose to more than {}
heats to {}
warm it to {}
wait until it cools to {}
cools below {}
wait until it is below {}
it rose above {}
drop below {}
it must not fall under {}
Every summer it sees {}
rated to {}
good down to {}
The limit is {}
""".strip().splitlines()


@pytest.mark.parametrize("template", DIFFERENCES)
def test_a_difference_has_no_thirty_two(template: str) -> None:
    assert grades(template.format("12 °C (22 °F)")) == ["agrees"]
    assert grades(template.format("18 °F (10 °C)")) == ["agrees"]
    assert grades(template.format("12 °C (54 °F)")) == ["wrong"]
    assert grades(template.format("18 °F (-8 °C)")) == ["wrong"]


@pytest.mark.parametrize("template", POINTS)
def test_a_point_has_its_thirty_two(template: str) -> None:
    assert grades(template.format("45 °C (113 °F)")) == ["agrees"]
    assert grades(template.format("113 °F (45 °C)")) == ["agrees"]
    assert grades(template.format("45 °C (81 °F)")) == ["wrong"]


@pytest.mark.parametrize(
    ("text", "due"),
    [
        ("40 ± 5 °C (104 ± 9 °F)", ["agrees"]), ("40 ± 5 °C (104 ± 5 °F)", ["wrong"]), ("±5 °C (±9 °F)", ["agrees"]),
        ("±5 °C (±41 °F)", ["wrong"]), ("10 K (18 °F)", ["agrees"]), ("a rise of 10 K (50 °F)", ["wrong"]), ("300 K (80 °F)", ["agrees"]),
        ("a window of 82–92 °C (180–197 °F)", ["agrees"]), ("a window of 82–92 °C (18–20 °F)", ["wrong"]),
        ("a rise of 10–15 °C (18–27 °F)", ["agrees"]), ("a window of 10 °C (18 °F)", ["agrees"]), ("The gun reads 4 °C (7 °F) high.",
        ["agrees"]),
        ("climbed from 80 °C (176 °F) to 95 °C (203 °F)", ["agrees", "agrees"]), ("good to 1 °C (2 °F)", ["agrees"]),
        ("Good to 120 °C (248 °F)", ["agrees"]),
    ],
)  # fmt: skip
def test_tolerances_windows_and_kelvins(text: str, due: list[str]) -> None:
    assert grades(text) == due


def test_what_a_difference_lies_across_may_stand_between():
    (good,) = check_text("ΔT across the cooler: 25 °C (45 °F).")
    assert good.verdict == "agrees"
    (wrong,) = check_text("Delta T over the cooler = 25 °C (77 °F).")
    assert (wrong.grade, wrong.expected) == ("wrong", "45 °F")
