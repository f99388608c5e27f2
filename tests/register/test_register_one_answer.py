"""One answer to "may we rig here": the same in every channel, and no bad news ever makes it kinder."""

from __future__ import annotations

import ast
import datetime
import string
from pathlib import Path
from types import SimpleNamespace

import made_registers as made
import pytest

from siteassess.errors import FaultyInput, StoreError
from siteassess.reference.tables import rows as table
from siteassess.register import actions, answer, listing, rota
from siteassess.register.answer import MAY, MAY_NOT, SURVEY_HOLDS_DAYS
from siteassess.register.due import due
from siteassess.register.fold import Subject
from siteassess.register.merge import merge_store
from siteassess.register.reasons import reason
from siteassess.register.share import make_copy
from siteassess.register.standing import Around

REGISTER = Path(answer.__file__).parent
# the thousand are made by `python -m tests.bench one_answer`
SEEDS = 40


@pytest.fixture(scope="module")
def some(tmp_path_factory):
    """Registers made by chance."""
    folder = tmp_path_factory.mktemp("made")
    registers = [made.Made(folder, seed) for seed in range(SEEDS)]
    yield registers
    for one in registers:
        one.close()


def test_every_channel_gives_the_same_answer(some):
    words = []
    for one in some:
        said = made.channels(one)
        assert not made.disagreements(said), one.seed
        words += [word for word, _ in said["list"].values()]
        assert all(set(said[c]) == set(one.lines) for c in ("list", "show", "rota", "card", "officer csv"))
    # chance has made both
    assert 10 < words.count(MAY) < len(words) - 10


def test_a_channel_that_decides_by_itself_is_found(some, monkeypatch):
    def by_status_alone(subject, around, on, doubts, **more):
        found = answer.answer(subject, around, on, doubts, **more)
        is_open = found.standing.status in answer.OPEN
        return answer.MayRig(MAY if is_open else MAY_NOT, (), (), None, found.marks, is_open, found.standing)

    monkeypatch.setattr(rota, "answer", by_status_alone)
    assert any(made.of_rota(one) != made.of_list(one) for one in some)


def test_no_single_bad_fact_makes_an_answer_kinder(some):
    open_ones = [one for one in some if any(word == MAY for word, _ in made.of_list(one).values())][:4]
    closed = [one for one in some if one not in open_ones][:2]
    turned = 0
    for one in (*open_ones, *closed):
        before = made.of_list(one)
        for fact in made.bad_facts(one):
            with one.tried() as tried:
                made.bad_facts(tried)[fact]()
                after = made.of_list(tried)
            for name, said in before.items():
                assert not made.kinder(said, after[name]), (one.seed, fact)
                turned += said[0] == MAY and after[name][0] == MAY_NOT
    # bad facts do close lines
    assert turned > 40


def _may(group, line="L1", on=None):
    found = (row.as_dict() for row in listing.listed_rows(group.store, on or group.today))
    return next(row for row in found if row["kind"] == "line" and row["label"] == line)


def _codes(row):
    return [why["code"] for why in row["may_rig_reasons"]]


def _assess(group, word, on=None, line="line L1"):
    return group.do(actions.keep_answer, group[line], {"verdict": word}, on or group.today)


# -- the verdict, and approving against it --


@pytest.mark.parametrize("word", ["leave it", "cannot say"])
def test_a_line_whose_assessment_is_against_it_is_closed(group, word):
    group.activate()
    assert _may(group)["may_rig_now"] == MAY
    _assess(group, word)
    found = _may(group)
    assert found["may_rig_now"] == MAY_NOT and _codes(found) == ["verdict"] and word in found["may_rig_why"]
    _assess(group, "suits if", group.today + datetime.timedelta(days=1))
    # dated ahead it does not open the line today
    assert _may(group)["may_rig_now"] == MAY_NOT
    assert _may(group, on=group.today + datetime.timedelta(days=1))["may_rig_now"] == MAY


def test_an_assessment_dated_ahead_that_is_against_a_line_closes_it_today(group):
    group.activate()
    _assess(group, "suits", group.today)
    _assess(group, "leave it", group.today + datetime.timedelta(days=1))
    assert _may(group)["may_rig_now"] == MAY_NOT and _codes(_may(group)) == ["verdict"]


