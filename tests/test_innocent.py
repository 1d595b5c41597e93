"""Long texts as publishers, forums and captions have them, full of unrelated numbers: nothing may be reported."""

from __future__ import annotations

import pytest

from corpus.labels import HERE
from sumpwise.description import check_text

TEXTS = dict(part.split("\n", 1) for part in (HERE / "innocent.txt").read_text("utf-8").split("=== ")[1:])


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS)
def test_nothing_is_found_where_nothing_is_claimed(text: str) -> None:
    findings = check_text(text)
    assert [(finding.line, finding.verdict, finding.stated) for finding in findings] == []
    assert findings.counts.seen
