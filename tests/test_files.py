"""Files: those that the first version wrote are read for ever; damaged ones are refused with the place and how to mend it."""

from __future__ import annotations

import json
import os
import stat
from pathlib import Path

import pytest

from sumpwise import FileError, FluidHistory, Job, Ledger, ServiceRecord, Sheet, SumpwiseError, Vessel, uncertainty
from sumpwise._files import checked_size, toml_of

V1 = Path(__file__).parent / "files" / "v1"
V2 = Path(__file__).parent / "files" / "v2"
KINDS = {
    "job.json": Job, "sheet.json": Sheet, "record.json": ServiceRecord, "ledger.json": Ledger, "vessel.json": Vessel,
    "vessel_sealed.json": Vessel, "vessel_quarts.json": Vessel, "history.json": FluidHistory, "history_distance.json": FluidHistory,
}  # fmt: skip
"""File -> what reads it. The files were written once, by the first version, and are never written again."""


def data(name):
    return json.loads((V1 / name).read_text(encoding="utf-8"))


def read(name):
    return KINDS[name].from_dict(data(name))


def test_every_file_of_the_first_version_has_its_reader():
    assert {path.name for path in V1.iterdir()} == {*KINDS, "job.toml"}


@pytest.mark.parametrize("name", KINDS)
def test_a_file_of_the_first_version_is_read_and_comes_back_as_it_was(name):
    if name == "sheet.json":  # comes back in the form of the second version
        back = read(name).to_dict()
        assert back["version"] == 2
        for old, new in zip(data(name)["sections"], back["sections"].values(), strict=True):
            assert {key: new[key] for key in old} == old
        assert Sheet.from_dict(back) == read(name)
        return
    if name == "record.json":  # comes back in the form of the second version, which holds several services
        back, old = read(name).to_dict(), data(name)
        assert back["version"] == 2
        assert back["services"] == [{key: old[key] for key in ("job", "fresh", "learned")}]
        assert [back[key] for key in ("vehicle", "learned", "next_due")] == [old[key] for key in ("vehicle", "learned", "next_due")]
        ages = [str(one.distribution("4 y")) for one in (read(name).history, FluidHistory.from_dict(old["history"]))]
        assert ages[0] == ages[1]
        assert ServiceRecord.from_dict(back).to_dict() == back
        return
    assert read(name).to_dict() == data(name)


@pytest.mark.parametrize("name", ["sheet.json", "sheet_with_inputs.json"])
def test_a_sheet_of_the_second_version_is_read_for_ever_and_comes_back_as_it_was(name):
    """The files were written once, some before sheets kept their inputs and some after, and are never written again."""
    kept = json.loads((V2 / name).read_text(encoding="utf-8"))
    sheet = Sheet.from_dict(kept)
    assert sheet.to_dict() == kept
    assert ("inputs" in kept) == ("with_inputs" in name)
    assert sheet.section("buy").rows
    assert sheet.to_markdown().startswith(f"# {kept['title']}")


def test_the_job_file_and_its_plain_data_say_the_same():
    job = Job.from_toml(V1 / "job.toml")
    assert job.to_dict() == data("job.json")
    assert job.value("capacity", "total") == 8.85
    assert job.value("level", "window") == (82.0, 92.0)
    assert len(job.entries("log")) == 22


def test_the_record_keeps_what_was_learned():
    record = ServiceRecord.load(V1 / "record.json")
    assert uncertainty.nominal(record.fresh) == 0.776
    assert record.learned["plug_drain"]["value"] == pytest.approx(3.24, abs=0.04)  # the truth behind the demo
    assert record.next_due["distance"] == "184 400 km"
    # nine years of age, 77.6 % replaced, four years on
    assert record.history.mean_age("4 y").m_as("year").nominal_value == pytest.approx(9 * (1 - 0.776) + 4)


