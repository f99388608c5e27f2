"""An assessment as plain text for a terminal."""

from __future__ import annotations

import datetime
import re
import textwrap
import unicodedata
from collections.abc import Callable, Iterable

from siteassess.advice.end_kinds import pull_parts
from siteassess.advice.finding import Finding, conditions_of
from siteassess.advice.packing import packing_notes
from siteassess.advice.results import AnchorResult, Assessment, LineResult, Load, Remedy, RuleCheck, TreeAlone
from siteassess.advice.verdict import Verdict
from siteassess.advice.wind_check import told_wind
from siteassess.papers import as_planned, wording
from siteassess.papers.language import Words, cautions_told, words_in
from siteassess.reference.findings import in_words, word
from siteassess.reference.measures import Measures, known
from siteassess.reference.pages import plain
from siteassess.reference.tables import FLAGS

WIDTH = 96
Paint = Callable[[Verdict, str], str]
_SET_OFF, _KEPT = re.compile(r" (?=[:;?!»](?:\s|$)|%)"), "\ue000"
_PAINTED = "\x02"  # before and behind what is painted; no text of a record has it when it was made plain
_IN_ASCII = str.maketrans("×–—’‘“”²³·ø", "x--''\"\"23-o") | str.maketrans(
    {"°": " deg", "→": "->", "…": "...", "≥": ">=", "≤": "<=", "±": "+/-", "ß": "ss", "æ": "ae"})  # fmt: skip


def summary(assessment: Assessment, *, ascii_only: bool = False, language: str = "en") -> str:
    """What a rigger reads on the screen: verdicts first, then why, then what would change them.

    Parameters
    ----------
    assessment : the answers with their record
    ascii_only : write nothing beyond plain ASCII, for terminals that cannot show more
    language : what it is told in

    Returns
    -------
    Lines of at most 96 characters where words allow it, ending in a newline. Control marks in a record's texts are
    left out, so that no text can steer the terminal.
    """
    t = words_in(language)
    blocks = ["\n".join(rows) for rows in (whose(assessment, t), _verdicts(assessment, t))]
    blocks += [_line(line, t) for line in assessment.lines]
    if assessment.trees:
        blocks.append(_trees(assessment.trees, t))
    if assessment.packing:
        told = (*packing_notes(assessment.lines), *(item.told() for item in assessment.packing))
        blocks.append(_listed(t("te-pack"), in_words(told, language)))
    if assessment.warnings:
        blocks.append(_listed(t("te-warnings"), [one.in_words(language) for one in assessment.warnings]))
    blocks.append(_flags(assessment, t))
    blocks.append(_listed(t("cautions"), cautions_told(assessment, t) or (t("no-inspection"),)))
    return finish("\n\n".join(blocks), ascii_only)


def _uses(end: AnchorResult, t: Words) -> str:
    return t("between").join(one.in_words(t.language) for one in (end.hold_told, end.care_told, end.evidence.told))


def _looks(line: LineResult, t: Words) -> list[str]:
    said = wording.looks(line, t.language)
    return [said] if said else []


def explain(line: LineResult, *, ascii_only: bool = False, language: str = "en") -> str:
    """Every step behind a line's verdict, anchor by anchor, in the order they were taken.

    Parameters
    ----------
    line : judged
    ascii_only : whether other letters are spelled out
    language : to tell it in
    """
    t = words_in(language)
    blocks = [t("te-explain", id=line.id, verdict=t.of(line.verdict), tail=t("verdict-tail"))]
    if line.findings:
        found = [wording.finding(f, even_suits=True, language=language) for f in line.ordered]
        if language == "en":  # what a finding is about is a key, in English alone
            found = [f"{f.about}: {says}" for f, says in zip(line.ordered, found)]
        blocks.append(_listed(t("te-whole-line"), found))
    for anchor in line.anchors:
        told = in_words(anchor.every_step, language)
        steps = [f"  {number:2d}. {plain(step)}" for number, step in enumerate(told, 1)]
        head = t("te-explain-end", end=anchor.end, code=anchor.code, verdict=t.of(anchor.verdict))
        blocks.append("\n".join([head, *(wrapped(step, "      ") for step in steps or [f"  {t('te-no-steps')}"])]))
    return finish("\n\n".join(blocks), ascii_only)


def finish(text: str, ascii_only: bool) -> str:
    """The text with one closing newline, in plain ASCII where that is asked for."""
    text = text.rstrip() + "\n"
    if not ascii_only:
        return text
    spelled = unicodedata.normalize("NFKD", text.translate(_IN_ASCII))
    return "".join(c for c in spelled if not unicodedata.combining(c)).encode("ascii", "replace").decode("ascii")