def test_of_two_surveys_side_by_side_the_older_counts_and_an_undated_one_above_all():
    around = Around(lambda name: None, lambda name: ())

    def day(*surveyed):
        versions = tuple(SimpleNamespace(body={"surveyed": each} if each else {}) for each in surveyed)
        return answer.survey_day(Subject("a", "anchor", versions), around)

    assert day("2026-04-01", "2024-04-01") == day("2024-04-01", "2026-04-01") == "2024-04-01"
    assert day("2026-04-01", None) is None


def test_a_stop_sign_in_either_of_two_surveys_side_by_side_counts():
    clean = SimpleNamespace(name="clean", body={"record": {"code": "T1"}})
    heaved = SimpleNamespace(name="heaved", body={"record": {"code": "T1", "signs": {"soil_heave": "yes"}}})
    line = Subject("l", "line", (SimpleNamespace(body={"anchors": ["a"]}),))
    for versions in ((clean, heaved), (heaved, clean)):
        around = Around({"a": Subject("a", "anchor", versions)}.get, lambda name: ())
        assert [(why.code, entry) for why, entry in answer.stop_signs(line, around)] == [("stop-sign", "heaved")]


def test_approving_against_it_needs_a_signed_reason_and_still_shows_it(group, tmp_path):
    for by in ("group", "owner"):
        group.mark(group["site"], by)
    _assess(group, "leave it")
    for to, who in (("surveyed", "Ada"), ("second look", "Ben")):
        group.move(group["line L1"], to, who)
    with pytest.raises(StoreError, match="says: leave it.*signed reason"):
        group.move(group["line L1"], "approved with conditions", "Ben")
    signed = actions.Signed("Cleo, coordinator", "the arborist's letter of 3 May")
    event = group.move(group["line L1"], "approved with conditions", "Ben", signed=signed)
    assert event.body["against"]["signed"] == "Cleo, coordinator"
    # opening it for the season needs no second signature
    group.move(group["line L1"], "active", "Ben")
    found = _may(group)
    assert found["may_rig_now"] == MAY and "approved-against" in _codes(found)
    for said in ("leave it", "Cleo, coordinator", "the arborist's letter of 3 May"):
        assert said in found["may_rig_why"]
    # members see what it was approved against, not who signed
    members = {f.code: f for f in make_copy(group.store, "members", group.today).features}
    assert "leave it" in members["L1"].may_rig_why and "Cleo" not in members["L1"].may_rig_why
    # a later assessment against it is a new thing
    _assess(group, "leave it")
    assert _may(group)["may_rig_now"] == MAY_NOT


def test_a_signed_reason_where_nothing_speaks_against_it_is_refused(group):
    group.mark(group["site"])
    group.move(group["line L1"], "surveyed")
    group.move(group["line L1"], "second look", "Ben")
    with pytest.raises(StoreError, match="nothing speaks against"):
        group.move(group["line L1"], "approved with conditions", "Ben", signed=actions.Signed("Cleo", "why not"))
    entries = {"entries": ["a" * 64], "why": "x", "signed": "y"}
    with group.store.change() as writer, pytest.raises(FaultyInput, match="signed reason only with an approval"):
        writer.add("move", group["line L1"], {"to": "draft", "seen": "surveyed", "against": entries}, who="A", why="b")


def test_a_correction_that_worsens_a_signed_verdict_needs_a_new_signature(group):
    entry = _assess(group, "cannot say")
    for by in ("group", "owner"):
        group.mark(group["site"], by)
    group.move(group["line L1"], "surveyed")
    group.move(group["line L1"], "second look", "Ben")
    for to in ("approved with conditions", "active"):
        signed = actions.Signed("Cleo", "looked at") if to.startswith("approved") else None
        group.move(group["line L1"], to, "Ben", signed=signed)
    assert _may(group)["may_rig_now"] == MAY
    group.do(actions.correct, entry.name, body={"date": group.today.isoformat(), "result": {"verdict": "leave it"}})
    assert _may(group)["may_rig_now"] == MAY_NOT


