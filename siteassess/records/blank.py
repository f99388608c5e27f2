"""The blank record that `siteassess new` writes: every question beside its key, made from the record's own schema.

Nothing in it is a made-up reading. What must be filled in is left blank, so that checking an untouched blank names
each such line; what may be left blank counts as not known. Stop signs stand as `not looked` until somebody looks.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

from siteassess.records.anchor import ANCHOR_KINDS, Signs, Tree
from siteassess.records.fields import Part
from siteassess.records.line import Line
from siteassess.records.record import RECORD_FORMAT, Record
from siteassess.records.schema import Asked, members
from siteassess.records.site import Position, Site, Survey
from siteassess.records.writing import scalar_text
from siteassess.reference.texts import cautions

# what is filled in of a field, of the part below it, or of the parts of a list
FilledIn: TypeAlias = "str | int | float | bool | dict[str, FilledIn] | list[FilledIn]"
SCHEMA_BESIDE = f"siteassess-record-{RECORD_FORMAT}.schema.json"  # by which editors complete; `new` writes it
_WIDTH = 116
_COMMENT_AT = 34
_HEAD = """\
What was seen at one site. Fill in what you saw and measured; leave blank what you did not: blank means not known.
Every size with its unit: 142 cm, 56 in, 2.8 kN, 630 lbf, 75 m, 246 ft. A point for decimals. Days as 2026-04-18.
Lines that begin with # are notes. Delete the anchors and lines you do not need; copy a block to add another.
Then: siteassess check FILE. It names every line still to fill in, and every reading that looks like a slip."""
_QUICK = "This is the quick form. More fields, such as the crew with its pulleys: siteassess new FILE --full."
_SIGNS = "Stop signs, each by itself: yes / no / not looked. Not looked never counts as no."
_GIRTH_FIRST = "Measure the girth with the tape level, at the height the sling will sit, and say at what height."
_LINES = "No line is planned yet: take away the # to plan one."
_KINDS = "The other kinds of anchor: take away the # to use one."


def blank_record(full: bool = False, usual: Mapping[str, Any] | None = None) -> str:
    """A commented record to fill in, with two trees and a line between them.

    Parameters
    ----------
    full : every field there is; otherwise the quick form, about a dozen things a tree and then the stop signs
    usual : what a group writes alike, as `usual.read_usual` gives it

    Returns
    -------
    YAML that reads as a record once the fields marked "needed" are filled in.
    """
    form, usual = _Form(full), usual or {}
    head = (_HEAD, *cautions(on="head"), *(() if full else (_QUICK,)))
    lines = [f"# yaml-language-server: $schema={SCHEMA_BESIDE}", *_notes("\n".join(head)),
             f"siteassess_record: {RECORD_FORMAT}", ""]
    if full:
        lines += [*form.field(_asked(Record, "note"), 0), ""]
    site, survey = form.part(Site, 1, usual.get("site")), form.part(Survey, 1, usual.get("survey"))
    lines += ["site:", *site, "", "survey:", *survey, "", "anchors:"]
    lines += form.item(Tree, 1, {"kind": "tree", "code": "T1"})
    lines += form.item(Tree, 1, {"kind": "tree", "code": "T2"}, commented=False)
    if full:
        lines += _notes(_KINDS)
        for place, (kind, model) in enumerate((kind, model) for kind, model in ANCHOR_KINDS.items() if kind != "tree"):
            code = "B1" if kind == "boulder" else f"P{place}"
            lines += [f"# {line}" for line in form.item(model, 1, {"kind": kind, "code": code}, commented=False)]
    ends = {name: {"anchor": code, **usual.get("end", {})} for name, code in (("a", "T1"), ("b", "T2"))}
    lines += ["", "lines:", *form.item(Line, 1, {"id": "L1", **ends, **usual.get("line", {})})]
    if full:
        lines += ["", *form.field(_asked(Record, "measured_pairs"), 0)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def filled_record(filled: Mapping[str, Any], usual: Mapping[str, Any] | None = None) -> str:
    """The blank record with something filled in already: every question of the quick form, and what is known.

    Parameters
    ----------
    filled : as a record's file has it: note, site, survey and trees among its anchors; texts may hold any sign
    usual : what a group writes alike, as `usual.read_usual` gives it; what is filled in counts before it

    Returns
    -------
    YAML that reads as that record; its line is a comment, since no line is planned yet.
    """
    form, usual = _Form(full=False), usual or {}
    site, survey = ({**usual.get(part, {}), **filled[part]} for part in ("site", "survey"))
    lines = [f"# yaml-language-server: $schema={SCHEMA_BESIDE}",
             *_notes("\n".join((_HEAD, *cautions(on="head"), _QUICK))), f"siteassess_record: {RECORD_FORMAT}", ""]
    lines += [*form.field(_asked(Record, "note"), 0, filled.get("note")), "", "site:"]
    lines += [*form.part(Site, 1, site), "", "survey:", *form.part(Survey, 1, survey), "", "anchors:"]
    for number, anchor in enumerate(filled["anchors"]):
        lines += form.item(Tree, 1, anchor, commented=number == 0)
    first, second = (*(str(anchor["code"]) for anchor in filled["anchors"]), "T2")[:2]
    ends = {name: {"anchor": code, **usual.get("end", {})} for name, code in (("a", first), ("b", second))}
    planned = form.item(Line, 1, {"id": "L1", **ends, **usual.get("line", {})})
    lines += ["", *_notes(_LINES), *(f"# {line}" for line in ("lines:", *planned))]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _asked(model: type[Part], name: str) -> Asked:
    return next(asked for asked in members(model) if asked.name == name)


def _notes(text: str, indent: str = "") -> list[str]:
    room = _WIDTH - len(indent) - 2
    return [f"{indent}# {line}" for given in text.splitlines() for line in textwrap.wrap(given, room)]


@dataclass
class _Form:
    """Writes parts as lines of YAML with their questions."""

    full: bool
    commented: bool = True
    last_choices: tuple[str | int, ...] = ()
    optional_above: int = 0  # how many of the blocks around the field may be left out

    def item(self, model: type[Part], depth: int, given: dict[str, FilledIn], commented: bool = True) -> list[str]:
        """One item of a list; a second one of its kind needs no comments."""
        self.commented, self.last_choices = commented, ()
        lines = self.part(model, depth + 1, given)
        self.commented = True
        return _dashed(lines, depth)

    def part(self, model: type[Part], depth: int, given: dict[str, FilledIn] | None = None) -> list[str]:
        given = given or {}
        if model is Position and not self.full:
            model = _asked(Position, "fixes").models[0]  # a single fix is written without its list
        lines = []
        for asked in members(model):
            if self.full or asked.quick or asked.name in given:
                lines += self.field(asked, depth, given.get(asked.name))
        return lines

    def field(self, asked: Asked, depth: int, given: FilledIn | None = None) -> list[str]:
        indent = "  " * depth
        if not asked.models:
            return self._leaf(asked, indent, given)
        heading = self._heading(asked, indent)
        self.optional_above += not asked.required
        if asked.kind == "part":
            inside = self._inside(asked, depth, given)
        else:
            items = given if isinstance(given, list) else [None]
            inside = [line for item in items for line in _dashed(self._part_of(asked, depth + 2, item), depth + 1)]
        self.optional_above -= not asked.required
        return heading + inside

    def _part_of(self, asked: Asked, depth: int, given: FilledIn | None) -> list[str]:
        return self.part(asked.models[0], depth, given if isinstance(given, dict) else None)

    def _inside(self, asked: Asked, depth: int, given: FilledIn | None) -> list[str]:
        if asked.models[0] is Signs:
            given = {sign.name: "not looked" for sign in members(Signs)}
        return self._part_of(asked, depth + 1, given)

    def _heading(self, asked: Asked, indent: str) -> list[str]:
        if not self.commented:
            return [f"{indent}{asked.name}:"]
        if asked.models[0] is Signs:
            return [*_notes(_SIGNS, indent), f"{indent}{asked.name}:"]
        above = _notes(_GIRTH_FIRST, indent) if asked.name == "trunk" else []
        return [*above, _beside(f"{indent}{asked.name}:", asked.question)]

    def _leaf(self, asked: Asked, indent: str, given: FilledIn | None) -> list[str]:
        line = f"{indent}{asked.name}:"
        if isinstance(given, (str, int, float, bool)):
            line += f" {scalar_text(given)}"
        if not self.commented or asked.name in ("kind", "anchor") and given:
            return [line]
        comment = self._comment(asked, given)
        beside = _beside(line, comment)
        return [beside] if len(beside) <= _WIDTH else [*_notes(comment, indent), line]

    def _comment(self, asked: Asked, given: FilledIn | None) -> str:
        hint = _hint(asked)
        if asked.kind == "choice":
            if given == "not looked":
                return asked.question
            hint = "the same choices" if asked.choices == self.last_choices else hint
            self.last_choices = asked.choices
        needed = ""
        if asked.required and given is None:
            needed = "needed with its block: " if self.optional_above else "needed: "
        return f"{needed}{asked.question}" + (f" ({hint})" if hint else "")


def _hint(asked: Asked) -> str:
    if asked.kind == "choice":
        return " / ".join(map(str, asked.choices))
    if asked.kind in ("quantity", "date", "time", "code"):
        return f"such as {asked.example}"
    if asked.table:
        return "see: siteassess " + ("rules list" if asked.table == "rule sets" else f"tables {asked.table}")
    return {"yes or no": "true / false", "points": "[[52.1, 4.3], [52.2, 4.3]]", "whole number": "a plain number"}.get(
        asked.kind, ""
    )


def _beside(line: str, comment: str) -> str:
    return f"{line:<{_COMMENT_AT}}  # {comment}" if comment else line


def _dashed(lines: list[str], depth: int) -> list[str]:
    """The lines of one item with a dash before its first key; notes above that key stay above the dash."""
    first = next(index for index, line in enumerate(lines) if not line.lstrip().startswith("#"))
    mark = "  " * depth + "- "
    return [*lines[:first], mark + lines[first][len(mark) :], *lines[first + 1 :]]
