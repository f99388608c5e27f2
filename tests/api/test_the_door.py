"""What `import siteassess` offers: every name, lightly, with short reprs, and errors that tell all faults."""

import ast
import inspect
import json
import math
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

import siteassess as sa
from siteassess.cli.quick import quick as commands
from siteassess.cli.shared import LANGUAGE

CHECKOUT = Path(__file__).resolve().parents[2]
EXAMPLE = CHECKOUT / "examples" / "brindlewick" / "park.yaml"


@pytest.fixture(scope="module")
def park():
    return sa.read(EXAMPLE)


@pytest.fixture(scope="module")
def answer(park):
    return sa.assess(park)


def test_every_name_that_is_offered_is_there_and_no_other():
    for name in sa.__all__:
        assert getattr(sa, name) is not None
    assert sorted(dir(sa)) == sorted(sa.__all__)
    assert 20 <= len(sa.__all__) <= 35
    with pytest.raises(AttributeError, match="asses_"):
        sa.asses_  # noqa: B018


def test_a_checker_of_types_sees_the_same_names():
    tree = ast.parse((CHECKOUT / "siteassess" / "__init__.py").read_text(encoding="utf-8"))
    typed = next(node for node in tree.body if isinstance(node, ast.If))
    seen = {alias.name for node in typed.body if isinstance(node, ast.ImportFrom) for alias in node.names}
    assert seen | {"__version__"} == set(sa.__all__)


def test_the_import_itself_is_light():
    """None of the libraries behind it: they take most of a second."""
    heavy = ("numpy", "pydantic", "pandas", "shapely", "yaml", "pint", "click")
    told = f"import siteassess, sys; print([one for one in {heavy} if one in sys.modules])"
    done = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("name", sorted(set(sa.__all__) - {"quick", "__version__"}))
def test_what_is_offered_says_what_it_is(name):
    assert inspect.getdoc(getattr(sa, name))


def test_reprs_are_short(park, answer):
    """An answer's was 357,000 characters long in 0.1.0."""
    short = [park, sa.check(park), *answer.lines, sa.site_map(answer), sa.plan(answer), sa.report(answer),
             sa.quick.root("40 cm", "18 m", "1 m", "5 kN"), answer.assessment, answer.assessment.lines[0],
             answer.assessment.lines[0].anchors[0]]  # fmt: skip
    for one in short:
        assert repr(one).startswith("<") and len(repr(one)) < 300, repr(one)[:300]
    assert len(repr(answer)) < 1000


def test_an_answer_in_a_notebook_carries_word_map_and_cautions(answer):
    html = answer._repr_html_()
    assert "<iframe" in html and "<script>" not in html  # the map runs in a frame of its own
    for line in answer.lines:
        assert f"<th scope='row'>{line.id}</th><td>{line.verdict}</td>" in html
    assert html.count("<li>") == len(answer.cautions) > 4


def test_a_foreign_name_stays_text_in_a_notebook(park):
    told = sa.assess(sa.change(park, "site.name", "<script>alert(1)</script> (invented)"))._repr_html_()
    assert "<script>alert" not in told


def arguments(function):
    return set(inspect.signature(function).parameters)


@pytest.mark.parametrize("name", commands.commands)
def test_a_sum_takes_what_its_command_takes(name):
    options = {one.name for one in commands.commands[name].params if one.expose_value} - {"as_json"}
    assert arguments(getattr(sa.quick, name)) == options


@pytest.mark.parametrize("name", commands.commands)
def test_a_sum_asks_for_what_its_command_asks_for(name):
    signature = inspect.signature(getattr(sa.quick, name)).parameters.values()
    asked = {one.name for one in signature if one.default is inspect.Parameter.empty}
    # of diameter and girth one is needed, which no option can say of itself
    assert asked - {"diameter"} == {one.name for one in commands.commands[name].params if one.required}


