"""Errors: each carries a stable code of the catalogue, whatever wraps it or carries it elsewhere."""

import ast
import copy
import pickle
import tracemalloc
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import sumpwise
from sumpwise import Circuit, FileError, Ledger, NotationError, SumpwiseError, Vessel, burst_plan, drain_refill, errors, setting_band
from sumpwise.codes import CODES
from sumpwise.errors import SHOWN, SPACES, shown
from sumpwise.service.facts import refusals
from sumpwise.service.facts.fact import Name, Word
from sumpwise.service.words.english import WORDS

ROOT = Path(sumpwise.__file__).parent
KINDS = {name for name, thing in vars(errors).items() if isinstance(thing, type) and issubclass(thing, SumpwiseError)}


def called(call):
    """The last name of what is called; the class of another error is one of the kinds."""
    function = call.func
    if isinstance(function, ast.Call) and ast.unparse(function) == "type(error)":
        return "SumpwiseError"
    return function.id if isinstance(function, ast.Name) else function.attr if isinstance(function, ast.Attribute) else ""


def stated(value):
    """The codes that an expression may stand for; None where it is handed on from another error or from the caller."""
    if isinstance(value, ast.IfExp):
        return stated(value.body) + stated(value.orelse)
    if isinstance(value, ast.Constant):
        return [value.value]
    handed_on = (isinstance(value, ast.Attribute) and value.attr == "code") or (isinstance(value, ast.Name) and value.id == "code")
    return [None] if handed_on else ["?"]


def takers(tree):
    """The functions of a module that take a code -> the position it may be given at."""
    found = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and node.name != "__init__":
            names = [a.arg for a in node.args.args if a.arg != "self"]
            if "code" in [*names, *(a.arg for a in node.args.kwonlyargs)]:
                found[node.name] = names.index("code") if "code" in names else None
    return found


@cache
def calls():
    """Every call in the package that makes an error, or that calls a function which takes a code: place and codes."""
    trees = {path: ast.parse(path.read_text(encoding="utf-8")) for path in ROOT.rglob("*.py")}
    modules = {f"sumpwise.{'.'.join(path.relative_to(ROOT).with_suffix('').parts)}": tree for path, tree in trees.items()}
    known = {name: takers(tree) for name, tree in modules.items()}
    classes = {name: {one.name: takers(one) for one in tree.body if isinstance(one, ast.ClassDef)} for name, tree in modules.items()}
    found = []
    for path, tree in trees.items():
        here = takers(tree)
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom):
                here |= {a.name: known[node.module][a.name] for a in node.names if a.name in known.get(node.module, {})}
                for one in {a.name for a in node.names} & classes.get(node.module, {}).keys():
                    here |= classes[node.module][one]
        for node in ast.walk(tree):
            name = called(node) if isinstance(node, ast.Call) else ""
            if name in KINDS or name in here:
                given = [k.value for k in node.keywords if k.arg == "code"]
                position = here.get(name)
                if not given and position is not None and position < len(node.args):
                    given = [node.args[position]]
                found.append((f"{path.relative_to(ROOT)}:{node.lineno}", stated(given[0]) if given else ["?"]))
    return found


def test_every_error_is_raised_with_a_code_of_the_catalogue():
    assert [(place, code) for place, codes in calls() for code in codes if code is not None and code not in CODES] == []


def test_no_code_of_the_catalogue_is_unused():
    assert set(CODES) - {code for _, codes in calls() for code in codes} == set()


def test_a_raise_without_a_code_would_be_found():
    call = ast.parse('RangeError("is wrong", argument="x")').body[0].value
    assert called(call) in KINDS
    assert stated(ast.parse("made_up()").body[0].value) == ["?"]
    assert stated(ast.parse('"a.b" if x else error.code').body[0].value) == ["a.b", None]


