"""What a form gets back for what people type into it: each message says what was read, what is wrong and what to write instead."""

from __future__ import annotations

import pytest

import sumpwise
from sumpwise import Job, drain_refill, span
from sumpwise.errors import SumpwiseError
from sumpwise.quantities import notation
from sumpwise.quantities.arguments import Argument
from sumpwise.service.schema import LISTS, TABLES


def problems(**tables):
    return Job.problems({"vehicle": {"name": "example wagon"}, **tables})


VOLUMES = [
    ("12 quarts of fluid", "text.rest", "write 12 quarts alone"),
    ("9 L?", "text.rest", "write 9 L alone"),
    ("9 qt (8.5 L)", "text.rest", "write 9 qt alone"),
    ("9 gal/36 qt", "unit.unknown", "write 9 gal alone"),
    ("9 qt approx", "text.rest", "write about 9 qt"),
    ("9 qt, or so", "text.rest", "write about 9 qt"),
    ("9ish qt", "unit.unknown", "write about 9 qt"),
    ("9+ qt", "unit.missing", "write about 9 qt"),
    ("9 or 10 qt", "unit.unknown", "write 9 to 10 qt"),
    ("10-9 qt", "range.reversed", "write 9-10 qt"),
    ("3 - 1/2 qt", "range.reversed", "if it is a mixed number, write it without spaces: 3-1/2 qt"),
    ("qt 9", "number.missing", "write the number first: 9 qt"),
    ("9 quats", "unit.unknown", "did you mean quarts?"),
    ("9 qt 8 oz", "text.compound", "write 9 qt 8 fl oz"),
    ("1.500 mL", "text.ambiguous", "write 1.5 mL or 1500 mL"),
    ("1,500 L", "text.ambiguous", "write 1.500 L or 1500 L"),
    ("9", "unit.missing", "write the unit after the number"),
    ("½", "unit.missing", "write the unit after the number"),
    ("", "number.missing", "leave the key out if it is not known"),
    (" ", "number.missing", "leave the key out if it is not known"),
    ("n/a", "number.missing", "leave the key out if it is not known"),
    ("TBD", "number.missing", "leave the key out if it is not known"),
    ("?", "number.missing", "leave the key out if it is not known"),
    (None, "number.missing", "leave the key out if it is not known"),
    ({"value": 9, "unit": "L"}, "value.type", "write it as one text"),
    (12.5, "unit.missing", "write the number with its unit, as text or as a Quantity"),
]


@pytest.mark.parametrize(("written", "code", "hint"), VOLUMES)
def test_what_to_write_instead_is_said_and_would_be_read(written, code, hint):
    (error,) = problems(capacity={"total": written})
    assert (error.code, error.hint, error.pointer) == (code, hint, "/capacity/total")
    told = error.to_dict()
    assert all(told[key] in str(error) for key in ("problem", "argument", "value", "allowed", "hint") if told[key])
    if hint.startswith(("write 9", "write 12", "write about", "if it is", "write the number first")) and hint[-1].isalpha():
        mended = hint.removesuffix(" alone").removeprefix("write ").rpartition(": ")[2]
        assert problems(capacity={"total": mended}) == []


@pytest.mark.parametrize(
    "written",
    ["12  qt", "12\u00a0qt", "12\u200bqt", "1,500 mL", "3,5 L", "½ qt", "3-1/2 qt", "approx 9 qt", "~9 qt", "nine qt", "9 Qts.", "9 L"],
)
def test_what_people_write_is_read(written):
    assert problems(capacity={"total": written}) == []


@pytest.mark.parametrize(
    ("written", "hint"),
    [
        ("0:20", "write minutes and seconds with their units: 0 min 20 s"),
        ("20", "write the unit after the number"),
        ("20 secnds", "did you mean seconds?"),
    ],
)
def test_times(written, hint):
    entry = {"event": "drained", "vessel": "pail", "reading": "3 qt", "temperature": "100 °F", "duration": written}
    (error,) = problems(vessel=[{"name": "pail", "graduation": "1 qt"}], log=[entry])
    assert error.hint == hint


@pytest.mark.parametrize(("written", "kind", "hint"), [
    ("30'000 km", "length", "write 30000 km"), ("1’250’000 mL", "volume", "write 1250000 mL"), ("5'10 in", "length", ""),
    ("34 mN", "torque", "did you mean N·m?"), ("3.7 l/m", "flow", "did you mean L/min?"), ("9 quats", "volume", "did you mean quarts?"),
])  # fmt: skip
def test_what_is_meant_is_written_as_people_write_it(written, kind, hint):
    with pytest.raises(SumpwiseError) as error:
        notation.read(written, kind)
    assert error.value.hint == hint


def test_every_share_has_both_its_limits():
    kinds = [key.kind for keys in (*TABLES.values(), *LISTS.values()) for key in keys.values()]
    kinds += [one for name in sumpwise.__all__ for one in getattr(getattr(sumpwise, name), "arguments", {}).values()]
    shares = [kind for kind in kinds if isinstance(kind, Argument) and kind.kind == "fraction"]
    assert len(shares) > 30
    for share in shares:
        assert max(share.above, share.minimum) >= -0.5
        assert min(share.below, share.maximum) <= 1


@pytest.mark.parametrize("written", ["60", "160 %", "1.01", 60, "-5 %", "0"])
def test_a_share_of_more_than_all_or_of_nothing_is_refused(written):
    entry = {"event": "drained", "vessel": "pail", "reading": "3 qt", "temperature": "100 °F", "outlet_old": written}
    (error,) = problems(vessel=[{"name": "pail", "graduation": "1 qt"}], log=[entry])
    assert error.code == "range.outside"
    assert error.limits == (0, 1, "")
    (error,) = problems(filler={"venting": written})
    assert (error.code, error.limits) == ("range.outside", (0, 1, ""))


def test_a_function_says_what_to_write_too():
    with pytest.raises(SumpwiseError, match="write about 9 qt"):
        drain_refill("3 qt", "9ish qt")
    with pytest.raises(SumpwiseError, match="write 82-92 °C"):
        span("92-82 °C")


def test_no_mend_is_made_up():
    for text in ("9 qt 8", "nothing", "9.5.1 L", "$9", "9 %", "x" * 90):
        with pytest.raises(SumpwiseError) as caught:
            notation.read(text, "volume")
        assert caught.value.hint in ("", "write the unit after the number")
