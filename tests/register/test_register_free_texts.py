"""Texts people typed: a copy cut for its readers is still read, and no text in it names a hidden tree or a person."""

from __future__ import annotations

import copy
import datetime
import io
import json
import re
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st
from parks import data
from strategies import parts

from siteassess.advice.assess import assess
from siteassess.papers.card import card_page
from siteassess.papers.copy_page import copy_page
from siteassess.papers.from_register import line_standing
from siteassess.papers.handover import manner
from siteassess.records.anchor import ANCHOR_KINDS
from siteassess.records.line import Line
from siteassess.records.record import Record
from siteassess.records.site import Site
from siteassess.register import actions, privacy
from siteassess.register.bodies import checked
from siteassess.register.files import COPY_ENDINGS, bring_in, write_copy
from siteassess.register.fold import Subject
from siteassess.register.free_texts import GEAR_TABLES, KEPT_BACK, Unsaid, is_word_of
from siteassess.register.share import make_copy
from siteassess.register.store import Store

TODAY = datetime.date(2026, 5, 20)
BY = actions.By("Ada", "for the test")
NAME = "0" * 64


class Everything(Unsaid):
    """Keeps back every text there is: the worst that names can do to a record."""

    def kept_back(self, text):
        return True


PARTS = {"site": (Site,), "anchor": ANCHOR_KINDS.values(), "line": (Line,)}
DRAWN = st.one_of(parts(model).map(lambda part, kind=kind: (kind, part)) for kind in PARTS for model in PARTS[kind])
HELD = {"site": {}, "anchor": {"site": NAME}, "line": {"site": NAME, "anchors": [NAME, NAME]}}


@given(DRAWN, st.sampled_from((Unsaid(), Everything())), st.booleans())
def test_whatever_is_cut_of_a_record_the_rest_is_read_again(drawn, unsaid, sag):
    kind, record = drawn
    if kind == "line" and sag:
        record["standing"] = {"sag": "1.2 m", "sag_under": "80 kg"}
    record = checked(kind, HELD[kind] | {"record": record})["record"]
    for layer in ("members", "public") if kind == "site" else ("members",):
        seen = privacy.visible(record, layer, kind, unsaid=unsaid)
        if kind == "anchor":  # a copy tells a place by itself
            seen.pop("position", None)
        assert checked(kind, HELD[kind] | {"record": seen})["record"] == seen


def test_a_code_like_a_number_stays_and_a_withheld_text_that_is_needed_says_so(new_group, park, tmp_path):
    """A number of seven figures may be a phone's; as a code it is what its city calls a tree."""
    park["anchors"][0]["code"] = park["lines"][0]["a"]["anchor"] = "2015-1234567"
    park["anchors"][1]["species"] = {"name": "Acer, ask 0170 1234567", "certainty": "sure"}
    park["anchors"][1]["trunk"] = [{"girth": "1.234567 m", "read_at": "1.3001 m"}]
    park["anchors"][2] = {"kind": "other", "code": "T03", "what": "post, see https://x.example"}
    park["lines"][0]["standing"] = {"sag": "1.2 m", "sag_under": "80 kg", "how": "estimate"}
    park["lines"][1]["gear"] = [{"kind": "rope", "knot": "see https://x.example"}]
    group = new_group("one", park)
    copied = make_copy(group.store, "members", group.today)
    other = new_group("other", None)
    for number, ending in enumerate(COPY_ENDINGS):
        if ending == ".html":
            continue
        path = write_copy(group.store, copied, tmp_path / f"{number}{ending}")[0]
        report = bring_in(other.store, path, other.by(), other.today)
        assert not report["left_out"]
    taken = {f.code: f.record for f in make_copy(other.store, "officer", group.today).features}
    assert taken["T02"]["species"] == {"name": "unknown", "certainty": "sure"}
    assert taken["T02"]["trunk"][0]["girth"] == "1.234567 m"
    assert taken["T03"]["what"] == KEPT_BACK and taken["2015-1234567"]["code"] == "2015-1234567"
    # a knot nobody may name is still a knot, and weakens the rope
    assert taken["L2"]["gear"][0]["knot"] == KEPT_BACK and taken["L1"]["standing"] == {"how": "estimate"}