def test_what_only_one_of_two_copies_signed_is_not_signed(new_group, tmp_path):
    group = new_group()
    for by in ("group", "owner"):
        group.mark(group["site"], by)
    group.move(group["line L1"], "surveyed")
    group.move(group["line L1"], "second look", "Ben")
    other = made.Store.open(_copy_of(group, tmp_path))
    group.move(group["line L1"], "approved with conditions", "Ben")
    entry = _assess(group, "leave it")
    with other, other.change() as writer:
        merge_store_event(writer, group, entry)
        by = actions.By("Ben", "x")
        signed = actions.Signed("Cleo", "seen")
        actions.move(writer, group["line L1"], "approved with conditions", by, on=group.today, signed=signed)
    with made.Store.open(other.path) as other:
        merge_store(group.store, other)
    assert "verdict" in _codes(_may(group))


def _copy_of(group, folder):
    path = folder / "other.gpkg"
    group.store.db.execute("VACUUM INTO ?", (str(path),))
    return path


def merge_store_event(writer, group, entry):
    """Take in what the other copy wrote up to an entry."""
    for event in group.store.events():
        if not (event.kind == "move" and event.body["to"] == "approved with conditions"):
            writer.take(event)


# -- stop signs --


def _resurvey(group, park, date="2026-04-18", **signs):
    park["anchors"][0]["signs"] = signs
    park["survey"]["date"] = date
    group.do(actions.add_record, park)


def test_a_nest_or_a_posted_prohibition_is_never_signed_away(group, park):
    _resurvey(group, park, nest_in_use="yes", posted_no="yes", stem_crack="yes")
    for by in ("group", "owner"):
        group.mark(group["site"], by)
    group.move(group["line L1"], "surveyed")
    group.move(group["line L1"], "second look", "Ben")
    group.move(group["line L1"], "approved with conditions", "Ben", signed=actions.Signed("Cleo", "looked at"))
    found = _may(group)
    assert found["may_rig_now"] == MAY_NOT
    assert {"nest-in-use", "posted-no", "approved-against"} == set(_codes(found))
    # a survey that no longer sees them, and a second look at it
    _resurvey(group, park, stem_crack="no")
    group.move(group["line L1"], "second look", "Ben")
    for to in ("approved with conditions", "active"):
        group.move(group["line L1"], to, "Ben")
    assert _may(group)["may_rig_now"] == MAY


def test_members_are_not_told_of_a_nest_nor_where_it_is(group, park):
    group.activate()
    _resurvey(group, park, nest_in_use="yes", dead_tree="yes")
    copied = make_copy(group.store, "members", group.today)
    (line,) = [f for f in copied.features if f.id == group["line L1"]]
    assert line.may_rig_now == MAY_NOT and "kept-back" in line.may_rig_codes
    assert "nest" not in line.may_rig_why and "T01" not in line.may_rig_why and "dead" not in line.may_rig_why
    (line,) = [f for f in make_copy(group.store, "officer", group.today).features if f.id == group["line L1"]]
    assert "nest" in line.may_rig_why and "dead tree" in line.may_rig_why


# -- rest, survey, permission, season --


@pytest.mark.parametrize("thing", ["site", "anchor T02", "line L1"])
def test_a_rest_closes_the_line_in_the_list_too(group, thing):
    group.activate()
    group.log(group[thing], what="rest", date="2026-04-30", until="2026-05-31")
    assert _codes(_may(group)) == ["rest"]
    assert _may(group, on=datetime.date(2026, 6, 1))["may_rig_now"] == MAY


def test_an_old_survey_closes_the_line_until_somebody_looks_again(group, park):
    group.activate()
    for by in ("group", "owner"):
        group.mark(group["site"], by, expires="2029-12-31")
    first = datetime.date(2026, 4, 18)
    last = first + datetime.timedelta(days=SURVEY_HOLDS_DAYS)
    assert _may(group, on=last)["may_rig_until"] == last.isoformat()
    assert _codes(_may(group, on=first + datetime.timedelta(days=453))) == ["survey-old"] * 2
    # both trees of L1 want a look, each its own
    one = {**park, "anchors": park["anchors"][:1], "lines": [], "survey": {"by": "Ada", "date": "2027-05-01"}}
    group.do(actions.add_record, one)
    late = _may(group, on=last + datetime.timedelta(days=1))
    assert [(why["code"], why["part"]) for why in late["may_rig_reasons"]] == [("survey-old", "T02")]
    group.do(actions.add_record, {**park, "survey": {"by": "Ada", "date": "2027-05-01"}})
    assert _may(group, on=last + datetime.timedelta(days=1))["may_rig_now"] == MAY
    wanted = {item.date for item in due(group.store, last, 700) if item.says == "new survey"}
    assert wanted == {(datetime.date(2027, 5, 1) + datetime.timedelta(days=SURVEY_HOLDS_DAYS)).isoformat()}


