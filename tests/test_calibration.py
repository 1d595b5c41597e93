"""The simulator behind the calibration study is right on its own, and uses nothing of the library."""

import ast
import math
from pathlib import Path

import numpy
import pytest

from calibration import service, worlds
from calibration.run import worlds_of
from calibration.score import answered
from sumpwise import Job
from sumpwise.service.case import Case
from sumpwise.uncertainty import nominal, standard

HERE = Path(service.__file__).parent


def world(**fixed):
    return worlds.drawn("realistic", numpy.random.default_rng(5), **fixed)


@pytest.mark.parametrize("module", ["worlds.py", "service.py"])
def test_the_simulator_imports_nothing_of_the_library(module):
    named = set()
    for node in ast.walk(ast.parse((HERE / module).read_text())):
        if isinstance(node, ast.Import):
            named |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            named.add(node.module)
    assert named <= {"__future__", "math", "typing", "numpy"}


def test_every_range_has_a_reason():
    assert all(len(row.reason) > 10 for row in worlds.TABLE.values())


def test_a_world_is_the_same_whenever_it_is_drawn():
    first, second = list(worlds_of("realistic", 2, 3)), list(worlds_of("realistic", 2, 3))
    assert first == second
    assert first[0] != first[1]


@pytest.mark.parametrize("drawn_first", [0.0, 0.3])
def test_fluid_is_conserved(drawn_first):
    unit = service.Unit(world(drawn_first=drawn_first, drain_back=0.3))
    held, old = unit.volume, float(unit.old.sum())
    unit.stand()
    assert unit.volume == pytest.approx(held, abs=1e-12)
    assert float(unit.old.sum()) == pytest.approx(old, abs=1e-12)
    unit.drain(2.0)
    unit.pour(2.0)
    before = float(unit.old.sum())
    seen = unit.pump(1.0, 45.0)
    assert unit.volume == pytest.approx(held - 1.0, abs=1e-9)
    # what left was as old as the line showed: between the least and the most of what was seen
    assert min(seen) - 0.05 <= before - float(unit.old.sum()) <= max(seen) + 0.05


def test_a_stirred_tank_washes_out_exponentially():
    """One tank of 2 L of old fluid, fed from a sump that is all new: exp(-x/2) of the old is left (Levenspiel)."""
    bare = world(converter_tanks=1, bypass=0.0, bypass_by_warmth=0.0, drawn_first=0.0, drain_back=0.0)
    unit = service.Unit(bare)
    unit.old[0] = unit.old[-2] = unit.old[-1] = 0.0
    size = unit.sizes[1]
    unit.pump(1.0, 50.0)
    assert unit.old[1] / size == pytest.approx(math.exp(-1.0 / size), rel=1e-9)


def test_what_is_drawn_first_never_meets_the_sump():
    """A litre that is drawn in before it mixes leaves the sump as old as it was, and goes straight into the converter."""
    still = dict.fromkeys(("drain_back", "clutch_circulation", "pocket_circulation", "bypass", "bypass_by_warmth"), 0.0)
    unit = service.Unit(world(drawn_first=1.0, **still))
    unit.drain(1.0)
    unit.pour(1.0)
    unit.pump(1.0, 50.0)
    assert unit.old[0] / unit.sizes[0] == pytest.approx(1.0, abs=1e-9)
    assert unit.old[1] / unit.sizes[1] < 1.0


def test_density_falls_as_the_standard_prints_it():
    """API MPMS 11.1: 850 kg/m³ at 15 °C has a correction factor of 0.95137 at 80 °C and 0.99630 at 20 °C."""
    fluid = {"density": 850.0, "expansion_error": 0.0}
    assert service.growth(fluid, 80.0) == pytest.approx(0.99630 / 0.95137, abs=2e-5)


def test_what_a_sheet_says_of_the_level_means_what_it_says():
    """The short form of the study: thirty realistic services, the count, the stick and both against the truth.

    Of thirty, 25 or more lie within two standard uncertainties with a chance of 99.7 % when coverage is 95 %; mean u at most 1.3 times the
    root mean square error, and a tenth more for so few services.
    """
    told = {"count": [], "stick": [], "joint": []}
    for job, truth in worlds_of("realistic", 30, 4):
        found = Case(Job.from_dict(job)).agreement
        for way, errors in told.items():
            level = getattr(found, way)
            if level is not None:
                errors.append((nominal(level) - truth["error"], standard(level)))
    for way, errors in told.items():
        assert len(errors) >= 28, way  # hardly any taken for a contradiction
        inside = sum(abs(error) <= 2 * u for error, u in errors)
        rms = math.sqrt(sum(error * error for error, _ in errors) / len(errors))
        assert inside >= 0.82 * len(errors), (way, inside)
        assert 0.7 < sum(u for _, u in errors) / len(errors) / rms < 1.43, way


def test_what_a_plan_predicts_of_the_inside_means_what_it_says():
    """The short form of the study: twenty realistic services, what their plans predicted against the truth, by the same measure."""
    errors = []
    for job, truth in worlds_of("realistic", 20, 4):
        fresh = Case(Job.from_dict(job)).comparison["bursts"].fresh
        errors.append((nominal(fresh) - truth["fresh"], standard(fresh)))
    inside = sum(abs(error) <= 2 * u for error, u in errors)
    rms = math.sqrt(sum(error * error for error, _ in errors) / len(errors))
    assert inside >= 0.82 * len(errors), inside
    assert 0.7 < sum(u for _, u in errors) / len(errors) / rms < 1.43


def test_what_a_sheet_says_of_the_inside_means_what_it_says():
    """The short form of the study: six realistic services with 30 % of each pour drawn first, none unanswered."""
    answers = [(answered(job), truth) for job, truth in worlds_of("drawn first", 6, 4)]
    assert not [said["refused"] for said, _ in answers if "refused" in said]
    inside = sum(said["interval"][0] <= truth["fresh"] <= said["interval"][1] for said, truth in answers if "interval" in said)
    assert inside >= 4  # of six with a chance of 99.8 %
