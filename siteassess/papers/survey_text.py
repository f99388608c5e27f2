"""What `siteassess survey` prints: rows, candidates, pairs and what was not looked at."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping
from pathlib import Path

from siteassess.papers.language import Words, words_in
from siteassess.reference.findings import Said
from siteassess.reference.measures import Measures
from siteassess.reference.texts import cautions
from siteassess.survey.proposal import Proposal
from siteassess.survey.screen import out_tally
from siteassess.units import show_bearing

PAIRS_TOLD = 20  # the rest is in the tables


def survey_text(
    proposal: Proposal, written: Iterable[Path], told_already: Container[Said], language: str = "en"
) -> Iterator[str]:
    """The lines.

    Parameters
    ----------
    proposal : of a desk survey
    written : files that were written
    told_already : remarks that were said while the inventory was read
    language : to tell it in
    """
    survey, t, m = proposal.survey, words_in(language), Measures(language)
    counts = survey.inventory.counts
    yield t(
        "sv-rows", inventory=survey.inventory.name, read=counts["rows_read"], kept=counts["rows_kept"],
        repaired=counts["rows_repaired"], aside=counts["rows_set_aside"],
    )  # fmt: skip
    yield from _counts(survey.inventory.tally, t)
    yield t("sv-candidates", count=int(survey.trees["candidate"].sum()))
    yield from _counts(out_tally(survey.trees["out"].to_numpy()), t)
    yield from _pairs(proposal, t, m)
    for remark in survey.remarks:
        if remark not in told_already:
            yield t("chk-note", says=remark.in_words(language))
    for circuit in proposal.circuits:
        walk = m.length(circuit["walk_m"], 0)
        yield "  " + t("sv-circuit", id=circuit["id"], count=len(circuit["lines"]), walk=walk)
    yield from (t("sv-wrote", path=path) for path in written)
    yield from cautions(language, on="desk survey")


def _counts(counts: Mapping[Said, int], t: Words) -> Iterator[str]:
    for told, count in counts.items():
        yield f"  {count:>8}  {told.in_words(t.language)}"
    if len(counts) > 1:
        yield f"            {t('sv-several')}"


def _pairs(proposal: Proposal, t: Words, m: Measures) -> Iterator[str]:
    pairs = proposal.pairs
    yield t("sv-pairs", count=len(proposal.survey.pairs), listed=len(pairs))
    if pairs:
        yield f"  {t('sv-score')}"
    for pair in pairs[:PAIRS_TOLD]:
        parts = {part: m.number(pair[f"score_{part}"], 2) for part in ("hold", "care", "evidence")}
        yield "  " + t(
            "sv-pair", id=pair["id"], a=pair["a"], b=pair["b"], span=f"{m.length(pair['span_m']):>8}",
            bearing=show_bearing(pair["bearing_true_deg"]), score=m.number(pair["score"], 3), park=pair["park"],
            **parts,
        )  # fmt: skip
    alike = sum(pair["score"] == pairs[0]["score"] for pair in pairs)
    if alike > 1:
        yield f"  {t('sv-alike', count=alike)}"
    if len(pairs) > PAIRS_TOLD:
        yield f"  {t('sv-more', count=len(pairs) - PAIRS_TOLD)}"
    if _on_streets(proposal):
        yield t("sv-cross-road")


def _on_streets(proposal: Proposal) -> bool:
    """Whether a listed pair uses a tree the inventory calls a street tree."""
    streets = {tree["code"] for tree in proposal.trees if tree["on_street"]}
    return any(streets & {pair["a"], pair["b"]} for pair in proposal.pairs)
