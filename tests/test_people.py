"""Lines as publishers, forums and captions have them, each with what must be found."""

from __future__ import annotations

import pytest

from corpus.labels import HERE, unescape
from sumpwise.description import check_text

LINES = [row.split("\t", 1) for row in (HERE / "people.tsv").read_text("utf-8").splitlines() if not row.startswith("# ")]


@pytest.mark.parametrize(("due", "text"), LINES, ids=[text[:60] for _, text in LINES])
def test_a_line_as_people_write_it(due: str, text: str) -> None:
    findings = check_text(unescape(text))
    said = [finding.grade or finding.verdict for finding in findings]
    if due == "wrong":
        assert said.count("wrong") == 1
    elif due == "ambiguous":
        assert "ambiguous" in said
        assert "wrong" not in said
    else:
        assert set(said) <= {"agrees"}
        assert due == "nothing" or said
