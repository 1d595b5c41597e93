"""Every published check value, one test each; and that no public computing name goes without evidence, law or true docstring."""

from __future__ import annotations

import importlib.util
import inspect
import json
import pathlib
import sys
from collections import Counter
from typing import ClassVar

import pytest

import sumpwise
from laws.lawbook import LAWS
from sumpwise.errors import FileError, RangeError
from sumpwise.verification.entries import evidence, exercised, label_of, load, outside_sources, parse
from sumpwise.verification.publications import KNOWN, MEANINGS, NEEDED, NO_OUTSIDE_VALUE, ONE_SOURCE, OUTSIDE, PRINTED
from sumpwise.verification.runner import Verification, check

ENTRIES = load()

WITHOUT_KERNEL = {
    "convert", "rounded", "rounded_inward", "measured", "standard_uncertainty", "budget", "expanded", "monte_carlo", "normalized_error",
    "zeta_score", "viscosity_index", "blend_viscosity", "mean_age_before", "mean_age_after", "mean_age_average", "FluidHistory",
    "drain_refill_series", "drains_needed", "volume_needed", "Circuit", "Vessel", "Ledger", "Dipstick", "burst_plan", "cheapest_packs",
    "permissible_deviation", "check_text", "OverflowPlug", "best_estimate", "best_use", "check_claim", "compare_rhythms", "coverage_factor",
    "inside_from_outlet", "monte_carlo_adaptive", "over_horizon", "pooled", "validate", "book_meaning", "flow_regime",
}  # fmt: skip
"""Public names that compute and are no kernels under a boundary: searches, sequences, records, and what works on texts."""


NUMBERS_OF_OTHERS = {
    "SumpwiseError", "UnitError", "NotationError", "RangeError", "FileError", "CountLostError",
    "quantity", "span", "Span", "LooksClean", "repeated_changes", "give_leftovers", "safe_to_mix", "evidence", "verify",
    "Job", "Sheet", "ServiceRecord", "plan", "plan_many", "compare", "compare_methods", "number_card",
    "draw_pictures", "save_pictures", "plot_balance", "plot_freshness", "plot_level", "plot_mean_age", "plot_methods",
}  # fmt: skip
"""Public names without a number of their own: errors, records, verdicts, and what sets out, plans or draws what others compute."""


def public(name):
    """A public name's object; None for a name on the face that leads nowhere, which has a test of its own."""
    try:
        return getattr(sumpwise, name)
    except (ImportError, AttributeError):
        return None


COMPUTING = sorted(n for n in sumpwise.__all__ if n in WITHOUT_KERNEL or hasattr(public(n), "kernel"))
LAW_FILES = sorted((pathlib.Path(__file__).parent / "laws").glob("test_*.py"))


def test_every_public_name_computes_or_is_said_not_to():
    """A new one is put in its place on purpose."""
    assert set(COMPUTING) | NUMBERS_OF_OTHERS == set(sumpwise.__all__)
    assert not set(COMPUTING) & NUMBERS_OF_OTHERS


@pytest.mark.parametrize("name", sumpwise.__all__)
def test_every_name_on_the_face_is_there(name):
    assert public(name) is not None


def named(entries):
    counts = Counter()
    for e in entries:
        counts[e.publication] += 1
        yield f"{e.publication}-{counts[e.publication]}-{e.function}"


@pytest.mark.parametrize("entry", ENTRIES, ids=list(named(ENTRIES)))
def test_published_value(entry):
    row = check(entry)
    assert row.passed, f"{entry.source}\n{entry.call}\nprinted {entry.printed}, computed {row.computed}, off {row.difference} {row.problem}"


NO_COMPUTING = {
    "Ledger": {"started", "drained", "poured", "emptied", "lost", "start", "running", "next_pour"}
    | {"explain", "lines", "capacity", "counting", "added"},
    "Circuit": {"sump_volume", "volume", "sump", "converter", "cooler", "clutches", "pockets", "discharged"}
    | {f"{part}_fresh" for part in ("sump", "converter", "cooler", "clutches", "pockets")},
    "FluidHistory": {"replace", "distribution"},
    "Vessel": {"sealed", "graduation", "capacity", "residue", "tilt", "width"},
}
"""Methods and attributes that record, tell or hand out what another one computes; that one has the evidence."""


