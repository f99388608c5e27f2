"""A record from a file, whatever its form: YAML, or the spreadsheet template."""

from __future__ import annotations

import difflib
from pathlib import Path

from siteassess.errors import Fault, FaultyInput
from siteassess.records.reading import ReadRecord, read_with_lines
from siteassess.records.record import Record
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
    return rules_read(read_with_lines(path))


def rules_read(read: ReadRecord) -> ReadRecord:
    """The same, once its land manager's rules have passed too.

    Parameters
    ----------
    read : a record whose fields have passed

    Raises
    ------
    FaultyInput : with every fault of the rules it carries, or the name of a set that nobody ships
    """
    site = read.record.site
    if site.rules is not None:
        from siteassess.reference.rules import read_rule_set  # only records with rules of their own need it

        read_rule_set(site.rules, read.source, lambda path: read.line_at(("site", "rules", *path)), "site.rules.")
    elif site.rule_set is not None:
        from siteassess.reference.rules import rule_ids

        if site.rule_set not in rule_ids():
            line = read.line_at(("site", "rule_set"))
            near = tuple(difflib.get_close_matches(site.rule_set, rule_ids(), n=3, cutoff=0.4))
            mend = worded("mend-rule-set-near", near=near) if near else worded("mend-rule-set-all")
            wanted = worded("want-rule-set-id")
            raise FaultyInput(read.source, [Fault(line, "site.rule_set", repr(site.rule_set), wanted, mend)])
    return read