def test_members_read_words_of_a_table_and_no_others_where_a_table_has_the_words():
    seen = {path: asked for path, (layer, asked) in privacy._fields().items() if layer != "officer"}
    free = {path for path, asked in seen.items() if asked.kind == "text" and asked.table not in GEAR_TABLES}
    assert {path for path in free if path.startswith("line.")} == {"line.name"}
    for path, word, foreign in (
        ("line.webbing.kind", "polyester 50 mm", "Annika's polyester"),
        ("line.sections.held_by", "sewn eye", "sewn eye of Annika"),
        ("line.gear.knot", "none", "bowline on T7"),
        ("line.crew.stages.sheave", "good pulley", "Annika's good pulley"),
        ("line.a.padding.material", "Felt", "felt, Annika has it"),
        ("line.backup_line.kind", "HMPE", "the blue one"),
    ):
        assert is_word_of(seen[path].table, word), path
        for text, left in ((word, word), (foreign, KEPT_BACK)):
            record = text
            for step in reversed(path.split(".")[1:]):
                record = {step: record}
            shown = privacy.visible(record, "members", "line")
            assert json.dumps(left) in json.dumps(shown), path
    assert privacy.visible({"gear": [{"what": "Annika's ring", "kind": "other"}]}, "members", "line") == {
        "gear": [{"kind": "other"}]}  # fmt: skip


def _subject(**record):
    class Version:
        body = {"record": record}

    return Subject("x", versions=(Version(),))


@pytest.mark.parametrize(
    ("record", "text", "found"),
    [
        ({"code": "T07"}, "redirect on T7", True),
        ({"code": "T7"}, "beside t-007's root", True),
        ({"code": "T7"}, "beside T 7", True),
        ({"code": "T7"}, "beside T70, XT7", False),
        ({"code": "7"}, "7 m of rope, gate 7", False),
        ({"code": "7"}, "left of tree 7", True),
        ({"code": "7"}, "links von Baum 07", True),
        ({"code": "7"}, "beside #7", True),
        ({"code": "7"}, "from boulder 7", True),
        ({"code": "7"}, "am Anker 7", True),
        ({"code": "7"}, "au poteau 7", True),
        ({"code": "7"}, "junto al bloque 7", True),
        ({"code": "7"}, "a blocked 7 m", False),
        ({"id": "7"}, "unter Leine 7", True),
        ({"id": "7"}, "sous la ligne 7", True),
        ({"id": "7"}, "bajo la línea n.º 7", True),
        ({"code": "7"}, "arbre numéro 7", True),
        ({"code": "7"}, "leans 30°, 7 m off", False),
        ({"code": "A"}, "a gate", False),
        ({"code": "A"}, "tree A", True),
        ({"code": "X1", "tag": "4711"}, "plate 4711", True),
        ({"code": "X1", "name": "the Owl  Oak"}, "past the owl oak's foot", True),
        ({"code": "X1", "name": "Ulme"}, "an den Ulmen", False),
    ],
)
def test_a_hidden_name_is_found_however_it_is_written(record, text, found):
    assert Unsaid([_subject(**record)]).named_in(text) == found


SOWN = "under eibeQ9 of Annika"


def _every_text(kind: str) -> dict:
    """A part of a record with the hidden name in each of its texts."""
    out: dict = {}
    for path, (_, asked) in privacy._fields().items():
        steps = path.split(".")
        if steps[0] != kind or asked.kind != "text" or path in ("site.name", "site.country", "site.time_zone"):
            continue
        at = out
        for step in steps[1:-1]:
            at = at.setdefault(step, {})
        at[steps[-1]] = SOWN
    return out


