"""A remedy done to a record, so that a test may judge what it promises."""

from siteassess.advice.changes import DRIER, changed, drier
from siteassess.advice.results import Remedy
from siteassess.records.anchor import Tree
from siteassess.records.line import EndName
from siteassess.records.record import Record


def applied(record: Record, line_id: str, end: EndName, remedy: Remedy) -> Record:
    """The record with a remedy of one end of a line done to it, ready to be assessed again.

    Raises
    ------
    ValueError
        For a remedy that no record can show, such as a guy.
    """
    line = record.line(line_id)
    if remedy.field == DRIER:
        code = line.at(end).anchor
        return record.model_copy(update={"anchors": tuple(
            drier(one) if isinstance(one, Tree) and one.code == code else one for one in record.anchors
        )})  # fmt: skip
    new = changed(line, end, remedy.field, remedy.value, remedy.with_standing_n)
    return record.model_copy(update={"lines": tuple(new if one.id == line_id else one for one in record.lines)})