def test_the_ledger_counts_as_if_it_were_entered_today():
    pail = read("vessel.json")
    again = Ledger("847 ± 3 kg/m³", capacity="8.85 L").started("-0.17(3) L").drained(pail, "3.35 L", "44 °C", thermometer="probe")
    again = again.emptied(pail).lost("0.11 ± 0.05 L", "filter", "38 °C").poured(pail, "3.70 L", "17 °C").emptied(pail)
    for reading, warm in (("1.25 L", "41 °C"), ("2.50 L", "45 °C")):
        again = again.drained(pail, reading, warm, cumulative=True, thermometer="probe")
    kept = read("ledger.json")
    assert kept.lines == again.lines
    for one, other in ((kept.balance, again.balance), (kept.off_target, again.off_target)):
        assert one.m_as("L").nominal_value == pytest.approx(other.m_as("L").nominal_value, rel=1e-12)
        assert one.m_as("L").std_dev == pytest.approx(other.m_as("L").std_dev, rel=1e-12)


def test_the_histories_give_the_ages_worked_by_hand():
    # 0.625·0.23 of 18 y, 0.375·0.23 of 9 y, 0.77 of 4 y
    age = read("history.json").mean_age("9 y").m_as("year")
    assert age.nominal_value == pytest.approx(0.14375 * 18 + 0.08625 * 9 + 0.77 * 4)
    # 0.625 of 100 000 km, 0.375 of 44 000 km
    assert read("history_distance.json").mean_age("100 000 km").m_as("km") == pytest.approx(79_000)


def test_the_vessels_read_as_they_did():
    assert read("vessel.json").scale == pytest.approx(0.98116, abs=5e-6)
    assert read("vessel_sealed.json").volume("1 L").m_as("mL").std_dev == pytest.approx(15 / 1.96)  # 76/211/EEC: 15 mL short of 1 L
    assert str(read("vessel_quarts.json").volume("2 qt").units) == "quart"


# -- damage

WRONG = {
    "a later version": lambda d: d | {"version": 3},
    "no version": lambda d: {k: v for k, v in d.items() if k != "version"},
    "true for a version": lambda d: d | {"version": True},
    "a text for a version": lambda d: d | {"version": "1"},
    "an unknown key": lambda d: d | {"colour": "red"},
    "a list": lambda d: [d],
    "a text": lambda d: json.dumps(d),
    "nothing": lambda d: None,
    "an empty table": lambda d: {},
}


@pytest.mark.parametrize("damage", WRONG)
@pytest.mark.parametrize("name", KINDS)
def test_damaged_data_is_one_error_that_names_place_and_mend(name, damage):
    if name == "job.json" and damage == "no version":
        return  # a job that somebody writes need not say its version
    if name == "record.json" and damage == "an unknown key":
        return  # a field of the user's own, which a record keeps
    with pytest.raises(FileError) as caught:
        KINDS[name].from_dict(WRONG[damage](data(name)))
    error = caught.value
    assert error.argument
    assert error.allowed or error.hint
    if damage == "an unknown key":
        assert "colour" in str(error)
    if "version" in damage:
        assert "version" in str(error)


def places(value, path=()):
    if isinstance(value, (dict, list)):
        for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
            yield (*path, key)
            yield from places(inner, (*path, key))


def holder(value, path):
    for key in path[:-1]:
        value = value[key]
    return value


def said(name, spoilt):
    """What comes back, or the message of the refusal."""
    try:
        return KINDS[name].from_dict(spoilt).to_dict()
    except SumpwiseError as error:
        return str(error)


FREE = {"sheet.json"}
"""What a sheet's sections hold besides their frame is free data."""


