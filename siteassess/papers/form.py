"""The field form: one HTML file for a phone, generated from the record's schema. It needs no network and no server."""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from pathlib import Path

from markupsafe import Markup

from siteassess.papers.form_data import form_data
from siteassess.papers.form_paper import sheets
from siteassess.papers.form_words import FormWords
from siteassess.records.files import write_whole
from siteassess.reference.pages import part, render, script_data
from siteassess.reference.texts import cautions

UNIT_CHOICES = ("metric", "us")
FORM_PAPERS = {"metric": "size:A4", "us": "size:letter"}  # what its paper is printed on
# what a form may ask of the page that served it, and a phone keep of it
SERVED_POLICY = "; connect-src 'self'; worker-src 'self'; manifest-src 'self'"
# small enough for a message; a test holds every language to it. The last 30 kB came with keeping (journal, two tabs,
# full storage, records kept side by side, and the words for them) and with the doubts about slips of size; 25 kB
# more are the names of trees in all four languages, which a visitor types, and the short form's quick ways, and as
# much again the tables of the first word; 11 kB more name the genera that cities of warmer countries plant
MOST_BYTES = 300_000
# the script in the order it is read; one scope, so that none of its names is the page's
SCRIPTS = (
    "units", "yaml", "read", "sizes", "checks", "missing", "first", "store", "tabs", "keep", "state", "draw", "short",
    "place", "special", "hand", "beside", "page",
)  # fmt: skip


def write_form(path: str | Path, language: str = "en", units: str = "metric") -> Path:
    """Write the field form as one self-contained HTML file.

    Parameters
    ----------
    path : file to write
    language : 'en', 'de', 'fr' or 'es'; the record it writes is the same in each
    units : 'metric' or 'us', the units offered first; any other may be chosen beside each number

    Returns
    -------
    The path written.

    Raises
    ------
    UnknownName : the form has no such language.
    """
    return write_whole(form_page(language, units), path)


def form_page(language: str = "en", units: str = "metric", served: Mapping[str, str] | None = None) -> str:
    """The field form as text.

    Parameters
    ----------
    language, units : as for `write_form`
    served : words of a form that hands surveys to the group's page it came from; None for one that is a file

    Returns
    -------
    The page, whole.

    Raises
    ------
    UnknownName : the form has no such language.
    """
    words = FormWords(language)
    page = render(
        "form",
        language=language,
        title=words.sentences["title"],
        words=words.sentences,
        data=script_data(form_data(words, codes_told(), units), ascii_only=False),
        styles=[_style().replace(FORM_PAPERS["metric"], FORM_PAPERS[units])],
        scripts=[part("form.served.js"), script()] if served else [script()],
        served=script_data(served) if served else "",
        more=SERVED_POLICY if served else "",
        drawings=Markup(part("form.bark.svg")),
        sheets=sheets(words, units),
        head=cautions(language, on="head"),
        # photos kept on the phone are shown from memory; nothing may be fetched from anywhere, but its icon if served
        images="blob: 'self'" if served else "blob:",
    )
    return page.replace("&#39;", "'")  # every attribute stands in double quotes


def _style() -> str:
    return _SHOWN.sub(lambda one: one[1] or "", without_notes(part("form.css")))


@functools.cache
def _parts() -> str:
    return part("course.js") + "".join(part(f"form.{name}.js") for name in SCRIPTS)


def codes_told() -> tuple[str, ...]:
    """The codes that the script words doubtful readings by; on the page a code is its place here, which weighs less."""
    return tuple(dict.fromkeys(_CODE.findall(_parts())))


@functools.cache
def script() -> str:
    """The form's script, all parts in one scope."""
    codes = codes_told()
    whole = _CODE.sub(lambda found: f"worded({codes.index(found[1])}", _parts())
    lines = (_closer(line) for line in without_notes(whole).splitlines(keepends=True))
    # what goes on needs no line of its own; behind a note, or what might be one, it does
    joined = (line[:-1] if line[-2] in ";,{([" and "//" not in line else line for line in lines)
    return '"use strict";\n{\n' + "".join(joined) + "}\n"


def without_notes(text: str) -> str:
    """A script without the notes to its readers, and without its indents: a fifth of its weight.

    Whole lines, and what stands behind code that holds no pattern, template or half a text, so that nothing that runs
    can change; no text of ours runs over a line's end.
    """
    lines = (_NOTE_BEHIND.sub(r"\1", line.strip()) for line in text.splitlines())
    kept, inside = [], False
    for line in lines:
        inside = inside or line.startswith("/**")
        if line and not inside and not line.startswith("//"):
            kept.append(line)
        inside = inside and not line.endswith("*/")
    return "\n".join(kept) + "\n"


_CODE = re.compile(r'\bworded\("([a-z-]+)"')
_NOTE_BEHIND = re.compile(r"""^((?:[^"'`/]|"[^"\\]*")*?) +// .*$""")
_SPACED = re.compile(r" ?(=>|===|!==|&&|\|\||\?\?|[=?:,;{}+*<>|]|-(?= [^-])) | (?=[\[({}])|(?<=\)) ")
_SHOWN = re.compile(r"\s*([{};,])\s*|(?<=:) ")  # spaces and line ends of a style that only please the eye
_TEXT = re.compile(r'("(?:[^"\\]|\\.)*"|`[^`]*`)')


def _closer(line: str) -> str:
    """A line of script without spaces that only please the eye; whole where a pattern or nested template may be."""
    pieces = _TEXT.split(line)
    code = "".join(pieces[::2]).replace(" / ", "")  # a division, where no other stroke stands in the line
    if line.count("`") > 2 or any(mark in code for mark in "/`'"):
        return line
    return "".join(piece if index % 2 else _SPACED.sub(r"\1", piece) for index, piece in enumerate(pieces))


__all__ = ["MOST_BYTES", "SCRIPTS", "UNIT_CHOICES", "form_page", "script", "write_form"]
