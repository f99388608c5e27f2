"""`siteassess form`: the field form for a phone."""

from __future__ import annotations

from pathlib import Path

import click

from siteassess.cli.shared import OutFile, give, json_switch, language_option, note, units_option


@click.command("form")
@language_option
@units_option
@click.option("--out", type=OutFile(".html", ".htm"), default=Path("siteassess-form.html"),
              show_default=True, help="File to write.")
@json_switch
def form(lang: str, units: str, out: Path, as_json: bool) -> None:
    """Field form for a phone: one HTML file that writes a record, no network needed.

    The record is the same in each language, and any unit may be chosen beside each number.
    """
    from siteassess.papers.form import write_form
    from siteassess.reference.findings import said

    written = write_form(out, lang, units)
    give(as_json, {"written": str(written), "language": lang, "units": units, "bytes": written.stat().st_size}, ())
    note(said("form-written", path=str(written)).in_words(lang))
