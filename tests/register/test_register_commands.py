"""What holds of every command of the register: its help, its options, its start, its bars."""

from __future__ import annotations

import subprocess
import sys

from siteassess.cli.register import register
from siteassess.cli.register_task import progress


def test_every_command_has_help_and_the_module_starts_without_heavy_libraries():
    code = (
        "import sys, siteassess.cli.register; "
        "print(sorted({'pydantic', 'pyproj', 'numpy', 'scipy', 'pint', 'PIL', 'geopandas'} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout.strip() == "[]"
    for name, command in register.commands.items():
        assert command.help and len(command.help.split()) > 3, name
        changes = name not in ("list", "show", "history", "verify", "due", "rota", "same")
        options = {option for parameter in command.params for option in parameter.opts}
        assert "--json" in options and ("--dry-run" in options) == changes, name


def test_bars_go_to_stderr_and_only_where_somebody_looks(monkeypatch, capsys):
    for label, total in (("things", 3), ("changes", None)):
        with progress(label, total) as tick:
            tick(1)
        assert capsys.readouterr() == ("", "")
        monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
        with progress(label, total) as tick:
            for done in (1, 2, 3, 500):
                tick(done)
        shown = capsys.readouterr()
        assert shown.out == "" and (label in shown.err or "500" in shown.err)
        monkeypatch.undo()
