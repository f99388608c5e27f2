"""What every page of a paper shares: the report's style, and the shapes of the verdicts."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from siteassess.papers.look import verdict_svg
from siteassess.reference.pages import part, render

PICTURES_WITHIN = "data:"  # photos and plans lie in the page itself


def paper(template: str, *more_styles: str, **values: Any) -> str:
    """A paper in the report's style; see `reference.pages.render`."""
    styles = [part("report.css"), *filter(None, more_styles)]
    return render(template, styles=styles, images=PICTURES_WITHIN, helpers=HELPERS, **values)


HELPERS = {"verdict_svg": lambda word, size=24: Markup(verdict_svg(word, size))}
