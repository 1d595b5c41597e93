"""TOML: what is written is read again as it was, whatever texts and keys it holds."""

from __future__ import annotations

import datetime
import time
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sumpwise import FileError, Job
from sumpwise._toml import document, literal, places
from sumpwise.errors import pointer_to

HOSTILE = [
    "", " ", '"', "'", "\\", '\\"', '"""', "'''", "\n", "\r\n", "\r", "\t", "\x00", "\x07", "\x1b[31m", "\x7f", "\x80", "\u2028", "\ufeff",
    "# no remark", "[table]", "[[list]]", "a = 1", "a.b.c", "=", ",", "}", "{", "true", "2026-11-27", "1e9", "inf", "½ qt ± 3", "🛢",
    "x" * 5000, "\\u0041", "\\x", "ends in \\", "\N{COMBINING ACUTE ACCENT}",
]  # fmt: skip
texts = st.one_of(st.sampled_from(HOSTILE), st.text(st.characters(exclude_categories=["Cs"]), max_size=8))
plain = st.one_of(
    texts, st.booleans(), st.integers(), st.floats(allow_nan=False), st.dates(), st.times().filter(lambda one: one.tzinfo is None),
)  # fmt: skip
values = st.recursive(plain, lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(texts, inner, max_size=3)), max_leaves=12)


@given(st.dictionaries(texts, values, max_size=5))
def test_whatever_is_written_is_read_again(data):
    """`tomllib` gives back what was written, to the last character."""
    assert tomllib.loads(document(data)) == data


@given(st.dictionaries(texts, st.dictionaries(texts, plain, max_size=3), max_size=4), texts)
def test_a_remark_changes_nothing(data, remark):
    """A comment at any place, with any text, leaves the data as it was."""
    places = {(): remark, **{(table,): remark for table in data}, **{(t, key): remark for t, keys in data.items() for key in keys}}
    assert tomllib.loads(document(data, places)) == data


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_texts_as_key_as_value_and_as_name_of_a_table(text):
    data = {text: text, text + "t": {text: [text, {text: text}]}, text + "l": [{text: text}, {}]}
    assert tomllib.loads(document(data)) == data


def test_it_looks_as_a_person_would_write_it():
    vehicle = {"name": "wagon", "date": datetime.date(2026, 11, 27)}
    data = {"title": "Wagon", "vehicle": vehicle, "vessel": [{"name": "pail"}, {"name": "jug"}]}
    remarks = {(): "the next service", ("vehicle", "date"): "the day", ("vessel", 1): "new"}
    assert document(data, remarks) == (
        '# the next service\n\ntitle = "Wagon"\n\n[vehicle]\nname = "wagon"\n# the day\ndate = 2026-11-27\n'
        '\n[[vessel]]\nname = "pail"\n\n# new\n[[vessel]]\nname = "jug"\n'
    )


def test_a_job_comes_back_from_its_file(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text(document(Job.demo().to_dict()), encoding="utf-8")
    assert Job.from_toml(path).to_dict() == Job.demo().to_dict()


@pytest.mark.parametrize("value", ["\ud800", {"\udfff": 1}, None, [None], object(), {1, 2}])
def test_what_a_file_cannot_hold_is_refused(value):
    with pytest.raises(FileError):
        literal(value)


# -- where each key stands

PLACED = '''# remark = 1
title = "a # b"

[vehicle]
name = 'x = "y"'
"odd key" = 1
a.b.'c.d' = 2

  [capacity]   # with = remark
  total = """
[vessel]
name = 3"""

[[vessel]]
name = "pail"
[[vessel]]
graduation = "1 L"
[vessel.deep]
x = [1, [2, 3], {y = 4, z = ["]", '}']}]

[[log]]
event = "drive" # x
note = "ends in \\""
'''


def test_the_place_of_each_key_is_found():
    found = places(PLACED)
    at = {
        "/title": (2, 1), "/vehicle": (4, 1), "/vehicle/name": (5, 1), "/vehicle/odd key": (6, 1), "/vehicle/a": (7, 1),
        "/vehicle/a/b/c.d": (7, 1), "/capacity": (9, 3), "/capacity/total": (10, 3), "/vessel": (14, 1), "/vessel/0": (14, 1),
        "/vessel/0/name": (15, 1), "/vessel/1": (16, 1), "/vessel/1/graduation": (17, 1), "/vessel/1/deep": (18, 1),
        "/vessel/1/deep/x/1/1": (19, 13), "/vessel/1/deep/x/2/z": (19, 25), "/log/0": (21, 1), "/log/0/note": (23, 1),
    }  # fmt: skip
    assert {place: found.get(place) for place in at} == at


def pointers(value, place=()):
    yield place
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, one in items:
        yield from pointers(one, (*place, key))


@given(st.dictionaries(texts, values, max_size=5))
def test_every_place_is_found_and_no_other(data):
    """Whatever is written, every place is found and no other, and its key is there."""
    text = document(data)
    found = places(text)
    assert set(found) == {pointer_to(place) for place in pointers(data) if place}
    lines = text.split("\n")
    for place, value in ((place, place[-1]) for place in pointers(data) if place and isinstance(place[-1], str)):
        line, column = found[pointer_to(place)]
        rest = lines[line - 1][column - 1 :]
        assert rest.startswith(("[", literal(value), value))


@given(st.text(max_size=40))
def test_any_text_has_places_or_none(text):
    """A text that is not TOML causes no crash."""
    assert all(line >= 1 and column >= 1 for line, column in places(text).values())


def test_places_are_found_in_linear_time():
    def seconds(count):
        text = "[[log]]\nevent = 'drive'\nnote = '''\n'''\n" * count
        start = time.perf_counter()
        assert len(places(text)) == 1 + 3 * count
        return time.perf_counter() - start

    small = min(seconds(400) for _ in range(3))
    assert min(seconds(4000) for _ in range(3)) < 40 * small + 0.05


@pytest.mark.parametrize("text", [
    "a = 'C:\\'\nb = 1\n[c]\nd = 2\n", 'a = "C:\\\\"\nb = 1\n[c]\nd = 2\n', "[a]\n[b]\nx=1\n[[c]]\ny=1\n[[c]]#z\ny=1\n",
])  # fmt: skip
def test_the_place_after_a_backslash_or_a_head_is_right(text):
    """A text in single marks has no escapes; the next table may stand right after a head."""
    found = places(text)
    for place, (line, column) in found.items():
        last = place.rpartition("/")[2]
        if not last.isdigit():
            assert text.splitlines()[line - 1][column - 1 :].lstrip("[").startswith(last), place
    keys = [place for place in found if place.count("/") == 1]
    assert sorted(keys) == sorted({f"/{key}" for key in tomllib.loads(text)})
