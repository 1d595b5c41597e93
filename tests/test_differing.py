"""What if: two sheets compared: what is written, what comes out, and why."""

from __future__ import annotations

import json
import re

import pytest

from sumpwise import Job, RangeError, Sheet, compare, plan
from sumpwise.__main__ import main
from sumpwise._toml import document
from sumpwise.service.differing import MOST_CAUSES, answers
from sumpwise.uncertainty import nominal
from test_job_files import JOBS

DEMO = Job.demo().with_(log=None)
FEW = Job.from_dict({"vehicle": {"name": "wagon"}, "capacity": {"total": "9 ± 0.2 qt"}, "target": {"fresh": "90 %", "method": "drains"}})


def told(job, other, **units):
    return compare(plan(job), plan(other, **units))


def moved(sheet, key="answers"):
    return {one["answer"]: one for one in sheet.section(key).data["answers"]}


def test_nothing_changed_is_said():
    sheet = told(DEMO, DEMO)
    assert [section.key for section in sheet.sections] == ["same"]
    assert sheet.section("same").lines == ["Nothing."]


def test_what_is_written_differently_is_shown_as_written():
    sheet = told(DEMO, DEMO.with_(capacity={"plug_drain": "3.1 L", "book_refill": None}, level={"window": "80–90 °C"}, costs={"hour": 30}))
    rows = {row[0]: row[1:] for row in sheet.section("inputs").rows}
    assert rows == {
        "[capacity] plug_drain": ["3.3 ± 0.15 L", "3.1 L"], "[capacity] book_refill": ["3.6 ± 0.1 L", "–"],
        "[level] window": ["82–92 °C", "80–90 °C"], "[costs] hour": ["–", "30"],
    }  # fmt: skip
    assert {"place": "[capacity] plug_drain", "before": "3.3 ± 0.15 L", "after": "3.1 L"} in sheet.section("inputs").data["inputs"]


def test_entries_of_lists_are_found_by_their_names_and_places():
    data = DEMO.to_dict()
    vessels = [data["vessel"][1], data["vessel"][0] | {"reads_high": "2.5 %"}, {"name": "can", "graduation": "1 L"}]
    history = [{"ago": "2 y", "share": "40 %"}]
    rows = told(DEMO, DEMO.with_(vessel=vessels, history=history)).section("inputs").rows
    assert rows == [
        ["[[history]] 1", "–", "2 y, 40 %"], ["[[vessel]] 2 reads_high", "1.9 %", "2.5 %"], ["[[vessel]] 3", "–", "can, 1 L"],
    ]  # fmt: skip
    assert told(Job.demo(), DEMO).section("inputs").rows == [["[[log]]", "22 entries", "0 entries"]]


def test_two_vessels_of_one_name_are_told_apart_by_their_places():
    pails = [{"name": "pail", "graduation": "0.25 L"}, {"name": "pail", "graduation": "0.5 L"}]
    other = [pails[0], pails[1] | {"graduation": "0.1 L"}]
    assert told(FEW.with_(vessel=pails), FEW.with_(vessel=other)).section("inputs").rows[0][0] == "[[vessel]] 2 graduation"


def test_a_difference_counts_from_twice_its_standard_uncertainty_on():
    for bursts, clear in ((8, True), (7, True), (6, None)):
        found = moved(told(DEMO, DEMO.with_(exchange={"bursts": bursts}))) if bursts != 6 else {}
        if clear is None:
            assert "need" not in found
            continue
        need = found["need"]
        assert need["change"] == pytest.approx((bursts - 6) * 1.25)
        assert need["standard_uncertainty"] == pytest.approx(0.45)
        assert need["significant"] is (abs(need["change"]) > 2 * 0.45)
    small = moved(told(DEMO, DEMO.with_(exchange={"trim": "0.05 L"})))["need"]
    assert small["change"] == pytest.approx(-0.2)
    assert small["significant"] is False


