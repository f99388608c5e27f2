"""The one way to a page: a template of `maps/pages`, every value escaped, rendered once.

What was rendered is never read as a template again.
What may run in a page is said before anything foreign is in it: the content policy holds the checksums of the scripts
and styles handed over here, which are shipped files. Nothing is ever looked for in the finished page.
"""

from __future__ import annotations

import base64
import functools
import hashlib
import itertools
import json
import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from siteassess.reference.locate import shipped

# Characters that would change how a text runs or is shown without being seen: control marks, direction marks, tags.
# The flag of a part of a country is a black flag with tags behind it (Unicode Technical Standard 51, from memory).
_UNSEEN = re.compile(
    "(\U0001f3f4[\U000e0030-\U000e0039\U000e0061-\U000e007a]{2,6}\U000e007f)|(?<=(.))([\u200c\u200d])(?=(.))"
    "|[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff\U000e0000-\U000e007f]"
)

_SPACES = re.compile(r"(?![\u00a0\u202f](?!\s))\s+")  # but for a single one that keeps a colon or a unit on its row
_KEPT_BESIDE = re.compile(
    r"(?<=\d) (?=(?:[mck]?m2?|ft|sq ft|in|[kM]?N|lbf|[kM]?Pa|psi|kg|lb|km/h|mph|m/s|%)(?!\w))|(?<=kN) (?=m\b)"
    r"|(?<=\S) (?=[;:?!](?!\S))"  # as French sets its marks
)


_HEADINGS = tuple(re.compile(rf"<({of})((?: class=[^>]*)?)>(.*?)</{of}>", re.DOTALL) for of in ("h2", "h3"))
_TAG = re.compile("<[^>]*>")
WORTH_A_LIST = 4  # headings from which a page has a list of them


def render(
    template: str, *, styles: Sequence[str], scripts: Sequence[str] = (), images: str = "'none'", forms: str = "'none'",
    more: str = "", helpers: Mapping[str, Callable[..., Any]] | None = None, **values: Any,
) -> str:
    """A page, whole and closed: nothing but the styles and scripts named here runs, nothing is loaded but `images`.

    Parameters
    ----------
    template : name in `maps/pages`, without its ending; it extends page.html.j2
    styles, scripts : texts that were shipped, see `part`; never a text of a record
    images, forms : where pictures may come from and forms go, as the policy writes it: 'none', data:, 'self', an origin
    more : of the policy, as it writes it, for a page that is served and not a file
    helpers : functions the templates call
    values : what the templates show; every text is escaped unless it is Markup
    """
    policy = (
        f"default-src 'none'; script-src {_sums(scripts)}; style-src {_sums(styles)}; img-src {images}; "
        f"base-uri 'none'; form-action {forms}{more}"
    )
    page = _templates().get_template(f"{template}.html.j2", globals=dict(helpers or {}))
    shipped_texts = {"styles": [Markup(text) for text in styles], "scripts": [Markup(text) for text in scripts]}
    return _with_contents(page.render(policy=Markup(policy), **shipped_texts, **values))


def _with_contents(page: str) -> str:
    """A page whose empty list of contents, where it has one, leads to its headings; none where these are few."""
    start, end = page.find('<nav class="contents"'), page.find("</nav>") + len("</nav>")
    if start < 0:
        return page
    found = next((level for level in _HEADINGS if len(level.findall(page)) >= WORTH_A_LIST), None)
    if found is None:
        return page[:start] + page[end:]
    heads = [_TAG.sub("", words) for _, _, words in found.findall(page)]
    links = "".join(f'<li><a href="#part-{n}">{words}</a></li>' for n, words in enumerate(heads, 1))
    numbers = itertools.count(1)
    page = found.sub(lambda head: f'<{head[1]} id="part-{next(numbers)}"{head[2]}>{head[3]}</{head[1]}>', page)
    return page.replace("<ul></ul>", f"<ul>{links}</ul>", 1)


def _sums(texts: Sequence[str]) -> str:
    sums = (base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii") for text in texts)
    return " ".join(f"'sha256-{digest}'" for digest in sums) or "'none'"


@functools.cache
def _templates() -> Environment:
    templates = Environment(
        loader=FileSystemLoader(shipped("maps") / "pages"), autoescape=True, trim_blocks=True, lstrip_blocks=True,
        finalize=beside_its_unit,
        undefined=StrictUndefined,  # a value misnamed would else be left blank, and with it a condition
    )
    templates.filters["plain"] = plain
    return templates


def beside_its_unit(value: Any) -> Any:
    """A text whose numbers do not part from their units at the end of a row, nor words from the mark behind them."""
    return _KEPT_BESIDE.sub("\u00a0", value) if isinstance(value, str) and not isinstance(value, Markup) else value


@functools.cache
def part(name: str) -> str:
    """A shipped script or style of `maps/pages`, as it stands.

    Parameters
    ----------
    name : of the file
    """
    return (shipped("maps") / "pages" / name).read_text(encoding="utf-8")


def script_data(data: Mapping[str, Any], ascii_only: bool = True) -> Markup:
    """JSON that no text within can break out of a script block with.

    Parameters
    ----------
    data : plain values; numbers finite
    ascii_only : whether other letters are written as escapes
    """
    text = json.dumps(data, allow_nan=False, ensure_ascii=ascii_only, separators=(",", ":"))
    return Markup(text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026"))


def plain(text: Any) -> str:
    """A foreign text on one line, without unseen control and direction marks.

    Joiners stay where they join: Persian and Indic words, and pictures made of several, are spelled with them.

    Parameters
    ----------
    text : anything, told by `str`
    """
    return _UNSEEN.sub(_kept, _SPACES.sub(" ", str(text)).strip())


def _kept(found: re.Match[str]) -> str:
    flag, before, joiner, after = found.groups()
    return flag or (joiner if joiner and _joins(before) and _joins(after) else "")


def _joins(character: str) -> bool:
    # letters, marks upon letters, pictures and the tones of their skin
    return unicodedata.category(character) in {"Ll", "Lm", "Lo", "Lt", "Lu", "Mc", "Mn", "So", "Sk"}
