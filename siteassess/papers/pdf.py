"""The same pages as PDF, by the extra `pdf` (WeasyPrint)."""

from __future__ import annotations

from pathlib import Path
from typing import Any  # WeasyPrint comes without types

from siteassess.errors import SiteassessError
from siteassess.records.files import write_whole
from siteassess.reference.faults import missing_extra
from siteassess.reference.findings import worded


def write_page_pdf(page: str, path: str | Path) -> Path:
    """Write a page of ours as PDF; nothing is fetched from file or network while doing so.

    Raises
    ------
    MissingExtra : WeasyPrint is not installed.
    SiteassessError : it is installed, but a library of the system it draws with is missing.
    """
    return write_whole(_printer()(string=page, url_fetcher=_fetcher()).write_pdf(), path)


def need_pdf() -> None:
    """Raise as `write_page_pdf` would, before any work is done."""
    _printer()


def _printer() -> Any:
    try:
        from weasyprint import HTML
    except ImportError:
        raise missing_extra("Writing a paper as PDF", "pdf") from None
    except OSError as error:
        raise SiteassessError(worded("pdf-lacks-library", why=next(iter(str(error).splitlines()), "?"))) from None
    return HTML


def _fetcher() -> Any:
    """Lets through pictures that lie in the page itself, and nothing else."""
    from weasyprint import urls

    if hasattr(urls, "URLFetcher"):
        return urls.URLFetcher(allowed_protocols=("data",))

    def only_within(url: str, *_: object, **__: object) -> object:  # how releases before the class asked for it
        if not url.startswith("data:image/"):
            raise ValueError("a paper loads nothing from elsewhere")
        return urls.default_url_fetcher(url)

    return only_within
