"""Every snippet of Python that a page or a docstring shows is run, and so is the example that draws."""

import doctest
import importlib
import pkgutil
import re
import subprocess
import sys
from pathlib import Path

import pytest

import siteassess

CHECKOUT = Path(__file__).resolve().parents[2]
PARK = CHECKOUT / "examples" / "brindlewick" / "park.yaml"
PAGES = {name: (CHECKOUT / name).read_text(encoding="utf-8") for name in ("README.md", "DEVELOPERS.md")}
SNIPPETS = [(name, block) for name, text in PAGES.items() for block in re.findall(r"```python\n(.*?)```", text, re.S)]
ELSEWHERE = ("siteassess.mechanics", "siteassess.places")  # tests/test_worked_examples.py runs those
MODULES = [one.name for one in pkgutil.walk_packages(siteassess.__path__, "siteassess.")
           if not one.name.startswith(ELSEWHERE) and not one.name.endswith("__main__")]  # fmt: skip


@pytest.mark.parametrize("page, snippet", SNIPPETS, ids=[f"{page}-{n}" for n, (page, _) in enumerate(SNIPPETS)])
def test_a_snippet_of_a_page_runs_as_it_stands(page, snippet, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mypark.yaml").write_bytes(PARK.read_bytes())
    exec(compile(snippet, page, "exec"), {})


def test_the_readmes_tour_of_python_has_ten_lines():
    tours = [snippet for page, snippet in SNIPPETS if page == "README.md"]
    assert [len([line for line in tour.splitlines() if line.strip()]) for tour in tours] == [10]


def test_the_snippets_of_docstrings_come_out(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mypark.yaml").write_bytes(PARK.read_bytes())
    tried = 0
    for name in MODULES:
        done = doctest.testmod(importlib.import_module(name), optionflags=doctest.ELLIPSIS)
        assert done.failed == 0, name
        tried += done.attempted
    assert tried >= 20


def test_the_study_of_an_example_draws_its_plot(tmp_path):
    study = CHECKOUT / "examples" / "brindlewick" / "tension_study.py"
    done = subprocess.run([sys.executable, study, tmp_path / "plot.png"], capture_output=True, text=True, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "plot.png").read_bytes().startswith(b"\x89PNG")
    rows = [line.split() for line in done.stdout.splitlines()[1:]]
    assert len(rows) == 12 and "leave" not in rows[0] and {"suits"} <= {row[1] for row in rows}