def test_a_drain_that_is_known_better_needs_fewer_of_them():
    one, other = plan(FEW), plan(FEW.with_(capacity={"plug_drain": "4 qt"}))
    found = moved(compare(one, other))
    assert found["count"]["change"] < 0
    volumes = [nominal(answers(sheet)["volume"].value.value) for sheet in (one, other)]
    assert volumes[1] == pytest.approx(answers(other)["count"].value.value * 4 * 0.946352946)
    assert found["volume"]["change"] == pytest.approx(volumes[1] - volumes[0])


def test_a_number_of_drains_moves_by_a_whole_number():
    rows = {row[0]: row for row in told(FEW, FEW.with_(capacity={"plug_drain": "4 qt"})).section("answers").rows}
    _, before, after, change, *_ = rows["drains, bursts or exchanges"]
    assert change == f"\N{MINUS SIGN}{int(before) - int(after)}"


def test_the_comparison_is_in_the_units_of_the_second_sheet():
    shown = told(FEW, FEW.with_(capacity={"plug_drain": "4 qt"})).to_markdown()
    assert "US qt" in shown
    assert re.findall(r"[\d.]+ ?(?:L|mL|N·m|km)\b|°C", shown) == []
    metric = told(FEW, FEW.with_(capacity={"plug_drain": "4 qt"}), units="metric")
    assert metric.section("inputs").rows[0][2] == "3.8 L"
    assert "qt" not in metric.to_markdown()


# -- why


def test_one_change_is_the_cause_of_all():
    assert {tuple(one["because"]) for one in moved(told(DEMO, DEMO.with_(exchange={"bursts": 8}))).values()} == {("[exchange] bursts",)}


def test_each_of_several_changes_is_tried_alone():
    changed = DEMO.with_(exchange={"bursts": 8}, wrench={"adapter": "0 mm"}, shopping={"currency": "beans"})
    found = moved(told(DEMO, changed))
    assert found["need"]["because"] == ["[exchange] bursts"]
    assert found["setting.drain plug"]["because"] == ["[wrench] adapter"]
    both = moved(told(DEMO, DEMO.with_(exchange={"bursts": 5}, capacity={"pan_and_filter": "1.2 ± 0.1 L"})))
    assert set(both["fresh"]["because"]) <= {"[exchange] bursts", "[capacity] pan_and_filter"}


def test_changes_that_work_together_only_are_said_to():
    level = {"marks_volume": "0.4 L", "marks_length": "10 mm", "window": "80–90 °C"}
    log = [{"event": "stick", "reading": "2 mm", "temperature": "85 °C"}, {"event": "drained", "reading": "3 L", "temperature": "40 °C"}]
    job = Job.from_dict({"vehicle": {"name": "wagon"}, "capacity": {"total": "9 L"}})
    found = moved(told(job, job.with_(level=level, log=log)))
    assert found["off_now"]["because"] == []
    assert "the changes together" in told(job, job.with_(level=level, log=log)).to_markdown()


def test_many_changes_are_not_tried_one_by_one():
    more = {"flow": "3 L/min", "burst": "1.1 L", "bursts": 7, "trim": "0.2 L", "reserve": "1.5 L", "reaction": "3 s", "change": "40 s"}
    assert len(more) > MOST_CAUSES
    sheet = told(DEMO, DEMO.with_(exchange=more))
    assert {one["because"] for one in moved(sheet).values()} == {None}
    assert "not tried one by one" in sheet.to_markdown()


# -- what is said


def test_sentences_that_come_and_go_are_named():
    sheet = told(DEMO, DEMO.with_(log=[{"event": "seen", "seen": "flakes or chunks"}]))
    assert any(line.startswith("- New: **STOP") or "New:" in line for line in sheet.section("said").lines)
    assert set(sheet.section("said").data) == {"new", "gone"}
    back = told(DEMO.with_(log=[{"event": "seen", "seen": "flakes or chunks"}]), DEMO)
    assert back.section("said").data["new"] == sheet.section("said").data["gone"]


