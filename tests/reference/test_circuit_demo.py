"""The freshness table of the invented example wagon, to its printed digits.

Truth volumes are at 20 °C: the sump starts 0.17 L short of 3.90; plug drain, tray and filter (3.24 + 0.296 + 0.11 L) leave it as old
fluid; the pours were measured at 17 °C, so they are taken to 20 °C (lubricating oils, 847 kg/m³ at 15 °C). Read as litres at 20 °C the
pours would miss four entries of the table: 46.5, 39.4, 22.5 and, before the last pour, 26.2 % old.
"""

import math

import pytest

from sumpwise.mixing.circuit import Circuit

POURS = ["1.20", "1.20", "1.25", "1.20", "1.25", "1.25"]
BURSTS = ["1.22 L", "1.20 L", "1.24 L", "1.22 L", "1.22 L", "1.25 L"]
INSIDE = ["57.6", "46.4", "39.3", "33.5", "29.1", "25.4", "22.4"]
OUTLET = ["59.7", "45.7", "36.0", "28.7", "23.0", "18.5"]


def vcf(temperature):
    """API MPMS 11.1, lubricating oils, written out: this test rests on the circuit alone."""
    alpha, delta = 0.6278 / 847, temperature - 15
    return math.exp(-alpha * delta * (1 + 0.8 * alpha * delta))


def at_20(litres):
    return f"{float(litres) * vcf(17) / vcf(20)!r} L"


def run(pour):
    now = Circuit(
        "3.90 L", "2.45 L", "0.62 L", clutches="0.83 L", pockets="1.05 L", sump_floor="1.6 L", bypass=0.35, clutch_circulation=0.25,
        pocket_circulation=0.017,
    )  # fmt: skip
    now = now.drain("0.17 L").drain("3.24 L").drain("0.296 L").drain("0.11 L").pour(pour("3.70"))
    after, before, at_outlet = [now.resident], [], []
    for burst, litres in zip(BURSTS, POURS, strict=True):
        now = now.pump(burst)
        before.append(now.resident)
        at_outlet.append(now.outlet)
        now = now.pour(pour(litres))
        after.append(now.resident)
    return [[f"{100 * (1 - fresh):.1f}" for fresh in column] for column in (after, before, at_outlet)]


def test_the_table_to_its_printed_digits():
    after, before, at_outlet = run(at_20)
    assert after == INSIDE
    assert before[-1] == "26.1"
    assert at_outlet == OUTLET


def test_the_outlet_ends_fresher_than_the_inside():
    after, before, at_outlet = run(at_20)
    assert float(at_outlet[-1]) < float(after[-1]) < float(before[-1])


@pytest.mark.parametrize("pour", [lambda litres: f"{litres} L"])
def test_pours_that_are_not_taken_to_20_degrees_miss_the_table(pour):
    after, before, _ = run(pour)
    assert [a for a, b in zip(after, INSIDE, strict=True) if a != b] == ["46.5", "39.4", "22.5"]
    assert before[-1] == "26.2"
