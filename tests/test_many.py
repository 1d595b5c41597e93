"""Many jobs, one after another: in order, when asked for, whatever is wrong with one of them."""

from __future__ import annotations

import itertools
import tracemalloc

import pytest

from sumpwise import Job, RangeError, Sheet, SumpwiseError, plan, plan_many

GOOD = {"vehicle": {"name": "example wagon"}}
BAD = {"vehicle": {"name": "example van"}, "capacity": {"total": "9 m"}}


def test_every_job_has_its_sheet_or_its_error(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text('[vehicle]\nname = "example wagon"\n', encoding="utf-8")
    given = [GOOD, BAD, Job.from_dict(GOOD), str(path), path, tmp_path / "none.toml", 5, None, Job.demo()]
    found = list(plan_many(given))
    assert [one.number for one in found] == list(range(len(given)))
    assert [one.given for one in found] == given
    codes = ["", "unit.kind", "", "", "", "file.unreadable", "key.type", "key.type", ""]
    assert [one.error.code if one.error else "" for one in found] == codes
    assert all(isinstance(one.sheet, Sheet) != isinstance(one.error, SumpwiseError) for one in found)
    assert found[0].sheet.to_markdown() == plan(Job.from_dict(GOOD)).to_markdown() == found[4].sheet.to_markdown()


def test_a_job_is_planned_when_it_is_asked_for():
    taken = []

    def endless():
        for number in itertools.count():
            taken.append(number)
            yield GOOD

    planned = plan_many(endless())
    assert taken == []
    for one in planned:
        if one.number == 2:
            break  # cancelled
    assert taken == [0, 1, 2]


def test_one_system_of_units_for_all():
    [one, other] = plan_many([GOOD, Job.demo()], units="US")
    assert one.sheet.to_dict()["units"] == other.sheet.to_dict()["units"] == "US"
    [one] = plan_many([GOOD], units="furlongs")
    assert one.error.argument == "units"


@pytest.mark.parametrize("jobs", ["job.toml", 5, None, GOOD, b"job", {1, 2}])
def test_what_is_not_a_list_of_jobs(jobs):
    with pytest.raises(RangeError, match="is not a list of jobs"):
        plan_many(jobs)


def test_nothing_is_kept():
    def held(count):
        for one in plan_many(itertools.repeat(GOOD)):
            if one.number == count:
                return tracemalloc.get_traced_memory()[0]

    held(3)
    tracemalloc.start()
    try:
        few, more, many = held(5), held(25), held(45)
    finally:
        tracemalloc.stop()
    assert min(more - few, many - more) < 200_000  # caches that are filled once may be filled in either