# -- sheets


def test_stored_sheets_compare_as_fresh_ones_do():
    pair = [plan(DEMO), plan(DEMO.with_(exchange={"bursts": 8}))]
    stored = [Sheet.from_dict(json.loads(sheet.to_json())) for sheet in pair]
    assert compare(*stored) == compare(*pair)
    assert stored[0].inputs == DEMO.to_dict()
    assert Sheet.from_dict(compare(*pair).to_dict()).to_markdown() == compare(*pair).to_markdown()


def test_sheets_that_do_not_hold_their_job_are_compared_by_their_answers():
    pair = [plan(DEMO).to_dict(), plan(DEMO.with_(exchange={"bursts": 8})).to_dict()]
    for data in pair:
        del data["inputs"]
    told_ = compare(*map(Sheet.from_dict, pair))
    assert told_.section("inputs").lines == ["One of the sheets does not contain the job it is based on."]
    assert moved(told_)["need"]["because"] is None
    old = Sheet.from_dict(json.loads((JOBS.parent / "v1" / "sheet.json").read_text(encoding="utf-8")))
    assert compare(old, old).section("inputs").data == {"inputs": None}


@pytest.mark.parametrize("pair", [(None, plan(DEMO)), (plan(DEMO), DEMO), ("a", "b")])
def test_what_is_not_a_sheet_is_refused(pair):
    with pytest.raises(RangeError, match="is not a Sheet"):
        compare(*pair)


@pytest.mark.parametrize("name", [path.stem for path in sorted(JOBS.glob("*.toml"))])
def test_every_kind_of_unit_compares_with_a_smaller_one(name):
    job = Job.from_toml(JOBS / f"{name}.toml")
    sheet = told(job, job.with_(capacity={"total": "5 L" if job.has("capacity", "plug_drain") else "1.05 L"}))
    assert sheet.section("inputs").rows[0][0] == "[capacity] total"
    assert answers(plan(job))["need"] is not None
    assert sheet.to_markdown()


def test_the_command_compares_two_files(tmp_path, capsys):
    paths = [tmp_path / name for name in ("one.toml", "other.toml")]
    for path, job in zip(paths, (FEW, FEW.with_(capacity={"plug_drain": "4 qt"})), strict=True):
        path.write_text(document(job.to_dict()), encoding="utf-8")
    assert main(["compare", *map(str, paths)]) == 0
    assert "## What comes out differently" in capsys.readouterr().out
    assert main(["compare", *map(str, paths), "--json", "--units", "metric"]) == 0
    assert Sheet.from_dict(json.loads(capsys.readouterr().out)).units == "metric"


def test_up_to_six_changes_are_tried_alone():
    """Seven and more are too many runs: what they make together is said, not which of them."""
    changes = {
        "exchange": {"bursts": 8}, "wrench": {"adapter": "80 mm"}, "capacity": {"pan_and_filter": "0.8 L"}, "target": {"fresh": "80 %"},
        "shopping": {"risk": "1 %"}, "circuit": {"bypass": "20 %"},
    }  # fmt: skip
    six = moved(told(DEMO, DEMO.with_(**changes)))
    assert "[wrench] adapter" in six["setting.drain plug"]["because"]
    seven = moved(told(DEMO, DEMO.with_(**changes, filler={"venting": "60 %"})))
    assert {one["because"] for one in seven.values()} == {None}


def test_volumes_are_told_in_the_main_unit_of_a_sheet():
    """0.05 L as litres beside the 12.35 L before it, not as 50 mL."""
    log = Job.demo().to_dict()["log"][:6]  # plug, pan and filter out, and the refill
    other = [*log[:5], log[5] | {"reading": "3.65 L"}]
    assert "mL" not in told(Job.demo().with_(log=log), Job.demo().with_(log=other)).to_markdown()
