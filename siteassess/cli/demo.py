"""`siteassess demo`: the first thing a newcomer runs."""

from __future__ import annotations

from pathlib import Path

import click

from siteassess.cli.shared import give, json_switch, language_option, note


@click.command("demo")
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path("siteassess-demo"),
              show_default=True,
              help="Folder for the papers.")
@language_option
@json_switch
def demo(out: Path, lang: str, as_json: bool) -> None:
    """Assess the bundled invented park and write every paper into a folder."""
    from siteassess.advice.assess import assess
    from siteassess.papers.as_json import to_dict
    from siteassess.papers.everything import write_everything
    from siteassess.papers.terminal_short import short
    from siteassess.records.files import write_whole
    from siteassess.records.loading import load_record
    from siteassess.reference.findings import said, worded
    from siteassess.reference.locate import shipped

    source = shipped("examples") / "brindlewick" / "park.yaml"
    record = out / "park.yaml"
    if record.exists() and record.read_bytes() != source.read_bytes():
        raise click.UsageError(worded("option-not-the-demo-s-record", path=str(record)))
    result = assess(load_record(source))
    out.mkdir(parents=True, exist_ok=True)
    write_whole(source.read_bytes(), record)
    written = [record, *write_everything(result, out, note, language=lang)]
    then = f"siteassess assess {record} --explain"
    give(
        as_json,
        lambda: {**to_dict(result), "written": [str(path) for path in written]},
        [
            *short(result, language=lang).splitlines(), "",
            said("papers-lie-in", folder=str(out.resolve())).in_words(lang),
            *(f"  {path.name}" for path in written), "",
            said("all-with-reasons", then=then).in_words(lang),
        ],
    )
