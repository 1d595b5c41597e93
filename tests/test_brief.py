"""What comes first on a sheet: the job in five lines, then what a person under the vehicle needs; all of it on request."""

import re

import pytest

from shared import said
from sumpwise import Job, Sheet, plan
from sumpwise.__main__ import main
from sumpwise.service.words.english import WORDS
from sumpwise.service.words.english.columns import COLUMNS

DEMO = Job.demo()
LOG = DEMO.to_dict()["log"]
NAME = Job.from_dict({"vehicle": {"name": "example wagon"}})
FEW = {
    "a name": NAME,
    "US": Job.from_dict({"vehicle": {"name": "example wagon"}, "capacity": {"total": "9 qt"}, "report": {"units": "US"}}),
    "an axle": Job.from_dict({"vehicle": {"name": "axle", "kind": "axle"}}),
    "a transfer case": Job.from_dict({"vehicle": {"name": "case", "kind": "transfer case"}, "capacity": {"total": "1.9 qt"}}),
    "a manual gearbox": Job.from_dict({"vehicle": {"name": "gearbox", "kind": "manual"}}),
    "a cvt": Job.from_dict({"vehicle": {"name": "wagon", "kind": "cvt"}}),
    "sealed": Job.from_dict({"vehicle": {"name": "wagon", "level_check": "sealed"}}),
    "an overflow plug": Job.from_dict({"vehicle": {"name": "wagon", "level_check": "overflow plug"}}),
}  # fmt: skip


@pytest.mark.parametrize("name", FEW)
def test_a_minimal_job_is_at_most_sixty_lines(name, tmp_path, capsys):
    path = tmp_path / "job.toml"
    tables = {key: value for key, value in FEW[name].to_dict().items() if isinstance(value, dict)}
    text = "\n".join(f"[{table}]\n" + "\n".join(f'{key} = "{value}"' for key, value in keys.items()) for table, keys in tables.items())
    path.write_text(text, encoding="utf-8")
    assert main([str(path)]) == 0
    brief = capsys.readouterr().out
    assert len(brief.splitlines()) <= 60
    assert main([str(path), "--full"]) == 0
    full = capsys.readouterr().out
    assert len(full.splitlines()) > 60
    assert "--full" in brief
    assert full.strip() == plan(FEW[name]).to_markdown().strip()


@pytest.mark.parametrize("job", [DEMO, *FEW.values(), DEMO.with_(target={"method": "drain and machine"})], ids=lambda job: job.title)
def test_five_lines_in_short_come_first(job):
    sheet = plan(job)
    assert sheet.sections[0].key == "summary"
    assert [line.partition(":")[0] for line in sheet.section("summary").lines] == ["- **Buy", "- **Do", "- **Set", "- **Pour", "- **Check"]
    ids = [fact["id"] for fact in sheet.section("summary").facts]
    assert [id_.partition(".")[0] for id_ in ids] == ["summary"] * 5


def test_the_five_lines_of_the_demo():
    assert plan(DEMO.with_(log=[])).section("summary").lines == [
        "- **Buy:** 2 × can + 4 × bottle; a new washer, filter and gasket.",
        "- **Do:** one drain, then bursts through the cooler line, 6 in all; 77 ± 3 % of the fill will then be new fluid.",
        "- **Set:** wrench to 28.1–30.9 N·m for the drain plug (34 N·m); pan bolts 9.5 N·m, not with this wrench.",
        "- **Pour:** 3.70 L, at 17 °C, engine off, before the first burst.",
        "- **Check:** the level on the stick at 82–92 °C; the target is the middle of the marks.",
    ]


def test_finished_work_says_what_was_done_and_when_next():
    """128 400 km and 56 000 km, four years from the day; the steps are gone from the brief sheet, the cautions stay."""
    asked = {"date": "2026-11-27", "interval_time": "4 y"}
    sheet = plan(DEMO.with_(vehicle=asked))
    sure = 100 * sheet.section("outlet").data["probability"]
    assert 78 < sure < 87  # 82.4 ± 1.3 over forty seeds
    assert sheet.section("summary").lines == [
        "- **Buy:** nothing more; 11.17 L went in for the 10.97 L that came out.",
        "- **Do:** nothing more; 1 drain and 6 bursts through the cooler line done, and 77 ± 2 % of the fill is new fluid. "
        f"The chance that it is at least 75 % is only {sure:.0f} % (90 % wanted); if that is not enough for you, about 1.0 L more "
        "through the line would do.",
        "- **Set:** nothing more.",
        "- **Pour:** nothing more; the level is +0.01 ± 0.06 L off target.",
        "- **Check:** for leaks after a day. The next service is due on 2030-11-27 or at 184 400 km, whichever comes first.",
    ]
    assert "at 114 581 mi" in said(plan(DEMO.with_(vehicle=asked), units="US"), "summary")
    assert "due 4 y from now" in said(plan(DEMO.with_(vehicle={"date": None, "interval_distance": None})), "summary")
    assert "## Step by step" not in sheet.to_markdown(full=False)
    assert "## Step by step" in sheet.to_markdown()
    assert "## Cautions" in sheet.to_markdown(full=False)
    axle = FEW["an axle"].to_dict() | {"capacity": {"total": "1 L"}, "vessel": [{"name": "pan"}], "log": [
        {"event": "drained", "vessel": "pan", "reading": "0.95 L"}, {"event": "poured", "vessel": "pan", "reading": "0.95 L"},
        {"event": "drive"},
    ]}  # fmt: skip
    told = said(plan(Job.from_dict(axle)), "summary")
    assert "1 drain done" in told
    assert "the level was correct when it was checked" in told
    assert "See the maintenance schedule for when" in told


