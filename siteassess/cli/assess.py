"""`siteassess assess`: the main job."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from siteassess.cli.shared import (
    day,
    emit,
    hand_out,
    json_switch,
    language_option,
    note,
    read_with,
    refuse_over,
    surroundings_option,
    with_surroundings,
)

if TYPE_CHECKING:
    import datetime

WORDS = ("suits", "suits if", "cannot say", "leave it")


@click.command("assess")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--line", "line_id", metavar="ID", help="Only this line.")
@click.option("--on", "on", type=day, help="Judge for this day (year-month-day) instead of each line's own.")
@click.option(
    "--out", "out", type=click.Path(path_type=Path, file_okay=False), help="Write every paper into this folder."
)
@click.option("--explain", is_flag=True, help="List every step behind each verdict.")
@click.option(
    "--fail-unless", type=click.Choice(WORDS[:3]), help="Exit with 3 if any line's verdict falls short of this."
)
@surroundings_option
@language_option
@json_switch
def assess(
    file: Path, line_id: str | None, on: datetime.date | None, out: Path | None, explain: bool,
    fail_unless: str | None, surroundings: tuple[Path, ...], lang: str, as_json: bool,
) -> None:  # fmt: skip
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
    record = with_surroundings(bare, file, surroundings)
    result = assess_record(record, line_id=line_id, on=on)
    if out is not None:
        from siteassess.papers.everything import write_everything

        for path in write_everything(result, out, note, record_folder=file.parent):
            note(f"wrote {path}")
    if as_json:
        from siteassess.papers.as_json import to_dict

        emit(to_dict(result))
    else:
        from siteassess.papers.terminal import explain as explained
        from siteassess.papers.terminal import summary

        plain = not _speaks_unicode()
        hand_out(summary(result, ascii_only=plain, language=lang))
        if explain:
            for line in result.lines:
                hand_out("\n" + explained(line, ascii_only=plain, language=lang))
    if fail_unless and any(WORDS.index(line.verdict) > WORDS.index(fail_unless) for line in result.lines):
        sys.exit(3)


def _speaks_unicode() -> bool:
    return (sys.stdout.encoding or "").lower().replace("-", "") in ("utf8", "utf16", "utf32")
