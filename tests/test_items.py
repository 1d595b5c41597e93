"""The same item with two values in one text, and the many items that only look alike."""

from __future__ import annotations

import pytest

from sumpwise.description import check_text

CONFLICTS = [
    ("Fluid for a service: 4.9 L\nTools: socket, tub\nAgain, fluid for a service: 4.4 L", "4.4 L"),
    ("Dry capacity 10.8 L\n\nQ: what's the dry capacity?\nA: dry capacity is 8.8 L", "8.8 L"),
    ("Drain plug torque: 34 Nm\n\nTighten the drain plug to 43 Nm.", "43 Nm"),
    ("# Fluid change, drain plug 34 Nm\n\nFinally 43 Nm on the drain plug.", "43 Nm"),
    ("Title: pan capacity 5.5 qt\n\nThe pan holds 6.5 qt.", "6.5 qt"),
    ("Torque of the drain plug: 34 Nm\n\nCard\nDrain plug | 43 Nm", "43 Nm"),
    ("| Drain plug | 34 Nm |\n| Fill plug | 44 Nm |\n\nscript: and the fill plug gets 34 Nm", "34 Nm"),
    ("Drain plug: 34 Nm (25 ft-lb)\n\n[card]\nDrain plug: 43 Nm (32 ft-lb)", "43 Nm"),
    ("Drain plug: 34 Nm (25 ft-lb)\n\n[card]\nDrain plug: 32 ft-lb", "32 ft-lb"),
    ("Check temperature: 40 °C\n\nAt the check temperature of 50 °C open the plug.", "50 °C"),
    ("Level check temp 40 °C\n\nDescription: level check temperature is 45 °C", "45 °C"),
    ("The dry fill is 8.9 L.\nCapacities\nDry fill | 9.8 L", "9.8 L"),
    ("Service interval: 60,000 km\n\nCard: service interval 50,000 km", "50,000 km"),
    ("Total capacity: 8.9 L\n| total capacity | 9.8 L |", "9.8 L"),
    ("Filter screws get 10 Nm\nfilter bolts: 12 Nm", "12 Nm"),
    ("Line pressure 5.5 bar\ncard: line pressure 6.5 bar", "6.5 bar"),
    ("For the drain plug use 34 Nm\nFor the drain plug use 43 Nm", "43 Nm"),
    ("Drain and refill: 3.5 L\nCard: drain and refill 5.3 L", "5.3 L"),
    ("the drain plug wants thirty four newton meters\nso that drain plug gets forty three newton meters", "43 newton meters"),
    ("Refill volume: 3.6 L\nTools: a socket\n\nRefill volume: 6.3 L", "6.3 L"),
    ("Refill capacity: 3.6 L\n\nThe refill capacity is 6.3 L.", "6.3 L"),
    ("Drain plug: 43 Nm.\nThe drain plug goes back in, 34 Nm.", "34 Nm"),
    ("Drain plug: 43 Nm.\nPut the drain plug back in and torque it to 34 Nm.", "34 Nm"),
    ("Drain plug: 43 Nm.\nThe drain plug goes back in with a new washer, 34 Nm.", "34 Nm"),
    ("Drain plug: 43 Nm.\nNew washer on the drain plug, 34 Nm.", "34 Nm"),
    ("Drain plug: 43 Nm.\nRefit drain plug @ 34 Nm", "34 Nm"),
    ("Drain plug: 43 Nm.\n34 Nm: drain plug", "34 Nm"),
    ("43 Nm - drain plug\n49 Nm - fill plug\n\nThe drain plug gets 34 Nm.", "34 Nm"),
    ("43 Nm drain plug\n49 Nm fill plug\n\nThe drain plug gets 34 Nm.", "34 Nm"),
    ("Drain plug: 43 Nm.\n34 Nm on drain plug", "34 Nm"),
    ("Drain plug: 43 Nm.\nIt's 34 Nm for the drain plug.", "34 Nm"),
    ("Drain plug: 43 Nm.\n34 Nm is what the drain plug gets.", "34 Nm"),
    ("44 Nm on the fill plug. 54 Nm on the fill plug and not a hair more.", "54 Nm"),
    ("Drain plug ..... 34 Nm\nFill plug ..... 49 Nm\n\nThe drain plug gets 43 Nm.", "43 Nm"),
    ("Transmission\nDrain plug 34 Nm\n\nTransmission\nNew washer\nDrain plug 43 Nm", "43 Nm"),
    ("<h2>Drain plug: 34 Nm</h2><p>The drain plug gets 43 Nm.</p>", "43 Nm"),
]
QUIET = [
    "## Front axle\nDrain plug: 30 Nm\n## Rear axle\nDrain plug: 40 Nm", "Front axle:\nDrain plug: 30 Nm\nRear axle:\nDrain plug: 40 Nm",
    "## Transmission\nDrain plug: 30 Nm\n## Transfer case\nDrain plug: 40 Nm",
    "2015 models\nPan capacity: 5.5 qt\n2018 models\nPan capacity: 6.5 qt",
    "Cooler line 1: 27 Nm\nCooler line 2: 22 Nm", "Pan drain: 3.3 L\nPan drain: 3.4 L", "Drain and refill: 3.3 L\nDrain and refill: 3.4 L\n"
    "Drain and refill: 3.5 L", "Fresh fluid 1.20 L\nFresh fluid 1.25 L", "New fluid in: 1.20 L\nNew fluid in: 1.25 L",
    "Drain plug 34 Nm.\nThen: drain plug, 25 ft-lb as promised.", "Old wagon: pan capacity 5 qt. New wagon: pan capacity 6 qt.",
    "A viewer wrote drain plug 50 Nm. It is: drain plug 34 Nm.", "Pan bolts: 5 Nm\nPan bolts, second pass: 9 Nm",
    "Pan bolts 80 in-lb\nPan bolts 9 Nm",
    "Capacity of the jug 5 L. Capacity of the pan 5.3 L. Capacity of the wagon 9.2 L.",
    "Pan capacity (2015): 5.5 qt\nPan capacity (2018): 6.5 qt",
    "Pan capacity 5.5 qt up to 2015\nPan capacity 6.5 qt from 2016", "Line pressure at idle: 5 bar\nLine pressure at stall: 12 bar",
    "Drain plug: 34 Nm\nFill plug: 44 Nm\nPan bolts: 9 Nm", "Drain plug 34 Nm (new). Drain plug 30 Nm (used).",
    "Pan bolts first 5 Nm, then pan bolts 9 Nm",
    "Drain plug: 34 Nm\nThe drain plug is 24 mm", "Level at 45 °C is right, level at 20 °C is meaningless.",
    "Drain plug: 31–37 Nm\nDrain plug: 34 Nm",
    "2WD refill: 3.6 L\n4WD refill: 4.1 L", "The 2WD refill is 3.6 L, the 4WD refill 4.1 L.",
    "Fill capacity: 8.8 L\nRefill capacity: 3.6 L",
    "4-cyl fill 6.1 qt; 6-cyl fill 7.4 qt",
    "10 Nm pan bolts (first pass)\n12 Nm pan bolts (second pass)", "34 Nm drain plug\n43 Nm fill plug\n9 Nm pan bolts",
    "43 Nm for the drain plug when new, 34 Nm for the drain plug when reused.", "12 mm pan bolts, 10 Nm\n8 mm pan bolts, 5 Nm",
    "M8 pan bolts, 10 Nm\nM6 pan bolts, 5 Nm", "Drain plug: 34 Nm. Hand tight is about 5 Nm for the drain plug.",
    "5 Nm pan bolts, then 9 Nm pan bolts", "35 °C pan temperature\n45 °C pan temperature", "1 L gear oil\n5 L gear oil",
    "The drain plug goes back in at 34 Nm. On the diff the drain plug goes back in at 43 Nm.",
    "Do not put 60 Nm on the drain plug. Drain plug: 34 Nm", "Drain plug 34 Nm with a new washer\nDrain plug 30 Nm with the old washer",
    "Drain plug ..... 35 ft-lb (47 Nm)\nFill plug ..... 29 ft-lb (39 Nm)\n\nThe fill plug gets 29 ft-lb.",
    "Tighten it to 34 Nm (25 ft-lb)\nOn the fill plug: 39 Nm\nFill plug: 39 Nm",
    "Front differential\nDrain plug 39 Nm\n\nRear differential\nNew washer\nDrain plug 49 Nm",
    "20 Nm pan bolts, steel pan\n8 Nm pan bolts, plastic pan", "Pan bolts 20 Nm, steel pan\nPan bolts 8 Nm, plastic pan",
    "34 Nm drain plug (steel)\n20 Nm drain plug (plastic)", "34 Nm - drain plug, automatic\n40 Nm - drain plug, manual",
    "10 Nm: valve body bolts, long\n8 Nm: valve body bolts, short",
    "Oiled threads: 28 Nm for the drain plug. Dry: 34 Nm for the drain plug.",
    "34 Nm is for the drain plug, 43 Nm is for the fill plug.",
    "Engine:\nDrain plug: 30 Nm\nGearbox:\nDrain plug: 40 Nm", "The drain plug broke loose at 90 Nm. Drain plug: 34 Nm.",
]  # fmt: skip