METHODS = ("drain", "drains", "bursts", "machine stirred", "drain and machine")


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("name", FEW)
def test_a_minimal_job_is_at_most_sixty_lines_whatever_its_method(name, method):
    made = Job.from_dict(FEW[name].to_dict() | {"target": {"fresh": "90 %", "method": method}})
    assert len(plan(made).to_markdown(full=False).splitlines()) + 2 <= 60


def test_where_nothing_is_poured_nothing_is_bought():
    assert plan(FEW["sealed"]).section("summary").lines[0] == "- **Buy:** nothing yourself."
    assert plan(FEW["sealed"]).section("summary").lines[3] == "- **Pour:** nothing yourself."


def test_a_stop_sign_comes_before_everything_and_takes_the_five_lines_away():
    sheet = plan(DEMO.with_(log=[*LOG, {"event": "seen", "seen": "flakes or chunks"}]))
    keys = [section.key for section in sheet.sections]
    assert keys[0] == "stopped"
    assert not {"summary", "steps", "buy"} & set(keys)
    assert sheet.to_markdown(full=False).splitlines()[2] == "## STOP"


def test_a_disputed_log_comes_before_the_five_lines():
    wrong = [dict(entry) for entry in LOG]
    wrong[5]["reading"] = "4.70 L"
    sheet = plan(DEMO.with_(log=wrong))
    assert [section.key for section in sheet.sections[:2]] == ["conflict", "summary"]
    assert "Count and stick disagree" in sheet.to_markdown(full=False)


def test_cautions_that_bear_on_this_work_stand_before_the_steps():
    def cautions(job):
        sheet = plan(job)
        keys = [section.key for section in sheet.sections]
        assert keys.index("cautions") < keys.index("steps")
        return {fact["id"].partition(".")[2] for fact in sheet.section("cautions").facts}

    always = {"first", "scald", "running", "stands", "spill", "waste"}
    assert cautions(DEMO) == always | {"line"}
    assert cautions(DEMO.with_(log=[], target={"method": "drain"})) == always
    assert cautions(NAME) == always
    assert cautions(FEW["a cvt"]) == always | {"own_fluid"}
    assert cautions(FEW["an axle"]) == always - {"running"}
    assert cautions(FEW["sealed"]) == {"first", "hands"}  # nothing is opened
    assert cautions(FEW["an overflow plug"]) == always | {"hands"}


ANY = {"flakes", "hot"}
OPENED = {"thread", "rounded", "bottle"}


@pytest.mark.parametrize(
    ("job", "signs"),
    [
        (DEMO, ANY | OPENED | {"milky", "burnt", "foam", "bubbles", "no_flow", "count"}),
        (DEMO.with_(log=[], target={"method": "drain"}), ANY | OPENED | {"milky", "burnt", "foam", "count_poured"}),
        (DEMO.with_(target={"method": "drain"}), ANY | OPENED | {"milky", "burnt", "foam", "bubbles", "no_flow", "count"}),  # by its log
        (FEW["an overflow plug"], ANY | OPENED | {"milky", "burnt", "foam_plug", "count_poured"}),
        (FEW["a cvt"], ANY | OPENED | {"milky", "burnt", "foam", "count_poured"}),
        (FEW["sealed"], ANY | {"milky", "burnt"}),
        (FEW["an axle"], ANY | OPENED | {"water"}),
        (FEW["a manual gearbox"], ANY | OPENED | {"water"}),
    ],
)
def test_stop_signs_are_those_of_the_unit_and_of_the_work(job, signs):
    section = plan(job).section("stop")
    assert [fact["verdict"].partition(".")[2] for fact in section.facts[1:]] == [s for s in ORDER if s in signs]
    told = section.lines[0]
    for one in ORDER:
        said_so = WORDS[f"sign.{one}"].partition("{")[0]
        assert (said_so in told) == any(said_so in WORDS[f"sign.{other}"] for other in signs), one


