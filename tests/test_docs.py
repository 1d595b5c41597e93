"""The documentation: every example runs, every public name and argument is in it, every figure in the README is true."""

import ast
import doctest
import html
import json
import re
import runpy
import subprocess
import sys
from pathlib import Path

import pytest

import sumpwise
from sumpwise import Job, SumpwiseError, _face, plan
from sumpwise.codes import CODES
from sumpwise.service import schema
from sumpwise.verification.entries import load
from sumpwise.verification.publications import KNOWN, PRINTED

ROOT = Path(__file__).parents[1]
DOCS = ROOT / "docs"
PAGES = sorted(p for p in DOCS.rglob("*.rst") if "_build" not in p.parts and "generated" not in p.parts)
EXAMPLES = sorted((DOCS / "examples").glob("*.py"))


@pytest.fixture(scope="module")
def made():
    """The generated pages, as a build writes them."""
    sys.path.insert(0, str(DOCS))
    try:
        import generate

        return generate.pages()
    finally:
        sys.path.remove(str(DOCS))


@pytest.fixture(scope="module")
def nomenclature(made):
    return sys.modules["nomenclature"]


@pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(DOCS)))
def test_every_example_of_a_page_runs(page, monkeypatch):
    monkeypatch.chdir(ROOT)
    flags = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
    assert doctest.testfile(str(page), module_relative=False, encoding="utf-8", optionflags=flags, globs={}).failed == 0


def test_every_page_is_reached_from_the_index(made):
    index = (DOCS / "index.rst").read_text(encoding="utf-8") + made["reports.txt"]
    for page in PAGES:
        name = page.relative_to(DOCS).with_suffix("").as_posix()
        assert name == "index" or f"   {name}\n" in index, f"{name} is in no table of contents"


def test_every_public_name_is_on_the_page_of_its_room(made):
    for room, modules in _face.ROOMS.items():
        for names in modules.values():
            for name in names:
                assert re.search(rf"^\.\. auto(class|function|data):: sumpwise\.{room}\.{name}$", made[f"{room}.rst"], re.M)
                assert f"``{name}``" in made["index.rst"]


