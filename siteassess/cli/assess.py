"""`siteassess assess`: the main job."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from siteassess.advice.verdict import VERDICTS, Verdict
from siteassess.cli import Coloured
from siteassess.cli.shared import (
    day_option,
    file_argument,
    give,
    json_switch,
    language_option,
    line_option,
    note,
    read_with,
    refuse_over,
    surroundings_option,
    surroundings_read,
    wrote,
)

if TYPE_CHECKING:
    import datetime

    from siteassess.advice.results import Assessment


COLOURS: dict[Verdict, str] = {"suits": "green", "suits if": "yellow", "cannot say": "magenta", "leave it": "red"}


@click.command("assess")
@file_argument
@line_option
@day_option
@click.option(
    "--out", "out", type=click.Path(path_type=Path, file_okay=False), help="Write every paper into this folder."
)
@click.option("--explain", is_flag=True, help="Tell all of it: every finding, plan, rule and step behind each verdict.")
@click.option("--quiet", is_flag=True, help="Tell each line's verdict alone.")
@click.option(
    "--fail-unless", type=click.Choice(VERDICTS[:3]), help="Exit with 3 if any line's verdict falls short of this."
)
@surroundings_option
@language_option
@json_switch
def assess(
    file: Path, line_id: str | None, on: datetime.date | None, out: Path | None, explain: bool, quiet: bool,
    fail_unless: Verdict | None, surroundings: tuple[Path, ...], lang: str, as_json: bool,
) -> None:
    """Loads, verdicts, reasons, remedies, protection and the place's rules for every planned line of a record.

    A verdict holds for this line, on this date, from what was looked at. An unfavourable verdict is a result:
    the exit code stays 0 unless --fail-unless is given.
    """
    from siteassess.advice.assess import assess as assess_record
    from siteassess.records.loading import load_record

    bare = load_record(file)
    if out is not None:
        # of the papers these alone bear an ending that is read as well
        refuse_over(read_with(bare, file, surroundings), (out / "anchors.geojson", out / "assessment.json"))
    record = surroundings_read(bare, file, surroundings)
    result = assess_record(record, line_id=line_id, on=on)
    if out is not None:
        from siteassess.papers.everything import write_everything

        wrote(write_everything(result, out, note, record_folder=file.parent, language=lang))
    from siteassess.papers.as_json import to_dict

    give(as_json, lambda: to_dict(result), lambda: _summary(result, explain, quiet, lang))
    if fail_unless and any(VERDICTS.index(line.verdict) > VERDICTS.index(fail_unless) for line in result.lines):
        sys.exit(3)


def _summary(result: Assessment, explain: bool, quiet: bool, language: str) -> str:
    from siteassess.papers.terminal import explain as explained
    from siteassess.papers.terminal import refolded, summary
    from siteassess.papers.terminal_short import short

    plain = not _speaks_unicode()
    if not explain:
        return Coloured(short(result, ascii_only=plain, language=language, paint=_painted, words_only=quiet,
                              width=_wide()))  # fmt: skip
    steps = [explained(line, ascii_only=plain, language=language) for line in result.lines]
    return refolded("\n".join([summary(result, ascii_only=plain, language=language), *steps]), _wide())


def _painted(verdict: Verdict, word: str) -> str:
    """A verdict's word in colour, on a terminal that wants it."""
    if not sys.stdout.isatty() or os.environ.get("NO_COLOR"):
        return word
    return click.style(word, bold=True, fg=COLOURS[verdict])


def _wide() -> int | None:
    """Columns of the terminal that it is told on; None where it goes elsewhere."""
    try:
        return os.get_terminal_size(sys.stdout.fileno()).columns or None
    except OSError:
        return None


def _speaks_unicode() -> bool:
    return (sys.stdout.encoding or "").lower().replace("-", "") in ("utf8", "utf16", "utf32")