def test_codes_are_dotted_words_and_each_has_a_sentence():
    for code, meaning in CODES.items():
        group, _, word = code.partition(".")
        assert group.isalpha()
        assert word.replace("_", "").isalpha()
        assert code == code.lower()
        assert meaning[0].isupper()
        assert meaning[-1] == "."
        assert meaning.count(". ") == 0
    assert len(set(CODES.values())) == len(CODES)


REFUSED = [
    (lambda: drain_refill("3.6", "9 L"), "unit.missing", None),
    (lambda: drain_refill("3.6 m", "9 L"), "unit.kind", None),
    (lambda: drain_refill("3.6 zz", "9 L"), "unit.unknown", None),
    (lambda: drain_refill("1,500 L", "9 L"), "text.ambiguous", None),
    (lambda: drain_refill("9.5 L", "9 L"), "range.above_bound", (None, 9.0, "L")),
    (lambda: drain_refill("3 L", "9 L", start=1.5), "range.outside", (0.0, 1.0, "")),
    (lambda: drain_refill("-3 qt", "9 L"), "range.outside", (0.0, None, "L")),
    (lambda: drain_refill("3 L", "9 L", times=1.5), "number.not_whole", (0, 10_000, "")),
    (lambda: drain_refill(None, "9 L"), "number.missing", None),
    (lambda: Circuit("4 L", "2 L", "1 L").drain("5 L"), "sump.holds_less", (0.0, 4.0, "L")),
    (lambda: Circuit("4 L", "2 L", "1 L", sump_floor="1.5 L").pump("3 L"), "pump.draws_air", (1.5, None, "L")),
    (lambda: Ledger("847 kg/m³").drained(Vessel("pail", "0.25 L", capacity="9 L"), "10 L", "20 °C"), "vessel.overfull", (0.0, 9.0, "L")),
    (lambda: Ledger("847 kg/m³").drained("jug", "1 L", "20 °C"), "vessel.unknown", None),
    (lambda: Ledger("847 kg/m³").next_pour("pail", "20 °C", lower="-0.2 L", upper="0.2 L"), "count.no_start", None),
    (lambda: burst_plan("7 L", "4 L/min", "1 L/min", "2 L", "1 L", burst="1.5 L"), "pail.too_small", (0.0, 1.0, "L")),
]


@pytest.mark.parametrize(("call", "code", "limits"), REFUSED, ids=lambda x: x if isinstance(x, str) else "")
def test_the_code_says_the_kind_of_problem_and_the_limits_are_numbers(call, code, limits):
    with pytest.raises(SumpwiseError) as caught:
        call()
    assert caught.value.code == code
    assert caught.value.limits == (limits if limits is None else pytest.approx(limits))


def test_an_error_keeps_its_code_and_limits_wherever_it_is_taken():
    with pytest.raises(SumpwiseError) as caught:
        drain_refill("3 L", "9 L", start=1.5)
    for other in (pickle.loads(pickle.dumps(caught.value)), copy.copy(caught.value), caught.value.at("elsewhere")):
        assert (other.code, other.limits, other.argument) == ("range.outside", (0.0, 1.0, ""), "start")
        assert str(other) == str(caught.value)


def test_the_sheet_says_why_by_the_code_of_an_error_in_words_of_its_own():
    assert set(refusals.KNOWN) <= set(CODES)
    assert set(refusals.KNOWN.values()) <= set(WORDS)
    for call, word in (
        (lambda: Circuit("4 L", "2 L", "1 L").drain("5 L"), "refused.sump"),
        (lambda: Circuit("4 L", "2 L", "1 L", sump_floor="1.5 L").pump("3 L"), "refused.air"),
        (lambda: burst_plan("7 L", "4 L/min", "1 L/min", "2 L", "1 L", burst="1.5 L"), "refused.pail"),
        (lambda: burst_plan("7 L", "40 L/min", "1 L/min", "0.1 L", "9 L"), "refused.air"),
        (lambda: setting_band("31 N·m", "32 N·m", "4 %"), "refused.band"),
    ):
        with pytest.raises(SumpwiseError) as caught:
            call()
        assert refusals.refused(caught.value) == Word(word)
    with pytest.raises(SumpwiseError) as caught:
        drain_refill("3.6", "9 L")
    assert refusals.refused(caught.value) == Name(str(caught.value))


