"""What is found in a reader's words, the same in every paper. Unknown is said, never left blank."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from siteassess.advice.care_results import Protection
from siteassess.advice.finding import Finding, Limit
from siteassess.advice.results import NO_TAG, AnchorResult, LineResult, TreeAlone
from siteassess.advice.verdict import STOP_SIGNS, Verdict, worst
from siteassess.advice.wind_check import told_wind
from siteassess.papers.language import Words, words_in
from siteassess.reference.findings import Said, in_words, said, word
from siteassess.reference.measures import Measures, known
from siteassess.reference.pages import plain

MOST_LOOKS = 3  # things to look at that are told


def tag(end: AnchorResult | TreeAlone, language: str = "en") -> str:
    """The manager's tag of an anchor, as it was written; said where none was."""
    return word(NO_TAG, language) if end.tag == NO_TAG else plain(end.tag)


def span(line: LineResult, m: Measures) -> str:
    """A line's length as it was taped, else by its positions; said where neither is known."""
    taped, apart = line.geometry.taped_m, line.geometry.distance_m
    length = taped if known(taped) else apart
    return m.length(length) if known(length) else words_in(m.language)("te-no-length")


def course(*bearings: float | None, language: str = "en", unknown: str = "not-known") -> str:
    """Bearings from true north, of a line out and back; one text, `unknown`, where one of them is not known."""
    t = words_in(language)
    if not all(map(known, bearings)):
        return t(unknown)
    return t("map-true", bearing=" / ".join(map(Measures(language).bearing, bearings)))


def true_and_magnetic(true: float | None, magnetic: float | None, language: str = "en") -> str:
    """A bearing from true north, and as a compass shows it where that is known too."""
    t, m = words_in(language), Measures(language)
    if not (known(true) and known(magnetic)):
        return course(true, language=language)
    return t("map-true-and-magnetic", true=m.bearing(true), magnetic=m.bearing(magnetic))


def case(limit: Limit, language: str = "en") -> str:
    """The load case a limit is of."""
    return limit.case_told.in_words(language) if limit.case_told else word(limit.case, language)


def finding(found: Finding, *, conditions: bool = True, even_suits: bool = False, language: str = "en") -> str:
    """A finding with the best word it still allows, and what meets it or what to do about it.

    Parameters
    ----------
    found : Finding
    conditions : bool
        Whether "suits if" is told; not where a list of conditions stands beside.
    even_suits : bool
        Whether "suits" is told too.
    language : str
        What it is told in.
    """
    says = found.in_words(language)
    told = {"says": says, "verdict": found.effect}
    if found.effect == "cannot say":
        return said("told-with-next", more=found.in_words(language, "action"), **told).in_words(language)
    if found.effect == "suits if" and conditions:
        met = suits_if(found.in_words(language, "condition"))
        return said("told-with-condition", says=says, met=met).in_words(language)
    alone = found.effect == "suits if" or found.effect == "suits" and not even_suits
    return says if alone else said("told-with-verdict", **told).in_words(language)


def suits_if(condition: str) -> Said:
    """That something suits by a condition, which a language may have to part from the word."""
    return said("suits-if-this", more=condition)


def over_ground(line: LineResult, language: str = "en") -> tuple[str, ...]:
    """What is told of the line over the ground and stands in no finding: one on the ground begins with the first."""
    if line.clearance is None:
        return ()
    return in_words(line.clearance.told[any(one.about == "ground" for one in line.findings):], language)


def feet(line: LineResult, language: str = "en", system: str = "metric") -> str:
    """How the feet stay over the ground, or where they reach it; empty of a line that nobody stands on."""
    told = line.clearance.told[:1] if line.clearance else ()
    return "".join(in_words(told, language, system))


def unsettled(verdict: Verdict, language: str = "en") -> str:
    """What a verdict leaves open or rules out of a tie; empty where it does neither."""
    code = {"cannot say": "nothing-settled", "leave it": "not-to-be-tied"}.get(verdict)
    return said(code).in_words(language) if code else ""


def padding_words(
    end: AnchorResult, of_line: Verdict, language: str = "en", system: str = "metric"
) -> str:
    """The tie and padding of one end in a sentence: those the verdict asks for, with what they replace.

    `of_line` is the verdict of the whole line, which may leave open or rule out what suits this end.
    """
    if end.protection is None:
        return said("no-tie-planned").in_words(language)
    plan = end.protection.asked
    parts = [said("wrap-alone", wrap=plan.wrap)]
    if known(plan.sling_width_m):
        parts.append(said("sling-wide", width=plan.sling_width_m))
    if instead := plan.instead_told():
        parts.append(instead)
    if plan.pad_material:
        parts.append(_pads(plan))
    if plan.slats:
        parts.append(said("so-many-slats", slats=plan.slats))
    rest = unsettled(worst((end.verdict, of_line)), language)
    return plain(", ".join(in_words(parts, language, system)) + (f" ({rest})" if rest else ""))


def _pads(plan: Protection) -> Said:
    pieces = (said("pad-pieces", pieces=plan.pad_pieces),) if plan.pad_pieces > 1 else ()
    high = (said("pad-high", height=plan.pad_height_m),) if known(plan.pad_height_m) else ()
    where = (said("pad-where", scope=plan.pad_scope),) if plan.pad_scope else ()
    return said("pads-on", pieces=pieces, material=plan.pad_material, high=high, where=where)


