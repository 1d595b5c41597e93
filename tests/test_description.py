"""`check_text` on the labelled corpus, its findings, its report, and its cost."""

from __future__ import annotations

import io
import json
import pickle
import sys
from collections import defaultdict
from pathlib import Path

import pytest

from corpus.score import Line, alarms, corpus, found, main
from fuzz.size import counted
from sumpwise.description import check_text
from sumpwise.description.checking import report_for_file
from sumpwise.description.report import Findings
from sumpwise.description.slips import HALF_DEGREE
from sumpwise.errors import FileError, SumpwiseError

LINES = corpus()


@pytest.mark.parametrize("line", LINES, ids=lambda line: line.text)
def test_every_line_as_labelled(line: Line) -> None:
    assert found(line) == line.verdicts


def test_the_corpus_is_what_it_should_be() -> None:
    prose = [line for line in LINES if line.slip == "prose"]
    claims = [line for line in LINES if line.slip != "prose"]
    wrong = [line for line in claims if alarms(line.verdicts)]
    assert len(LINES) >= 170
    assert len({line.text for line in LINES}) == len(LINES)
    assert 0.2 <= len(prose) / len(LINES) <= 0.3
    assert 0.45 <= len(wrong) / len(claims) <= 0.55
    by_class: dict[str, set[bool]] = defaultdict(set)
    for line in claims:
        by_class[line.slip].add(bool(alarms(line.verdicts)))
    assert all(outcomes == {True, False} for outcomes in by_class.values())


def test_precision_and_recall_are_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main() == 0
    assert "precision 1.000, recall 1.000" in capsys.readouterr().out


def test_a_suggestion_mends_the_text() -> None:
    """Put in place of the phrase, the suggestion for a pair agrees."""
    mended = 0
    for line in LINES:
        for finding in check_text(line.text):
            if finding.verdict == "agrees" or finding.slip in ("torque without a unit", "hot volume beside cold volume"):
                continue
            text = line.text[: finding.start] + finding.suggestion + line.text[finding.end :]
            assert {f.verdict for f in check_text(text)} == {"agrees"}, text
            mended += 1
    assert mended > 60


@pytest.mark.parametrize(
    ("text", "stated", "expected", "suggestion", "slip"),
    [
        ("The pan held 6.1 L (5.4 US qt).", "5.4 US qt", "6.4 US qt", "6.1 L (6.4 US qt)", "US and imperial measure confused"),
        ("The pan held 6.1 L (5.4 qt).", "5.4 qt", "6.4 US qt", "6.1 L (5.4 imp qt)", "US and imperial measure confused"),
        ("It takes 7 qt (8.0 L) from dry.", "8.0 L", "6.6 L", "7 imp qt (8.0 L)", "US and imperial measure confused"),
        ("Lock nut 29 N·m / 39 lbf·ft", "39 lbf·ft", "21 lbf·ft", "29 N·m / 21 lbf·ft", "units swapped"),
        ("34 N·m/lbf·ft", "34 lbf·ft", "25.1 lbf·ft", "34 N·m (25.1 lbf·ft)", "one number with both units"),
        ("9.5 N·m (84 lbf·ft)", "84 lbf·ft", "7.01 lbf·ft", "9.5 N·m (7.01 lbf·ft)", "inch-pounds and foot-pounds confused"),
        ("34 N·m (347 kgf·m)", "347 kgf·m", "3.5 kgf·m", "34 N·m (3.5 kgf·m)", "kgf·m and kgf·cm confused"),
        ("a rise of 10 °C (50 °F)", "50 °F", "18 °F", "10 °C (18 °F)", "a temperature difference converted as a temperature"),
        ("at 40 °C (72 °F)", "72 °F", "104 °F", "40 °C (104 °F)", "a temperature converted as a difference"),
        ("82–92 °C (180–198 °F)", "180–198 °F", "180–197 °F", "82–92 °C (180–197 °F)", "limits rounded outward"),
        ("40 ± 5 °C (104 ± 5 °F)", "104 ± 5 °F", "104 ± 9 °F", "40 ± 5 °C (104 ± 9 °F)", "tolerance left unconverted"),
        ("6.1 L (6.4458 US qt)", "6.4458 US qt", "6.4 US qt", "6.1 L (6.4 US qt)", "more digits than the original carries"),
        ("7 km (4.4 mi)", "4.4 mi", "4.3 mi", "7 km (4.3 mi)", "rounded twice"),
        ("30 000 km (48 000 mi)", "48 000 mi", "19 000 mi", "30 000 km (19 000 mi)", "miles and kilometres confused"),
        ("12 fl oz (340 g)", "340 g", "350 mL", "12 fl oz (350 mL)", "mass ounce and fluid ounce confused"),
        ("9.5 N·m (70 lbf·ft)", "70 lbf·ft", "7.01 lbf·ft", "9.5 N·m (7.01 lbf·ft)", "decimal point shifted"),
        ("Two drains of 40 % make 80 % new.", "80 %", "64 %", "40 % make 64 %", "percent added over cycles"),
        ("8 ft (2.6 m)", "2.6 m", "2.4 m", "8 ft (2.4 m)", ""),
    ],
)
def test_what_a_finding_says(text: str, stated: str, expected: str, suggestion: str, slip: str) -> None:
    (finding,) = check_text(text)
    assert (finding.stated, finding.expected, finding.suggestion, finding.slip) == (stated, expected, suggestion, slip)


