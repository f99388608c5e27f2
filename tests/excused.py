"""The few cases in which a record made worse may get a better answer, with reasons: `from excused import ...`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from excuse_bounds import (
    DRIED,
    added_by_their_ways,
    bark_read_beyond,
    caught_softer,
    crown_guessed,
    eased_to_a_pass,
    ends_of,
    filled_crown,
    filled_height,
    gentler_ground,
    has_room_to_hang_lower,
    is_squat,
    longer_leash,
    lost,
    lower_tree,
    one_step,
    over_two_grounds,
    past_the_thinner,
    pulls_less,
    read_thinner,
    slopes,
    stands_alike,
    told_about,
    told_how,
    went,
)
from kindest_said import unsettled
from worse import number_of
from worse_pairs import Pair

from siteassess.advice.results import LineResult
from siteassess.mechanics.rootplate import SHALLOW_SOIL_FACTOR


@dataclass(frozen=True)
class Excuse:
    reason: str
    holds: Callable[[Pair, str, str, object, object], bool]


def _reaches_ground(answer: LineResult) -> bool:
    return answer.clearance is not None and answer.clearance.touches


def _found(answer: LineResult, where: str, code: str) -> bool:
    """Whether an end is told a finding."""
    return any(one.code == code for end in answer.anchors if where in ("line", end.end) for one in end.findings)


def _shallow(tree: dict) -> bool:
    ground = tree.get("ground", {})
    return ground.get("shallow") == "yes" or ground.get("texture") == "rock"


def _tilt_read(pair: Pair, where: str) -> bool:
    """Whether a trial load weighs in what a root plate bears: by its tilt only."""
    return any("tilt" in tree.get("trial", {}) for *_, tree, _ in ends_of(pair, where))


def _link_near(pair: Pair, where: str) -> bool:
    """Whether a link sits within two diameters of a trunk's centre."""
    plan = pair.before.anchors["AB".index(where)].protection
    return bool(plan) and plan.link_distance_m < 2 * plan.trunk_diameter_m


def _leans_with_less(pair: Pair, where: str, before: float, after: float) -> bool:
    """Whether a use fell by no more than the weight of a leaning trunk that is so much thinner."""
    for *_, tree, thin in ends_of(pair, where):
        share = number_of(thin["trunk"][0]["girth"]) / number_of(tree["trunk"][0]["girth"])
        if share < 1 and number_of(tree.get("lean", "0 deg")) > 0:
            return after > before * share**3
    return False


def _keeps_its_tie(pair: Pair, where: str) -> bool:
    return len({made["lines"][0][where.lower()]["tie_height"] for made in (pair.made, pair.changed)}) == 1


HARDER_PULL = ("more pull", "heavier walker", "more people", "stiffer webbing", "bounced", "longer leash", "higher tie",
               "wider span", "withheld: walkers' mass", "withheld: walkers of the line",
               "withheld: walkers' movement")  # fmt: skip

DISAGREE = {"agreement", "bearing", "distance"}  # what is told of where readings of a line's place contradict
_BY_TILT = {"root plate", "wind", "slope"}  # what the tilt of a trial load tells more of
GEAR_UNSAID = tuple(f"withheld: {name}" for name in ("gear place", "gear kind", "gear knot", "sling choke_angle",
                    "sling off_middle", "sling wrap", "sling link_distance"))  # fmt: skip