@pytest.mark.parametrize(
    "value",
    [
        list(range(10**5)), tuple(range(10**5)), dict.fromkeys(range(10**5)), set(range(10**5)), ["x" * 10**6], "x" * 10**6, b"x" * 10**6,
        {"k": ["x" * 10**6]}, [list(range(10**5))] * 3,
    ],
    ids=lambda value: type(value).__name__,
)  # fmt: skip
def test_what_is_too_long_to_be_shown_is_not_written_out(value):
    tracemalloc.start()
    try:
        read = shown(value)
        most = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert most < 2**16
    assert (len(read), read.rstrip("'")[-1]) == (82 if isinstance(value, str) else 80, "…")


WHOLE = st.integers()
PLAIN = st.none() | st.booleans() | WHOLE | st.text(max_size=9) | st.binary(max_size=9) | st.frozensets(WHOLE, max_size=3) | st.sets(WHOLE)


def held(inner):
    named = st.dictionaries(st.text(max_size=3), inner, max_size=3)
    return st.lists(inner, max_size=3) | st.tuples(inner) | st.tuples(inner, inner) | named


@given(st.recursive(PLAIN, held, max_leaves=6).filter(lambda value: not isinstance(value, str)))
def test_what_is_short_is_shown_as_python_writes_it(value):
    written = repr(value)
    cut = written if len(written) <= SHOWN else written[: SHOWN - 1] + "…"
    assert shown(value) == "".join(c if c.isprintable() or c in SPACES else c.encode("unicode_escape").decode() for c in cut)


def test_what_holds_itself_is_shown():
    around = []
    around.append(around)
    assert shown(around).startswith("[[[[")


def test_an_error_without_a_place_says_so_with_noughts():
    assert NotationError("is not a number", code="text.unreadable").position == 0
    assert FileError("is broken", code="file.unreadable").line == 0


def test_what_is_deeper_than_can_be_shown_is_cut_at_the_same_depth():
    nested, table = 1, 1
    for _ in range(11):
        nested, table = [nested], {1: table}
    assert shown(nested) == "[" * 11 + "1" + "]" * 11
    assert shown(table) == "{1: " * 11 + "1" + "}" * 11
    assert "…" in shown([nested])
    assert shown({1: table}) == "{1: " * 11 + "…" + "}" * 11


@pytest.mark.parametrize("innermost", [["1"], [], {}, {"a": 1}])
def test_plain_data_may_be_as_deep_as_said_and_no_deeper(innermost):
    nested = innermost
    for _ in range(errors.MOST_NESTED - 1):
        nested = [nested]
    errors.expect_shallow(nested, "data")
    with pytest.raises(FileError, match=f"more than {errors.MOST_NESTED} lists"):
        errors.expect_shallow([nested], "data")


def test_what_is_one_character_too_long_is_cut():
    assert shown("a" * SHOWN) == f"'{'a' * SHOWN}'"
    assert shown("a" * (SHOWN + 1)) == f"'{'a' * (SHOWN - 1)}…'"
    for number in (SHOWN - 2, SHOWN - 1, SHOWN, SHOWN + 1):  # a text of bytes is written with its quotes and the b before them
        written = repr(b"a" * number)
        assert shown(b"a" * number) == (written if len(written) <= SHOWN else written[: SHOWN - 1] + "…")


def test_a_letter_of_any_script_and_a_space_of_any_width_are_shown_beside_what_is_escaped():
    assert shown("é ⅜\u00a0抜\u2009°\x1b") == "'é ⅜\u00a0抜\u2009°\\x1b'"


def test_an_error_knows_the_schema_of_what_it_tells():
    assert SumpwiseError("is wrong", code="value.type").json_schema() == SumpwiseError.json_schema()