def test_places_are_those_of_the_text() -> None:
    text = "Nothing here.\n  Pan: 6.1 L (5.4 US qt), done.\nPlug 34 N·m = 25 lbf·ft"
    first, second = check_text(text)
    assert text[first.start : first.end] == "6.1 L (5.4 US qt)"
    assert (first.line, first.column) == (2, 8)
    assert text[second.start : second.end] == "34 N·m = 25 lbf·ft"
    assert (second.line, second.column) == (3, 6)


def test_the_report_marks_the_place() -> None:
    text = "Pan: 6.1 L (5.4 US qt).\n"
    lines = check_text(text).to_text(text, "notes.txt").splitlines()
    assert lines[0].startswith("notes.txt:1:6: disagrees: 5.4 US qt; right: 6.4 US qt")
    assert lines[1][lines[2].index("^") : lines[2].rindex("^") + 1] == "6.1 L (5.4 US qt)"
    assert lines[-1] == "notes.txt: 1 claim: 0 agree, 1 disagrees, 0 ambiguous"
    assert check_text("").to_text("") == "no claims found\n"


def test_a_long_line_is_cut_around_the_place() -> None:
    text = "x" * 5000 + " 6.1 L (5.4 US qt) " + "y" * 5000
    lines = check_text(text).to_text(text).splitlines()
    assert max(map(len, lines)) < 160
    assert lines[1][lines[2].index("^") : lines[2].rindex("^") + 1] == "6.1 L (5.4 US qt)"


def test_control_characters_stay_out_of_every_form() -> None:
    text = "\x1b[2J\x07 6.1 L (5.4\u00a0US\u00a0qt) \x9b\u202e<b>|`"
    findings = check_text(text)
    for shown in (findings.to_text(text, "\x1b.txt"), findings.to_markdown(), findings._repr_html_(), str(findings[0]), repr(findings)):
        assert all(c.isprintable() or c in "\n\u00a0" for c in shown)
    assert "<b>" not in findings._repr_html_()


def test_the_json_form() -> None:
    findings = check_text("6.1 L (5.4 US qt), 34 N·m (25 lbf·ft), 6.1 L (5.4 qt)")
    data = json.loads(findings.to_json())
    assert data["version"] == 1
    assert (data["agrees"], data["disagrees"], data["ambiguous"]) == (1, 1, 1)
    assert data["findings"][0]["suggestion"] == "6.1 L (6.4 US qt)"
    assert not findings.passed
    assert check_text("34 N·m (25 lbf·ft), 6.1 L (5.4 qt)").passed
    assert pickle.loads(pickle.dumps(findings)) == findings
    assert isinstance(pickle.loads(pickle.dumps(findings)), Findings)


def test_a_file_is_checked(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_bytes("\ufeffPan:\r\n6.1 L (5.4 US qt)\r\n".encode())
    report = report_for_file(str(path))
    assert report.disagrees
    assert str(report).splitlines()[0].startswith(f"{path}:2:1: disagrees")
    assert json.loads(report.to_json())["file"] == str(path)


def test_standard_input_is_checked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO("34 N·m (25 lbf·ft)".encode())))
    report = report_for_file("-")
    assert not report.disagrees
    assert str(report).splitlines()[-1] == "1 claim: 1 agrees, 0 disagree, 0 ambiguous"