EXCUSED = (
    Excuse("unsettled: with what was withheld at its kindest the place is not left", unsettled),
    Excuse("a height filled in is lower than nine in ten of its kind, rejects none: this one was lower, or taller yet",
           lambda pair, what, where, before, after: pair.worse == "withheld: height"
           and filled_height(pair, what, where, before, after)),
    Excuse("a crown filled in is wider than nine in ten of its kind, and this one was wider still",
           lambda pair, what, where, before, after: pair.worse == "withheld: crown_spread" and what == "word"
           and went(pair, where, before, {"wind", "wind exceeded"}) and filled_crown(pair, where)),
    Excuse("a crown nobody paced may be narrower than the one filled in, which rejects nothing",
           lambda pair, what, where, before, after: pair.worse == "withheld: crown_spread" and what == "word"
           and (before, after) == ("leave it", "cannot say") and crown_guessed(pair, where)),
    Excuse("a use that rests on stand-ins stands beside a word that says so",
           lambda pair, what, where, before, after: pair.worse.startswith("withheld") and what != "word"
           and pair.after.anchors["AB".index(where)].verdict in ("cannot say", "leave it")),
    Excuse("a copied trunk may have grown or be another tree's: no limit on it rejects, and none lets it pass",
           lambda pair, what, where, before, after: what == "word"
           and pair.worse in ("trunk not taped", "withheld: another reading")
           and (before, after) == ("leave it", "cannot say")
           and any({one["how"] for one in copied["trunk"]} == {"copied"} for *_, copied in ends_of(pair, where))),
    Excuse("an unnamed walker weighs 100 kg, and this one weighed more",
           lambda pair, what, where, before, after: pair.worse in ("withheld: walkers of the line",
                                                                   "withheld: walkers' mass")
           and number_of(pair.made["lines"][0]["walkers"]["mass"]) > 100
           and (one_step(before, after) if what == "word" else after > before * (
               100 / number_of(pair.made["lines"][0]["walkers"]["mass"])) ** 1.5)),
    Excuse("wetness not looked at counts as wet, and this ground stood in water: asked for as a condition",
           lambda pair, what, where, before, after: pair.worse in ("withheld: ground wetness", "withheld: ground")
           and (after != "suits" if what == "word" else after > before * DRIED)
           and any(tree.get("ground", {}).get("wetness") == "standing water"
                   and "wetness" not in without.get("ground", {}) for *_, tree, without in ends_of(pair, where))),
    Excuse("the distance by positions stands in for the tape, some centimetres off",
           lambda pair, what, where, before, after: pair.worse == "withheld: span of the line" and what != "word"
           and after > before * 0.98),
    Excuse("no sling was planned: the program proposes its own, as a condition",
           lambda pair, what, where, before, after: pair.worse in (
               "withheld: sling", "withheld: sling wrap", "withheld: sling width") and (
               what == "care_use" or after != "suits")),
    Excuse("no distance of the link was planned: the usual one is taken, and asked for where a nearer one tells",
           lambda pair, what, where, before, after: pair.worse == "withheld: sling link_distance" and (
               what != "word" or after == "suits if"
               or before == "cannot say" and "bark" in told_about(pair.before, where)
               or _found(pair.before, where, "link-in-the-pad") and went(pair, where, before, {"tie"}))),
    Excuse("a backup whose length or stuff nobody said is to be written down and its catch judged: a condition",
           lambda pair, what, where, before, after: pair.worse.startswith("withheld: backup ")
           and pair.worse != "withheld: backup of the line"
           and bool({"backup", "load"} & told_about(pair.after, "line"))  # told once the pull of the line is known
           and (after if what == "word" else pair.after.verdict) != "suits"),
    Excuse("a sign nobody looked for is a condition to look for it, and this one was seen and wants more",
           lambda pair, what, where, before, after: pair.worse in (
               "softer sign", "withheld: hollow", "withheld: softer_signs", "withheld: softer_signs hollow_sound")
           and (after if what == "word" else pair.after.anchors["AB".index(where)].verdict) != "suits"),
    Excuse("a power line nobody looked for is a condition to look up for one, and this one was seen and wants more",
           lambda pair, what, where, before, after: pair.worse == "withheld: power_line of the line"
           and (what, after) == ("word", "suits if") and "power line" in told_about(pair.after, "line")),
    Excuse("how deep the soil is was not said: where the word hangs on it, that it is not shallow is a condition",
           lambda pair, what, where, before, after: pair.worse in (
               "withheld: ground shallow", "withheld: ground texture", "withheld: ground")
           and any(_shallow(tree) and not _shallow(without) for *_, tree, without in ends_of(pair, where))
           and (after != "suits" if what == "word" else after > before * SHALLOW_SOIL_FACTOR.value * 0.999)),
    Excuse("what a tree or its ground is, nobody said: taken for the usual, and told so",
           lambda pair, what, where, before, after: pair.worse in (
               "withheld: status", "withheld: life_stage", "withheld: ground texture", "withheld: ground bare",
               "withheld: ground") and what == "word" and before == "suits if"
           and lost(pair, where) <= {"standing of the tree", "life stage", "soil", "root zone"}),
    Excuse("a crown base nobody read is a condition to be above the tie, and this one was below it",
           lambda pair, what, where, before, after: pair.worse == "withheld: crown_base" and what == "word"
           and after == "suits if"),
    Excuse("a day is chosen, not looked at: with none the answer is for the day of the survey, and says so",
           lambda pair, what, where, before, after: pair.worse.startswith("withheld: planned") and what != "hold_use"
           and (what != "word" or one_step(before, after) and (
               pair.worse == "withheld: planned until" or after != "suits"))),
    Excuse("what nobody said of a piece of gear is taken for the usual: where more hangs on it, that is a condition",
           lambda pair, what, where, before, after: pair.worse in GEAR_UNSAID and what == "word" and where == "line"
           and after != "suits" and any("unsaid" in one.code for one in pair.after.findings if one.about == "gear")),
    Excuse("a trial load is done by choice: one nobody told of, or whose reading nobody took, counts for nothing",
           lambda pair, what, where, before, after: pair.worse.startswith("withheld: trial") and (
               _tilt_read(pair, where) if what == "hold_use" else what == "word" and went(
                   pair, where, before, {"trial load"} | (_BY_TILT if _tilt_read(pair, where) else set()))
               and (pair.worse not in ("withheld: trial moved", "withheld: trial tilt") or after != "suits"))),
    Excuse("a height for the feet to keep is wished for, not looked at: without one our own margin is kept",
           lambda pair, what, where, before, after: pair.worse == "withheld: keep_clear of the line"
           and (what, where, before) == ("word", "line", "suits if") and lost(pair, where) <= {"ground"}),
    Excuse("a hammock is pulled taut by choice: one nobody says it of hangs slack, as hammocks do",
           lambda pair, what, where, before, after: pair.worse == "withheld: standing of the line"
           and pair.made["lines"][0]["use"] == "hammock" and pulls_less(pair, what, where, before, after)),
    Excuse("how long a sling has to be is told, and one too short does not go round, whatever nobody said of it",
           lambda pair, what, where, before, after: pair.worse == "withheld: sling length"
           and what == "word" and before == "suits if" and lost(pair, where) <= {"tie"}),
    Excuse("gear nobody rated is not checked, and every answer says so",
           lambda pair, what, where, before, after: pair.worse in (
               "withheld: gear rating", "withheld: gear of the line", "withheld: webbing strength",
               "withheld: sling rating", "withheld: webbing of the line")
           and what == "word" and went(pair, where, before, {"gear", "webbing"})),
    Excuse("what a piece of gear must bear is told once the pull is known: it is not tried at the least pull",
           lambda pair, what, where, before, after: pair.worse.startswith("withheld") and what == "word"
           and where == "line" and (before, after) == ("leave it", "cannot say")
           and "load" in told_about(pair.after, where)
           and {one.about for one in pair.before.findings if one.effect == "leave it"} == {"gear"}),
    Excuse("a harder pull presses the sling harder against the bark, and it slides less along the stem",
           lambda pair, what, where, before, after: pair.worse in (
               *HARDER_PULL, "withheld: sling link_distance") and what == "word"
           and (before, after) == ("suits if", "suits") and "creep" in told_about(pair.before, where)
           and "creep" not in told_about(pair.after, where)),
    Excuse("a bark nobody read is as thin, and the wood under it as thin, as is known of its kind: it was read beyond",
           lambda pair, what, where, before, after: pair.worse in ("withheld: bark thickness", "withheld: bark")
           and bark_read_beyond(pair, what)),
    Excuse("a softer line sags below where its backup hangs, a shorter leash gives less: the catch is a little harder",
           lambda pair, what, where, before, after: pair.worse in (
               "more pull", "stiffer webbing", "longer leash") and what != "word"
           and caught_softer(pair, where, before, after)),
    Excuse("a link said to sit within trunk or pad was misread, and beside a thinner one it may have been read right",
           lambda pair, what, where, before, after: what == "word"
           and (pair.worse in ("thinner trunk", "withheld: padding") or pair.worse in ("thinner pad", "trunk not taped")
                and went(pair, where, before, {"tie", "bark", "trunk size"}))
           and before == "cannot say" and _found(pair.before, where, "link-in-the-pad")
           and not _found(pair.after, where, "link-in-the-pad")),
    Excuse("a trench that cuts a thick trunk's roots may lie beyond those of a thinner one, which reach less far",
           lambda pair, what, where, before, after: pair.worse == "thinner trunk" and what == "word"
           and before == "cannot say" and past_the_thinner(pair, where)
           and went(pair, where, before, {"root plate", "wind", "roots"})),
    Excuse("of readings that contradict each other, or how good they were, one was left out",
           lambda pair, what, where, before, after: pair.worse in (
               "withheld: position", "withheld: position accuracy", "withheld: span of the line",
               "withheld: compass of the line")
           and bool(DISAGREE & told_about(pair.before, "line")) and not eased_to_a_pass(pair, where)
           and (before == "cannot say" and (where != "line" or lost(pair, where) <= DISAGREE) if what == "word"
                else after > before * 0.7)),
    Excuse("a tape of the ground at a foot that lies off this foot is read wrong: untaped, the ground is asked for",
           lambda pair, what, where, before, after: pair.worse == "withheld: ground of the line"
           and (what, where, before, after) == ("word", "line", "cannot say", "suits if")
           and "ground-foot-apart" in {one.code for one in pair.before.findings}
           and went(pair, where, before, {"ground"}) and "ground" in told_about(pair.after, where)),
    Excuse("of two sizes that no taper explains the thick one is a guess now, or thinner: no new tape is asked for",
           lambda pair, what, where, before, after: pair.worse in ("trunk not taped", "thinner trunk")
           and (what, before, after) == ("word", "suits if", "suits") and lost(pair, where) == {"trunk size"}
           and _found(pair.before, where, "steeper-than-any-taper")),
    Excuse("positions further apart tell which way a line pulls, and lines of one tree are not added as if one way",
           lambda pair, what, where, before, after: pair.worse == "wider span" and what == "hold_use"
           and after > before / 2 and added_by_their_ways(pair, where)),
    Excuse("a line said to hang over two grounds is judged over the worse: with one unsaid the other alone counts",
           lambda pair, what, where, before, after: pair.worse in (
               "withheld: open_below of the line", "withheld: ground of the line")
           and over_two_grounds(pair.made["lines"][0])
           and (one_step(before, after) if what == "word" else after > before * 0.6)),
    Excuse("a bank that the tape under a hammock shows, and the tree's own record denies: untaped, it is asked for",
           lambda pair, what, where, before, after: pair.worse == "withheld: ground of the line" and where != "line"
           and what == "word" and _found(pair.before, where, "bank-by-the-tape") and after != "suits"
           and "ground-under-hammock-unsaid" in {one.code for one in pair.after.findings}),
    Excuse("a slope that the tape of a line shows, and the tree's own record denies: untaped, the ground is asked for",
           lambda pair, what, where, before, after: pair.worse == "withheld: ground of the line" and where != "line"
           and (what, before, after) == ("word", "cannot say", "suits if") and went(pair, where, before, {"slope"})
           and _found(pair.before, where, "slope-by-the-tape") and "ground" in told_about(pair.after, "line")),
    Excuse("a webbing that no table lets stretch so far is refused, and a stiffer one is not",
           lambda pair, what, where, before, after: pair.worse == "stiffer webbing" and what == "word"
           and before == "cannot say" and "webbing" in told_about(pair.before, where)),
    Excuse("the ground not taped, or its tape without a span to lie in, the line is taken level: one end pulls less",
           lambda pair, what, where, before, after: what != "word" and after > before * 0.7 and (
               pair.worse == "withheld: ground of the line"
               or pair.worse == "withheld: span of the line" and bool(pair.made["lines"][0]["ground"]))),
    Excuse("a line that reached the ground hangs higher or tighter",
           lambda pair, what, where, before, after: pair.worse in ("higher tie", "more pull", "stiffer webbing")
           and (what, where) == ("word", "line") and before != "leave it" and _reaches_ground(pair.before)
           and not _reaches_ground(pair.after) and went(pair, where, before, {"ground"})),
    Excuse("one reading of a trunk is enough, carried by its taper, and another had shown it thinner",
           lambda pair, what, where, before, after: pair.worse == "withheld: another reading"
           and read_thinner(pair, where)),
    Excuse("the trunk was read again nearer to the higher tie, thicker than by its taper or with a better tape",
           lambda pair, what, where, before, after: pair.worse == "higher tie" and what != "word"
           and any(len(tree["trunk"]) > 1 for tree in pair.made["anchors"])),
    Excuse("the way of the pull by positions stands in for the compass, some degrees off",
           lambda pair, what, where, before, after: pair.worse == "withheld: compass of the line" and what != "word"
           and after > before * 0.98),
    Excuse("a link nobody said to be fixed off the middle of its legs slides there, and presses both alike",
           lambda pair, what, where, before, after: pair.worse == "withheld: sling off_middle" and (
               what == "care_use"
               or what == "word" and (lost(pair, where) == {"bark"} if after == "suits" else
                                      after == "suits if" and "bark" in told_about(pair.before, where)))),
    Excuse("a link fixed off the middle divides the pull more evenly between legs that open wider",
           lambda pair, what, where, before, after: pair.worse == "link nearer" and what == "care_use"
           and after > before * 0.85 and "off_middle" in pair.made["lines"][0][where.lower()].get("sling", {})),
    Excuse("a link that sits near opens its legs less round a thinner trunk, and each of them pulls less",
           lambda pair, what, where, before, after: pair.worse in ("thinner trunk", "lower tree", "higher tie") and (
               what == "care_use" and after > before * 0.9 and _link_near(pair, where)
               or what == "word" and where == "line" and (before, after) == ("leave it", "cannot say")
               and lost(pair, where) <= {"gear"} and any(_link_near(pair, end) for end in "AB"))),
    Excuse("a hammock longer than any we judge is none, and its pull is not known",
           lambda pair, what, where, before, after: pair.worse in (
               "wider span", "withheld: span of the line") and "load" in told_about(pair.after, where)
           and (before, after) == ("leave it", "cannot say")),
    Excuse("a sound wall that leaves no hollow was not measured, and a thinner one may have been",
           lambda pair, what, where, before, after: pair.worse == "thinner wall" and what == "word"
           and before == "cannot say" and "hollow" in told_about(pair.before, where)),
    Excuse("an edge seen near and not listed is asked for: listed, it is judged where it lies",
           lambda pair, what, where, before, after: pair.worse in ("nearer edge", "an edge near")
           and (what, before) == ("word", "cannot say") and lost(pair, where) == {"roots"}
           and _found(pair.before, where, "near-edge-not-listed")),
    Excuse("a trial load tells of the roots whatever the trunk's size, and a thinner tree leans with less weight",
           lambda pair, what, where, before, after: pair.worse == "thinner trunk" and what == "hold_use"
           and any("trial" in tree for *_, tree, _ in ends_of(pair, where))
           and _leans_with_less(pair, where, before, after)),
    Excuse("how deep it is open under a line nobody said is a condition that it is not deep",
           lambda pair, what, where, before, after: pair.worse == "withheld: open_below of the line"
           and what == "word" and where == "line" and after == "suits if"),
    Excuse("a leash nobody measured is 1.8 m long, and this one was longer",
           lambda pair, what, where, before, after: pair.worse in ("withheld: walkers' leash",
                                                                   "withheld: walkers of the line")
           and longer_leash(pair, what, before, after)),
    Excuse("a longer line is softer: at the same pull with nobody on it, a walker pulls it less",
           lambda pair, what, where, before, after: pair.worse == "wider span" and what != "care_use"
           and stands_alike(pair) and pulls_less(pair, what, where, before, after)),
    Excuse("one tie higher, the line slopes otherwise, and pulls a hundredth less at the other end",
           lambda pair, what, where, before, after: pair.worse == "higher tie" and what != "word"
           and after > before * (0.98 if _keeps_its_tie(pair, where) else 0.999)),
    Excuse("from tie to tie of unlike height a wider span slopes less, and one end pulls a hundredth less",
           lambda pair, what, where, before, after: pair.worse == "wider span" and what != "word"
           and after > before * 0.985 and slopes(pair.made["lines"][0])),
    Excuse("the other tie not read, the line is taken level, and pulls a hundredth less",
           lambda pair, what, where, before, after: pair.worse == "withheld: tie_height" and what != "word"
           and after > before * 0.99),
    Excuse("the other tie or ground not read, the line is taken level, and a sling that crept at the lower lies still",
           lambda pair, what, where, before, after: what == "word"
           and (before, after) == ("suits if", "suits") and lost(pair, where) == {"creep"}
           and (pair.worse == "withheld: tie_height" and pair.after.verdict in ("cannot say", "leave it")
                or pair.worse == "withheld: ground of the line" and where != "line"  # which is asked for its ground
                and "ground" in told_about(pair.after, "line"))),
    Excuse("the same heights taped over a wider span slope less, and the roots hold more on gentler ground",
           lambda pair, what, where, before, after: pair.worse == "wider span" and what != "care_use"
           and gentler_ground(pair, what, where, before, after)),
    Excuse("the more of what turns a leaning tree is pull, the less its doubtful lean scatters: by a thousandth",
           lambda pair, what, where, before, after: pair.worse in HARDER_PULL and what == "hold_use"
           and before > 1 and after > before * 0.999
           and any(number_of(tree.get("lean", "0 deg")) > 0 for *_, tree, _ in ends_of(pair, where))),
    Excuse("of two ends that cannot both be mended neither is told how: where no other asks, one is; the line is left",
           lambda pair, what, where, before, after: what == "word" and told_how(pair, where)),
    Excuse("a line tied higher or pulled harder clears its ground with one end tied lower, as that end is told",
           lambda pair, what, where, before, after: pair.worse in ("higher tie", "more pull") and what == "word"
           and (before, after) == ("leave it", "cannot say") and has_room_to_hang_lower(pair, where)),
    Excuse("what a line may meet whose anchor has no place is not known: that it lies clear of that is a condition",
           lambda pair, what, where, before, after: pair.worse == "withheld: position"
           and (what, where, before) == ("word", "line", "leave it") and went(pair, where, before, {"surroundings"})
           and "meetings-not-checked" in {one.code for one in pair.after.findings}),
    Excuse("a fork said to lie above the tie, of a height not read, is judged as at it: this one was read below",
           lambda pair, what, where, before, after: pair.worse == "withheld: fork_height" and what == "word"
           and (before, after) == ("suits if", "suits") and lost(pair, where) == {"stems"}
           and _found(pair.before, where, "limb-as-read")
           and any(tree["stems"] == "fork above tie" for *_, tree, _ in ends_of(pair, where))),
    Excuse("a hammock tied higher hangs steeper and pulls less",
           lambda pair, what, where, before, after: pair.worse == "higher tie"
           and pair.made["lines"][0]["use"] == "hammock" and pulls_less(pair, what, where, before, after)),
    Excuse("a height filled in goes by the trunk: a thinner tree is taken lower, and leans with less weight",
           lambda pair, what, where, before, after: pair.worse == "thinner trunk" and what == "hold_use"
           and any("height" not in tree for *_, tree, _ in ends_of(pair, where))
           and _leans_with_less(pair, where, before, after)),
    Excuse("under 25 diameters of height the sum of a root plate underrates it: nothing is rejected by it",
           lambda pair, what, where, before, after: pair.worse == "lower tree" and what == "word"
           and (before, after) == ("leave it", "cannot say") and "root plate exceeded" in lost(pair, where)
           and is_squat(pair, where)),
    Excuse("a lower tree weighs less where it leans, catches less wind, is less slender, and is what its trunk bears",
           lambda pair, what, where, before, after: pair.worse == "lower tree"
           and lower_tree(pair, what, where, before, after)),
)  # fmt: skip
"""Each of these is asked for by name in `tests/advice/test_dominance.py`, so that none outlives its reason."""
