"""The pages say what the program does: commands, options and helps are held against `--help`."""

import re
import shlex
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from siteassess.cli import COMMANDS, group
from siteassess.reference.texts import cautions

CHECKOUT = Path(__file__).resolve().parent.parent
README = (CHECKOUT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (CHECKOUT / "DEVELOPERS.md").read_text(encoding="utf-8")


def help_of(*args: str) -> str:
    result = CliRunner().invoke(group, [*args, "--help"], prog_name="siteassess", terminal_width=100)
    assert result.exit_code == 0, result.output
    return result.output


def test_the_readme_shows_the_help_as_it_is():
    assert help_of().strip() in README


@pytest.mark.parametrize("name", COMMANDS)
def test_the_short_help_of_the_group_is_that_of_the_command(name):
    short = COMMANDS[name][2].rstrip(".")
    told = " ".join(help_of(name).split())
    assert any(word in told for word in short.split()), short


def commands_in(text: str) -> list[str]:
    """Every `siteassess ...` a page tells a reader to type."""
    inline = re.findall(r"`(siteassess [^`]+)`", text)
    fenced = [
        line
        for block in re.findall(r"```\n(.*?)```", text, re.S)
        for line in block.splitlines()
        if line.startswith("siteassess ")
    ]
    return [line for line in (*inline, *fenced) if not line.startswith("siteassess/")]


def test_the_readmes_cautions_are_those_of_every_result():
    told = README.partition("## Cautions\n\n- ")[2].partition("\n\n## ")[0]
    assert tuple(" ".join(one.split()) for one in told.split("\n- ")) == cautions()


@pytest.mark.parametrize("line", sorted(set(commands_in(README) + commands_in(DEVELOPERS))))
def test_a_command_on_the_pages_exists_with_its_options(line):
    words = shlex.split(line)[1:]
    command: click.Command = group
    context = click.Context(group)
    while isinstance(command, click.Group) and words and not words[0].startswith("-"):
        found = command.get_command(context, words.pop(0))
        assert found is not None, line
        command = found
    known = {option for param in command.params for option in (*param.opts, *param.secondary_opts)} | {
        "--help",
        "--version",
    }
    assert {word for word in words if re.match(r"--?[a-z]", word)} <= known, line


def walk(command: click.Command, path: tuple[str, ...] = ()):
    yield path, command
    if isinstance(command, click.Group):
        for name in command.list_commands(click.Context(command)):
            yield from walk(command.get_command(click.Context(command), name), (*path, name))


ALL = list(walk(group))


@pytest.mark.parametrize("path, command", ALL, ids=[" ".join(path) or "siteassess" for path, _ in ALL])
def test_every_command_and_option_says_what_it_does(path, command):
    assert command.help and command.help.strip(), path
    for param in command.params:
        if isinstance(param, click.Option):
            assert param.help or param.name in ("version", "help"), (path, param.name)


@pytest.mark.parametrize(
    "path, command",
    [(p, c) for p, c in ALL if p and not isinstance(c, click.Group)],
    ids=[" ".join(p) for p, c in ALL if p and not isinstance(c, click.Group)],
)
def test_every_command_that_answers_takes_json(path, command):
    # that write a file, tell JSON alone, or run on
    others = {("new",), ("rules", "new"), ("form",), ("schema",), ("serve",)}
    if path in others:
        return
    assert any("--json" in param.opts for param in command.params), path


def test_the_readme_has_exactly_three_commands_that_set_up_all_they_need():
    blocks = re.findall(r"```\n(python3 -m venv[^\n]*)\n```", README)
    assert len(blocks) == 3
    assert "demo" in blocks[0] and "pytest" in blocks[1] and "serve" in blocks[2]


def test_no_page_or_template_promises_safety():
    allowed = re.compile(r"never call(s|ed)? a result safe", re.I)
    for path in [*CHECKOUT.glob("*.md"), *(CHECKOUT / "maps").rglob("*.j2"), *(CHECKOUT / "siteassess").rglob("*.py")]:
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            found = re.search(r"\b(safe|safely|unsafe)\b", line, re.I)
            technical = ("safe_load", "SafeLoader", "unsafe-inline", "unsafe-eval")
            assert not found or allowed.search(line) or any(t in line for t in technical), (
                f"{path.name}:{number}: {line}"
            )
