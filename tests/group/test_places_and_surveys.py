"""Work on the group's page: a survey handed in and taken in, a use written down, news, marks, feeds; and what is not.

Who takes which step is the group's good practice (common practice, no source): nobody looks over their own work.
"""

from __future__ import annotations

import io
import json
import re
import sqlite3
from concurrent.futures import ThreadPoolExecutor

import pytest

pytest.importorskip("fastapi", reason="the extra `group` is not installed")
pytest.importorskip("argon2", reason="the extra `group` is not installed")

from fastapi.testclient import TestClient  # noqa: E402
from PIL import Image  # noqa: E402
from served_group import PARK, alert, hidden, seen  # noqa: E402

from siteassess.group.queue import Queue  # noqa: E402
from siteassess.register import actions  # noqa: E402
from siteassess.register.actions import By  # noqa: E402
from siteassess.register.store import Store  # noqa: E402
from siteassess.register.verify import verify  # noqa: E402


def test_a_survey_is_judged_when_it_comes_and_waits(group):
    page = group.hand_in()
    assert page.status_code == 200 and "Waits for somebody else" in page.text and "L1" in page.text
    assert 'value="take in"' not in page.text  # not by who handed it in
    assert group.links("Mem") == {}  # and none of the register's yet
    assert 'value="take in"' in group.browsers["Rev"].get(page.url.path).text
    other = group.browsers["Mim"].get(page.url.path)
    assert other.status_code == 403 and "L1" not in seen(other)  # a member sees their own
    assert page.url.path not in group.browsers["Mim"].get("/surveys").text


def test_a_faulty_record_is_told_whole_and_nothing_is_kept(group):
    text = PARK.read_text(encoding="utf-8").replace("girth:", "girht:", 1).replace('date: "2026', 'date: "3026', 1)
    page = group.hand_in(text=text.encode())
    assert page.status_code == 400 and "girht" in page.text and "3026" in page.text
    assert Queue(group.accounts).all() == []
    for hostile in (b"\xff\xfe\x00", b"a: &a [*a]", b"!!python/object:os.system x", b"<script>alert(1)</script>"):
        page = group.hand_in(text=hostile)
        assert page.status_code == 400 and "<script>alert" not in page.text


def test_a_survey_sent_twice_is_there_once(group):
    browser = group.browsers["Mem"]
    page = browser.get("/surveys")
    sent = {"proof": hidden(page, "proof"), "once": hidden(page, "once")}
    for _ in range(3):
        answer = browser.post("/surveys", data=sent, files={"record": ("a.yaml", PARK.read_bytes())})
    assert answer.status_code == 200 and len(Queue(group.accounts).all()) == 1
    changed = PARK.read_bytes().replace(b"Brindlewick Common", b"Another Common")
    answer = browser.post("/surveys", data=sent, files={"record": ("a.yaml", changed)})
    assert answer.status_code == 400 and len(Queue(group.accounts).all()) == 1  # nor does it take another's place


def test_what_a_phone_sends_by_itself_comes_from_our_own_page(group):
    browser, survey = group.browsers["Mem"], {"id": "0" * 32, "name": "a", "by": "Mem",
                                                    "text": PARK.read_text(encoding="utf-8")}
    plain = {"content-type": "text/plain"}  # all that another page could send without being asked first
    assert browser.post("/surveys/sent", content=json.dumps(survey), headers=plain).status_code in (400, 403)
    for site in ("cross-site", "same-site", "none"):
        assert browser.post("/surveys/sent", json=survey, headers={"sec-fetch-site": site}).status_code == 403
    assert Queue(group.accounts).all() == []
    for _ in range(2):
        answer = browser.post("/surveys/sent", json=survey, headers={"sec-fetch-site": "same-origin"})
        assert answer.json()["verdicts"]["L1"] == "suits"
    assert len(Queue(group.accounts).all()) == 1
    shared = {**survey, "id": "1" * 32, "by": "Mim"}  # kept on the phone by another, who signed out
    assert browser.post("/surveys/sent", json=shared).status_code == 403 and len(Queue(group.accounts).all()) == 1
    nobody = TestClient(group.app, base_url="http://group.test")
    assert nobody.post("/surveys/sent", json=survey).status_code == 403
    assert group.browsers["Off"].post("/surveys/sent", json=survey).status_code == 403