ORDER = (
    "milky", "water", "bubbles", "no_flow", "flakes", "burnt", "hot", "foam", "foam_plug", "thread", "rounded", "bottle", "count",
    "count_poured",
)  # fmt: skip


def test_a_sign_that_was_seen_is_said_even_where_nobody_would_look_for_it():
    axle = Job.from_dict(FEW["an axle"].to_dict() | {"log": [{"event": "seen", "seen": "foam on the stick"}]})
    assert "foam on the stick" in said(plan(axle), "stopped")


def test_steps_hold_the_torque_and_the_setting():
    drain = plan(DEMO.with_(target={"method": "drain"}))
    assert "torque (drain plug 34 N·m, wrench set to 28.1–30.9 N·m), and pour back" in said(drain, "steps")
    assert "pan bolts" not in said(drain, "steps")


@pytest.mark.parametrize(
    ("wrench", "units", "setting"),
    [
        ({"graduation": "1 N·m"}, "as written", "29–30 N·m"),
        ({"graduation": "0.5 N·m"}, "as written", "28.5–30.5 N·m"),
        ({"graduation": "2 N·m"}, "metric", "30 N·m"),
        ({"graduation": "20 N·m"}, "metric", "28.1–30.9 N·m"),
        ({"graduation": "1 N·m"}, "US", "20.8–22.8 lbf·ft"),
        ({"graduation": "1 lbf·ft"}, "US", "21–22 lbf·ft"),
        ({"graduation": "1 lbf·ft"}, "as written", "21–22 lbf·ft"),
        ({"graduation": "1 N·m"}, "both", "29–30 N·m (20.8–22.8 lbf·ft)"),
    ],
)
def test_a_setting_is_whole_divisions_of_the_wrench_inside_the_band(wrench, units, setting):
    """31/0.96/1.15 to 37/1.04/1.15 N·m is 28.08 to 30.94 N·m, 20.71 to 22.82 lbf·ft."""
    assert plan(DEMO.with_(wrench=wrench), units=units).section("torque").rows[0][3] == setting


def test_the_brief_sheet_leaves_out_what_proves_and_keeps_what_warns():
    brief, full = plan(DEMO).to_markdown(full=False), plan(DEMO).to_markdown()
    for text in ("## Assumptions", "## Over 10 years", "| nothing "):
        assert text in full
        assert text not in brief
    assert "## What to buy" in plan(DEMO.with_(log=[])).to_markdown(full=False)  # before the work, not in the middle of it
    verdict = plan(DEMO).section("outlet").lines[0]
    for text in ("## In short", "−0.36 L", verdict, "28.1–30.9 N·m", "leave it"):
        assert text in brief
    last = plan(NAME).to_markdown(full=False).partition("## Assumptions")[2]
    assert "- The whole dry fill, with converter and cooler if it has them:" in last
    missed = plan(DEMO.with_(target={"fresh": "99 %", "method": "drain"})).to_markdown(full=False)
    assert "**The target is missed**" in missed
    stored = Sheet.from_dict(plan(DEMO).to_dict())
    assert stored.to_markdown(full=False) == brief


def test_what_is_missed_is_said_with_what_the_last_litres_bought():
    job = DEMO.with_(log=[], target={"fresh": "99 %", "method": "bursts"}, exchange={"bursts": None, "burst": None})
    brief = plan(job).to_markdown(full=False)
    assert "**The target is missed**" in brief
    gains = r"The last 1\.25 L of one drain, then bursts through the cooler line makes the inside [\d.]+ percentage points fresher\."
    assert re.search(gains, brief)
    met = plan(DEMO.with_(log=[], target={"fresh": "50 %"})).to_markdown(full=False)
    assert "points fresher." not in met.partition("## What to buy")[2].partition("## The shop")[0]


def test_a_sheet_of_version_1_is_brief_without_knowing_its_facts():
    import json
    from pathlib import Path

    old = Sheet.from_dict(json.loads((Path(__file__).parent / "files/v1/sheet.json").read_text(encoding="utf-8")))
    assert "## What to buy" in old.to_markdown(full=False)


def test_every_column_is_explained_in_the_help(capsys):
    heads = {key for key in WORDS if ".column." in key}
    assert set(COLUMNS) == heads
    with pytest.raises(SystemExit):
        main(["--help"])
    text = " ".join(capsys.readouterr().out.split())
    for head, meaning in COLUMNS.items():
        assert f"{WORDS[head]}: {meaning}" in text
        assert not re.search(r"[.;]$", meaning)