@pytest.mark.parametrize(("text", "stated"), CONFLICTS)
def test_an_item_with_two_values_is_found(text: str, stated: str) -> None:
    (finding,) = check_text(text).wrong
    assert finding.stated == stated
    assert finding.expected != stated
    assert " before, " in finding.note


@pytest.mark.parametrize("text", QUIET)
def test_two_items_are_not_one(text: str) -> None:
    assert not check_text(text).wrong


def test_a_second_value_is_found_wherever_it_comes_back() -> None:
    text = "Drain plug 34 Nm\nDrain plug 43 Nm\nDrain plug 34 Nm\nDrain plug 43 Nm"
    assert [finding.line for finding in check_text(text).wrong] == [2, 4]


def test_what_is_done_with_a_part_is_not_another_part():
    (found,) = check_text("Drain plug 34 Nm on the example wagon\n\nStep 6. Fit the drain plug, 39 Nm.").wrong
    assert found.stated == "39 Nm"
    (found,) = check_text("Service interval: 60,000 miles.\n\nSo in short, the service interval is 50,000 miles.").wrong
    assert found.stated == "50,000 miles"


def test_an_item_is_named_in_the_order_of_its_words():
    (finding,) = check_text("Pan bolts: 9 Nm\n\nThe pan bolts get 12 Nm.").wrong
    assert finding.note == "pan bolt: 9 Nm before, in line 1, 12 Nm here: make them agree"
