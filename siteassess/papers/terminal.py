"""An assessment as plain text for a terminal."""

from __future__ import annotations

import textwrap
import unicodedata

from siteassess.advice.end_details import pull_told
from siteassess.advice.finding import Verdict
from siteassess.advice.packing import packing_notes
from siteassess.advice.results import VERDICT_TAIL, AnchorResult, Assessment, LineResult, TreeAlone
from siteassess.advice.rule_results import RuleCheck
from siteassess.papers import wording
from siteassess.papers.look import SURVEY_NOT_INSPECTION, plain
from siteassess.reference.findings import in_words

WIDTH = 96
_IN_ASCII = str.maketrans(
    {
        "°": " deg",
        "×": "x",
        "–": "-",
        "—": "-",
        "’": "'",
        "‘": "'",
        "“": '"',
        "”": '"',
        "²": "2",
        "³": "3",
        "·": "-",
        "→": "->",
        "…": "...",
        "≥": ">=",
        "≤": "<=",
        "±": "+/-",
        "ß": "ss",
        "æ": "ae",
        "ø": "o",
    }
)


def summary(assessment: Assessment, *, ascii_only: bool = False) -> str:
    """What a rigger reads on the screen: verdicts first, then why, then what would change them.

    Parameters
    ----------
    assessment : the answers with their record
    ascii_only : write nothing beyond plain ASCII, for terminals that cannot show more

    Returns
    -------
    Lines of at most 96 characters where words allow it, ending in a newline. Control marks in a record's texts are
    left out, so that no text can steer the terminal.
    """
    blocks = [_head(assessment)]
    blocks += [_line(line) for line in assessment.lines]
    if assessment.trees:
        blocks.append(_trees(assessment.trees))
    if assessment.packing:
        blocks.append(_packing(assessment.packing, packing_notes(assessment.lines)))
    blocks += [_listed("Warnings", assessment.warnings)] if assessment.warnings else []
    blocks.append(_flags(assessment))
    blocks.append(_listed("Cautions", assessment.cautions or (SURVEY_NOT_INSPECTION,)))
    return finish("\n\n".join(blocks), ascii_only)


def overview(assessment: Assessment, *, ascii_only: bool = False) -> str:
    """The verdicts with the one reason that decides each, and the cautions: what a newcomer reads first."""
    blocks = [_head(assessment)]
    for line in assessment.lines:
        name = f" ({plain(line.name)})" if line.name and line.name != line.id else ""
        said = [_wrapped(f"  {plain(text)}", "    ") for text in [*_deciding_reasons(line), *_looks(line)]]
        blocks.append("\n".join([f"{line.id}{name}: {line.verdict.upper()}", *said]))
    blocks.append(_listed("Cautions", assessment.cautions or (SURVEY_NOT_INSPECTION,)))
    return finish("\n\n".join(blocks), ascii_only)


def _deciding_reasons(line: LineResult) -> list[str]:
    """The findings that hold the verdict where it is, with what would meet them; what carries it where it suits."""
    told = [(anchor.code, finding) for anchor in line.anchors for finding in anchor.findings]
    told += [("the line", finding) for finding in line.findings]
    held = [f"{where}: {wording.finding(f)}" for where, f in told
            if f.effect == line.verdict and line.verdict != "suits"]  # fmt: skip
    if held:
        return held
    return [f"{a.code}: {a.hold_words()}; {a.care_words()}; {a.evidence.words()}" for a in line.anchors]


def _looks(line: LineResult) -> list[str]:
    said = wording.looks(line)
    return [said] if said else []


def explain(line: LineResult, *, ascii_only: bool = False) -> str:
    """Every step behind a line's verdict, anchor by anchor, in the order they were taken."""
    blocks = [f"Line {line.id}: {line.verdict}, {VERDICT_TAIL}"]
    if line.findings:
        told = [f"{f.about}: {wording.finding(f, even_suits=True)}" for f in line.findings]
        blocks.append(_listed("Of the line as a whole", told))
    for anchor in line.anchors:
        steps = [f"  {number:2d}. {plain(step)}" for number, step in enumerate(anchor.steps, 1)]
        head = f"End {anchor.end}, {anchor.code}: {anchor.verdict}"
        blocks.append("\n".join([head, *(_wrapped(step, "      ") for step in steps or ["  no steps were kept"])]))
    return finish("\n\n".join(blocks), ascii_only)


def finish(text: str, ascii_only: bool) -> str:
    """The text with one closing newline, in plain ASCII where that is asked for."""
    text = text.rstrip() + "\n"
    if not ascii_only:
        return text
    spelled = unicodedata.normalize("NFKD", text.translate(_IN_ASCII))
    return "".join(c for c in spelled if not unicodedata.combining(c)).encode("ascii", "replace").decode("ascii")