def test_a_file_that_cannot_be_read_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(FileError, match=r"missing\.txt: cannot be read"):
        report_for_file(str(tmp_path / "missing.txt"))
    with pytest.raises(FileError, match="cannot be read"):
        report_for_file(str(tmp_path))
    path = tmp_path / "notes.txt"
    path.write_bytes(b"one\ntwo \xff three")
    with pytest.raises(FileError, match=r"notes\.txt: is not UTF-8 at line 2, column 5"):
        report_for_file(str(path))
    monkeypatch.setattr("sumpwise.description.checking.LARGEST", 10)
    with pytest.raises(FileError, match="larger than 10 bytes"):
        report_for_file(str(path))


@pytest.mark.parametrize("value", [None, 3, b"6.1 L", ["6.1 L"]])
def test_only_text_is_checked(value: object) -> None:
    with pytest.raises(SumpwiseError, match="not a text"):
        check_text(value)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("5 L (1 gallon)", "disagrees"), ("1 gallon (5 L)", "disagrees"), ("4 L (4.2 US qt)", "agrees"), ("1 US gal (3.8 L)", "agrees"),
        ("100 ft-lb (100 Nm)", "disagrees"), ("100 Nm (100 ft-lb)", "disagrees"), ("200 lbf·ft (271 N·m)", "agrees"),
        ("60,000 miles (96,500 km)", "agrees"), ("60000 miles (96500 km)", "agrees"), ("60 000 mi (96 500 km)", "agrees"),
        ("96,500 km (60,000 miles)", "agrees"), ("100 km (60 mi)", "disagrees"), ("100 km (62 mi)", "agrees"), ("2 L (2 qt)", "disagrees"),
        ("1 bar (10 psi)", "disagrees"), ("3–6 mm (0.12–0.23 in)", "agrees"), ("0.1 L (100 mL)", "agrees"),
        ("1–2 bar (100–200 kPa)", "agrees"),
        ("-10°C/14°F", "agrees"), ("−10 °C/14 °F", "agrees"), ("-40°C/-40°F", "agrees"), ("-10°C/50°F", "disagrees"),
        ("1 and 1/2 quarts (1.4 L)", "agrees"), ("1 & 1/2 qt (1.4 L)", "agrees"), ("34 N∙m (25 ft-lb)", "agrees"),
        ("34 N•m (34 ft-lb)", "disagrees"), ("80 °C (176 degrees)", "agrees"), ("176 degrees (80 °C)", "agrees"),
        ("80 °C (186 degrees)", "disagrees"), ("80–90 degrees (176–194 °F)", "agrees"),
    ],
)  # fmt: skip
def test_one_rule_for_what_is_printed_and_what_is_checked(text: str, verdict: str) -> None:
    assert [finding.verdict for finding in check_text(text)] == [verdict]


@pytest.mark.parametrize(
    "text", ["10/12cm = 4 in", "turn 90 degrees, at 80 °C", "at 80 °C, then 90 degrees"]
)
def test_what_could_be_another_number_is_left_alone(text: str) -> None:
    assert not check_text(text)


HOSTILE = [
    "9", "1 ", "111 ", "1/2 ", "1/", "½", "1 ½ ", "-+−±", "(", ")", "(1", "1 L (", "1 L (1 qt", "6.1 L (6.4 qt) ", "1±", "(8.0 ± 0.3 ",
    "9 gal 3 qt 1 pt 2 fl oz ", "1–2–", "1-2 L-", "torque to ", "torque to 34 ", "24 % ", "two drains 24 % ", "times 1 % ",
    "drains of 3 L in 8 L 24 % ", "between 1 and ", "1 in = ", "1 L/", "34 N·m/lbf·ft ", "5-gallon ", "1 a-b-c-d-e-f ", "1e9",
    "1 L at 80 °C ", "\n", "10 L hot = 10 L cold ", "1 % per ", "1\u00a0111\u00a0", "_1", "82–92 °C (180–197 °F) ", "1 U.S. ", "1 nm ",
    "a", "1.", "1 L = 1 qt = ", "1 L, 1 qt, ", "1-2 nm ", "3 x 1 L = ",
]  # fmt: skip


def _work(text: str) -> int:
    return counted(lambda: check_text(text))


