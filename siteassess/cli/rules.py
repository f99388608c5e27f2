"""`siteassess rules`: land managers' rule sets, and a record held against one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from siteassess.cli.shared import (
    day_option,
    file_argument,
    give,
    json_switch,
    kept_unless,
    language_option,
    line_option,
    messages_option,
    names_for_a_shell,
    note,
)

if TYPE_CHECKING:
    import datetime

    from siteassess.reference.rules import RuleSet

@click.group("rules", invoke_without_command=False)
def rules() -> None:
    """Land managers' rule sets: list, show, check, new.

    The shipped sets are dated templates compiled from public pages: check the land manager's current text.
    """


@rules.command("list")
@click.option("--status", metavar="TEXT", help="Only sets whose status holds this text.")
@language_option
@json_switch
def list_sets(status: str | None, lang: str, as_json: bool) -> None:
    """The shipped rule sets: id, status, place, date."""
    from siteassess.papers.rules_text import sets_text
    from siteassess.reference.rules import rule_ids, rule_set

    found = [one for one in map(rule_set, rule_ids()) if status is None or status.casefold() in one.status]
    give(as_json, lambda: {"rule_sets": list(map(_head, found)), "note": _apart()}, sets_text(found, lang))


@rules.command("show")
@click.argument("name", metavar="ID", shell_complete=names_for_a_shell("reference.rules.rule_ids"))
@language_option
@json_switch
def show(name: str, lang: str, as_json: bool) -> None:
    """One rule set, clause by clause. ID is a shipped set, or the name of a YAML file."""
    from siteassess.advice.rules import named_rules
    from siteassess.papers.rules_text import set_text

    found = named_rules(name)
    give(as_json, lambda: found.model_dump(mode="json", exclude_none=True), set_text(found, lang))


@rules.command("check")
@file_argument
@click.option("--set", "set_name", metavar="ID", help="Hold it against this shipped set or YAML file, not its own.",
              shell_complete=names_for_a_shell("reference.rules.rule_ids"))
@line_option
@day_option
@language_option
@json_switch
def check(
    file: Path, set_name: str | None, line_id: str | None, on: datetime.date | None, lang: str, as_json: bool
) -> None:
    """Hold a record against its rules, or look through a rule set's own file for faults."""
    from siteassess.advice.rules import is_rule_file, named_rules, read_rule_file, with_rules
    from siteassess.reference.findings import worded

    if is_rule_file(file):
        if set_name or line_id or on:
            raise click.UsageError(worded("option-not-with-rule-set", path=str(file)))
        from siteassess.papers.language import words_in

        found = read_rule_file(file)
        told = words_in(lang)("ru-no-fault", file=file, count=len(found.clauses), place=found.place)
        return give(as_json, {"file": str(file), "faults": [], "rule_set": _head(found)}, [told])

    from siteassess.advice.assess import assess
    from siteassess.advice.rules import rule_set_of
    from siteassess.papers.as_json import clauses_told
    from siteassess.papers.rules_text import held_text
    from siteassess.records.loading import load_record

    record = load_record(file)
    if set_name:
        record = with_rules(record, named_rules(set_name))
    if (rules_there := rule_set_of(record)) is None:
        raise click.UsageError(worded("option-names-no-rules", path=str(file)))
    result = assess(record, line_id=line_id, on=on, looks=False)
    ends = [(line, end, end.rules.clauses) for line in result.lines for end in line.anchors if end.rules is not None]
    values = {
        "rule_set": _head(rules_there), "check_current_text": rules_there.check_current_text, "note": _apart(),
        "ends": [{"line": line.id, "end": end.end, "anchor": end.code,
                  "clauses": clauses_told(clauses)} for line, end, clauses in ends],
    }
    give(as_json, values, held_text(rules_there, ends, lang))


def _apart() -> str:
    from siteassess.papers.language import words_in

    return words_in()("ru-apart")


@rules.command("new")
@file_argument
@click.option("--force", is_flag=True, help="Write over an existing file.")
@messages_option
def new(file: Path, force: bool, lang: str) -> None:
    """Write a commented rule set to fill in."""
    import datetime

    from siteassess.advice.rules import blank_rules
    from siteassess.records.files import write_whole
    from siteassess.reference.findings import said, worded

    if file.suffix not in (".yaml", ".yml"):
        raise click.UsageError(worded("option-rule-set-name", path=str(file)))
    kept_unless(force, file)
    write_whole(blank_rules(file.name, datetime.date.today().strftime("%Y-%m")), file)
    note(said("file-written-to-fill-in", path=str(file), then=f"siteassess rules check {file}").in_words(lang))


def _head(one: RuleSet) -> dict[str, Any]:
    return {"id": one.id, "place": one.place, "country": one.country, "status": one.status, "uses": list(one.uses),
            "as_of": one.as_of, "flag": one.flag, "second_hand": one.second_hand, "source": one.source.title,
            "clauses": len(one.clauses)}