def methods(name):
    """The public methods and properties of a class that computes, but for records, files and what is inherited."""
    told = NO_COMPUTING.get(name, set()) | {"to_dict", "from_dict", "json_schema"}
    return [m for m, v in vars(public(name)).items() if not m.startswith("_") and m not in told and (callable(v) or hasattr(v, "__get__"))]


def slot(value):
    return type(value).__name__ == "member_descriptor"


GATED = sorted(
    f"{name}.{method}" if method else name
    for name in COMPUTING
    for method in ([m for m in methods(name) if not slot(vars(public(name))[m])] if inspect.isclass(public(name)) else [""])
)
"""Every public function and method that computes."""


@pytest.mark.parametrize("name", GATED)
def test_two_outside_sources_or_the_label(name):
    """A docstring claims no more evidence than there is, and no less."""
    owner, _, method = name.partition(".")
    thing = vars(public(owner))[method] if method else public(owner)
    doc = " ".join((inspect.getdoc(thing) or "").lower().split())
    sources = outside_sources(name)
    label = label_of(sources)
    for words in (NO_OUTSIDE_VALUE, ONE_SOURCE):
        assert (words in doc) == (words == label), f"{name}: held by {sources or 'nothing outside'}; its docstring is to say {label!r}"


@pytest.mark.parametrize("name", GATED)
def test_every_function_and_method_has_a_check_value(name):
    """From outside or from a second implementation, called itself or on the way to another; memory and common practice do not count."""
    known = {entry.known for entry in ENTRIES if name in exercised(entry)}
    assert known & {*OUTSIDE, "own second implementation"}, f"{name} has no check value; found {sorted(known) or 'none'}"


@pytest.fixture(scope="module")
def lawbook():
    for file in LAW_FILES:
        spec = importlib.util.spec_from_file_location(f"lawbook_{file.stem}", file)
        module = importlib.util.module_from_spec(spec)
        sys.modules[spec.name] = module
        spec.loader.exec_module(module)
    return LAWS


@pytest.mark.parametrize("name", COMPUTING)
def test_every_computing_name_has_a_law(name, lawbook):
    assert lawbook.get(name), f"no Hypothesis property in tests/laws is marked @law({name!r})"


def test_laws_are_about_public_names(lawbook):
    assert not [name for name in lawbook if not hasattr(sumpwise, name.partition(".")[0])]


def documented(doc):
    """Names in the Parameters section of a numpydoc docstring."""
    lines = inspect.cleandoc(doc or "").splitlines()
    names, inside = [], False
    for line, after in zip(lines, [*lines[1:], ""], strict=True):
        if set(after) == {"-"} and len(after) > 2:
            inside = line.strip() == "Parameters"
        elif inside and line and not line.startswith((" ", "-")) and " : " in line:
            names += [n.strip().lstrip("*") for n in line.split(" : ")[0].split(",")]
    return names


def accepted(thing):
    return [p.lstrip("*") for p in inspect.signature(thing).parameters if p not in ("self", "cls")]


def callables():
    for name in sumpwise.__all__:
        thing = public(name)
        if inspect.isclass(thing):
            if not issubclass(thing, Exception) and thing.__init__ is not object.__init__:
                yield name, thing
            for method, value in vars(thing).items():
                if not method.startswith("_") and callable(getattr(thing, method)) and accepted(getattr(value, "__func__", value)):
                    yield f"{name}.{method}", getattr(value, "__func__", value)
        elif callable(thing):
            yield name, thing


CALLABLES = dict(callables())


