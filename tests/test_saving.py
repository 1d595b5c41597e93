"""Files as the world has them: pipes, devices, links, other encodings, kills in the middle, two programs at once."""

from __future__ import annotations

import copy
import json
import os
import re
import stat
import subprocess
import sys
import threading
import time
import tracemalloc
from pathlib import Path

import pytest

import sumpwise
from fuzz.files import _data
from sumpwise import FileError, Job, ServiceRecord, _files
from sumpwise.description.checking import report_for_file

READERS = [Job.from_toml, ServiceRecord.load, report_for_file]
READS = pytest.mark.parametrize("read", READERS, ids=lambda read: read.__qualname__)


@pytest.fixture(scope="module")
def record():
    return ServiceRecord.of(Job.demo(), fresh=0.78)


@READS
def test_a_named_pipe_is_refused_at_once(read, tmp_path):
    path = tmp_path / "pipe"
    os.mkfifo(path)
    with pytest.raises(FileError, match="not a regular file"):
        read(str(path))


@READS
@pytest.mark.parametrize("path", ["/dev/zero", "/dev/null", "."])
def test_a_device_or_folder_is_refused_at_once(read, path):
    with pytest.raises(FileError, match=r"not a regular file|[Dd]irectory"):
        read(path)


@READS
@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-32", "latin-1"])
def test_another_encoding_says_place_and_mend(read, encoding, tmp_path):
    path = tmp_path / "file"
    mark = b"\xff\xfe" if encoding == "utf-16-le" else b""
    path.write_bytes(mark + "title = 'Öl 3.7 L'\n".encode(encoding))
    with pytest.raises(FileError, match=r"not UTF-8 at line 1, column \d+.*save the file as UTF-8") as caught:
        read(str(path))
    assert caught.value.line == 1
    assert caught.value.column >= 1


def test_a_byte_order_mark_is_no_part_of_the_text(record, tmp_path):
    path, mark = tmp_path / "file", b"\xef\xbb\xbf"
    path.write_bytes(mark + b'[vehicle]\nname = "wagon"\n')
    assert Job.from_toml(path).inputs == {"vehicle": {"name": "wagon"}}
    assert Job.problems(path) == []
    record.save(path)
    path.write_bytes(mark + path.read_bytes())
    assert ServiceRecord.load(path).to_dict() == record.to_dict()
    path.write_bytes(mark + b"[vehicle\n")
    with pytest.raises(FileError, match="line 1, column 9") as refused:
        Job.from_toml(path)
    assert (refused.value.line, refused.value.column) == (1, 9)


OPENS = re.compile(r"(?<![\w.])open\(|\bos\.open\(|\.(?:read|write)_(?:text|bytes)\(")


def test_no_other_part_of_the_library_opens_a_file():
    """But for its own data, and for what closes a stream: whatever a person names is looked at before it is opened."""
    package = Path(sumpwise.__file__).parent
    opening = {str(path.relative_to(package)) for path in package.rglob("*.py") if OPENS.search(path.read_text(encoding="utf-8"))}
    assert opening == {"_files.py", "_terminal.py", "__main__.py", "service/job.py", "verification/entries.py"}
    for name in opening - {"_files.py"}:
        for line in (package / name).read_text(encoding="utf-8").splitlines():
            assert not OPENS.search(line) or re.search(r"os\.devnull|files\(|joinpath|for file in files", line), f"{name}: {line}"


