"""Laws of the text check: what is rightly rounded agrees, what is off disagrees, and nothing upsets it."""

from __future__ import annotations

import math
from fractions import Fraction

from hypothesis import assume, find, given
from hypothesis import strategies as st

from laws.lawbook import examples, law
from sumpwise.description import check_text
from sumpwise.quantities import notation
from sumpwise.quantities.rounding import rounded, rounded_inward
from sumpwise.quantities.units import by_symbol

VOLUMES = ("L", "mL", "US qt", "imp qt", "US gal", "imp gal", "US fl oz", "imp fl oz", "US pt")
TEMPERATURES = ("°C", "°F", "K")
TORQUES = ("N·m", "lbf·ft", "lbf·in", "kgf·m", "kgf·cm")
LENGTHS = ("mm", "in", "km", "mi", "ft", "m")
PRESSURES = ("bar", "psi", "kPa")
FLOWS = ("L/min", "US gal/min", "L/s")
JOINTS = (
    "{} ({})", "{} / {}", "{} = {}", "{}, which is {}", "{}, that's {}", "{}, i.e. {}", "{}, or about {}", "{} [{}]",
    "It is {} ({}) by the book.",
)  # fmt: skip


def two_of(*kinds: tuple[str, ...]) -> st.SearchStrategy[list[str]]:
    return st.sampled_from(kinds).flatmap(lambda kind: st.lists(st.sampled_from(kind), min_size=2, max_size=2, unique=True))


def written(count: int, places: int) -> str:
    text = str(count).rjust(places + 1, "0")
    return f"{text[:-places]}.{text[-places:]}" if places else text


numbers = st.builds(written, st.integers(1, 99_999), st.sampled_from((0, 1, 2, 4)))  # three decimals may be thousands
pairs = two_of(VOLUMES, TEMPERATURES, TORQUES, LENGTHS, PRESSURES, FLOWS)
joints = st.sampled_from(JOINTS)


def exact(number: Fraction, unit: str, to: str) -> Fraction:
    source, target = by_symbol(unit), by_symbol(to)
    internal = (number * source.num + source.offset_num) / source.den
    return (internal * target.den - target.offset_num) / target.num


@law("check_text")
@given(numbers, pairs, joints)
def test_a_rightly_rounded_pair_agrees(number: str, units: list[str], joint: str) -> None:
    """A number beside its conversion by `rounded` agrees, however the two are joined."""
    source = f"{number} {units[0]}"
    (finding,) = check_text(joint.format(source, rounded(source, units[1]).text))
    assert finding.verdict == "agrees"


@law("check_text", "rounded_inward")
@given(numbers, numbers, pairs, joints)
def test_a_span_beside_its_inward_rounding_agrees(one: str, other: str, units: list[str], joint: str) -> None:
    """Limits beside their conversion by `rounded_inward` agree."""
    assume(by_symbol(units[0]).kind in ("torque", "temperature", "pressure"))
    low, high = sorted((one, other), key=Fraction)
    assume(Fraction(low) < Fraction(high))
    source = f"{low} to {high} {units[0]}"
    (finding,) = check_text(joint.format(source, rounded_inward(source, units[1]).text))
    assert finding.verdict == "agrees"


@law("check_text", "rounded_inward")
@given(st.integers(1, 999), st.integers(1, 99), two_of(TORQUES, TEMPERATURES, PRESSURES), st.booleans())
def test_a_limit_rounded_outward_disagrees(low: int, width: int, units: list[str], at_the_top: bool) -> None:
    """A window of which one limit is rounded the wrong way disagrees."""
    source = f"{low} to {low + width}.5 {units[0]}"
    window = notation.read_span(rounded_inward(source, units[1]).text)
    places = max(window.lower.places or 0, window.upper.places or 0)
    lower, upper = (int(Fraction(r.num, r.den) * 10**places) for r in (window.lower, window.upper))
    truth = [exact(Fraction(value), units[0], units[1]) * 10**places for value in (low, Fraction(f"{low + width}.5"))]
    lower, upper = (lower, math.ceil(truth[1])) if at_the_top else (math.floor(truth[0]), upper)
    assume(lower > 0 and (upper > truth[1] if at_the_top else lower < truth[0]))
    (finding,) = check_text(f"{source} ({written(lower, places)} to {written(upper, places)} {units[1]})")
    assert finding.verdict == "disagrees"
    assert finding.expected == window.text