def refolded(text: str, width: int | None, at_most: int | None = WIDTH) -> str:
    """The text with rows that a narrow terminal would break anywhere broken between words; None leaves it as it is.

    Parameters
    ----------
    text : told in rows
    width : columns of the terminal
    at_most : columns that no row has more of; None where rows were not broken yet
    """
    if width is None or at_most is not None and width >= at_most:
        return text
    rows = text.split("\n")
    return "\n".join(row if len(row) <= width else wrapped(row, " " * (len(row) - len(row.lstrip()) + 2), width)
                     for row in rows)  # fmt: skip


def wrapped(text: str, indent: str, width: int | None = None) -> str:
    """A text in rows of a width, else the usual one, none of which begins with a mark that its language sets off."""
    first = text[: len(text) - len(text.lstrip())]
    rows = textwrap.fill(_SET_OFF.sub(_KEPT, text.strip()), width or WIDTH, initial_indent=first,
                         subsequent_indent=indent, break_long_words=False, break_on_hyphens=False)  # fmt: skip
    return rows.replace(_KEPT, " ")


def _listed(title: str, sentences: Iterable[str]) -> str:
    return "\n".join([title, *(wrapped(f"  - {plain(s)}", "    ") for s in sentences)])


def _table(rows: list[tuple[str, ...]], indent: str = "  ") -> str:
    """Columns as wide as their widest cell."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    return "\n".join(indent + "  ".join(cell.ljust(w) for cell, w in zip(row, widths)).rstrip() for row in rows)


def whose(assessment: Assessment, t: Words) -> list[str]:
    """Of which site and survey an answer is, and for what day."""
    site, survey = assessment.record.site, assessment.record.survey
    day = assessment.one_day or t("own-days")
    return [
        plain(site.name) + (t("te-invented") if site.invented else ""),
        t("te-surveyed", surveyed=survey.date, by=plain(survey.by), day=day),
        t("no-inspection"),
    ]


def _verdicts(assessment: Assessment, t: Words) -> list[str]:
    """A table of the lines' words with the figures of their weaker ends."""
    if not assessment.lines:
        return [t("req-no-line")]
    rows = [tuple(t(f"te-{head}") for head in ("line", "verdict", "weaker", "hold", "care", "evidence"))]
    for line in assessment.lines:
        end = next((a for a in line.anchors if a.code == line.weaker_anchor), None)
        figures = ("-", "-", "-")
        if end is not None:
            count = t("pl-of", number=end.evidence.known, count=len(end.evidence.deciding))
            figures = (Measures(t.language).share(end.hold_use), Measures(t.language).share(end.care_use), count)
        rows.append((line.id, t.of(line.verdict), line.weaker_anchor or "-", *figures))
    return [_table(rows), f"  {t('each-verdict', tail=t('verdict-tail'))}"]


def _line(line: LineResult, t: Words) -> str:
    parts = [line_head(line, line.day, t), _geometry(line, t)]
    parts += [wrapped(f"  {plain(wording.finding(f, language=t.language))}", "    ") for f in line.ordered]
    parts += [wrapped(f"  {plain(said)}", "    ") for said in _looks(line, t)]
    parts += [wrapped("  " + t("te-over-ground", says=plain(says)), "    ")
              for says in wording.over_ground(line, t.language)]  # fmt: skip
    parts += [_anchor(anchor, line, t) for anchor in line.anchors]
    parts += [_remedy(remedy, t) for remedy in line.remedies]
    parts += [wrapped(f"  {t('between').join(told)}", "    ") for told in [figures(line, t)] if told]
    parts += [wrapped(f"  {plain(says)}", "    ") for says in wording.gear(line, t.language)]
    return "\n".join(parts)


def line_head(
    line: LineResult, day: datetime.date | None, t: Words, paint: Paint = lambda _, word: word, width: int | None = None
) -> str:
    """A line's name, use and verdict, and the day it is judged for, if told; the verdict stands on one row, painted."""
    name = f" ({plain(line.name)})" if line.name and line.name != line.id else ""
    told = t("te-day", day=day) if day else ""
    marked = f"{_PAINTED}{t.of(line.verdict).upper().replace(' ', _KEPT)}{_PAINTED}"
    head = t("te-line-head", id=line.id, name=name, use=t.of(line.use), verdict=marked, day=told)
    before, verdict, after = wrapped(head, "  ", width).split(_PAINTED)
    return before + paint(line.verdict, verdict) + after