def gear(line: LineResult, language: str = "en") -> tuple[str, ...]:
    """What is told of a line's gear, the first of it named as such."""
    first = tuple(said("gear-first", says=one) for one in line.gear_told[:1])
    return in_words((*first, *line.gear_told[1:]), language)


def looks(line: LineResult, language: str = "en", most: int = MOST_LOOKS, shares: bool = True) -> str:
    """What to look at first of all that was not looked at, and why; empty where nothing is missing.

    `shares` tells how many of the answers would bring another word.
    """
    told = []
    # what no answer was tried of comes to words only where nothing else is missing
    tried = [look for look in line.looks if look.changes is not None] or list(line.looks)
    for look in tried[:most]:
        more = (said("thing-at", at=look.at),) if look.at else ()
        if look.changes and shares:
            more = (*more, said("brings-another-word", share=look.changes))
        told.append(said("thing-to-look-at", thing=look.thing, more=more))
    if not told:
        return ""
    others = tuple(said("then-thing", thing=one) for one in told[1:])
    first = said("look-first-at", first=told[0], others=others)
    if all(look.usual == line.verdict and look.changes == 0 for look in tried):
        first = said("answer-changes-nothing", things=tuple(told))
    # a step that several findings ask for is told once
    stays = tuple({one.in_words(language): one for one in line.looks[0].stays}.values())
    return (said("settle-before", stays=stays, look=first) if stays else first).in_words(language)


def next_look(line: LineResult, language: str = "en") -> str:
    """What to look at next, where an answer brings another word or what is missing holds the line; else empty."""
    worth = line.verdict == "cannot say" or any(look.changes is None or look.changes > 0 for look in line.looks)
    return looks(line, language, most=1, shares=False) if worth else ""


def probability(value: float | None, language: str = "en") -> str:
    """A probability in words that claim no more than the model can carry."""
    if not known(value):
        return word("cannot say", language)
    code = "under-1-in" if value < 0.001 else "more-likely-than-not" if value > 0.5 else "about-1-in"
    return said(code, count=1 / max(value, 0.001)).in_words(language)


def take_down(wind: float | None, language: str = "en", system: str = "metric") -> str:
    """When a line comes down for wind; the gust is told as the findings tell it, as a forecast would."""
    if not known(wind):
        return said("down-as-the-crown-moves").in_words(language)
    if wind < 1:
        return said("down-whatever-the-wind" if wind <= 0 else "down-before-any-gust").in_words(language)
    return said("down-before-gusts", gust=told_wind(wind)).in_words(language, system)


def take_down_of(ends: Iterable[AnchorResult], t: Words, system: str = "metric") -> str:
    """The same for the trees among these ends: the least wind any of them bears; one that cannot be told decides."""
    trees = [end for end in ends if end.kind == "tree"]
    return take_down(least_wind(trees), t.language, system) if trees else t("rp-no-tree")


_NO_MEND = {"tree": "te-no-mend", "boulder": "te-no-mend-boulder"}
_OF_GEAR = frozenset({"gear-too-weak", "webbing-over-strength"})


def no_mend(end: AnchorResult, t: Words) -> str:
    """What is left to do of an end that is left and that nothing we know mends: by its kind, and by what refuses it."""
    refusing = [one for one in end.findings if one.effect == "leave it"]
    if any(dict(one.values).get("sign") == STOP_SIGNS["posted_no"] for one in refusing):
        return t("te-no-mend-posted")
    if refusing and {one.code for one in refusing} <= _OF_GEAR:
        return t("te-no-mend-gear")
    if end.kind in _NO_MEND:
        return t(_NO_MEND[end.kind])
    return said("another-anchor-or-a-judge").in_words(t.language)


def no_mend_of_line(line: LineResult, t: Words) -> str:
    """The same of a line that its own gear refuses; empty where something else does."""
    refusing = {one.code for _, one in line.all_ordered if one.effect == "leave it"}
    return t("te-no-mend-gear") if refusing and refusing <= _OF_GEAR else ""


def stop_at(line: LineResult) -> float | None:
    """The tension to stop tightening at [N]: the standing one it was judged for; None where it is not known.

    Parameters
    ----------
    line : judged
    """
    standing = [load.tension_n for end in line.anchors for load in end.loads if load.case == "standing"]
    return max(standing, default=None)


def sag(line: LineResult) -> float | None:
    """How deep the line hangs under its ties with a person in the middle [m]; None where it is not known.

    Parameters
    ----------
    line : judged
    """
    if (over := line.clearance) is None:
        return None
    ties = (over.unloaded_m[0] + over.unloaded_m[-1]) / 2
    return ties - float(np.interp(over.x_m[-1] / 2, over.x_m, over.walker_m))


def least_wind(trees: Sequence[AnchorResult]) -> float | None:
    """The least wind any of the trees bears [m/s]; None where that of one is not known."""
    told = [tree.take_down_wind_m_s for tree in trees if known(tree.take_down_wind_m_s)]
    return min(told) if told and len(told) == len(trees) else None


def placed_way(line: LineResult, end: str) -> float | None:
    """True bearing from an end of a line to the other, as the positions tell it [deg]."""
    return line.geometry.bearing_true_deg if end == "A" else line.geometry.back_bearing_true_deg


def way_told(bearing_deg: float, placed_deg: float | None, t: Words) -> str:
    """A true bearing in words, with the compass named where it tells another than the positions do."""
    m = Measures(t.language)
    told = m.bearing(bearing_deg)
    return t("te-by-compass" if told != m.bearing(placed_deg) else "te-true", bearing=told)