def test_the_place_of_a_broken_line_is_kept_for_an_app(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text('[vehicle]\nname = "wagon"\nage = = 3\n', encoding="utf-8")
    with pytest.raises(FileError, match="line 3") as caught:
        Job.from_toml(path)
    assert (caught.value.line, caught.value.column) == (3, 7)


@pytest.mark.parametrize(
    "content",
    [
        "a" + ".a" * 20_000 + " = 1\n",
        "[a" + ".a" * 20_000 + "]\n",
        "x = {a" + ".a" * 20_000 + " = 1}\n",
        'a."b . c"' + ".'d'" * 20_000 + " = 1\n",
        "\n".join("a" + ".a" * 50 + f".k{i} = 1" for i in range(400)) + "\n",
    ],
    ids=["key", "table", "inline", "quoted", "many"],
)
def test_dotted_keys_are_bounded_before_they_are_parsed(content, tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(content, encoding="utf-8")
    tracemalloc.start()
    try:
        with pytest.raises(FileError, match=r"more than 8 parts at line 1, column \d+"):
            Job.from_toml(path)
        assert tracemalloc.get_traced_memory()[1] < 10 * len(content) + 1_200_000  # a buffer of the largest file
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize("text", ["a.b.c.d.e.f.g.h", "1.2.3.4.5.6.7.8.9.10.11", "........................"])
@pytest.mark.parametrize("frame", ['title = "{}"', "title = '{}'", 'title = """\n{}"""', "title = '''\n{}'''", "# {}", 'title = "\\"{}"'])
def test_dots_in_texts_and_comments_are_not_keys(text, frame):
    assert _files.toml_of(frame.format(text).encode(), "job") in ({}, {"title": text}, {"title": '"' + text})


@pytest.mark.parametrize("opening", ['"', "'", '"""', "'''", '"\\'])
def test_the_look_for_dots_is_linear_whatever_is_left_open(opening):
    def seconds(count):
        start = time.process_time()
        with pytest.raises(FileError):
            _files.toml_of(b"a = " + opening.encode() * count, "job")
        return time.process_time() - start

    seconds(1000)
    small = min(seconds(20_000) for _ in range(3))
    assert min(seconds(160_000) for _ in range(3)) < 40 * small + 0.05


def test_endless_numbers_are_refused_by_their_place(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text("[quote]\nprice = " + "9" * 5000 + "\n", encoding="utf-8")
    with pytest.raises(FileError, match="more than 400 digits at line 2, column 9"):
        Job.from_toml(path)
    path.write_text('{"version": ' + "9" * 5000 + "}", encoding="utf-8")
    with pytest.raises(FileError, match="more than 400 digits at line 1, column 13"):
        ServiceRecord.load(path)


def test_many_keys_in_a_record_are_read_in_linear_time():
    def seconds(count):
        content = json.dumps({f"k{i}": i for i in range(count)}).encode()
        start = time.process_time()
        _files.json_of(content, "record")
        return time.process_time() - start

    small = min(seconds(2000) for _ in range(3))
    assert min(seconds(20_000) for _ in range(3)) < 40 * small + 0.05


@pytest.mark.parametrize(("opening", "column"), [("[", 101), ('{"a":', 501), (" [", 202), ('{"a": [', 351)])
def test_deep_nesting_is_one_error_with_its_place(opening, column, tmp_path):
    for name, read, before in (("record.json", ServiceRecord.load, "\n"), ("job.toml", Job.from_toml, "\nk = ")):
        path = tmp_path / name
        path.write_text(before + opening * 100_000, encoding="utf-8")
        with pytest.raises(FileError, match="more than 100 lists and tables inside each other") as refused:
            read(path)
        assert (refused.value.code, refused.value.line) == ("file.nested", 2)
        assert refused.value.column == column + len(before) - 1
        assert f"at line 2, column {refused.value.column}" in str(refused.value)


def test_what_is_closed_again_or_stands_in_a_text_is_not_nested(tmp_path):
    path = tmp_path / "record.json"
    path.write_text('{"a": [' + "[[]], " * 1000 + '"' + "[{" * 1000 + '"]}', encoding="utf-8")
    assert len(_files.json_of(path.read_bytes(), "record")["a"]) == 1001
    assert len(_files.toml_of(b"[[a]]\n" * 1000 + b"b = [{c = 1}, " + b"{c = 2}," * 500 + b"]\n", "job")["a"]) == 1000
    assert _files.json_of(b"[" * 100 + b"]" * 100, "record")


# -- saving


def left_over(folder):
    return [name for name in os.listdir(folder) if name.endswith(".part")]


def test_permissions_and_owner_stay(record, tmp_path):
    path = tmp_path / "record.json"
    record.save(path)
    os.chmod(path, 0o640)
    if os.geteuid() == 0:
        os.chown(path, 12_345, 54_321)
    before = os.stat(path)
    record.save(path)
    after = os.stat(path)
    assert (after.st_mode, after.st_uid, after.st_gid) == (before.st_mode, before.st_uid, before.st_gid)
    assert stat.S_IMODE(after.st_mode) == 0o640


def test_a_link_is_followed_and_stays_a_link(record, tmp_path):
    (tmp_path / "real.json").write_text("{}", encoding="utf-8")
    link = tmp_path / "link.json"
    link.symlink_to("real.json")
    record.save(link)
    assert link.is_symlink()
    assert ServiceRecord.load(tmp_path / "real.json").to_dict() == record.to_dict()


def test_only_regular_files_are_replaced(record, tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", tmp_path, "/dev/null"):
        before = os.stat(path)
        with pytest.raises(FileError, match="not a regular file"):
            record.save(path)
        assert (os.stat(path).st_mode, os.stat(path).st_ino) == (before.st_mode, before.st_ino)


@pytest.mark.parametrize("name", ["r" * 250 + ".json", "ö" * 125 + ".json"])
def test_the_longest_names_work(record, tmp_path, name):
    record.save(tmp_path / name)
    assert os.listdir(tmp_path) == [name]


def test_a_kill_in_the_middle_leaves_the_record_before_and_the_next_save_sweeps(record, tmp_path):
    path = tmp_path / "record.json"
    record.save(path)
    before = path.read_bytes()
    code = (
        "import os, signal, sys\nfrom sumpwise import _files\n"
        "os.fsync = lambda number: os.kill(os.getpid(), signal.SIGKILL)\n_files.save(sys.argv[1], b'half')\n"
    )
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p)}
    done = subprocess.run([sys.executable, "-c", code, str(path)], check=False, timeout=60, env=environment)
    assert done.returncode == -9
    assert path.read_bytes() == before
    assert len(left_over(tmp_path)) == 1
    (tmp_path / ".other.part").write_bytes(b"somebody else's")
    ServiceRecord.load(path).save(path)
    assert left_over(tmp_path) == [".other.part"]


def test_without_locks_only_an_old_part_is_swept(record, tmp_path, monkeypatch):
    """Another writer may be at work on a young one."""
    monkeypatch.setattr(_files, "_LOCKS", False)
    path = tmp_path / "record.json"
    written = []
    monkeypatch.setattr(os, "replace", lambda part, name: written.append(part))
    _files.save(str(path), b"whole")
    part = Path(written[0])
    part.write_bytes(b"half")
    monkeypatch.undo()
    monkeypatch.setattr(_files, "_LOCKS", False)
    record.save(path)
    assert part.exists()
    os.utime(part, (0, 0))
    record.save(path)
    assert not part.exists()


def test_a_second_writer_waits_and_is_told(record, tmp_path, monkeypatch):
    path = tmp_path / "record.json"
    monkeypatch.setattr(_files, "PATIENCE", 0.05)
    with _files._alone(str(tmp_path)), pytest.raises(FileError, match="another program is saving"):
        record.save(path)
    assert os.listdir(tmp_path) == []
    record.save(path)


def test_a_record_changed_by_somebody_else_is_not_overwritten(record, tmp_path):
    path = tmp_path / "record.json"
    record.save(path)
    mine, theirs = ServiceRecord.load(path), ServiceRecord.load(path)
    theirs.save(path)
    mine.save(path)  # the same content: nothing is lost
    content = path.read_text(encoding="utf-8").replace('"4 y from the service"', '"3 y from the service"')
    path.write_text(content, encoding="utf-8")
    with pytest.raises(FileError, match="changed since it was read"):
        mine.save(path)
    assert path.read_text(encoding="utf-8") == content
    mine.save(tmp_path / "another.json")
    ServiceRecord.load(path).save(path)


def test_writers_at_once_leave_one_whole_file(tmp_path):
    path = str(tmp_path / "file")
    code = (
        "import sys\nfrom sumpwise import _files\nleft = 40\nwhile left:\n    try:\n"
        "        _files.save(sys.argv[1], sys.argv[2].encode() * 20_000)\n        left -= 1\n"
        "    except _files.FileError as error:\n        assert error.code == 'file.busy', error\n"  # on a busy machine one waits too long
    )
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p)}
    writers = [subprocess.Popen([sys.executable, "-c", code, path, letter], env=environment) for letter in "ab"]
    assert [writer.wait(timeout=120) for writer in writers] == [0, 0]
    content = (tmp_path / "file").read_bytes()
    assert content in (b"a" * 20_000, b"b" * 20_000)
    assert os.listdir(tmp_path) == ["file"]


