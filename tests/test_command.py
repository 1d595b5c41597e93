"""The command line, run as a user runs it."""

import json
import os
import re
import signal
import subprocess
import sys

import pytest

from sumpwise import Job, _terminal, check_text, plan
from sumpwise.__main__ import COMMANDS, main
from sumpwise.uncertainty import nominal


def run(*words, given=""):
    environment = {**os.environ, "PYTHONIOENCODING": "utf-8"}
    return subprocess.run(
        [sys.executable, "-m", "sumpwise", *words],
        input=given,
        capture_output=True,
        text=True,
        encoding="utf-8",
        env=environment,
        timeout=120,
        check=False,
    )


def test_the_demo_prints_its_sheet():
    done = run()
    assert done.returncode == 0
    assert done.stderr == ""
    assert "## What comes next" in done.stdout
    assert "## What to buy" not in done.stdout  # the work has begun: what was bought is on the full sheet
    assert "## What to buy, for the whole job" in run("--full").stdout


def test_json_is_the_same_sheet(capsys):
    assert main(["--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert (data["format"], data["version"]) == ("sumpwise sheet", 2)
    assert list(data["sections"])[:2] == ["summary", "now"]


def test_a_broken_job_is_exit_2_without_a_traceback(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text('[capacity]\ntotal = "8 parsecs"\n', encoding="utf-8")
    done = run(str(path))
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert "job.toml" in done.stderr
    assert "[capacity] total" in done.stderr
    assert "8 parsecs" in done.stderr


def test_verify_reproduces_every_value(capsys):
    assert main(["verify"]) == 0
    assert " agree and " in capsys.readouterr().out


@pytest.mark.parametrize(("text", "status"), [("Fill with 6.1 L (6.4 US qt).\n", 0), ("Torque 39 N·m (39 lbf·ft).\n", 1)])
def test_check_reads_standard_input(text, status):
    done = run("check", given=text)
    assert done.returncode == status
    assert "Traceback" not in done.stderr


def test_check_of_a_missing_file_is_exit_2(capsys):
    assert main(["check", "nowhere.txt"]) == 2
    assert "nowhere.txt" in capsys.readouterr().err


def in_shell(script, **environment):
    """The result of a shell line that calls the command as "$PY" -m sumpwise."""
    surroundings = {k: v for k, v in os.environ.items() if k != "PYTHONIOENCODING"}
    return subprocess.run(
        ["bash", "-o", "pipefail", "-c", script], capture_output=True, timeout=120, check=False,
        env={**surroundings, "PY": sys.executable, **environment},
    )  # fmt: skip


def test_a_reader_that_has_seen_enough_changes_nothing():
    done = in_shell('"$PY" -m sumpwise | head -n 1')
    assert (done.returncode, done.stderr) == (0, b"")
    done = in_shell('yes "39 N·m (39 lbf·ft)" | head -n 3000 | "$PY" -m sumpwise check | head -n 1')
    assert (done.returncode, done.stderr) == (1, b"")


def test_a_full_disk_is_exit_2_and_said():
    done = in_shell('"$PY" -m sumpwise > /dev/full')
    assert done.returncode == 2
    assert done.stderr == b"sumpwise: standard output cannot be written: No space left on device\n"


@pytest.mark.parametrize(
    ("script", "status"),
    [
        ('"$PY" -m sumpwise >&-', 2),
        ('"$PY" -m sumpwise 2>&-', 0),
        ('"$PY" -m sumpwise nowhere.toml 2>&-', 2),
        ('"$PY" -m sumpwise nowhere.toml 2>/dev/full', 2),
        ('"$PY" -m sumpwise >&- 2>&-', 2),
        ('"$PY" -m sumpwise <&-', 0),
        ('"$PY" -m sumpwise check <&-', 2),
        ('"$PY" -m sumpwise --help > /dev/full', 2),
    ],
)
def test_closed_and_full_streams_end_without_a_traceback(script, status):
    done = in_shell(script)
    assert done.returncode == status
    assert b"Traceback" not in done.stderr
    assert b"Exception" not in done.stderr


def test_ctrl_c_is_exit_130_and_said():
    code = (
        "import sys\nfrom sumpwise.service import planning\nfrom sumpwise.__main__ import main\n"
        "def stopped(*_, **__): raise KeyboardInterrupt\nplanning.plan = stopped\nsys.exit(main([]))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, timeout=60, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (130, b"", b"sumpwise: stopped\n")


def test_ctrl_c_while_the_command_is_loaded_leaves_no_traceback():
    code = (
        "import os, runpy, signal, sys\nclass Stop:\n    def find_spec(self, name, *_):\n"
        "        if name == 'argparse': os.kill(os.getpid(), signal.SIGINT)\n"
        "sys.meta_path.insert(0, Stop())\nrunpy.run_module('sumpwise', run_name='__main__', alter_sys=True)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, timeout=60, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (-signal.SIGINT, b"", b"")  # which a shell calls 130


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp437", "cp1252", "koi8-r"])
def test_narrow_encodings_keep_every_minus_sign(encoding):
    wide = in_shell('"$PY" -m sumpwise', PYTHONIOENCODING="utf-8").stdout.decode("utf-8")
    done = in_shell('"$PY" -m sumpwise', PYTHONIOENCODING=encoding)
    assert done.returncode == 0
    narrow = done.stdout.decode(encoding)
    assert "?" not in narrow.replace("?", "", wide.count("?"))
    signs = re.compile(r"[-−–](?=[0-9])")
    assert "−0.36" in wide
    assert len(signs.findall(narrow)) == len(signs.findall(wide))


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "utf-8"])
def test_json_is_the_same_in_every_encoding(encoding):
    done = in_shell('"$PY" -m sumpwise --json', PYTHONIOENCODING=encoding)
    assert json.loads(done.stdout.decode(encoding)) == json.loads(plan(Job.demo()).to_json())


def test_escape_codes_are_never_echoed(tmp_path):
    for words in (["--\x1b[31mred"], ["\x1b]0;title\x07.toml"], ["check", "\x1b[2J"], ["verify", "\x1b[5m"]):
        done = run(*words)
        assert done.returncode == 2
        assert "\x1b" not in done.stdout + done.stderr
        assert "\x07" not in done.stdout + done.stderr
        assert done.stderr


TYPED = [("lgo", "log"), ("recrod", "record"), ("chek", "check"), ("pln", "plan"), ("Compare", "compare")]


@pytest.mark.parametrize(("typed", "meant"), TYPED)
def test_a_misspelled_command_is_asked_about(typed, meant, capsys):
    assert main([typed, "job.toml"]) == 2
    assert f"did you mean '{meant}'?" in capsys.readouterr().err


def test_plan_may_be_said(tmp_path, monkeypatch, capsys):
    path = tmp_path / "job.toml"
    path.write_text('[vehicle]\nname = "wagon"\n', encoding="utf-8")
    assert main(["plan", str(path)]) == main([str(path)]) == 0
    assert capsys.readouterr().out.count("# wagon") == 2
    monkeypatch.chdir(tmp_path)
    path.rename("lgo")
    assert main(["lgo"]) == 0  # a file of that name is planned


def test_help_shows_every_command():
    done = run("--help")
    assert done.returncode == 0
    for name, (_, about) in COMMANDS.items():
        assert name in done.stdout
        assert about.split(":")[0].split(",")[0].split(" ")[0] in done.stdout
        helped = run(*([name] if name else []), "--help")
        assert helped.returncode == 0
        assert about.split()[0] in helped.stdout


def test_an_argument_is_the_name_of_a_file_whatever_it_looks_like(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    for missing in ("nope.toml", "title=1", ""):
        assert main([missing]) == 2
        assert capsys.readouterr().err.endswith("cannot be read: No such file or directory (give the path of a job file)\n")
    (tmp_path / "title=1").write_text('[vehicle]\nage = "nine"\n', encoding="utf-8")
    assert main(["title=1"]) == 2
    assert [line.partition(", line ")[0] for line in capsys.readouterr().err.splitlines()] == ["sumpwise: title=1"] * 2


def test_all_problems_of_a_job_file_are_said_with_their_lines(tmp_path, capsys):
    path = tmp_path / "job.toml"
    path.write_text('[vehicle]\nname = "wagon"\nage = "nine"\n[capacity]\ntotal = "8.85"\n', encoding="utf-8")
    assert main([str(path)]) == 2
    said = capsys.readouterr().err.splitlines()
    assert [line.partition(": read")[0] for line in said] == [
        f"sumpwise: {path}, line 3: [vehicle] age", f"sumpwise: {path}, line 5: [capacity] total",
    ]  # fmt: skip


def test_a_reading_below_the_mark_is_entered_as_it_is_written(tmp_path, capsys):
    """A minus sign in front of a figure begins no option."""
    job = tmp_path / "job.toml"
    job.write_text('[vehicle]\nname = "example wagon"\n[capacity]\ntotal = "8.85 L"\n', encoding="utf-8")
    assert main(["log", str(job), "stick", "-2 mm", "--temperature", "61 °C"]) == 0
    assert main(["log", str(job), "stick", "+3mm", "--temperature", "-5°C"]) == 0
    assert main(["log", str(job), "stick", "-12mm", "--temperature", "61 °C", "--note", "a-1"]) == 0
    below, cold, written = Job.from_toml(job).entries("log")
    assert (below["reading"], cold["reading"], nominal(cold["temperature"])) == (-2.0, 3.0, -5.0)
    assert (written["reading"], written["note"]) == (-12.0, "a-1")
    capsys.readouterr()
    with pytest.raises(SystemExit):
        main(["log", str(job), "stick", "-x"])
    assert "-x" in capsys.readouterr().err


def test_a_record_is_new_once_and_a_service_can_be_taken_out(tmp_path, capsys):
    job, record = tmp_path / "job.toml", tmp_path / "record.json"
    job.write_text(
        '[vehicle]\nname = "example wagon"\n[capacity]\ntotal = "8.85 L"\n[[log]]\nevent = "drained"\nreading = "3.3 L"\n'
        '[[log]]\nevent = "poured"\nreading = "3.3 L"\n', encoding="utf-8",
    )  # fmt: skip
    for day, said in (("2024-11-27", "A new record, "), ("2026-11-27", "Recorded in ")):
        assert main(["record", str(job), str(record), "--date", day]) == 0
        assert capsys.readouterr().out.startswith(f"{said}{record}.")
    assert main(["record", str(record), "--remove", "1"]) == 0
    left = capsys.readouterr().out
    assert left.startswith(f"Taken out of {record}: the service ")
    assert "2026-11-27" in left


def test_an_interrupt_that_a_library_makes_an_error_of_its_own_still_ends_as_one(monkeypatch, capsys):
    """numpy does while it is loaded: it said that it was badly installed."""

    def loading():
        try:
            _terminal.stop(signal.SIGINT, None)
        except KeyboardInterrupt:
            raise ImportError("a bad install") from None

    def broken():
        raise ImportError("a bad install")

    monkeypatch.setattr(_terminal, "STOPPED", [])
    with pytest.raises(ImportError):
        _terminal.run(broken)
    assert _terminal.run(loading) == 130
    assert capsys.readouterr().err == "sumpwise: stopped\n"


def test_the_help_explains_every_column_below_its_section():
    shown = run("--help").stdout
    table = shown[shown.index("columns of the tables:") :].splitlines()[1:]
    sections = [line.strip() for line in table if re.fullmatch(r"  \w+", line)]
    assert len(sections) == len(set(sections)) > 5
    assert max(map(len, table)) <= 100
    assert any(len(line) == 100 for line in table)


@pytest.mark.parametrize(
    ("text", "status"), [("2.9 L (3.1 qt)", 0), ("34 N·m (30 lb-ft)", 1), ("80 °C (175 °F)", 3), ("80 °C (175 °F), 34 N·m (30 lb-ft)", 1)]
)
def test_a_text_is_checked_with_the_status_of_its_worst_number(text, status, tmp_path, capsys):
    """What the page of commands says: 1 if something is wrong, 3 if something is only oddly written."""
    path = tmp_path / "description.txt"
    path.write_text(text, encoding="utf-8")
    assert main(["check", str(path)]) == status
    assert f"{path}:1:" in capsys.readouterr().out
    assert main(["check", "--json", str(path)]) == status
    stored = json.loads(capsys.readouterr().out)
    assert [one["verdict"] for one in stored["findings"]] == [found.verdict for found in check_text(text)]


def test_the_command_can_be_loaded_without_being_run():
    code = (  # in the background Ctrl-C may be ignored from the start
        "import signal\nbefore = signal.getsignal(signal.SIGINT)\nimport sumpwise.__main__\n"
        "assert signal.getsignal(signal.SIGINT) is before"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)


def test_a_stream_for_errors_that_is_closed_changes_no_status():
    code = "import sys\nfrom sumpwise.__main__ import main\nsys.stderr.close()\nraise SystemExit(main(['schema', 'job']))"
    assert subprocess.run([sys.executable, "-c", code], check=False, timeout=60, capture_output=True).returncode == 0