@law("check_text")
@given(st.integers(11, 9_999), st.integers(0, 2), pairs, st.integers(-40, 40), st.integers(0, 2), joints)
def test_a_pair_that_is_off_disagrees(count: int, places: int, units: list[str], off: int, stated_places: int, joint: str) -> None:
    """Two numbers that lie further apart than the digits of either claim disagree."""
    value = Fraction(count, 10**places)
    truth = exact(value, units[0], units[1])
    stated = round(truth * 10**stated_places) + off
    assume(stated > 0 and count % 10 and stated % 10)
    number = Fraction(stated, 10**stated_places)
    assume(abs(number - truth) > Fraction(1, 2 * 10**stated_places))
    assume(abs(exact(number, units[1], units[0]) - value) > Fraction(1, 2 * 10**places))
    half_degree = units[0] == "°F" and not places and (2 * number).denominator == 1 and abs(number - truth) <= Fraction(1, 4)
    assume(not half_degree and not (units[1] == "°F" and not stated_places and (2 * value).denominator == 1))
    (finding,) = check_text(joint.format(f"{written(count, places)} {units[0]}", f"{written(stated, stated_places)} {units[1]}"))
    assert finding.verdict == "disagrees"


FRAGMENTS = st.sampled_from(
    [
        "6.1 L", "6.4 qt", "(", ")", " / ", "/", " = ", "34 N·m", "25 lbf·ft", "82–92 °C", "180 °F", " ", "\n", "±", "3", "24 %",
        "three drains", " of ", " from ", " old", "torque to ", "tighten", ".", ",", "½", "5 1/2", "−", "-", "12 oz", "hot", "cold", " at ",
        "1e9", "9" * 30, " or ", "between ", " and ", "\x1b[31m", "\u202e", "é", "0", "1 in", "nm", "%", "8 ± 1 L", "(8.0 ± 0.3) L",
        "4.50(8) L", " per ", "U.S. ", "100 km",
    ]
)  # fmt: skip
PAIRS = st.sampled_from(
    [
        "6.1 L (6.4 US qt)", "6.1 L (6.6 US qt)", "34 N·m / 25 lbf·ft", "34 Nm (46 ft-lb)", "82–92 °C (180–198 °F)", "2.9 L = 3.1 qt\n",
        "three drains of 24 % each, 72 % new", "6 qt\u202e (5.7 L)", "6 qt (6.8 L)", "plug 34 Nm\n", "plug 43 Nm\n",
        "5½ in\x1b[31m (140 mm)",
    ]
)  # fmt: skip
anything = st.lists(FRAGMENTS | PAIRS | st.text(max_size=4), max_size=24).map("".join)


def test_texts_of_every_verdict_are_drawn():
    for verdict in ("agrees", "disagrees", "ambiguous"):
        found = find(anything, lambda text, verdict=verdict: verdict in {one.verdict for one in check_text(text)}, settings=examples(1000))
        assert [one.verdict for one in check_text(found)] == [verdict]  # the shortest


@law("check_text")
@examples(300)
@given(anything)
def test_any_text_is_answered(text: str) -> None:
    """Any text is answered with findings whose places lie in it, in order, and show no control character."""
    findings = check_text(text)
    for finding in findings:
        assert 0 <= finding.start < finding.end <= len(text)
        line = text.split("\n")[finding.line - 1]
        assert line[finding.column - 1 :].startswith(text[finding.start : finding.end].split("\n")[0])
        assert (finding.verdict == "agrees") == (not finding.suggestion)
        assert finding.expected
        assert finding.stated
    assert [f.start for f in findings] == sorted(f.start for f in findings)
    shown = findings.to_text(text, "a\x07b")
    assert all(c.isprintable() or c in "\n\u00a0\u2007\u2009\u202f" for c in shown)
