"""What every HTML page of ours shares: templates with every value escaped, data put in harmlessly, and the seal."""

from __future__ import annotations

import base64
import functools
import hashlib
import json
import re
from typing import Any

from jinja2 import Environment, FileSystemLoader
from markupsafe import Markup

from siteassess.papers.look import plain, verdict_svg
from siteassess.reference.locate import shipped


@functools.cache
def page_templates() -> Environment:
    """Page templates of `maps/pages`, every value escaped."""
    templates = Environment(
        loader=FileSystemLoader(shipped("maps") / "pages"), autoescape=True, trim_blocks=True, lstrip_blocks=True
    )
    templates.globals["verdict_svg"] = lambda word, size=24: Markup(verdict_svg(word, size))
    templates.filters["plain"] = plain
    return templates


def as_script_data(data: dict[str, Any], ascii_only: bool = True) -> str:
    """JSON that no text within can break out of a script block with."""
    text = json.dumps(data, allow_nan=False, ensure_ascii=ascii_only, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


_BLOCK = re.compile(r"<(script|style)(?P<type>[^>]*)>(?P<text>.*?)</\1>", re.DOTALL)


def seal(page: str, image_origin: str | None = None) -> str:
    """Put a content policy at the head of a page, made of the checksums of its inline scripts and styles."""
    sums: dict[str, list[str]] = {"script": [], "style": []}
    for block in _BLOCK.finditer(page):
        if "application/json" in block["type"]:
            continue
        digest = base64.b64encode(hashlib.sha256(block["text"].encode("utf-8")).digest()).decode("ascii")
        sums[block[1]].append(f"'sha256-{digest}'")
    nothing = "'none'"
    policy = (
        f"default-src 'none'; script-src {' '.join(sums['script']) or nothing}; "
        f"style-src {' '.join(sums['style']) or nothing}; img-src {image_origin or nothing}; "
        "base-uri 'none'; form-action 'none'"
    )
    meta = (
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n<meta name="referrer" content="no-referrer">'
    )
    return page.replace('<meta charset="utf-8">', f'<meta charset="utf-8">\n{meta}', 1)
