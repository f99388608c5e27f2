"""Every entry says who and why, in words."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from siteassess.cli.register import register


@pytest.mark.parametrize("said", ["", "  ", "\n"])
@pytest.mark.parametrize("option", ["--who", "--why"])
def test_nobody_and_no_reason_are_refused(option, said, tmp_path):
    told = {"--who": "Ada", "--why": "for the test"} | {option: said}
    asked = ["init" if option == "--who" else "clock", str(tmp_path / "g.gpkg"), "--who", told["--who"]]
    asked += ["--title", "Invented group"] if option == "--who" else ["--set-right", "--why", told["--why"]]
    result = CliRunner().invoke(register, asked)
    assert result.exit_code == 2 and "wanted a word or more" in result.output, result.output
    assert not any(tmp_path.iterdir())


def test_room_about_a_name_is_no_part_of_it(tmp_path):
    file = tmp_path / "g.gpkg"
    CliRunner().invoke(register, ["init", str(file), "--title", "Invented group", "--who", " Zoë van den Berg "])
    assert "by Zoë van den Berg:" in CliRunner().invoke(register, ["history", str(file)]).output