SUMS = {
    "load": (["--span", "75 m", "--standing", "3 kN", "--webbing-class", "nylon", "--load", "800 N"],
             lambda: sa.quick.load(75.0, "800 N", standing=3e3, webbing_class="nylon")),
    "root": (["--diameter", "40 cm", "--height", "18 m", "--tie", "1 m", "--pull", "5 kN", "--root-loss", "20%"],
             lambda: sa.quick.root(0.4, 18, 1, 5000, root_loss=0.2)),
    "stem": (["--species", "oak", "--diameter", "40 cm", "--tie", "1 m", "--pull", "5 kN", "--fork"],
             lambda: sa.quick.stem("oak", "40 cm", 1.0, "5 kN", fork=True)),
    "bark": (["--pull", "5 kN", "--diameter", "45 cm", "--width", "50 mm", "--month", "5", "--hemisphere", "north"],
             lambda: sa.quick.bark("5 kN", "45 cm", 0.05, month=5, hemisphere="north")),
    "haul": (["--people", "2", "--stages", "3,3", "--efficiency", "0.8"],
             lambda: sa.quick.haul(2, "3,3", efficiency=0.8)),
    "tight": (["--span", "30 m", "--tie-a", "1.4 m", "--webbing-class", "polyester", "--people", "2", "--stages", "3,3",
               "--sheave", "good pulley"],
              lambda: sa.quick.tight(30.0, 1.4, "polyester", 2, "3,3", sheave="good pulley")),
    "bearing": (["54.500006", "2.499995", "54.500194", "2.500582", "--date", "2026-04-18"],
                lambda: sa.quick.bearing(54.500006, 2.499995, 54.500194, 2.500582, on="2026-04-18")),
    "sling": (["--pull", "5 kN", "--diameter", "45 cm", "--link", "60 cm"],
              lambda: sa.quick.sling("5 kN", 0.45, 0.6)),
    "boulder": (["--along", "2 m", "--across", "2 m", "--upright", "1 m", "--tie", "0.5 m", "--pull", "3 kN"],
                lambda: sa.quick.boulder(2, 2, 1, 0.5, 3000)),
}  # fmt: skip


@pytest.mark.parametrize("name", SUMS)
def test_a_sum_answers_as_its_command_does(name):
    typed, asked = SUMS[name]
    told = CliRunner().invoke(commands.commands[name], [*typed, "--json"], obj={LANGUAGE: "en"})
    assert told.exit_code == 0, told.output
    found = asked()
    assert json.loads(json.dumps(dict(found), allow_nan=False)) == json.loads(told.stdout)
    assert list(found) == list(json.loads(told.stdout)) and len(found) == len(list(found))
    assert found.in_words("de") and found["cautions"]


def test_a_girth_is_as_good_as_a_diameter_and_a_mass_as_its_weight():
    by_girth, by_diameter = sa.quick.root(None, 18, 1, 5000, girth="142 cm"), sa.quick.root(1.42 / math.pi, 18, 1, 5000)
    assert by_girth["use"] == pytest.approx(by_diameter["use"], rel=1e-12)
    for both in ({"diameter": 0.4, "girth": 1.2}, {"diameter": None}):
        with pytest.raises(sa.FaultyInput, match="--girth"):
            sa.quick.root(height=18, tie=1, pull=5000, **both)
    mass, weight = (sa.quick.load(20, one, standing=3e3, webbing_class="nylon")["drop_m"]
                    for one in ("80 kg", 80 * 9.80665))  # fmt: skip
    assert mass == pytest.approx(weight, rel=1e-9)
    with pytest.raises(sa.FaultyInput):
        sa.quick.root("40 cm", 18, 1, "100 kg")  # what pulls has no mass


def test_every_sum_is_tried():
    assert set(SUMS) == set(commands.commands)


def test_a_sum_tells_all_faults_of_its_arguments():
    with pytest.raises(sa.FaultyInput) as caught:
        sa.quick.root(9.0, "18", "1 m", True, soil="frm")
    told = {fault.field: fault for fault in caught.value.faults}
    assert set(told) == {"diameter", "height", "pull", "soil"}
    assert "18 m" in told["height"].mend and told["height"].read == "'18'"
    with pytest.raises(sa.FaultyInput, match="standing"):
        sa.quick.load(75, 800, webbing_class="nylon")  # neither tension nor sag
    with pytest.raises(sa.UnknownName, match="nylon"):
        sa.quick.load(75, 800, standing=3e3, webbing_class="nylom")
