"""The built wheel works by itself: its tables, templates and examples travel inside it."""

import os
import re
import shlex
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from siteassess.reference.locate import install_command

CHECKOUT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=CHECKOUT,
        check=True,
        capture_output=True,
    )
    (wheel,) = folder.glob("*.whl")
    target = folder / "unpacked"
    zipfile.ZipFile(wheel).extractall(target)
    return target


def run(unpacked: Path, *args: str, cwd: Path) -> subprocess.CompletedProcess:
    # the unpacked wheel comes before any editable install on the path
    env = {**os.environ, "PYTHONPATH": str(unpacked), "PYTHONUTF8": "1"}
    return subprocess.run([sys.executable, "-m", "siteassess", *args], cwd=cwd, env=env, capture_output=True, text=True)


def test_the_wheel_is_what_runs(unpacked, tmp_path):
    env = {**os.environ, "PYTHONPATH": str(unpacked)}
    told = subprocess.run(
        [sys.executable, "-c", "import siteassess; print(siteassess.__file__)"],
        cwd=tmp_path,
        env=env,
        capture_output=True,
        text=True,
        check=True,
    )
    assert told.stdout.startswith(str(unpacked))


def test_the_demo_runs_from_the_wheel(unpacked, tmp_path):
    done = run(unpacked, "demo", "--out", "papers", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    for name in (
        "report.html",
        "map.html",
        "plan.svg",
        "plan.pdf",
        "summary.txt",
        "assessment.json",
        "anchors.geojson",
    ):
        assert (tmp_path / "papers" / name).stat().st_size > 500, name


def test_tables_and_rules_travel_along(unpacked, tmp_path):
    assert run(unpacked, "tables", "webbing", cwd=tmp_path).returncode == 0
    assert "basel" in run(unpacked, "rules", "list", cwd=tmp_path).stdout


def test_nothing_of_the_workshop_travels_along(unpacked):
    names = [path.relative_to(unpacked).as_posix() for path in unpacked.rglob("*") if path.is_file()]
    assert not [name for name in names if name.startswith(("tests/", ".ci/")) or "/tests/" in name]
    assert any(name.endswith("LICENSE") for name in names)


def test_an_index_page_shows_no_picture_or_link_that_leads_nowhere(unpacked):
    (told,) = unpacked.glob("*.dist-info/METADATA")
    head, _, page = told.read_text(encoding="utf-8").partition("\n\n")
    assert "Description-Content-Type: text/markdown" in head and len(page) > 5000
    assert re.findall(r"\]\((?!https?:)[^)]*\)", page) == []
    readme = (CHECKOUT / "README.md").read_text(encoding="utf-8")
    assert all(words in page for words in re.findall(r"(?<!!)\[([^]]+)\]\((?!https?:)", readme))


def test_what_an_extra_lacks_is_named_by_library_for_this_python():
    asked = install_command("pdf")
    assert asked.startswith(shlex.quote(sys.executable)) and asked.endswith("-m pip install 'weasyprint>=60'")
    assert install_command("scale").count(">=") == 3