def test_taking_in_approves_what_suits_and_lists_the_rest(group):
    verdicts = {}
    links = group.taken_in()
    for event in group.events("assessment"):
        verdicts[event.body["result"]["id"]] = (event.body["result"]["verdict"], event.who)
    assert len(verdicts) == 5 and {who for _, who in verdicts.values()} == {"Mem"}
    approved = {event.subject for event in group.events("move") if event.body["to"] == "approved with conditions"}
    suits = {links[line].removeprefix("/place/") for line, (word, _) in verdicts.items() if word.startswith("suits")}
    assert suits and approved == suits
    assert {event.who for event in group.events("move") if event.body["to"] == "second look"} == {"Rev"}
    assert {event.who for event in group.events("mark")} == {"Rev"}
    page = group.browsers["Mem"].get(links["L1"]).text
    assert "Dry days" in page and "Trees fail without warning signs" in page


def test_a_tree_can_be_hidden_as_it_is_taken_in(group):
    address = group.hand_in().url.path
    sent = {"word": "take in", "text": "", "until": "2027-05-01"}
    wrong = group.send("Rev", address, f"{address}/decide", sensitive="T1, T99", **sent)
    assert wrong.status_code == 404 and "T99" in alert(wrong)[0] and not group.events("site")
    group.send("Rev", address, f"{address}/decide", sensitive=" T1 ", **sent)
    assert {"L1", "T1"}.isdisjoint(group.links("Mem")) and {"L5", "T10"} <= set(group.links("Mem"))
    assert {"L1", "T1"} <= set(group.links("Off"))
    hidden_tree = group.links("Off")["T1"]
    page = group.browsers["Mem"].get(hidden_tree)
    assert "T1" not in seen(page)


def test_taking_in_twice_changes_nothing_and_who_decided_first_holds(group):
    address = group.hand_in().url.path
    sent = {"word": "take in", "text": "", "until": "2027-05-01"}
    group.send("Rev", address, f"{address}/decide", **sent)
    before = len(group.events("move")), len(group.events("mark")), len(group.events("assessment"))
    again = group.send("Rev", address, f"{address}/decide", **sent)
    assert again.status_code == 400 and "already" in alert(again)[0]
    assert (len(group.events("move")), len(group.events("mark")), len(group.events("assessment"))) == before


def test_half_taken_in_is_finished_by_the_second_try(group, monkeypatch):
    address = group.hand_in().url.path
    monkeypatch.setattr("siteassess.group.survey_routes.Queue.decide", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):  # the power fails between the register and the group's file
        group.send("Rev", address, f"{address}/decide", word="take in", text="", until="2027-05-01")
    before = len(group.events("move")), len(group.events("assessment"))
    monkeypatch.undo()
    done = group.send("Rev", address, f"{address}/decide", word="take in", text="", until="2027-05-01")
    assert done.status_code == 200 and "Taken into the register" in done.text
    assert (len(group.events("move")), len(group.events("assessment"))) == before


@pytest.mark.parametrize("word", ["take in", "ask", "turn down"])
def test_nobody_decides_on_their_own(group, word):
    address = group.hand_in("Rev").url.path
    page = group.send("Rev", address, f"{address}/decide", word=word, text="mine", until="2027-05-01")
    assert page.status_code == 400 and "own" in alert(page)[0]
    assert Queue(group.accounts).all()[0].state == "waiting" and not group.events("site")


def test_a_question_stays_open_and_turned_down_is_over(group):
    address = group.hand_in().url.path
    asked = group.send("Rev", address, f"{address}/decide", word="ask", text="Which oak?")
    assert "A question is open" in asked.text and "Which oak?" in group.browsers["Mem"].get(address).text
    group.send("Mem", address, f"{address}/talk", text="The <b>left</b> one")
    assert "&lt;b&gt;left" in group.browsers["Rev"].get(address).text
    group.send("Rev", address, f"{address}/decide", word="turn down", text="The bank crumbles")
    page = group.browsers["Mem"].get(address)
    assert "Turned down" in page.text and "The bank crumbles" in page.text and not group.events("site")


def test_a_use_is_written_at_both_trees_once(group):
    line = group.taken_in()["L1"]
    browser = group.browsers["Mem"]
    page = browser.get(line)
    sent = {"proof": hidden(page, "proof"), "once": hidden(page, "once"), "day": "2026-05-02", "hours": "2",
            "marks_a": "none", "marks_b": "polish"}  # fmt: skip
    for _ in range(3):
        assert browser.post(f"{line}/use", data=sent).status_code == 200
    uses = group.events("log")
    assert [event.body["bark_marks"] for event in uses] == ["none", "polish"] and len({e.subject for e in uses}) == 2
    assert {event.who for event in uses} == {"Mem"} and {event.body["hours"] for event in uses} == {"2 h"}
    assert re.search(r"2\.0\sh\b", browser.get(line).text)
    for wrong in ({"day": "2027-01-01"}, {"hours": "-1"}, {"marks_a": "splendid"}, {"day": "yesterday"}):
        answer = group.send("Mem", line, f"{line}/use", **{"day": "2026-05-02", "hours": "", **wrong})
        assert answer.status_code == 400 and alert(answer), wrong
    assert len(group.events("log")) == 2


