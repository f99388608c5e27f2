"""Rule sets in files of their own: reading with line numbers, a commented form to fill in, and a record under them."""

from __future__ import annotations

from pathlib import Path

from siteassess.errors import Fault, FaultyInput
from siteassess.records.reading import file_text
from siteassess.records.record import Record
from siteassess.records.yaml_lines import load
from siteassess.reference.rules import RuleSet, read_rule_set, rule_set


def read_rule_file(path: str | Path) -> RuleSet:
    """A land manager's rules from a YAML file, read as strictly as a record.

    Raises
    ------
    FaultyInput
        With every fault and its line.
    """
    source = str(path)
    document = load(file_text(path))
    if not isinstance(document.root.value, dict):
        first = Fault(document.root.line, "rule set", "no block of keys", "a block that starts with `format:`",
                      "`siteassess rules new FILE` writes one.")  # fmt: skip
        raise FaultyInput(source, document.faults or [first])
    faults = list(document.faults)
    try:
        found = read_rule_set(document.root.plain(), source, document.root.line_at)
    except FaultyInput as error:
        # a break in the grammar leaves the rest unread: what it lacks may well follow
        raise FaultyInput(source, faults or error.faults) from None
    if faults:
        raise FaultyInput(source, faults)
    return found


def is_rule_file(path: str | Path) -> bool:
    """Whether a file calls itself a rule set rather than a record."""
    try:
        root = load(file_text(path)).root
    except FaultyInput:
        return False
    return isinstance(root.value, dict) and "format" in root.value and "siteassess_record" not in root.value


def named_rules(name: str) -> RuleSet:
    """A shipped set by its id, or a user's own by the name of its file.

    Raises
    ------
    UnknownName
        If no shipped set has the id.
    FaultyInput
        If the file is faulty.
    """
    if name.endswith((".yaml", ".yml")):
        return read_rule_file(name)
    return rule_set(name)


def with_rules(record: Record, rules: RuleSet) -> Record:
    """The record, held against these rules instead of its own."""
    plain = rules.model_dump(mode="json", exclude_none=True)
    return record.model_copy(update={"site": record.site.model_copy(update={"rules": plain, "rule_set": None})})


FORM = """\
# A land manager's rules for lines on trees. Fill in what the rules say, take out every clause they do not hold:
# a set says nothing about what it does not mention. Check it with: siteassess rules check {name}
# which names every line still blank. Nothing is filled in for you, so that no made-up limit stands as the manager's.
# Hold a record against it with: siteassess rules check RECORD --set {name}
# Kinds of clause and their fields: data/rules/README.md; a shipped set as an example: siteassess rules show basel_ch
format: land-managers-rules/1
id: own-rules                 # small letters, digits, - and _
place:                        # name of the park or town
country:                      # two capital letters
# allowed with conditions, named trees and posts only, named places only, posts only, approval needed,
# written permission needed, prohibited, guidance or superseded
status:
uses: [slackline, hammock]    # of: slackline, hammock, tightrope, any line
source:
  title:                      # name and date of the text the rules stand in
  # url: https://...
flag:                         # read: you saw the text; memory: recalled and not checked
# second_hand: true           # seen in someone else's account
as_of: "{month}"              # year and month in which you looked
check_current_text:           # where the current text hangs or stands
clauses:
  - id: least-trunk
    kind: trunk diameter      # or trunk girth
    operator:                 # ">=", ">", "<=" or "<", with the quotes
    value:                    # such as 30
    unit:                     # m, cm, mm, ft or in
    measured_at: {{place: attachment}}   # or {{place: ground up, height: {{value: 1.3, unit: m}}}}
  - id: tie-height
    kind: attach height
    operator:
    value:
    unit:
    # uses: [slackline]       # only where a clause holds for fewer uses than the set
  - id: mid-height
    kind: line height
    operator:
    value:
    unit:
    measured_at: {{place: mid-span, loaded: true}}
  - id: strap
    kind: strap width
    operator:
    value:
    unit:
  - id: pads
    kind: padding
    asks:                     # required or barred
  - id: trees-not-wanted
    kind: genera
    asks:                     # barred, preferred or only
    names:                    # such as [Platanus, Salix]
  - id: season
    kind: months
    asks:                     # closed, or care
    months:                   # such as [3, 4, 5]
  - id: daylight
    kind: hours
    start:                    # such as {{event: sunrise}}: or sunset, dawn, dusk, park opening, park closing
    end:                      # such as {{event: sunset, offset_min: -30}}
  - id: attended
    kind: someone in attendance
    asks:                     # required or barred
  - id: keep-away
    kind: distance
    operator:
    value:
    unit:
    distance_to:              # a mark such as road or path, or street, trail, sidewalk, walkway, spectators
  - id: by-eye
    kind: look
    wording:                  # what only a person on the spot can answer
"""


def blank_rules(name: str, month: str) -> str:
    """A commented rule set to fill in.

    Parameters
    ----------
    name : str
        Name of the file it goes to, for its comments.
    month : str
        Year and month of today, as 2026-11.
    """
    return FORM.format(name=name, month=month)
