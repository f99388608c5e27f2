"""Ctrl-C, from the first moment in which the program has a say until it has gone: one word, and no traceback."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Annotated

import pytest
from pydantic import BaseModel, PlainSerializer

from siteassess import cli

HERE = Path(__file__).parents[2]
PARK = HERE / "examples" / "brindlewick" / "park.yaml"
# a process that interrupts itself when it first imports something: a parent that sleeps and then sends a signal would
# hit another place on each machine, and so would a count of imports (what is kept or compiled differs from run to run)
STARTED = """
import os, signal, sys
start, wanted, told = sys.argv[1], sys.argv[2], []
def at(event, args):
    if event == "import" and (told or args[0] == "siteassess.cli") and args[0] not in told:
        told.append(args[0])
        if wanted == "all":
            print("import", args[0], file=sys.stderr)
        if args[0] == wanted:
            os.kill(os.getpid(), signal.SIGINT)
sys.addaudithook(at)
if wanted == "end":
    import atexit
    atexit.register(os.kill, os.getpid(), signal.SIGINT)
sys.argv = ["siteassess", *sys.argv[3:]]
if start == "module":
    import runpy
    runpy.run_module("siteassess", run_name="__main__")
else:
    from siteassess.__main__ import main
    main()
"""


def started(at: str, *args: object, start: str = "module", **said) -> subprocess.CompletedProcess:
    """The command as a process that is interrupted at an import, or at its "end"; "all" names every import."""
    command = [sys.executable, "-c", STARTED, start, at, *map(str, args)]
    # a build server may be deaf to Ctrl-C and hand that on
    hears = lambda: signal.signal(signal.SIGINT, said.pop("hears", signal.default_int_handler))  # noqa: E731
    env = {**os.environ, "PYTHONPATH": str(HERE)}
    return subprocess.run(command, env=env, capture_output=True, text=True, timeout=120, preexec_fn=hears)


@pytest.fixture(scope="module")
def imports() -> list[str]:
    for _ in range(2):  # the first on a new machine imports more: what it compiles and keeps
        done = started("all", "assess", PARK)
        assert done.returncode == 0, done.stderr
    return [line.split()[1] for line in done.stderr.splitlines() if line.startswith("import ")]


def test_ctrl_c_amid_an_import_ends_a_command_in_one_word(imports):
    # numpy's own compiled part makes a failed import of an interrupt
    compiled = [name for name in imports if name.startswith("numpy") and "multiarray" in name][-1]
    places = {imports[0], "click", "siteassess.cli.shared", compiled, *imports[5 :: len(imports) // 3], imports[-20]}
    starts = ["script", "module"]
    told = {at: started(at, "assess", PARK, start=starts[n % 2]) for n, at in enumerate(sorted(places))}
    said = {(at, done.returncode, done.stderr.strip(), done.stdout) for at, done in told.items()}
    assert said == {(at, 1, "Aborted!", "") for at in places}


def test_ctrl_c_at_the_very_end_takes_nothing_back_and_prints_nothing():
    done = started("end", "tables")
    assert (done.returncode, done.stderr) == (-signal.SIGINT, "")
    assert done.stdout == started("none", "tables").stdout


def test_a_command_beside_the_terminal_stays_deaf_to_ctrl_c(imports):
    done = started("click", "tables", hears=signal.SIG_IGN)
    assert done.returncode == 0 and "Aborted" not in done.stderr


def test_an_interrupted_beginning_leaves_no_draft(tmp_path):
    begin = ("register", "init", tmp_path / "list.gpkg", "--title", "Invented", "--who", "Ann")
    # what is said of an entry is checked by a library that is imported only then, with the file begun
    for at in ("siteassess.register.bodies", "pydantic"):
        done = started(at, *begin)
        # Ctrl-C waits while anything is imported: by then the register may stand there whole, or all be done
        left = [path.name for path in tmp_path.iterdir()]
        assert left in ([], ["list.gpkg"])
        assert (done.returncode, done.stderr.strip()) in ([(1, "Aborted!"), (0, "")] if left else [(1, "Aborted!")])
        if left:
            assert started("none", "register", "list", tmp_path / "list.gpkg").returncode == 0
            (tmp_path / "list.gpkg").unlink()


def test_ctrl_c_amid_writing_a_value_out_is_no_fault_of_the_program(monkeypatch, capsys):
    """pydantic makes an error of its own of whatever is raised in a serializer."""

    def interrupted(value):
        raise KeyboardInterrupt

    class Written(BaseModel):
        value: Annotated[int, PlainSerializer(interrupted)]

    monkeypatch.setattr(cli.group, "main", lambda **_: Written(value=1).model_dump())
    with pytest.raises(SystemExit) as ended:
        cli.main([])
    assert (ended.value.code, *capsys.readouterr()) == (1, "", "Aborted!\n")
