"""Figures of the plan that a condition changes: each is told with the condition's own, or as planned.

A line that suits if its tie sits lower is else told with the height of the plan, which its own condition forbids.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from siteassess.advice.finding import Finding
from siteassess.advice.results import AnchorResult, LineResult
from siteassess.advice.wind_check import told_wind
from siteassess.papers import wording
from siteassess.papers.language import Words
from siteassess.reference.findings import Said
from siteassess.reference.measures import Measures, known

# codes of conditions by the figure that they ask for instead of the planned one, and the name of their value
LOOSER = {"standing-no-more": "standing", "span-no-longer": "standing"}
TIGHTER = {"touches-tighter": "standing", "touches-tighter-or-higher": "standing"}
ASKS_LOWER, ASKS_HIGHER = {"tie-no-higher": "tie"}, {"ties-no-lower": "tie"}
LIFT = {"touches-higher": "lift", "touches-tighter-or-higher": "lift"}
PEOPLE, MASS, GUST = {"no-more-at-once": "people"}, {"nobody-heavier": "mass"}, {"wind-take-down-if": "gust"}
IN_ROW = "as-asked-in-row"  # text that tells the planned one and the asked one beside other figures
TRIED = frozenset(("base-watched", "boulder-watched"))  # conditions that ask for a trial load
GUYS = frozenset(("guyed", "guyed-unmeasured"))
# by which a line sags otherwise under a person, and by which its ends are pulled otherwise
CHANGE_SAG = frozenset((*LOOSER, *TIGHTER, *PEOPLE, *MASS))
CHANGE_PULL = frozenset((*CHANGE_SAG, *ASKS_LOWER, *ASKS_HIGHER, *LIFT, *GUYS, "nobody-bounces"))


def within(told: object) -> Iterator[Said]:
    """A code and all the codes within it."""
    if isinstance(told, Said):
        yield told
        told = tuple(value for _, value in told.values)
    if isinstance(told, tuple):
        for one in told:
            yield from within(one)


def conditions(findings: Iterable[Finding]) -> list[Said]:
    """Codes of all that completes "suits if", with those within them."""
    return [code for one in findings if one.effect == "suits if" for code in within(one.met_by)]


def line_conditions(line: LineResult) -> list[Said]:
    """The same of a line and both its ends."""
    return conditions(one for _, one in line.all_ordered) if line.verdict == "suits if" else []


def figure(asked: Iterable[Said], names: dict[str, str]) -> float | None:
    """The first figure that conditions ask for, of those that bear it under one of these names; else None [SI]."""
    for one in asked:
        if one.code in names and known(value := dict(one.values).get(names[one.code])):
            return float(value)
    return None


def changed_by(asked: Iterable[Said], codes: frozenset[str]) -> bool:
    """Whether one of the conditions is of these codes."""
    return any(one.code in codes for one in asked)


def asked_stop(line: LineResult, m: Measures) -> str | None:
    """The standing tension that a condition asks for: a most rounded down; None where none does."""
    asked = line_conditions(line)
    if known(most := figure(asked, LOOSER)):
        return m.stop(most)
    return m.force(least) if known(least := figure(asked, TIGHTER)) else None


def tie_asked_for(end: AnchorResult, line: LineResult, m: Measures) -> str | None:
    """The height that a condition asks an end to be tied at: a most rounded down, a least up; None where none does."""
    if line.verdict != "suits if":
        return None
    of_end = conditions(end.findings)
    if known(most := figure(of_end, ASKS_LOWER)):
        return m.told(most, "m 2", -1)
    lift = figure(conditions(line.findings), LIFT)
    lifted = end.tie_height_m + lift if known(lift) and known(end.tie_height_m) else None
    least = figure(of_end, ASKS_HIGHER) or lifted
    return m.told(least, "m 2", 1) if known(least) else None


def asked_gust(line: LineResult) -> float | None:
    """The gust before which it comes down with the conditions met [m/s]; None where it is the plan's or not known."""
    trees = [end for end in line.anchors if end.kind == "tree"]
    if line.verdict != "suits if" or not trees:
        return None
    planned = told_wind(wording.least_wind(trees))
    met = [figure(conditions(end.findings), GUST) or told_wind(end.take_down_wind_m_s) for end in trees]
    gusts = [one for one in met if known(one)]
    least = min(gusts) if len(gusts) == len(trees) else None
    return least if known(least) and known(planned) and least > planned else None


def take_down_asked(line: LineResult, t: Words, system: str = "metric") -> str:
    """When it comes down for wind as planned, and with the conditions met where they change that."""
    planned = wording.take_down_of(line.anchors, t, system)
    if known(gust := asked_gust(line)):
        return t("down-as-asked", planned=planned, asked=wording.take_down(gust, t.language, system))
    changes = changed_by(line_conditions(line), CHANGE_PULL) and any(end.kind == "tree" for end in line.anchors)
    return t("down-as-planned", planned=planned) if changes else planned


def planned(told: str, asked: str | None, changes: bool, t: Words, both: str = "as-asked") -> str:
    """A figure of the plan as it is told: with the one that is asked instead, as planned, or by itself.

    Parameters
    ----------
    told : the planned one, with its unit
    asked : the one that a condition asks for; None where it names none
    changes : whether a condition changes it
    t : words of the reader
    both : text that tells the two
    """
    if asked is not None and asked != told:
        return t(both, planned=told, asked=asked)
    return t("as-planned", planned=told) if changes and asked is None else told