@pytest.mark.parametrize("where", [0, 1, 2])
def test_damage_closes_the_line_wherever_it_was_told(group, where):
    line = group.taken_in()["L1"]
    parts = re.findall(r'<option value="([0-9a-f]{64})"', group.browsers["Mem"].get(line).text)[:3]
    assert len(set(parts)) == 3  # two trees and the park
    page = group.send("Mem", line, f"{line}/event", event="damage", where=parts[where], day="2026-05-02")
    assert page.status_code == 200 and "review due" in page.text
    nowhere = group.send("Mem", line, f"{line}/event", event="damage", where="f" * 64, day="2026-05-02")
    assert nowhere.status_code == 400 and len(group.events("log")) == 1


def test_the_owners_word_is_given_limited_and_withdrawn_at_once(group):
    line = group.taken_in()["L1"]
    given = group.send("Off", line, f"{line}/owner", given="yes", until="2026-12-31", conditions="Not on Sundays")
    assert given.status_code == 200 and "Not on Sundays" in group.browsers["Mem"].get(line).text
    moved = group.send("Rev", line, f"{line}/move", to="active", why="season begins")
    assert moved.status_code == 200, alert(moved)
    group.send("Off", line, f"{line}/owner", given="no")
    assert "withdrawn" in group.browsers["Mem"].get(line).text
    (taken_back,) = [event for event in group.events("mark") if not event.body["given"]]
    assert (taken_back.who, taken_back.body["by"], taken_back.body["role"]) == ("Off", "owner", "officer")


def test_a_photo_loses_its_place_and_is_shown_to_its_readers(group):
    line = group.taken_in()["L1"]
    made = io.BytesIO()
    exif = Image.Exif()
    exif[0x010E] = "a secret place"
    Image.new("RGB", (40, 30), "green").save(made, "JPEG", exif=exif)
    for ticked in ({}, {"no_people": "yes"}):
        page = group.send("Mem", line, f"{line}/photo", picture=("p.jpg", made.getvalue()), shows="sling", **ticked)
        assert page.status_code == 200
    (shown,) = re.findall(r'src="(/place/[^"]+)"', page.text)  # the one nobody can be recognised in
    kept = group.browsers["Mem"].get(shown)
    assert kept.headers["content-type"] == "image/jpeg" and b"secret" not in kept.content
    assert group.browsers["Rea"].get(shown).status_code == 404
    refused = group.send("Mem", line, f"{line}/photo", picture=("p.jpg", b"<svg onload=alert(1)>"), shows="x")
    assert refused.status_code == 400 and "<svg onload" not in refused.text


def test_a_reader_sees_no_place_and_feeds_tell_no_more(group):
    links = group.taken_in()
    assert set(group.links("Rea")) == {"Brindlewick Common (invented)"}
    for address in (links["L1"], links["T1"]):
        page = group.browsers["Rea"].get(address)
        assert page.status_code == 404 and "T1" not in seen(page)
    addresses = {}
    for who in ("Rea", "Mem"):
        page = group.send(who, "/", "/subscribe")
        addresses[who] = re.findall(r"<code>http://group.test(/feed/[^<]+)</code>", page.text)
    nobody = TestClient(group.app, base_url="http://group.test")
    kinds = {who: {kind["properties"]["feature"] for kind in json.loads(nobody.get(of[1]).text)["features"]}
             for who, of in addresses.items()}  # fmt: skip
    assert kinds == {"Rea": {"site"}, "Mem": {"site", "anchor", "line"}}
    assert nobody.get(addresses["Mem"][0]).text.startswith("BEGIN:VCALENDAR")
    assert nobody.get(addresses["Rea"][0]).status_code == 404  # what is due is the members'
    assert nobody.get(addresses["Mem"][2]).content.startswith(b"SQLite format 3")
    group.send("Mem", "/due", "/subscribe")
    group.accounts.leave("Rea")
    for old in (*addresses["Mem"], *addresses["Rea"]):
        assert nobody.get(old).status_code == 404
    assert nobody.get("/feed/x.geojson").status_code == 404


