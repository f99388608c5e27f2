"""How many sheets of paper a page fills, printed by a browser; `form_browser.needs_browser` skips where none is."""

from __future__ import annotations

import base64
import re
from pathlib import Path


def pages_of(browser, folder: Path, page: str) -> int:
    """The pages of its PDF, page.pdf in the folder, in the size its own style asks for."""
    file = folder / "page.html"
    file.write_text(page, encoding="utf-8")
    browser.get(file.as_uri())
    printed = browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    pdf = base64.b64decode(printed["data"])
    file.with_suffix(".pdf").write_bytes(pdf)
    return len(re.findall(rb"/Type\s*/Page\b", pdf))
