"""A paper with its appendix, which stands in a file of its own: what either says, for tests that ask for both."""

from __future__ import annotations

from siteassess.papers.officer import officer_page
from siteassess.papers.report import report_page
from siteassess.papers.request import method_page, request_page


def requested(judged, how) -> str:
    return request_page(judged, how) + method_page(judged, how)


def reported(judged, how, sheets=()) -> str:
    return officer_page(judged, how, sheets) + report_page(judged, language=how.words.language)