def _wrapped(text: str, indent: str) -> str:
    first = text[: len(text) - len(text.lstrip())]
    return textwrap.fill(
        text.strip(),
        WIDTH,
        initial_indent=first,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _listed(title: str, sentences) -> str:
    return "\n".join([title, *(_wrapped(f"  - {plain(s)}", "    ") for s in sentences)])


def _table(rows: list[tuple[str, ...]], indent: str = "  ") -> str:
    """Columns as wide as their widest cell."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    return "\n".join(indent + "  ".join(cell.ljust(w) for cell, w in zip(row, widths)).rstrip() for row in rows)


def _head(assessment: Assessment) -> str:
    site, survey = assessment.record.site, assessment.record.survey
    told = site.invented and "invented" not in site.name.lower()
    name = plain(site.name) + (" (an invented place)" if told else "")
    lines = [
        name,
        f"Surveyed {survey.date} by {plain(survey.by)}; judged for {assessment.day_words()}.",
        SURVEY_NOT_INSPECTION,
    ]
    if not assessment.lines:
        return "\n".join([*lines, "", "No line is planned in this record."])
    rows = [("line", "verdict", "weaker end", "hold use", "care use", "evidence")]
    for line in assessment.lines:
        end = next((a for a in line.anchors if a.code == line.weaker_anchor), None)
        figures = (
            ("-", "-", "-")
            if end is None
            else (
                wording.percent(end.hold_use),
                wording.percent(end.care_use),
                f"{end.evidence.known} of {len(end.evidence.deciding)}",
            )
        )
        rows.append((line.id, line.verdict, line.weaker_anchor or "-", *figures))
    return "\n".join([*lines, "", _table(rows), f"  Each verdict: {VERDICT_TAIL}."])


def _line(line: LineResult) -> str:
    name = f" ({plain(line.name)})" if line.name else ""
    day = f", judged for {line.day}" if line.day else ""
    parts = [f"Line {line.id}{name}, {line.use}: {line.verdict.upper()}{day}", _geometry(line)]
    parts += [_wrapped(f"  {plain(wording.finding(f))}", "    ") for f in line.findings]
    parts += [_wrapped(f"  {plain(said)}", "    ") for said in _looks(line)]
    parts += [_wrapped(f"  Over the ground: {plain(says)}", "    ") for says in wording.over_ground(line)]
    parts += [_anchor(anchor, line.verdict) for anchor in line.anchors]
    parts += [_remedy(remedy) for remedy in line.remedies]
    parts += [_wrapped(f"  {plain(says)}", "    ") for says in wording.gear(line)]
    return "\n".join(parts)


def _geometry(line: LineResult) -> str:
    g = line.geometry
    text = (
        f"  {wording.metres(g.distance_m)} by position, {wording.metres(g.taped_m)} taped; "
        f"bearing {wording.bearing(g.bearing_true_deg)} true"
    )
    if wording.known(g.bearing_magnetic_deg):
        text += f" ({wording.bearing(g.bearing_magnetic_deg)} magnetic)"
    text += f", back {wording.bearing(g.back_bearing_true_deg)} true. {plain(g.agreement)}"
    return _wrapped(text, "  ")


def _anchor(anchor: AnchorResult, of_line: Verdict) -> str:
    tag = f", tag {plain(anchor.tag)}" if anchor.tag else ""
    conditions = "; ".join(plain(c) for c in anchor.conditions)
    verdict = f"{anchor.verdict} {conditions}" if anchor.verdict == "suits if" and conditions else anchor.verdict
    parts = [
        f"  {anchor.code}, end {anchor.end}, {plain(anchor.species) or anchor.kind}{tag}",
        _wrapped(f"    {verdict}", "      "),
        _wrapped(f"    {anchor.hold_words()}; {anchor.care_words()}; {anchor.evidence.words()}", "      "),
    ]
    if anchor.loads:
        worst = max(anchor.loads, key=lambda load: load.tension_n)
        parts.append(
            f"    greatest pull {wording.both_forces(worst.tension_n)}, {worst.case}, "
            f"towards {wording.bearing(worst.bearing_true_deg)} true"
        )
        parts.append(_wrapped(f"      {pull_told(anchor).in_words()}", "      "))
    limits = [limit for limit in anchor.limits if limit.use is not None]
    if limits:
        parts.append(
            _table(
                [("limit", "case", "demand", "allowed", "use")]
                + [
                    (
                        x.name,
                        x.case,
                        wording.quantity(x.demand, x.unit),
                        wording.quantity(x.allowable, x.unit),
                        wording.percent(x.use),
                    )
                    for x in limits
                ],
                "      ",
            )
        )
    for limit in anchor.limits:
        if limit.use is None and limit.reason:
            parts.append(_wrapped(f"    {limit.name}: cannot say, {plain(limit.reason)}", "      "))
    parts += [_wrapped(f"    stop sign: {plain(sign)}", "      ") for sign in anchor.stop_signs]
    parts += [_wrapped(f"    {plain(wording.finding(f, conditions=False))}", "      ") for f in findings_told(anchor)]
    if anchor.evidence.missing:
        missing = ", ".join(plain(m) for m in anchor.evidence.missing)
        parts.append(_wrapped(f"    not looked at: {missing}", "      "))
    parts += [_remedy(remedy, "    ") for remedy in anchor.remedies]
    parts += _protection(anchor, of_line)
    if anchor.rules:
        parts += _rules(anchor.rules)
    return "\n".join(parts)


TOLD_IN_LISTS = ("stop-sign-seen", "boulder-moves", "not-looked-at")


def findings_told(anchor: AnchorResult) -> list:
    """The findings of an end without those its stop signs and its list of things not looked at tell already."""
    return [f for f in anchor.findings if f.code not in TOLD_IN_LISTS]


def _remedy(remedy, indent: str = "  ") -> str:
    still = f"; with it: {'; '.join(plain(s) for s in remedy.conditions)}" if remedy.still else ""
    text = f"{indent}remedy: {plain(remedy.change)} -> {remedy.reaches} ({remedy.for_limit}){still}"
    return _wrapped(text, indent + "  ")


def _protection(anchor: AnchorResult, of_line: Verdict) -> list[str]:
    if anchor.protection is None:
        return []
    plan = anchor.protection.asked
    parts = [f"tie: {plain(plan.wrap)}"]
    if wording.known(plan.sling_length_m):
        parts.append(f"sling {wording.metres(plan.sling_length_m)}")
    if wording.known(plan.sling_width_m):
        parts.append(f"{plan.sling_width_m * 1000:.0f} mm wide")
    if instead := plan.instead_told():
        parts.append(plain(instead.in_words()))
    if wording.known(plan.pressure_pa):
        parts.append(f"bark pressure {plan.pressure_pa / 1e3:.0f} kPa ({plain(plan.reading)})")
    if plan.pad_material:
        size = ""
        if wording.known(plan.pad_length_m) and wording.known(plan.pad_height_m):
            size = f" {wording.metres(plan.pad_length_m)} round by {wording.metres(plan.pad_height_m, 2)} high"
        pads = "pad" if plan.pad_pieces == 1 else f"{plan.pad_pieces} pads, each"
        parts.append(f"{pads}{size}, {plain(plan.pad_material)}")
    if plan.slats:
        parts.append(f"{plan.slats} slats")
    if settled := wording.settled(of_line):
        parts.append(settled)
    return [
        _wrapped("    " + "; ".join(parts), "      "),
        *(_wrapped(f"    {plain(says)}", "      ") for says in plan.advice),
    ]


def _rules(check: RuleCheck) -> list[str]:
    head = f"    rules of the place, apart from the verdict: {plain(check.name)} ({plain(check.as_of)})"
    rows = [
        _wrapped(f"      {c.answer}: {plain(c.clause)}: wanted {plain(c.wanted)}; {plain(c.measured)}", "        ")
        for c in check.clauses
    ]
    return [_wrapped(head, "      "), *rows]


def _trees(trees: tuple[TreeAlone, ...]) -> str:
    parts = ["Each tree alone: the greatest level pull we allow, by tie height"]
    for tree in trees:
        pulls = ", ".join(
            f"{wording.metres(row.tie_height_m)}: {wording.quantity(row.pull_n, 'N')}"
            if wording.known(row.pull_n)
            else f"{wording.metres(row.tie_height_m)}: cannot say"
            for row in tree.pulls
        )
        said = f"{tree.verdict}: {plain('; '.join(tree.deciding))}"
        if not any(wording.known(row.pull_n) for row in tree.pulls):
            pulls = "no pull at any tie height"
        parts.append(_wrapped(f"  {tree.code} ({tree.evidence.words()}) {said}. {pulls}", "    "))
    return "\n".join(parts)


def _packing(items, notes) -> str:
    return _listed("To pack", in_words([*notes, *(item.told() for item in items)]))


def _flags(assessment: Assessment) -> str:
    counts = dict.fromkeys(("read", "derived", "judgement", "memory"), 0)
    for assumption in assessment.assumptions:
        counts[assumption.flag] += 1
    shown = ", ".join(f"{count} {flag}" for flag, count in counts.items() if count)
    return _wrapped(f"The numbers behind this: {shown or 'none listed'}; the report lists each.", "  ")
