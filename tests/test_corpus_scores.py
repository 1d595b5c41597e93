"""The check of a text on the open corpora: what it must find, and where it must be quiet."""

from __future__ import annotations

import pytest

from corpus.labels import HERE
from corpus.scoring import score_text


@pytest.mark.parametrize("name", ["open_a.tsv", "open_b.tsv"])
def test_what_is_wrong_is_found_and_nothing_else(name: str) -> None:
    score = score_text(HERE / name)
    assert score.precision("wrong") >= 0.98
    assert score.recall("wrong") >= 0.98
    assert score.recall("style") >= 0.9
    assert score.compared >= 0.97 * score.pairs
    assert score.seen >= 0.98 * score.heard