def test_the_papers_of_a_year_and_a_card_come_from_the_page(group):
    links = group.taken_in()
    park, line = links["Brindlewick Common (invented)"], links["L1"]
    group.send("Mem", line, f"{line}/use", day="2026-05-02", hours="2", marks_a="none", marks_b="dent")
    for kind in ("year", "care"):
        for who, status in {"Rev": 200, "Off": 200, "Mem": 403, "Rea": 403}.items():
            page = group.browsers[who].get(f"{park}/paper/{kind}/2026")
            assert page.status_code == status and ("T2" in seen(page)) == (status == 200)
    for wrong in ("secret/2026", "year/2027", "year/1066"):
        assert group.browsers["Rev"].get(f"{park}/paper/{wrong}").status_code == 404
    (survey,) = Queue(group.accounts).all()
    card = group.browsers["Mem"].get(f"/surveys/{survey.id}/card/L1")
    assert card.status_code == 200 and "4.5" in card.text  # kN to stop at
    assert group.browsers["Mem"].get(f"/surveys/{survey.id}/card/L9").status_code == 404
    assert group.browsers["Mim"].get(f"/surveys/{survey.id}/card/L1").status_code == 403


def test_what_others_change_in_the_register_shows_at_once(group):
    line = group.taken_in()["L1"]
    browser = group.browsers["Mem"]
    assert "review due" not in browser.get(line).text
    with Store.open(group.register) as store, store.change() as writer:  # as the command line does beside it
        body = {"what": "event", "date": "2026-05-02", "event": "storm"}
        actions.log(writer, line.removeprefix("/place/"), body, By("Ada", "told by phone"))
    assert "review due" in browser.get(line).text and "review due" in browser.get("/").text


def test_what_was_confirmed_is_in_the_file_and_only_hashes_of_secrets(group, tmp_path):
    address = group.hand_in().url.path
    page = group.send("Mem", "/due", "/subscribe")
    (secret, *_) = re.findall(r"/feed/([\w-]+)\.ics", page.text)
    with sqlite3.connect(tmp_path / "people.sqlite") as beside:
        assert beside.execute("SELECT id FROM surveys").fetchall() == [(address.removeprefix("/surveys/"),)]
    assert secret.encode() not in (tmp_path / "people.sqlite").read_bytes()


def test_half_a_form_and_an_unknown_page_are_answered_as_pages(group):
    browser = group.browsers["Mem"]
    for page in (browser.post("/surveys", data={}), browser.get("/nothing"), browser.get("/place/" + "0" * 64),
                 browser.put("/surveys")):  # fmt: skip
        assert page.status_code in (400, 404, 405) and "<!DOCTYPE html>" in page.text and alert(page)


def test_five_who_hand_in_the_same_park_at_once_are_all_shown_and_taken_in_one_after_another(group):
    members = [group.browser(group.accounts.invite("member", group.ada), f"M{number}") for number in range(5)]
    texts = [PARK.read_text(encoding="utf-8").replace("Quercus robur", f"Quercus robur # seen by {number}", 1)
             for number in range(5)]  # fmt: skip
    assert len(set(texts)) == 5

    def hands_in(number):
        survey = {"id": f"{number:032d}", "name": "park", "text": texts[number], "by": f"M{number}"}
        return [members[number].post("/surveys/sent", json=survey).status_code for _ in range(2)]

    with ThreadPoolExecutor(5) as crowd:
        assert {status for found in crowd.map(hands_in, range(5)) for status in found} == {200}
    waiting = Queue(group.accounts).all()
    assert {one.by for one in waiting} == {f"M{number}" for number in range(5)} and len(waiting) == 5
    for one in waiting:
        address = f"/surveys/{one.id}"
        done = group.send("Rev", address, f"{address}/decide", word="take in", text="", until="2027-05-01")
        assert done.status_code == 200, alert(done)
    with Store.open(group.register) as store:
        assert verify(store) == [] and len([e for e in store.events() if e.kind == "site" and not e.subject]) == 1


def test_many_uses_at_once_are_each_there_once(group):
    line = group.taken_in()["L1"]
    browser = group.browsers["Mem"]
    pages = [browser.get(line) for _ in range(8)]

    def writes(page):
        sent = {"proof": hidden(page, "proof"), "once": hidden(page, "once"), "day": "2026-05-02", "hours": "1"}
        return [browser.post(f"{line}/use", data=sent).status_code for _ in range(2)]

    with ThreadPoolExecutor(8) as crowd:
        assert {status for found in crowd.map(writes, pages) for status in found} == {200}
    assert len(group.events("log")) == 16  # eight uses, an entry at each of two trees
