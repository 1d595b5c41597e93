"""The house stands on its floors: imports go down only, rooms and modules alike, and one module alone opens the door to each library."""

from __future__ import annotations

import re

import house

FLOORS = [
    ("errors", "codes", "accepted", "_math", "_blocks", "_files", "_toml", "_jsonschema", "_display", "_terminal"),
    ("quantities", "uncertainty"),
    ("measurement",),
    ("fluid", "mixing", "torque"),
    ("ageing", "inference", "filling", "buying", "description"),
    ("service",),
    ("verification", "plots", "testing", "__main__"),
]
"""The ground first; a room may import those on its own floor as long as there is no circle."""


def test_there_are_no_circles():
    drawn = house.arrows()
    assert house.circles(drawn) == []
    assert house.circles(house.rooms(drawn)) == []


def test_every_room_has_a_floor_and_imports_go_down_only():
    level = {room: floor for floor, rooms in enumerate(FLOORS) for room in rooms}
    drawn = house.rooms(house.arrows())
    assert set(drawn) == set(level)
    upward = [(room, other) for room, others in drawn.items() for other in others if level[other] > level[room]]
    assert upward == []


def test_a_circle_would_be_found():
    drawn = {"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": {"a"}}
    assert house.circles(drawn) == [["a", "b", "c"]]
    assert house.floors(drawn) == []


def test_one_module_alone_opens_the_door_to_each_library():
    for library, door in (("pint", "quantities._pint"), ("uncertainties", "uncertainty.sources")):
        pattern = re.compile(rf"^\s*(?:import|from) {library}\b", re.MULTILINE)
        found = [name for name, path in house.modules().items() if pattern.search(path.read_text(encoding="utf-8"))]
        assert found == [door]