@pytest.mark.parametrize("junk", [None, True, -1, 1e999, "\x1b[31m", [], {}, [[]], 10**400], ids=repr)
@pytest.mark.parametrize("name", sorted(set(KINDS) - FREE))
def test_junk_in_any_place_is_read_or_refused_and_never_anything_else(name, junk):
    whole = list(places(data(name)))
    for path in whole[:: max(1, len(whole) // 60)]:
        spoilt = data(name)
        holder(spoilt, path)[path[-1]] = junk
        json.dumps(said(name, spoilt), allow_nan=False)


@pytest.mark.parametrize("name", sorted(set(KINDS) - FREE - {"job.json"}))
def test_a_missing_key_is_refused_by_name(name):
    for key in data(name):
        spoilt = data(name)
        del spoilt[key]
        with pytest.raises(FileError) as caught:
            KINDS[name].from_dict(spoilt)
        assert key in str(caught.value)


@pytest.mark.parametrize("cut", [0, 1, 40, 0.3, 0.9, 0.999])
def test_a_truncated_record_is_refused(tmp_path, cut):
    content = (V1 / "record.json").read_bytes()
    path = tmp_path / "record.json"
    path.write_bytes(content[: int(cut * len(content)) if isinstance(cut, float) else cut])
    with pytest.raises(FileError, match=r"record\.json.*complete"):
        ServiceRecord.load(path)


@pytest.mark.parametrize("encoding", ["utf-16", "utf-32", "cp1252"])
@pytest.mark.parametrize(("name", "reader"), [("record.json", ServiceRecord.load), ("job.toml", Job.from_toml)])
def test_another_encoding_is_refused_by_name(tmp_path, name, reader, encoding):
    path = tmp_path / name
    path.write_bytes((V1 / name).read_text(encoding="utf-8").encode(encoding, "replace"))
    with pytest.raises(FileError) as caught:
        reader(path)
    assert name in str(caught.value)
    assert "UTF-8" in str(caught.value)


@pytest.mark.parametrize("reader", [ServiceRecord.load, Job.from_toml])
@pytest.mark.parametrize("path", [3.5, None, "a\x00b", b"no\xff", ["job.toml"], ""])
def test_what_is_not_a_path_is_a_file_error(reader, path):
    with pytest.raises(FileError, match="cannot be read"):
        reader(path)


def test_a_key_twice_in_a_record_is_refused(tmp_path):
    path = tmp_path / "record.json"
    twice = (V1 / "record.json").read_text(encoding="utf-8").replace('"version": 1,', '"version": 1, "version": 1,', 1)
    path.write_text(twice, encoding="utf-8")
    with pytest.raises(FileError, match="appears twice"):
        ServiceRecord.load(path)


# -- writing


@pytest.mark.skipif(os.name != "posix", reason="permissions and links of POSIX")
def test_writing_keeps_permissions_and_follows_links(tmp_path):
    record = ServiceRecord.load(V1 / "record.json")
    target, link = tmp_path / "kept.json", tmp_path / "link.json"
    target.write_text("before", encoding="utf-8")
    target.chmod(0o640)
    link.symlink_to(target)
    record.save(link)
    assert link.is_symlink()
    assert stat.S_IMODE(target.stat().st_mode) == 0o640
    assert ServiceRecord.load(target).to_dict() == record.to_dict()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["kept.json", "link.json"]


def test_a_failure_in_the_middle_leaves_the_record_before(tmp_path, monkeypatch):
    record, path = ServiceRecord.load(V1 / "record.json"), tmp_path / "record.json"
    record.save(path)
    before = path.read_bytes()

    def full(descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileError, match="No space left"):
        record.save(path)
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["record.json"]


def test_a_lone_surrogate_survives_a_file(tmp_path):
    written = data("job.json")
    written["title"] = "wagon \ud800"
    record = ServiceRecord.of(Job.from_dict(written), 0.5)
    record.save(tmp_path / "record.json")
    assert ServiceRecord.load(tmp_path / "record.json").to_dict() == record.to_dict()


@pytest.mark.parametrize(("largest", "said"), [(10, "10 bytes"), (1_000_000, "1 MB"), (2_000_000, "2 MB")])
def test_a_file_that_is_too_large_says_how_large_it_may_be(largest, said):
    assert checked_size(b"x" * largest, "a.toml", largest)
    with pytest.raises(FileError, match=f"is larger than {said}"):
        checked_size(b"x" * (largest + 1), "a.toml", largest)


def test_a_key_may_have_eight_parts_and_no_more():
    key = ".".join("abcdefgh")
    for before in ("", "title = 1\n"):
        assert toml_of(f"{before}{key} = 1\n".encode(), "a.toml")
        with pytest.raises(FileError, match="more than 8 parts"):
            toml_of(f"{before}{key}.i = 1\n".encode(), "a.toml")