def figures(line: LineResult, t: Words) -> list[str]:
    """Where to stop, what sag to expect, and when to take it down, of a line that may hang.

    What belongs to the plan that a condition changes is told so, with the condition's own.
    """
    if line.verdict not in ("suits", "suits if"):
        return []
    m, told, asked = Measures(t.language), list[str](), as_planned.line_conditions(line)
    if (tension := wording.stop_at(line)) is not None:
        told.append(t("te-stop-at", tension=_planned(m.stop(tension), as_planned.asked_stop(line, m), False, t)))
    if sag := sag_told(line, t):
        told.append(sag)
    wind = wording.least_wind([end for end in line.anchors if end.kind == "tree"])
    if not known(wind) or wind < 1:
        return [*told, t("te-down", when=as_planned.take_down_asked(line, t))]
    other = as_planned.asked_gust(line)
    met = m.gust(other, others=False) if known(other) else None
    changes = as_planned.changed_by(asked, as_planned.CHANGE_PULL)
    return [*told, t("te-down-before", gust=_planned(m.gust(told_wind(wind), others=False), met, changes, t))]


def sag_told(line: LineResult, t: Words, how: str = "te-sag") -> str:
    """What sag to expect with somebody on it; nothing where it is not known.

    Parameters
    ----------
    line : that may hang
    t : words of the reader
    how : text that tells it
    """
    sag = wording.sag(line)
    changes = as_planned.changed_by(as_planned.line_conditions(line), as_planned.CHANGE_SAG)
    return "" if sag is None else t(how, sag=_planned(Measures(t.language).sag(sag), None, changes, t))


def _planned(told: str, asked: str | None, changes: bool, t: Words) -> str:
    return as_planned.planned(told, asked, changes, t, as_planned.IN_ROW)


def _geometry(line: LineResult, t: Words) -> str:
    g, m = line.geometry, Measures(t.language)
    magnetic = ""
    if known(g.bearing_magnetic_deg):
        magnetic = t("te-magnetic", bearing=m.bearing(g.bearing_magnetic_deg))
    lengths = [t("te-by-position", apart=m.length(g.distance_m))] * known(g.distance_m)
    lengths += [t("te-taped", taped=m.length(g.taped_m))] * known(g.taped_m)
    out, back = m.bearing(g.bearing_true_deg), m.bearing(g.back_bearing_true_deg)
    bearing = t("te-bearing", out=out, back=back, magnetic=magnetic)
    parts = [", ".join(lengths) or t("te-no-length"), bearing if known(g.bearing_true_deg) else t("te-no-bearing")]
    return wrapped(f"  {t('between').join(parts)}. {plain(g.told.in_words(t.language))}", "  ")


def _way(load: Load, anchor: AnchorResult, line: LineResult, t: Words) -> str:
    """The way of a pull, by the compass where that tells another than the positions do; empty where it is not known."""
    if not known(load.bearing_true_deg):
        return ""
    return t("te-toward", bearing=wording.way_told(load.bearing_true_deg, wording.placed_way(line, anchor.end), t))


def _anchor(anchor: AnchorResult, line: LineResult, t: Words) -> str:
    m, lang, of_line = Measures(t.language), t.language, line.verdict
    tag = t("te-tag", tag=wording.tag(anchor, lang)) if anchor.tag else ""
    conditions = t("between").join(plain(c) for c in conditions_of(anchor.findings, lang))
    verdict = t.of(anchor.verdict)
    if anchor.verdict == "suits if" and conditions:
        verdict = wording.suits_if(conditions).in_words(lang)
    parts = [
        "  " + t("te-end", code=anchor.code, end=anchor.end, kind=word(plain(anchor.species) or anchor.kind, lang),
                 tag=tag),
        wrapped(f"    {verdict}", "      "),
        wrapped(f"    {_uses(anchor, t)}", "      "),
    ]  # fmt: skip
    if pull := pull_parts(anchor):
        worst = max(anchor.loads, key=lambda load: load.tension_n)
        parts.append("    " + t(
            "te-greatest-pull", pull=Measures(lang, both=True).force(worst.tension_n), case=word(worst.case, lang),
            toward=_way(worst, anchor, line, t)))  # fmt: skip
        parts.append(wrapped(f"      {pull.in_words(lang)}", "      "))
    limits = [limit for limit in anchor.limits if limit.use is not None]
    if limits:
        heads = tuple(t(f"te-{head}") for head in ("limit", "case", "demand", "allowed", "use"))
        rows = [
            (word(x.name, lang), wording.case(x, lang), *(m.sum_of(value, x.unit) for value in (x.demand, x.allowable)),
             m.share(x.use))
            for x in limits
        ]  # fmt: skip
        parts.append(_table([heads, *rows], "      "))
    for limit in anchor.limits:
        if limit.use is None:
            why = t("between").join(in_words(limit.told, lang))
            unknown = t("te-unknown", limit=word(limit.name, lang), why=plain(why))
            parts.append(wrapped(f"    {unknown}", "      "))
    parts += [wrapped(f"    {plain(f.in_words(lang))}", "      ") for f in anchor.ordered if f.about == "stop sign"]
    parts += [wrapped(f"    {plain(wording.finding(f, conditions=False, language=lang))}", "      ")
              for f in findings_told(anchor)]  # fmt: skip
    if anchor.evidence.missing:
        missing = ", ".join(plain(word(thing, lang)) for thing in anchor.evidence.missing)
        parts.append(wrapped("    " + t("te-not-looked", things=missing), "      "))
    parts += [_remedy(remedy, t, "    ") for remedy in anchor.remedies]
    if anchor.verdict == "leave it" and not anchor.remedies:
        parts.append(wrapped(f"    {wording.no_mend(anchor, t)}", "      "))
    parts += _protection(anchor, of_line, t)
    if anchor.rules:
        parts += _rules(anchor.rules, t)
    return "\n".join(parts)


