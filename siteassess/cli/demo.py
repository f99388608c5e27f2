"""`siteassess demo`: the first thing a newcomer runs."""

from __future__ import annotations

from pathlib import Path

import click

from siteassess.cli.shared import emit, json_switch, note


@click.command("demo")
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path("siteassess-demo"),
              show_default=True,
              help="Folder for the papers.")  # fmt: skip
@json_switch
def demo(out: Path, as_json: bool) -> None:
    """Assess the bundled invented park and write every paper into a folder."""
    import shutil

    from siteassess.advice.assess import assess
    from siteassess.papers.everything import write_everything
    from siteassess.papers.terminal import overview
    from siteassess.records.loading import load_record
    from siteassess.reference.locate import shipped

    source = shipped("examples") / "brindlewick" / "park.yaml"
    result = assess(load_record(source))
    out.mkdir(parents=True, exist_ok=True)
    record = out / "park.yaml"
    shutil.copyfile(source, record)
    written = [record, *write_everything(result, out, note)]
    if as_json:
        from siteassess.papers.as_json import to_dict

        emit({**to_dict(result), "written": [str(path) for path in written]})
        return
    click.echo(overview(result), nl=False)
    click.echo(f"\nThe papers lie in {out.resolve()}:")
    for path in written:
        click.echo(f"  {path.name}")
    click.echo(f"\nAll of it again, with reasons: siteassess assess {record}")