@pytest.mark.parametrize("piece", HOSTILE)
def test_the_work_grows_with_the_length(piece: str) -> None:
    once, twice = (_work((piece * (size // len(piece) + 1))[:size]) for size in (4_000, 8_000))
    assert twice <= 2.1 * once + 400


def test_a_hundred_thousand_digits_cost_a_handful_of_calls() -> None:
    assert _work("9" * 100_000 + " km") < 400


@pytest.mark.parametrize(
    "text",
    [
        "37 % each drain, so 82–92 % fresh after 2 drains.",
        "3.6 ± 4 % drain, 8 times, 82–92 % fresh",
        "60–61 % old after 2 drains of 37 % each",
    ],
)
def test_a_range_of_shares_is_not_a_single_result(text):
    assert not check_text(text)


@pytest.mark.parametrize("written", ["-.5 °C", "−.5 °C", "-0.5 °C"])
def test_a_minus_stands_before_a_point_too(written):
    (cold, _) = check_text(f"It was {written} (31.1 °F) outside.").seen
    assert (cold.value, cold.start, cold.end) == (-0.5, 7, 7 + len(written))


@pytest.mark.parametrize("text", ["Buy ATX-4 L today.", "Bolt M8-5 mm.", "Kit 2024-.5 L", "x-.5 L", "file.5 L"])
def test_what_a_mark_ties_to_letters_is_not_a_quantity(text):
    assert check_text(text).seen == ()


def test_a_text_may_begin_with_an_ambiguous_number_and_with_a_pair():
    (finding,) = check_text("1,500 L drained")
    assert (finding.verdict, finding.start) == ("ambiguous", 0)
    for text in ("5 L = 5.3 US qt", " 5 L = 5.3 US qt"):
        report = check_text(text)
        assert [one.value for one in report.compared] == [one.value for one in report.seen] == [5.0, 5.3]


def test_inches_by_a_mark_end_with_the_mark():
    text = 'Use 5" (127 mm) of hose.'
    assert [text[one.start : one.end] for one in check_text(text).seen] == ['5"', "127 mm"]


def test_tolerances_may_be_roundings_of_one_value():
    """39.9 ± 2.6 ft-lb may be 39.94 ± 2.6, which is 54.15 N·m, and so is 54.2: neither shows it in full."""
    (finding,) = check_text("39.9 ± 2.6 ft-lb (54.2 ± 3.5 N·m)")
    assert finding.verdict == "agrees"
    (finding,) = check_text("39.9 ± 2.6 ft-lb (54.4 ± 3.5 N·m)")
    assert finding.verdict == "disagrees"


def test_a_share_with_a_decimal_is_held_to_it():
    """Three drains of a third leave (2/3)³ = 29.63 % old."""
    for stated, verdict in (("29.6 %", "agrees"), ("30 %", "agrees"), ("29.0 %", "disagrees"), ("30.2 %", "disagrees")):
        (finding,) = check_text(f"Draining 3 L of 9 L three times leaves {stated} old fluid.")
        assert finding.verdict == verdict


def test_a_head_that_is_a_quantity_gives_no_unit_to_its_column():
    text = "| 5 L | 6 L |\n|---|---|\n| 4 | 5 |\n"
    assert [text[one.start : one.end] for one in check_text(text).seen] == ["5 L", "6 L"]


def test_times_of_a_transcript_are_hours_minutes_and_seconds():
    moments = ("0:01", "1:05", "12:07", "1:03:08")
    transcript = "".join(f"{moment}\nsay 4 L (9 qt)\n" for moment in moments)
    assert [finding.time for finding in check_text(transcript)] == ["00:00:01", "00:01:05", "00:12:07", "01:03:08"]


def test_a_head_may_end_in_a_digit():
    """3.0 L are 3.17 US qt."""
    (finding,) = check_text("| L, drain 2 | qt, drain 2 |\n|---|---|\n| 3.0 | 3.5 |\n")
    assert (finding.verdict, finding.stated) == ("disagrees", "3.5 US qt")


def test_a_half_degree_that_is_not_the_nearest_is_a_matter_of_style() -> None:
    """171 °F is 77.22 °C, which a half degree below is nearer to than the one above."""
    assert not any(finding.verdict == "disagrees" for finding in check_text("171 °F (77.0 °C)"))
    (finding,) = check_text("171 °F (77.5 °C)")
    assert (finding.grade, finding.slip, finding.suggestion) == ("style", HALF_DEGREE, "171 °F (77.0 °C)")


def test_more_than_all_of_it_cannot_be_drained_and_is_not_judged() -> None:
    assert [finding.verdict for finding in check_text("Two drains of 40 % make 84 % new.")] == ["disagrees"]
    assert not list(check_text("Two drains of 140 % make 64 % new."))
