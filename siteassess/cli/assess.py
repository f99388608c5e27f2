"""`siteassess assess`: the main job."""

from __future__ import annotations

import functools
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from siteassess.advice.verdict import VERDICTS, Verdict
from siteassess.cli import Coloured
from siteassess.cli.shared import (
    day_option,
    files_argument,
    give,
    json_switch,
    language_option,
    line_option,
    note,
    read_with,
    refuse_over,
    surroundings_option,
    surroundings_read,
    terminal_columns,
    wrote,
)

if TYPE_CHECKING:
    import datetime

    from siteassess.advice.results import Assessment


COLOURS: dict[Verdict, str] = {"suits": "green", "suits if": "yellow", "cannot say": "magenta", "leave it": "red"}


@click.command("assess")
@files_argument
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
    files: tuple[Path, ...], line_id: str | None, on: datetime.date | None, out: Path | None, explain: bool,
    quiet: bool, fail_unless: Verdict | None, surroundings: tuple[Path, ...], lang: str, as_json: bool,
) -> None:
    """Loads, verdicts, reasons, remedies, protection and the place's rules for every planned line of a record.

    A verdict holds for this line, on this date, from what was looked at. An unfavourable verdict is a result:
    the exit code stays 0 unless --fail-unless is given. Of several records each is answered, its papers in a folder of
    their own; FILE may be - for the standard input.
    """
    from siteassess.errors import FaultyFiles, FaultyInput
    from siteassess.papers.as_json import to_dict
    from siteassess.reference.findings import worded

    if quiet and explain:  # one asks for the least, the other for all of it
        raise click.UsageError(worded("option-quiet-or-explain"))

    answers, errors, short_of_it = list[dict[str, Any]](), list[FaultyInput](), False
    for file, papers in zip(files, _folders(files, out)):
        try:
            result = _judged(file, line_id, on, surroundings, papers, lang, not quiet or as_json)
        except FaultyInput as error:
            errors.append(error)
            continue
        if as_json:
            answers.append({"file": str(file), **to_dict(result)} if len(files) > 1 else to_dict(result))
        else:
            give(False, {}, functools.partial(_summary, result, explain, quiet, lang))
        short_of_it |= fail_unless is not None and any(
            VERDICTS.index(line.verdict) > VERDICTS.index(fail_unless) for line in result.lines)  # fmt: skip
    if as_json and (answers or not errors):
        give(True, answers[0] if len(files) == 1 else {"files": answers}, ())
    if errors:
        raise errors[0] if len(errors) == 1 else FaultyFiles(errors)
    if short_of_it:
        sys.exit(3)


def _folders(files: tuple[Path, ...], out: Path | None) -> list[Path | None]:
    """Where the papers of each record go: one's own folder each, so that two of one name keep apart."""
    if out is None or len(files) == 1:
        return [out] * len(files)
    folders: list[Path | None] = []
    for file in files:
        name = out / ("park" if str(file) == "-" else file.stem)
        same = sum(one is not None and one.name.partition("~")[0] == name.name for one in folders)
        folders.append(name.with_name(f"{name.name}~{same + 1}") if same else name)
    return folders


def _judged(
    file: Path, line_id: str | None, on: datetime.date | None, surroundings: tuple[Path, ...], out: Path | None,
    language: str, looks: bool,
) -> Assessment:  # fmt: skip
    """The answer to one record, its papers written where they were asked for; verdicts alone want no `looks`."""
    from siteassess.advice.assess import assess as assess_record
    from siteassess.records.loading import load_record

    bare = load_record(file)
    if out is not None:
        # of the papers these alone bear an ending that is read as well
        refuse_over(read_with(bare, file, surroundings), (out / "anchors.geojson", out / "assessment.json"))
    looks = looks or out is not None
    result = assess_record(surroundings_read(bare, file, surroundings), line_id=line_id, on=on, looks=looks)
    if out is not None:
        from siteassess.papers.everything import write_everything

        wrote(write_everything(result, out, note, record_folder=file.parent, language=language))
    return result


def _summary(result: Assessment, explain: bool, quiet: bool, language: str) -> str:
    from siteassess.papers.terminal import explain as explained
    from siteassess.papers.terminal import refolded, summary
    from siteassess.papers.terminal_short import short

    plain = not _speaks_unicode()
    if not explain:
        return Coloured(short(result, ascii_only=plain, language=language, paint=_painted, words_only=quiet,
                              width=terminal_columns()))  # fmt: skip
    steps = [explained(line, ascii_only=plain, language=language) for line in result.lines]
    return refolded("\n".join([summary(result, ascii_only=plain, language=language), *steps]), terminal_columns())


def _painted(verdict: Verdict, word: str) -> str:
    """A verdict's word in colour, on a terminal that wants it."""
    if not sys.stdout.isatty() or os.environ.get("NO_COLOR"):
        return word
    return click.style(word, bold=True, fg=COLOURS[verdict])


def _speaks_unicode() -> bool:
    return (sys.stdout.encoding or "").lower().replace("-", "") in ("utf8", "utf16", "utf32")