def test_a_survey_of_no_day_or_of_a_day_to_come_is_no_survey(new_group, park):
    group = new_group("undated", {**park, "survey": None})
    group.activate()
    assert _codes(_may(group)) == ["survey-undated"] * 2
    group = new_group("ahead", {**park, "survey": {"by": "Ada", "date": "2026-06-01"}})
    group.activate()
    assert _codes(_may(group)) == ["survey-ahead"] * 2


def test_the_permission_in_the_survey_ends_too(new_group, park):
    park["site"]["permission"] = {"basis": "permit", "expires": "2026-05-31"}
    group = new_group("permit", park)
    group.activate()
    assert _may(group)["may_rig_until"] == "2026-05-31"
    assert _codes(_may(group, on=datetime.date(2026, 6, 1))) == ["permission-ended"]


def test_the_breeding_season_asks_for_a_look_at_nests(group, park):
    group.activate()
    (season,) = [why for why in _may(group)["may_rig_reasons"] if why["code"] == "nest-season"]
    # 15 March to 15 July in the north: Rosenheim, as read for the table of seasons
    assert (season["start"], season["end"]) == ("03-15", "07-15")
    assert "nest-season" not in _codes(_may(group, on=datetime.date(2026, 11, 1)))
    park["site"]["country"] = "DE"
    group.do(actions.add_record, park)
    # with the law's own season, BNatSchG 39(5): 1 March to 30 September
    assert "nest-season" in _codes(_may(group, on=datetime.date(2026, 9, 30)))
    assert "nest-season" not in _codes(_may(group, on=datetime.date(2026, 10, 1)))


@pytest.mark.parametrize(("lat", "month"), [(-50.0, 11), (50.0, 5)])
def test_the_season_turns_round_in_the_south(new_group, park, lat, month):
    for anchor in park["anchors"]:
        anchor["position"]["fixes"][0]["lat"] = lat
    group = new_group("half", park)
    group.activate()
    for by in ("group", "owner"):
        group.mark(group["site"], by, expires="2027-12-31")
    for each in (5, 11):
        assert ("nest-season" in _codes(_may(group, on=datetime.date(2026, each, 1)))) == (each == month)


def test_a_mark_that_only_begins_later_is_none_yet(group):
    group.activate()
    group.mark(group["site"], "owner", date="2026-06-01")
    assert _may(group)["may_rig_now"] == MAY_NOT and "mark-ahead" in _codes(_may(group))
    assert _may(group, on=datetime.date(2026, 6, 1))["may_rig_now"] == MAY


# -- codes and words --


def test_every_code_has_its_wording_with_its_values_and_no_wording_is_left_over():
    used: dict[str, set[frozenset]] = {}
    for path in REGISTER.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "reason":
                first = node.args[0]
                codes = [first.value] if isinstance(first, ast.Constant) else []
                if isinstance(first, ast.Name) and first.id == "code":
                    codes = list(answer.NEVER_SIGNED_AWAY.values())
                for code in codes:
                    used.setdefault(code, set()).add(frozenset(word.arg for word in node.keywords))
    told = {row["key"]: row for row in table("register_texts") if row["group"] in ("reason", "copy")}
    assert set(told) == set(used)
    for code, row in told.items():
        named = {name for _, name, _, _ in string.Formatter().parse(row["en"]) if name}
        assert used[code] >= {frozenset(named)} or all(values >= named for values in used[code]), code


def test_a_reason_in_another_language_translates_our_words_only():
    from siteassess.papers.language import words_in

    german = words_in("de")
    assert german.why([reason("rest", part="active", day="2026-06-01")]) == "active ruht bis 2026-06-01"
    assert "nicht" not in german.why([reason("status", word="draft")]) and "Entwurf" in german.why(
        [reason("status", word="draft")]
    )
    twice = reason("due-settle", what=reason("mark-twice", by="owner"))
    assert german.why([twice]) == "klären, worin zwei Kopien sich unterscheiden: Zustimmung (Eigentümer)"
    assert twice.as_dict() == {
        "code": "due-settle", "what": "owner's mark", "says": "settle two copies that differ: owner's mark",
    }  # fmt: skip
