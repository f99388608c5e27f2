"""A record from a file, whatever its form: YAML, or the spreadsheet template."""

from __future__ import annotations

import datetime
import difflib
from pathlib import Path

from siteassess.errors import Fault, FaultyInput
from siteassess.records.reading import ReadRecord, file_text, record_of
from siteassess.records.record import Record
from siteassess.records.yaml_lines import Document, Node, load_nodes
from siteassess.reference.findings import worded


def load_record(path: str | Path) -> Record:
    """Read a record by the ending of its name.

    Parameters
    ----------
    path : YAML, or CSV by its ending

    Raises
    ------
    FaultyInput : with every fault of the file
    """
    return load_with_lines(path).record


def load_with_lines(path: str | Path) -> ReadRecord:
    """As `load_record`, keeping lines (rows of a spreadsheet), so that later findings can name them too.

    Parameters
    ----------
    path : as for `load_record`, which names the faults it raises
    """
    path = Path(path)
    if path.suffix.lower() == ".csv":
        from siteassess.records.csv_rows import read_csv_with_lines

        return read_csv_with_lines(path)
    return record_with_rules(load_nodes(file_text(path)), str(path))


def record_with_rules(document: Document, source: str, today: datetime.date | None = None) -> ReadRecord:
    """The record in a document, its land manager's rules read too: what is wrong with either is told at once.

    Parameters
    ----------
    document : whole, or as much of it as could be read
    source : names it in messages
    today : as for `read_record`

    Raises
    ------
    FaultyInput : with every fault of the record and of the rules it carries
    """
    faults: tuple[Fault, ...] = ()
    try:
        read = record_of(document, source, today)
    except FaultyInput as error:
        faults = error.faults
    site = document.root.child("site")
    if site is not None and not document.faults:  # what could not be read is told already
        faults = (*faults, *_faults_of_rules(site, document.root, source))
    if faults:
        raise FaultyInput(source, faults)
    return read


def _faults_of_rules(site: Node, root: Node, source: str) -> tuple[Fault, ...]:
    rules, named = site.child("rules"), site.child("rule_set")
    if rules is not None and isinstance(rules.value, dict):
        from siteassess.reference.rules import read_rule_set  # only records with rules of their own need it

        try:
            read_rule_set(rules.plain(), source, lambda path: root.line_at(("site", "rules", *path)), "site.rules.")
        except FaultyInput as error:
            return error.faults
    elif named is not None and isinstance(named.value, str):
        from siteassess.reference.rules import rule_ids

        if named.value not in rule_ids():
            near = tuple(difflib.get_close_matches(named.value, rule_ids(), n=3, cutoff=0.4))
            mend = worded("mend-rule-set-near", near=near) if near else worded("mend-rule-set-all")
            return (Fault(named.line, "site.rule_set", repr(named.value), worded("want-rule-set-id"), mend),)
    return ()
