"""`siteassess form`: the field form for a phone."""

from __future__ import annotations

from pathlib import Path

import click

from siteassess.cli.shared import OutFile, emit, json_switch, note
from siteassess.reference.languages import languages


@click.command("form")
@click.option("--lang", "language", type=click.Choice(languages()), default="en", show_default=True,
              help="Language of the form; the record it writes is the same in each.")  # fmt: skip
@click.option("--units", type=click.Choice(["metric", "us"]), default="metric", show_default=True,
              help="Units offered first; any unit may be chosen beside each number.")  # fmt: skip
@click.option("--out", type=OutFile(".html", ".htm"), default=Path("siteassess-form.html"),
              show_default=True, help="File to write.")  # fmt: skip
@json_switch
def form(language: str, units: str, out: Path, as_json: bool) -> None:
    """Field form for a phone: one HTML file that writes a record, no network needed."""
    from siteassess.papers.form import write_form

    written = write_form(out, language, units)
    if as_json:
        emit({"written": str(written), "language": language, "units": units, "bytes": written.stat().st_size})
        return
    note(f"wrote {written}; send it to a phone and open it in the browser there. Printed, it is the paper form. "
         "What it saves is read by: siteassess check FILE")  # fmt: skip
