"""The command line, run as a user runs it."""

import json
import os
import subprocess
import sys

import pytest

from sumpwise.__main__ import main


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
    assert "## What to buy" in done.stdout
    assert "132.60 coins" in done.stdout


def test_json_is_the_same_sheet(capsys):
    assert main(["--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert (data["format"], data["version"]) == ("sumpwise sheet", 1)
    assert data["sections"][0]["key"] == "buy"


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
    assert "check values agree" in capsys.readouterr().out


@pytest.mark.parametrize(("text", "status"), [("Fill with 6.1 L (6.4 US qt).\n", 0), ("Torque 39 N·m (39 lbf·ft).\n", 1)])
def test_check_reads_standard_input(text, status):
    done = run("check", given=text)
    assert done.returncode == status
    assert "Traceback" not in done.stderr


def test_check_of_a_missing_file_is_exit_2(capsys):
    assert main(["check", "nowhere.txt"]) == 2
    assert "nowhere.txt" in capsys.readouterr().err


def test_a_closed_pipe_is_no_error():
    command = f'"{sys.executable}" -m sumpwise | head -n 1'
    done = subprocess.run(["bash", "-o", "pipefail", "-c", command], capture_output=True, text=True, timeout=120, check=False)
    assert "Traceback" not in done.stderr
