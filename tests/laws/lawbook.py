"""The book of laws: each Hypothesis property says which public names it is a law of.

    @law("drain_refill", "drains_needed")
    @given(shares, counts)
    def test_enough_drains_meet_the_target(share, times):
        \"\"\"As many drains as are needed meet the target, and one fewer does not.\"\"\"

`law` stands on top, above `given`; a law that is slow to try adds `@examples(10)`. `tests/test_verification.py` fails for a public
computing name that is in no law.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from typing import TypeVar

from hypothesis import is_hypothesis_test, settings
from hypothesis.stateful import RuleBasedStateMachine

Property = TypeVar("Property", bound=Callable[..., object])

LAWS: dict[str, set[str]] = defaultdict(set)
"""Public name -> the sentences that hold for it."""


def law(*names: str) -> Callable[[Property], Property]:
    """Enter a Hypothesis property, whose docstring is the law as one sentence, under the public names it is about."""

    def enter(prop: Property) -> Property:
        if not names or not all(isinstance(name, str) for name in names):
            raise TypeError("law needs the public names it is about: @law('drain_refill')")
        machine = isinstance(prop, type) and issubclass(prop, RuleBasedStateMachine)
        if not machine and not is_hypothesis_test(prop):
            raise TypeError(f"{prop.__name__} is not a Hypothesis property: put @law above @given")
        sentence = " ".join((prop.__doc__ or "").split())
        if not sentence:
            raise TypeError(f"{prop.__name__} needs the law as its docstring, in one sentence")
        for name in names:
            LAWS[name].add(sentence)
        return prop

    return enter


def examples(usual: int) -> settings:
    """As many examples of a law as are usual for it; in a deep run more, in proportion."""
    return settings(max_examples=max(usual, usual * settings().max_examples // 100))