def _sown() -> dict:
    made = copy.deepcopy(data())
    for code, lon in (("T3", 0.02), ("eibeQ9", 0.021)):
        tree = json.loads(json.dumps(made["anchors"][1]).replace("T2", code))
        tree["position"]["lon"] += lon
        made["anchors"].append(tree)
    made["anchors"][-1]["signs"]["nest_in_use"] = "yes"
    made["lines"].append(json.loads(json.dumps(made["lines"][0]).replace('"L1"', '"L2"').replace('"T2"', '"eibeQ9"')
                                    .replace('"T1"', '"T3"')))  # fmt: skip
    texts = _every_text("site")
    for key in ("landmarks", "surroundings", "surroundings_files", "rules"):
        texts.pop(key, None)
    made["site"] |= texts
    tree, line = _every_text("anchor"), _every_text("line")
    made["anchors"][0] |= {key: tree[key] for key in ("tag", "name", "notes", "source")}
    made["anchors"][0]["species"] |= tree["species"]
    made["anchors"][0]["stood"] = tree["stood"]
    made["lines"][0] |= {"name": SOWN, "notes": SOWN, "gear": [line["gear"]], "sections": [line["sections"]],
                         "backup_line": line["backup_line"],
                         "crew": {"people": 2, "stages": [{"ratio": 3, "sheave": SOWN}]}}  # fmt: skip
    made["lines"][0].pop("webbing")
    for end in "ab":
        made["lines"][0][end]["padding"]["material"] = SOWN
    return Record.model_validate(made).model_dump(mode="json", exclude_unset=True)


def _unpacked(path) -> str:
    raw = path.read_bytes()
    if path.suffix == ".zip":
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            raw = b"".join(archive.read(name) for name in archive.namelist())
    return raw.decode("latin-1")


def test_no_text_of_a_copy_a_card_or_an_answer_names_a_hidden_tree_or_a_person(tmp_path):
    with Store.create(tmp_path / "x.gpkg", title="Invented", who="Ada") as store:
        with store.change() as writer:
            names = actions.add_record(writer, _sown(), BY)
            for by in ("group", "owner"):
                mark = {"given": True, "date": "2026-05-01", "expires": "2026-12-31"}
                actions.mark(writer, names["site"], mark | {"by": by, "name": SOWN, "conditions": SOWN}, BY)
        for to, who in (("surveyed", "Ada"), ("second look", "Ben"), ("approved with conditions", "Ben"),
                        ("active", "Ben")):  # fmt: skip
            with store.change() as writer:
                said = {"conditions": SOWN} if to == "approved with conditions" else {}
                actions.move(writer, names["line L1"], to, actions.By(who, SOWN), on=TODAY, **said)
        with store.change() as writer:
            actions.log(writer, names["anchor T1"], {"what": "event", "date": "2026-05-02", "event": "other",
                                                     "notes": SOWN}, BY)  # fmt: skip
        for layer in ("members", "public"):
            copied = make_copy(store, layer, TODAY)
            shown = {feature.code: feature for feature in copied.features}
            if layer == "members":
                assert shown["T1"].exact and shown["L1"].may_rig_now == "yes with conditions"
                assert "more, kept by the group's officers" in shown["L1"].conditions
            for ending in COPY_ENDINGS:
                for path in write_copy(store, copied, tmp_path / f"{layer}{ending}", page=copy_page):
                    assert not re.search("eibeQ9|Annika", _unpacked(path)), path.name
        judged = assess(Record.model_validate(data()))
        now = line_standing(store, judged, "L1", TODAY)
        assert now.answer.word == "yes with conditions" and not now.withheld
        assert not re.search("eibeQ9|Annika", card_page(judged, "L1", manner(made_on=TODAY), now))
        officers = make_copy(store, "officer", TODAY)
        assert "eibeQ9" in json.dumps([feature.record for feature in officers.features])
