"""How the deciding things were got: what was estimated, guessed or copied was looked at, but not measured."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from siteassess.advice.results import Evidence
from siteassess.records.anchor import Tree
from siteassess.records.line import Line
from siteassess.records.trunk import nearest_reading

# nobody said how is taken as estimated, as the scatter of a reading takes it
ESTIMATED = ("estimated", "unknown", "paced", "guess", "estimate", "hauling sum", "maker's figure")


def with_how_read(evidence: Evidence, anchor, line: Line | None = None, tie: float | None = None) -> Evidence:
    """The evidence with the things that were looked at and not measured.

    Parameters
    ----------
    anchor : Tree or Boulder
        As recorded.
    line : Line, optional
        Planned on it.
    tie : float, optional
        Height of the tie [m].
    """
    how = dict(_of_tree(anchor, tie)) if isinstance(anchor, Tree) else {}
    how |= dict(_of_line(line)) if line is not None else {}
    seen = [thing for thing in evidence.deciding if thing not in evidence.missing]
    return replace(
        evidence, estimated=tuple(thing for thing in seen if how.get(thing) in ESTIMATED),
        copied=tuple(thing for thing in seen if how.get(thing) == "copied"),
    )  # fmt: skip


def _of_tree(tree: Tree, tie: float | None) -> Iterator[tuple[str, str]]:
    several = tree.stems == "several" and len(tree.each_stem) > 1  # each read with a tape
    reading = nearest_reading(tree.trunk, tie)
    if reading is not None and not several:
        yield "trunk size", reading.how
    if tree.height is not None:
        yield "tree height", tree.height_how
    if tree.species is not None:
        yield "species or leaf type", tree.species.certainty


def _of_line(line: Line) -> Iterator[tuple[str, str]]:
    if line.span is not None:
        yield "span", line.span.how
    if line.standing is not None and line.standing.tension is not None and line.use != "hammock":
        yield "standing tension", line.standing.how
