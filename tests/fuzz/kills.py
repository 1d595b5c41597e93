"""Writers that are killed in the middle: `cd tests && python -m fuzz.kills` saves a file over and over and kills the process that does.

Each round has one writer or two, ended by `kill -9` at a random moment. No file may be torn, and the next save sweeps away what was left.
"""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
import tempfile
import time

from sumpwise import _files

WRITER = """import json, sys
from sumpwise import _files
print("begun", flush=True)
while True:
    try:
        _files.save("record.json", json.dumps({"who": sys.argv[1], "much": "x" * 200_000}).encode())
    except _files.FileError as error:
        assert error.code == "file.busy", error
"""


def main(rounds: int = 120) -> int:
    """Run the rounds; return how many files were torn."""
    chance = random.Random(3)
    kills = torn = left = 0
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        for number in range(rounds):
            many = 1 + number % 2
            writers = [subprocess.Popen([sys.executable, "-c", WRITER, str(i)], stdout=subprocess.PIPE) for i in range(many)]
            for writer in writers:
                assert writer.stdout is not None
                writer.stdout.readline()
            time.sleep(chance.uniform(0.0, 0.05))
            for writer in writers:
                writer.kill()
                writer.wait()
                kills += 1
            if os.path.exists("record.json"):
                with open("record.json", encoding="utf-8") as file:
                    content = file.read()
                torn += not content.endswith("}") or len(json.loads(content)["much"]) != 200_000
            left += len(os.listdir()) > 1
        _files.save("record.json", b"{}")
        swept = os.listdir() == ["record.json"]
        os.chdir("/")
    print(f"{kills} kills, {torn} files torn, {left} rounds left a part behind; the next save {'swept all' if swept else 'left some'} away")
    return torn + (not swept)


if __name__ == "__main__":
    raise SystemExit(main())