TOLD_IN_LISTS = ("stop-sign-seen", "boulder-moves", "not-looked-at")


def findings_told(anchor: AnchorResult) -> list[Finding]:
    """The findings of an end without those its stop signs and its list of things not looked at tell already."""
    return [f for f in anchor.ordered if f.code not in TOLD_IN_LISTS]


def _remedy(remedy: Remedy, t: Words, indent: str = "  ") -> str:
    still = t("between").join(plain(one.in_words(t.language)) for one in remedy.still)
    text = t(
        "te-remedy", change=plain(remedy.what.in_words(t.language)), reaches=t.of(remedy.reaches),
        limit=word(remedy.for_limit, t.language), still=t("te-with-it", still=still) if still else "",
    )  # fmt: skip
    return wrapped(indent + text, indent + "  ")


def _protection(anchor: AnchorResult, of_line: Verdict, t: Words) -> list[str]:
    if anchor.protection is None:
        return []
    plan, m, lang = anchor.protection.asked, Measures(t.language), t.language
    parts = [t("tp-tie", wrap=word(plan.wrap, lang))]
    if known(plan.sling_length_m):
        parts.append(t("tp-sling-long", length=m.length(plan.sling_length_m)))
    if known(plan.sling_width_m):
        parts.append(t("tp-wide", width=m.width(plan.sling_width_m)))
    if instead := plan.instead_told():
        parts.append(instead.in_words(lang))
    if known(plan.pressure_pa):
        parts.append(t("tp-presses", pressure=m.pressure(plan.pressure_pa), reading=plan.read.in_words(lang)))
    if plan.pad_material:
        size = ""
        if known(plan.pad_length_m) and known(plan.pad_height_m):
            size = t("tp-pad-size", around=m.length(plan.pad_length_m), height=m.length(plan.pad_height_m, 2))
        pads = "tp-pad" if plan.pad_pieces == 1 else "tp-pads"
        parts.append(t(pads, count=plan.pad_pieces, size=size, material=word(plan.pad_material, lang)))
    if plan.slats:
        parts.append(t("tp-slats", count=plan.slats))
    if settled := wording.unsettled(of_line, lang):
        parts.append(settled)
    return [
        wrapped("    " + plain(t("between").join(parts)), "      "),
        *(wrapped(f"    {plain(says)}", "      ") for says in in_words(plan.told, lang)),
    ]


def _rules(check: RuleCheck, t: Words) -> list[str]:
    head = t("te-rules", name=plain(check.name), as_of=plain(check.as_of))
    rows = []
    for clause in check.clauses:
        told = {part: plain(says) for part, says in clause.in_words(t.language).items()}
        text = t("te-clause", **told | {"answer": t.of(clause.answer)})
        rows.append(wrapped(f"      {text}", "        "))
    return [wrapped(f"    {head}", "      "), *rows]


def _trees(trees: tuple[TreeAlone, ...], t: Words) -> str:
    parts, m = [t("te-trees")], Measures(t.language)
    for tree in trees:
        pulls = t("map-no-pull")
        if any(known(row.pull_n) for row in tree.pulls):
            told = ((m.length(row.tie_height_m), m.force(row.pull_n)
                     if known(row.pull_n) else t.of("cannot say")) for row in tree.pulls)  # fmt: skip
            pulls = ", ".join(f"{t('colon')} ".join(pair) for pair in told)
        why = plain(t("between").join(one.in_words(t.language) for one in tree.deciding))
        looked_at = tree.evidence.told.in_words(t.language)
        parts.append(wrapped(f"  {tree.code} ({looked_at}) {t.of(tree.verdict)}{t('colon')} {why}. {pulls}", "    "))
    return "\n".join(parts)


def _flags(assessment: Assessment, t: Words) -> str:
    counts = dict.fromkeys(FLAGS, 0)
    for assumption in assessment.assumptions:
        counts[assumption.flag] += 1
    shown = ", ".join(t(f"te-flag-{flag}", count=count) for flag, count in counts.items() if count)
    return wrapped(t("te-numbers", shown=shown or t("te-none-listed")), "  ")