@pytest.mark.parametrize("name", CALLABLES)
def test_documented_parameters_are_the_signature(name):
    thing, owner = CALLABLES[name], name.partition(".")[0]
    found = documented(thing.__doc__)
    plain_record = inspect.isclass(public(owner)) and owner not in COMPUTING and not found
    assert plain_record or sorted(found) == sorted(accepted(thing))


PUBLICATION = """[publication]
title = "A handbook"
author = "A body"
edition = "2nd ed."
year = "2014"
known = "published"
locator = "HB 2, table 1"
seen = "2026-11-27"
quotation = "1 gal 3.785 L"
rows = "one of three"
"""
CHECK = '[[check]]\nfunction = "convert"\narguments = { value = "1 gal", to = "L" }\nprinted = "3.785 L"\nwhere = "table 1"\n'


def one(changed, publication=PUBLICATION):
    (entry,) = parse(publication + changed, "a.toml")
    return entry


REFUSED = {
    "an unknown key": (CHECK + 'tolerence = "0.1"\n', "tolerence"),
    "no printed value": (CHECK.replace('printed = "3.785 L"\n', ""), "printed"),
    "no place in the source": (CHECK.replace('where = "table 1"\n', ""), "where"),
    "no function": (CHECK.replace('function = "convert"\n', ""), "function"),
    "an unknown way of knowing": (CHECK + 'known = "computed"\n', "computed"),
    "a printed number without its text": (CHECK.replace('"3.785 L"', "3.785"), "printed"),
    "an empty text": (CHECK.replace('"table 1"', '" "'), "where"),
    "arguments that are no table": (CHECK.replace('{ value = "1 gal", to = "L" }', '"1 gal"'), "arguments"),
    "a tolerance that is not a number": (CHECK + 'tolerance = "small"\n', "tolerance"),
    "a fraction without tolerance": (CHECK.replace("3.785 L", "15/4 L"), "tolerance"),
    "a value with its own uncertainty": (CHECK.replace("3.785 L", "3.785(2) L"), "standard"),
    "calls that are no calls": (CHECK + 'after = ["drain"]\n', "after"),
    "two calls in one": (CHECK + 'after = [{ drain = { volume = "1 L" }, pour = { volume = "1 L" } }]\n', "after"),
    "a broken file": ("[[check]\n", "TOML"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_loader_refuses(what):
    text, said = REFUSED[what]
    with pytest.raises(FileError) as refused:
        parse(PUBLICATION + text, "a.toml")
    assert "a.toml" in str(refused.value)
    assert said in str(refused.value)


def publication(known, *without, **more):
    lines = [line for line in PUBLICATION.splitlines() if line.partition(" ")[0] not in {"known", *without, *more}]
    return "\n".join([*lines, f'known = "{known}"', *(f'{key} = "{value}"' for key, value in more.items())]) + "\n"


@pytest.mark.parametrize(("known", "key"), [(known, key) for known in KNOWN if known != "derived" for key in sorted(NEEDED[known])])
def test_loader_says_what_a_publication_lacks(known, key):
    with pytest.raises(FileError, match=f"lacks '{key}'"):
        parse(publication(known, key, **({} if key == "recipe" else {"recipe": "scipy.special"})) + CHECK, "a.toml")


def test_a_check_may_not_claim_more_than_its_publication_says():
    bare = '[publication]\ntitle = "A handbook"\nknown = "memory"\n'
    assert parse(bare + CHECK, "a.toml")[0].known == "memory"
    with pytest.raises(FileError, match="lacks 'author', which a value known as 'published' needs"):
        parse(bare + CHECK + 'known = "published"\n', "a.toml")


def test_the_day_seen_is_a_day_and_a_quotation_is_short():
    with pytest.raises(FileError, match="is not a date"):
        parse(publication("published", seen="last autumn") + CHECK, "a.toml")
    with pytest.raises(FileError, match="too long"):
        parse(publication("published", quotation="3.785 L " * 40) + CHECK, "a.toml")
    assert parse(publication("published", quotation="1 gal 3.785 L " + "x" * 286) + CHECK, "a.toml")  # 300 characters


def test_another_figure_than_the_printed_one_says_how():
    other = CHECK + 'means = "3.786 L"\n'
    with pytest.raises(FileError, match="derived"):
        one(other)
    entry = one(other + 'derived = "printed plus one in the last digit"\n')
    assert (entry.known, entry.derived) == ("derived", "printed plus one in the last digit")
    assert one(CHECK.replace("3.785 L", "3.785 litres it holds") + 'means = "3.785 L"\n').known == "published"
    assert one(CHECK.replace("3.785 L", "3785 mL") + 'means = "3.785 L"\n').known == "published"
    assert one(CHECK.replace("3.785 L", "no more than that") + 'means = "3.785 L"\nderived = "so"\n').known == "derived"
    with pytest.raises(FileError, match="derived"):
        one(CHECK.replace("3.785 L", "3785 mL") + 'means = "3.786 L"\n')
    assert one(CHECK.replace("3.785 L", "0,003 785 m3") + 'means = "0.003785 m³"\n').known == "published"
    assert one(CHECK.replace("1 gal", "1000 gal").replace("3.785 L", "3,785 litres") + 'means = "3785 L"\n').known == "published"


def test_derived_says_how():
    with pytest.raises(FileError, match="worked out"):
        one(CHECK + 'known = "derived"\n')


def test_a_wide_tolerance_says_why():
    wide = CHECK + 'tolerance = "0.01"\n'
    for text in (wide, CHECK + 'tolerance = "0.0006"\n'):  # half a unit of the last digit is 0.0005
        with pytest.raises(FileError, match="wider than the printed digit"):
            one(text)
    assert one(CHECK + 'tolerance = "0.0005"\n').tolerance == 0.0005
    assert one(wide + 'note = "the source multiplies rounded numbers"\n').tolerance == 0.01
    assert one(CHECK + 'tolerance = "0.0001"\n').tolerance == 0.0001
    with pytest.raises(FileError, match="wider than the printed digit"):
        one(wide, publication("published", note="litres stand in for gallons"))
    assert one(wide, publication("published", note="the tolerance is that of a single run")).tolerance == 0.01


def test_a_row_that_differs_must_differ():
    row = check(one(CHECK.replace("3.785 L", "3.784 L") + 'differs = "a misprint"\n'))
    assert (row.passed, row.differs) == (True, True)
    assert "differs: a misprint" in Verification((row,)).to_markdown()
    row = check(one(CHECK + 'differs = "a misprint"\n'))
    assert not row.passed
    assert "agrees now" in row.problem
    row = check(one(CHECK.replace('to = "L"', 'to = "parsec"') + 'differs = "a misprint"\n'))
    assert not row.passed


def test_the_counts_tell_agreement_from_difference():
    report = Verification((check(one(CHECK)), check(one(CHECK.replace("3.785 L", "3.784 L") + 'differs = "a misprint"\n'))))
    assert report.headline == (1, 1)
    assert report.counts == {"published": 2}
    assert report.evaluations == 1
    assert report.summary == (
        "1 values printed in 1 laws, standards, manuals, papers or books agree, "
        "and 0 in 0 texts of less weight (web pages, solved exercises, quotations). "
        "Of the former, 1 convert units, and 0 of the others stand in two publications. "
        "Of all 2 check values (1 different evaluations: 2 published) 1 agree and 1 differ as noted."
    )


def test_an_evaluation_is_counted_once_however_it_is_written():
    values = ["1 gal", "2 US gal"]
    assert len({one(CHECK.replace("1 gal", value)).evaluation for value in values}) == 1
    back = CHECK.replace('value = "1 gal", to = "L"', 'value = "1 L", to = "gal"').replace("3.785 L", "0.2642 gal")
    assert one(back).evaluation == one(CHECK).evaluation
    assert one(CHECK.replace("gal", "imp gal").replace("3.785", "4.546")).evaluation != one(CHECK).evaluation


def test_every_way_of_knowing_is_explained():
    assert set(MEANINGS) == set(KNOWN) == set(NEEDED)
    assert KNOWN[: len(OUTSIDE)] == OUTSIDE
    assert KNOWN[: len(PRINTED)] == PRINTED


def test_a_method_is_held_by_the_calls_that_lead_to_it():
    assert "milk_unequal_refills" in outside_sources("Circuit.drain")
    assert "felder_rousseau" in outside_sources("Circuit.pump")
    assert outside_sources("Dipstick.holds_at") == ("tm_9_2320_386_10_windows",)
    sources = {entry.publication for entry in evidence("Ledger.total_poured")}
    assert "mpmath_methods" in sources - set(outside_sources("Ledger.total_poured"))


def test_loader_refuses_a_file_without_checks():
    with pytest.raises(FileError, match="check"):
        parse(PUBLICATION, "a.toml")


@pytest.mark.parametrize("checks", ["check = 3\n", "check = [3]\n", 'check = { function = "convert" }\n', "[check]\nfunction = 3\n"])
def test_loader_refuses_checks_that_are_not_a_list_of_tables(checks):
    with pytest.raises(FileError, match="table"):
        parse(checks + PUBLICATION if "[" not in checks[:1] else PUBLICATION + checks, "a.toml")


def test_default_tolerance_is_half_a_unit_of_the_last_printed_digit():
    assert one(CHECK).tolerance == 0.0005
    assert one(CHECK.replace("3.785", "3.785 411 784")).tolerance == 5e-10
    assert one(CHECK.replace("3.785 L", "63 %")).tolerance == 0.5


def test_an_entry_says_what_it_is():
    entry = one(CHECK)
    assert (entry.function, entry.printed, entry.known) == ("convert", "3.785 L", "published")
    assert entry.arguments == {"value": "1 gal", "to": "L"}
    assert entry.source == "A body, A handbook (2nd ed., 2014), table 1"
    assert (entry.cited.locator, entry.cited.seen, entry.cited.quotation) == ("HB 2, table 1", "2026-11-27", "1 gal 3.785 L")
    assert entry.call == 'convert(value="1 gal", to="L")'


@pytest.mark.parametrize(
    ("printed", "agrees"), [("3.7859 L", False), ("3.7854 L", True), ("3.79 L", True), ("3.78 L", False), ("3.785 kg", False)]
)
def test_a_wrong_printed_value_is_caught(printed, agrees):
    assert check(one(CHECK.replace("3.785 L", printed))).passed is agrees


def test_the_comparison_is_in_the_printed_unit():
    row = check(one(CHECK.replace("3.785 L", "8.00 imp pt").replace('to = "L"', 'to = "mL"')))
    assert not row.passed
    assert row.computed == "6.6614 imp pt"
    assert row.difference == pytest.approx(-1.33861, abs=1e-5)


COUNT = """[[check]]
function = "drains_needed"
arguments = { drained = "1 L", capacity = "2 L", target = 0.9 }
printed = "4"
where = "text"
"""


def test_counts_must_be_equal():
    assert check(one(COUNT)).passed
    assert not check(one(COUNT.replace('"4"', '"3"'))).passed
    assert not check(one(COUNT.replace('"4"', '"4.4"'))).passed


TEXT = '[[check]]\nfunction = "quantity"\narguments = { value = "5 1/2 qt" }\npart = "text"\nprinted = "5 1/2 qt"\nwhere = "text"\n'


def test_texts_must_be_equal():
    assert check(one(TEXT)).passed
    assert not check(one(TEXT.replace('printed = "5 1/2 qt"', 'printed = "5.5 qt"'))).passed


UNCERTAIN = '[[check]]\nfunction = "quantity"\narguments = { value = "4.50(8) L" }\npart = "standard"\nprinted = "80 mL"\nwhere = "text"\n'


def test_value_and_uncertainty_are_parts():
    assert check(one(UNCERTAIN)).passed
    assert check(one(UNCERTAIN.replace("standard", "nominal").replace("80 mL", "4.50 L"))).passed
    assert not check(one(UNCERTAIN.replace("80 mL", "81 mL"))).passed


def test_a_plain_uncertain_answer_has_the_same_two_parts():
    drained = '{ drained = "2.00(8) L", capacity = "8 L" }'
    share = UNCERTAIN.replace('"quantity"', '"drain_refill"').replace('{ value = "4.50(8) L" }', drained)
    assert check(one(share.replace("80 mL", "1.0 %"))).passed
    assert check(one(share.replace("80 mL", "25.0 %").replace('"standard"', '"nominal"'))).passed
    assert not check(one(share.replace("80 mL", "1.1 %"))).passed


@pytest.mark.parametrize(
    ("value", "printed"), [("80(2) °C", "2 Δ°C"), ("80(2) °C", "3.6 Δ°F"), ("176(4) °F", "4 Δ°F"), ("353.1(2) K", "0.2 Δ°C")]
)
def test_the_uncertainty_of_a_temperature_is_an_interval(value, printed):
    entry = UNCERTAIN.replace("4.50(8) L", value).replace("80 mL", printed)
    assert check(one(entry)).passed
    assert not check(one(entry.replace("Δ", ""))).passed


STEPS = """[[check]]
function = "Circuit.pour"
of = { sump = "4 L", converter = "2 L", cooler = "1 L" }
after = [{ drain = { volume = "3 L" } }]
arguments = { volume = "3 L" }
part = "resident"
printed = "0.43"
where = "text"
"""


def test_a_method_is_called_after_the_calls_before_it():
    entry = one(STEPS)
    assert entry.call == 'Circuit(sump="4 L", converter="2 L", cooler="1 L").drain(volume="3 L").pour(volume="3 L").resident'
    assert check(entry).passed
    assert not check(one(STEPS.replace("0.43", "0.42"))).passed
    assert check(one(STEPS.replace("Circuit.pour", "Circuit.resident").replace('arguments = { volume = "3 L" }\npart = "resident"\n', "")
                     .replace("0.43", "0"))).passed  # fmt: skip


def test_an_argument_may_be_a_table(monkeypatch):
    monkeypatch.setitem(vars(sumpwise), "convert", lambda value, to: value["first"]["second"][0])
    assert check(one(CHECK.replace('"1 gal"', "{ first = { second = [5] } }").replace("3.785 L", "5"))).passed


@pytest.mark.parametrize(("part", "printed"), [("1", "5 L"), ("1.magnitude", "5"), ("pair.second", "7"), ("method", "9")])
def test_a_part_may_be_an_item_an_attribute_or_a_method(part, printed, monkeypatch):
    class Answer(list):
        pair: ClassVar = {"second": 7}

        def method(self):
            return 9

    monkeypatch.setitem(vars(sumpwise), "convert", lambda **_: Answer([sumpwise.quantity("4 L"), sumpwise.quantity("5 L")]))
    assert check(one(CHECK.replace("3.785 L", printed) + f'part = "{part}"\n')).passed


def test_an_argument_may_be_a_call_of_its_own():
    entry = one(CHECK.replace('value = "1 gal"', 'value = { quantity = { value = "1", unit = "gal" } }').replace('"1"', "1"))
    assert entry.call == 'convert(value=quantity(value=1, unit="gal"), to="L")'
    assert check(entry).passed


def test_a_table_that_names_nothing_public_stays_a_table(monkeypatch):
    monkeypatch.setitem(vars(sumpwise), "convert", lambda value, to: sumpwise.quantity(value["mine"][0]["a"], to))
    entry = one(CHECK.replace('value = "1 gal"', 'value = { mine = [{ a = "3.785 L", b = 2 }] }'))
    assert entry.call == 'convert(value={"mine": [{"a": "3.785 L", "b": 2}]}, to="L")'
    assert check(entry).passed


@pytest.mark.parametrize(
    ("changed", "problem"),
    [
        (CHECK.replace('"convert"', '"transmute"'), "transmute"),
        (CHECK.replace('to = "L"', 'to = "parsec"'), "UnitError"),
        (CHECK.replace('to = "L"', 'into = "L"'), "TypeError"),
        (CHECK + 'part = "colour"\n', "colour"),
        (CHECK.replace("3.785 L", "3.785 N"), "volume"),
    ],
)
def test_what_goes_wrong_is_a_row_and_never_an_exception(changed, problem):
    row = check(one(changed))
    assert not row.passed
    assert problem in row.problem


def test_evidence_takes_the_function_or_its_name():
    assert evidence(sumpwise.drain_refill) == evidence("drain_refill") != ()
    assert all(entry.function == "drain_refill" for entry in evidence("drain_refill"))
    assert all(hasattr(entry, field) for entry in evidence("convert") for field in ("arguments", "printed", "tolerance", "source", "known"))


@pytest.mark.parametrize("name", ["nonsense", "", "_face", 3.5, len])
def test_evidence_refuses_what_is_not_public(name):
    with pytest.raises(RangeError):
        evidence(name)


@pytest.mark.parametrize(("name", "hint"), [("drain_refil", "did you mean 'drain_refill'?"), ("nonsense", "see dir(sumpwise)")])
def test_evidence_asks_what_a_misspelled_name_meant(name, hint):
    with pytest.raises(RangeError) as error:
        evidence(name)
    assert error.value.hint == hint


def test_everything_published_is_reproduced(report):
    assert report.passed
    assert report.failures == ()
    assert len(report.rows) == len(ENTRIES)


def test_the_evidence_is_broad(report):
    values, publications = report.headline
    assert values >= 250
    assert publications >= 30
    seen = sum(row.entry.known in PRINTED and not row.differs for row in report.rows)
    assert values + report.lesser[0] == seen
    assert sum(report.counts.values()) == len(ENTRIES)
    assert report.evaluations < len(ENTRIES)
    assert sum(values for values, _ in report.functions.values()) == len(ENTRIES)
    assert sum(different for _, different in report.functions.values()) == report.evaluations
    values, different = report.functions["convert"]
    assert different < values / 2


def test_what_was_seen_says_where_and_when():
    for entry in ENTRIES:
        if entry.known in PRINTED:
            assert entry.cited.locator, entry.publication
            assert entry.cited.seen >= "2026-11-27", entry.publication
            assert any(sign.isdigit() or sign in "=×" for sign in entry.cited.quotation), entry.publication


def test_the_report_reads_as_markdown(report):
    text = report.to_markdown()
    assert text == str(report)
    assert text.startswith("# Check values, recomputed here")
    assert all(f"\n## {entry.title}: {entry.known}\n" in text for entry in ENTRIES)
    differ = sum(bool(entry.differs) for entry in ENTRIES)
    assert "\n| `convert` " in text.partition("\n## The functions\n")[2]
    assert text.count("| yes ") == len(ENTRIES) - differ
    assert text.count("| differs: ") == differ > 40
    assert text.rstrip().endswith(report.summary)
    assert f"{len(ENTRIES) - differ} agree and {differ} differ as noted." in report.summary


def test_the_report_is_plain_data(report):
    data = json.loads(json.dumps(report.to_dict()))
    assert data["passed"] is True
    assert len(data["rows"]) == len(ENTRIES)
    assert data["rows"][0]["source"]
    assert set(data["functions"]) == {entry.function for entry in ENTRIES}


def test_a_failure_shows_in_the_table():
    broken = Verification((check(one(CHECK)), check(one(CHECK.replace("3.785", "3.786")))))
    assert not broken.passed
    last = broken.to_markdown().partition("\n\n## The functions")[0].splitlines()[-1]
    assert last.split("|")[4:8] == [" 3.78541 L ", " -0.00059 ", " 0.0005  ", " NO     "]
    assert "1 agree and 0 differ as noted, 1 FAIL." in broken.summary
    assert broken.failures == broken.rows[1:]


def test_a_report_without_rows_proves_nothing():
    assert not Verification(()).passed
