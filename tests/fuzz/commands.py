"""Every command with streams that are closed, full or broken, in narrow encodings, and stopped at a random moment.

    cd tests && python -m fuzz.commands

None may end with a traceback, with a status that contradicts what it says, or without a minus sign that it prints in UTF-8.
"""

from __future__ import annotations

import os
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import sumpwise

DEMO = Path(sumpwise.__file__).parent / "service" / "data" / "example_wagon.toml"
COMMANDS = [
    "job.toml",
    "--full job.toml",
    "--json job.toml",
    "--pictures pictures job.toml",
    "compare job.toml other.toml",
    "compare --json job.toml other.toml",
    'log log.toml lost "0.1 L" --temperature "20 °C" --what rag',
    "record job.toml new.json --date 2026-11-27",
    "next record.json",
    "next record.json new.toml",
    "schema job",
    "check text.txt",
    "check --json text.txt",
    "verify",
    "--help",
    "log --help",
]
STREAMS = {">&-": 2, "2>&-": 0, "<&-": 0, ">/dev/full": 2, "2>/dev/full": 0, "<&- >&- 2>&-": 2, "| true": 0, ">/dev/null": 0}
ENCODINGS = ["ascii", "latin-1", "cp437", "cp1252", "koi8-r"]
SIGN = re.compile(r"(?:(?<!\+/)[-−–]|\\u2212|\\u2013)(?=[0-9])")
"""A minus sign or a dash before a digit; not that of +/-, which stands for ±."""
OURS = re.compile(rb'File "[^"\n]*[/\\]sumpwise[/\\]')
"""A line of a traceback that comes from the library; one without is of Python, stopped before it had begun to run the command."""


def fresh() -> None:
    """The files as they were."""
    for name in ("job.toml", "other.toml", "log.toml"):
        shutil.copyfile(DEMO, name)
    Path("text.txt").write_text("Fill 6.1 L (6.4 US qt), −0.36 L.\n", encoding="utf-8")
    for name in ("new.json", "new.toml"):
        Path(name).unlink(missing_ok=True)
    shutil.rmtree("pictures", ignore_errors=True)


def shell(line: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """A line of a shell, in which `$PY -m sumpwise` is the command."""
    fresh()
    surroundings = {**os.environ, "PY": sys.executable, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p), **environment}
    return subprocess.run(["bash", "-o", "pipefail", "-c", line], capture_output=True, timeout=300, env=surroundings, check=False)


def main() -> int:
    """Run all; return how many ended in a forbidden way."""
    chance, faults, counts = random.Random(1), [], [0, 0, 0, 0]
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        shell('"$PY" -m sumpwise record job.toml record.json --date 2026-11-27')
        for words in COMMANDS:
            for stream, status in STREAMS.items():
                done = shell(f'"$PY" -m sumpwise {words} {stream}')
                counts[0] += 1
                if b"Traceback" in done.stdout + done.stderr or done.returncode != status:
                    faults.append(f"{words} {stream}: {done.returncode} {done.stderr[-200:]!r}")
            wide = shell(f'"$PY" -m sumpwise {words}', PYTHONIOENCODING="utf-8").stdout.decode()
            for encoding in ENCODINGS:
                done = shell(f'"$PY" -m sumpwise {words}', PYTHONIOENCODING=encoding)
                counts[1] += 1
                narrow = done.stdout.decode(encoding)
                if b"Traceback" in done.stderr or len(SIGN.findall(narrow)) != len(SIGN.findall(wide)):
                    faults.append(f"{words} in {encoding}: {done.stderr[-200:]!r}")
            for _ in range(4):
                fresh()
                command = ["bash", "-c", f'exec "{sys.executable}" -m sumpwise {words}']
                started = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
                time.sleep(chance.uniform(0.2, 1.5))  # from where Python itself is up
                started.send_signal(signal.SIGINT)
                said = started.communicate(timeout=300)[1]
                counts[2] += 1
                early = b"Traceback" in said and not OURS.search(said)
                counts[3] += early
                if not early and (b"Traceback" in said or started.returncode not in (0, 130, -signal.SIGINT)):
                    faults.append(f"{words} stopped: {started.returncode} {said[-200:]!r}")
        os.chdir("/")
    print(*faults, sep="\n")
    print("{} with other streams, {} in other encodings, {} stopped, {} of them too early".format(*counts) + f": {len(faults)} faults")
    return len(faults)


if __name__ == "__main__":
    raise SystemExit(main())
