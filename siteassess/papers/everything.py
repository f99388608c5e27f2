"""Every paper of an assessment into one folder."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from siteassess.advice.results import Assessment
from siteassess.papers.as_json import to_dict
from siteassess.papers.exports import write_map_file
from siteassess.papers.form import write_form
from siteassess.papers.officer import write_officer
from siteassess.papers.plan import write_plan
from siteassess.papers.sitemap import write_map
from siteassess.papers.terminal import summary
from siteassess.records.files import write_whole
from siteassess.reference.findings import said


def write_everything(
    assessment: Assessment, folder: str | Path, say: Callable[[str], None] = lambda text: None, *,
    record_folder: Path | None = None, language: str = "en",
) -> list[Path]:
    """Write map, plan, report, summary, JSON, GeoJSON and the field form.

    Parameters
    ----------
    assessment : the answers with their record
    folder : made where it does not exist
    say : called with a word of progress before each longer step
    record_folder : where the record and its photos lie; without it photos are only named
    language : what papers and words of progress are told in; JSON and GeoJSON stay English

    Returns
    -------
    Paths written, the one to open first at the front.
    """
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    say(said("drawing-the-report").in_words(language))
    written = write_officer(assessment, folder / "report.html", folder=record_folder, language=language)
    say(said("drawing-map-and-plan").in_words(language))
    written.append(write_map(assessment, folder / "map.html", language=language))
    pdf = folder / "plan.pdf"
    written += [*write_plan(assessment, folder / "plan.svg", pdf, language=language).svg, pdf]
    text, data = folder / "summary.txt", folder / "assessment.json"
    write_whole(summary(assessment, language=language), text)
    write_whole(json.dumps(to_dict(assessment), ensure_ascii=False, indent=1, allow_nan=False), data)
    written += [text, data, write_map_file(assessment, folder / "anchors.geojson")]
    return [*written, write_form(folder / "form.html", language)]