def _deep(depth, table):
    inside = "x"
    for _ in range(depth):
        inside = {"a": inside} if table else [inside]
    return inside


def _itself(depth, table):
    """Data that contain themselves twice: going down would never end."""
    inside = {} if table else []
    inside.update(a=inside, b=inside) if table else inside.extend([inside, inside])
    return inside


@pytest.mark.parametrize("made", [_deep, _itself])
@pytest.mark.parametrize("table", [True, False], ids=["tables", "lists"])
@pytest.mark.parametrize(("kind", "place"), [
    ("Job", ("vehicle", "name")), ("Job", ("title",)), ("Job", ("log", 0, "note")), ("ServiceRecord", ("my own",)),
    ("ServiceRecord", ("services", 0, "my own")), ("ServiceRecord", ("services", 0, "job", "vehicle", "name")),
    ("Sheet", ("sections", "buy", "data", "x")), ("Sheet", ("inputs", "x")), ("Ledger", ("lines", 0, "reading")), ("Vessel", ("name",)),
    ("FluidHistory", ("start",)),
])  # fmt: skip
def test_deep_plain_data_is_refused_before_anything_goes_down_into_it(made, table, kind, place):
    data = copy.deepcopy(_data()[kind])
    holder = data
    for step in place[:-1]:
        holder = holder[step]
    holder[place[-1]] = made(50_000, table)
    with pytest.raises(FileError, match="more than 100 lists and tables inside each other") as refused:
        getattr(sumpwise, kind).from_dict(data)
    assert refused.value.code == "file.nested"
    if kind == "Job":
        assert [error.code for error in Job.problems(data)] == ["file.nested"]
    while isinstance(holder, (dict, list)) and holder:  # taken apart: Python itself cannot let go of what is so deep
        holder = holder.popitem()[1] if isinstance(holder, dict) else holder.pop()


def test_what_a_record_keeps_can_be_read_again(tmp_path):
    data = copy.deepcopy(_data()["ServiceRecord"])
    data["photos"] = _deep(98, True)
    record = ServiceRecord.from_dict(data)
    record.save(tmp_path / "record.json")
    assert ServiceRecord.load(tmp_path / "record.json").to_dict()["photos"] == data["photos"]
    data["photos"] = _deep(150, True)
    with pytest.raises(FileError, match="more than 100"):
        ServiceRecord.from_dict(data)


def test_a_second_writer_saves_as_soon_as_the_first_has_ended(record, tmp_path):
    held = _files._alone(str(tmp_path))
    held.__enter__()
    threading.Timer(0.3, held.__exit__, (None, None, None)).start()
    record.save(tmp_path / "record.json")
    assert ServiceRecord.load(tmp_path / "record.json").to_dict() == record.to_dict()