def test_the_helpers_for_tests_are_documented(made):
    tree = ast.parse(Path(sumpwise.testing.__file__).read_text(encoding="utf-8"))
    public = {node.name for node in tree.body if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")}
    assert public == set(re.findall(r"autofunction:: sumpwise\.testing\.(\w+)", made["testing.rst"]))


def test_the_nomenclature_has_every_argument_and_no_other(nomenclature):
    used = nomenclature.used()
    assert set(used) == set(nomenclature.ARGUMENTS)
    for name, calls in used.items():
        _, meaning, words = nomenclature.ARGUMENTS[name]
        assert meaning
        assert words or all(kinds for _, kinds in calls), f"{name}: say its kind, since not every function states one"


def test_every_key_of_a_job_file_is_on_its_page(made):
    sections = re.split(r"^\[+(\w+)\]+\n-+\n", made["job_format.rst"], flags=re.M)[1:]
    pages = dict(zip(sections[::2], sections[1::2], strict=True))
    tables = schema.TABLES | schema.LISTS
    assert set(pages) == set(tables)
    for table, fields in tables.items():
        stated = re.findall(r"^   \* - (\**)(\w+)\1$", pages[table], re.M)
        assert {key for _, key in stated} - {"key"} >= set(fields)
        assert {key for stars, key in stated if stars} == {key for key, spec in fields.items() if spec.required}


def test_every_check_value_is_on_the_verification_page(made, report):
    page = made["verification_values.rst"]
    rows = report.rows
    publications = {row.entry.publication for row in rows}
    assert page.count("\n   * - ") == len(rows) + len(KNOWN) + len(publications) + page.count(".. list-table::")


def test_error_kinds_are_on_their_page():
    page = (DOCS / "reference/errors.rst").read_text(encoding="utf-8")
    for name in _face.ROOMS["errors"][""]:
        assert f"``{name}``" in page
    error = SumpwiseError("is wrong", code="value.type")
    for field in vars(error):
        assert f"``{field}``" in page


def test_every_error_code_is_on_the_page_of_errors(made):
    assert "include:: generated/error_codes.txt" in (DOCS / "reference/errors.rst").read_text(encoding="utf-8")
    assert made["error_codes.txt"].count("\n   * - ") == len(CODES) + 1
    for code, meaning in CODES.items():
        assert f"   * - ``{code}``\n     - {meaning}\n" in made["error_codes.txt"]


def test_the_examples_run(tmp_path):
    run = {path.stem: runpy.run_path(str(path)) for path in EXAMPLES}
    assert set(run) == {"embed", "http_endpoint", "many_jobs", "million_vehicles"}

    form = {"drained": "3.3 ± 0.1 L", "capacity": "9 3/8 qt", "times": "3", "need": "12.4 L"}
    assert run["embed"]["answer"](form)["drains_to_90"] == 5
    assert run["embed"]["answer"](form | {"drained": "3.3 oz"})["field"] == "drained"

    means = run["million_vehicles"]["fleet"](vehicles=20_000, chunk=5_000)
    assert means["three drains"] == pytest.approx(0.78, abs=0.01)  # 1 - E[(1 - r)³] = 0.778 for r uniform on 0.3 to 0.5
    assert all(0 < mean < 5 for mean in means.values())

    for name in ("a", "b", "c"):
        (tmp_path / f"{name}.toml").write_text(f'[vehicle]\nname = "example wagon {name}"\n', encoding="utf-8")
    (tmp_path / "b.toml").write_text("[vehicle]\n", encoding="utf-8")
    lines = run["many_jobs"]["folder"](tmp_path, part=2)
    assert [name for name, _, _ in lines] == ["a.toml", "b.toml", "c.toml"]
    assert [sheet and sheet["title"] for _, sheet, _ in lines] == ["example wagon a", None, "example wagon c"]
    assert [code for _, _, code in lines] == ["", "key.missing", ""]


def test_the_first_job_of_the_tutorial_is_planned():
    sheet = plan(Job.from_toml(DOCS / "examples/first_job.toml"))
    assert sheet.section("buy").rows


def test_embedding_takes_twenty_lines():
    tree = ast.parse((DOCS / "examples/embed.py").read_text(encoding="utf-8"))
    (function,) = [node for node in tree.body if isinstance(node, ast.FunctionDef)]
    assert function.end_lineno - function.lineno < 20


# -- the README


def readme():
    return (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_readme_states_the_true_number_of_printed_values(report):
    """Published ones first, secondary ones apart; full tens, so that one more value does not change a sentence, and ten do."""
    stated = re.search(r"\*\*More than (\d+) values printed in laws, .*? and more than (\d+) in texts of less weight", readme(), re.DOTALL)
    assert report.passed
    assert [int(count) for count in stated.groups()] == [(values - 1) // 10 * 10 for values, _ in (report.headline, report.lesser)]


def test_the_readme_says_how_narrow_the_published_values_are(report):
    converting, tabled = (count / report.headline[0] for count in report.narrow)
    assert "more than a third convert units, and two fifths stand in two long tables" in readme()
    assert 1 / 3 < converting < 2 / 5
    assert 2 / 5 < tabled < 1 / 2


def test_no_page_and_no_docstring_claims_evidence_for_every_formula():
    """Some functions have no outside value and say so, so a sentence about all of them would be false."""
    claims = re.compile(
        r"\b(every|all|each)\s+(the\s+|its\s+)?(formulas?|functions?|numbers?)\s+(is|are)\s+(verified|proven)|every formula",
        re.I,
    )
    texts = [ROOT / "README.md", *PAGES, *(ROOT / "src").rglob("*.py")]
    assert not [f"{path.name}: {found[0]}" for path in texts for found in claims.finditer(path.read_text(encoding="utf-8"))]


def test_the_sources_looked_up_again_are_in_the_package():
    """Each of the ten on the page is among the publications with a printed value."""
    ten = (DOCS / "reference/verification.rst").read_text(encoding="utf-8").partition("Ten publications looked up again")[2]
    named = re.findall(r"^``(\w+)``  ", ten, re.M)
    assert len(named) == 10
    assert set(named) < {entry.cited.name for entry in load() if entry.known in PRINTED}


def test_the_picture_of_the_readme_shows_what_the_library_computes(made):
    """The description inside the picture holds the numbers it shows; draw it again with the command in the README when they change."""
    path = re.search(r"!\[[^\]]*\]\((docs/\w+\.svg)\)", readme())[1]
    command = re.search(r"`python (docs/pictures\.py docs/\w+\.svg \w+)`", readme())[1]
    picture = (ROOT / path).read_text(encoding="utf-8")
    _, numbers = sys.modules["pictures"].PICTURES[command.split()[-1]]()
    shown = json.loads(html.unescape(re.search(r"<desc[^>]*>(.*?)</desc>", picture, re.S)[1]))
    assert shown == numbers
    assert command.split()[1] == path
    assert len(picture) < 60_000


def test_links_of_the_readme_lead_somewhere():
    for target in re.findall(r"\]\(([^)#]+)\)", readme()):
        assert (ROOT / target).exists(), target


def test_pages_speak_plainly():
    """No page claims that fluid freshness is life left, and none speaks of unfinished work."""
    for page in [*PAGES, ROOT / "README.md"]:
        text = page.read_text(encoding="utf-8")
        assert not re.search(r"\b(TODO|FIXME|coming soon|work in progress)\b", text), page


def test_pictures_are_drawn_the_same_every_time(tmp_path):
    """Two processes, one picture, to the byte."""
    for name in ("a.svg", "b.svg"):
        subprocess.run([sys.executable, "docs/pictures.py", str(tmp_path / name), "level"], cwd=ROOT, check=True, timeout=60)
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()
