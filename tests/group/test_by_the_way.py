"""What must not happen by the way on the group's page: nothing is opened, lost, or approved by its own maker.

All of it is the group's good practice (common practice, no source).
"""

from __future__ import annotations

import re
import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

pytest.importorskip("fastapi", reason="the extra `group` is not installed")
pytest.importorskip("argon2", reason="the extra `group` is not installed")

from served_group import DAY, PARK, WORDS, alert, hidden, seen  # noqa: E402

from siteassess.group.queue import Queue  # noqa: E402
from siteassess.group.survey_routes import into_register  # noqa: E402
from siteassess.register import actions  # noqa: E402
from siteassess.register.actions import By  # noqa: E402
from siteassess.register.store import Store  # noqa: E402

SENT = {"word": "take in", "text": "", "until": "2027-05-01"}
TEXT = PARK.read_text(encoding="utf-8")
ANOTHER_OAK = TEXT.replace("Quercus robur", "Quercus petraea", 1)


def taken(group, who, text, by="Rev"):
    address = group.hand_in(who, text.encode()).url.path
    return group.send(by, address, f"{address}/decide", **SENT)


def parts_of(page):
    return re.findall(r'<option value="([0-9a-f]{64})"', page.text)[:3]


def told(group, line):
    """What the page of a place says of it, above its forms."""
    return re.search(r'<dl class="facts">.*?</dl>', group.browsers["Mem"].get(line).text, re.DOTALL)[0]


def test_what_was_turned_down_is_not_taken_in_by_an_older_page(group):
    address = group.hand_in().url.path
    group.send("Rev", address, f"{address}/decide", word="turn down", text="The bank crumbles")
    late = group.send("Rev", address, f"{address}/decide", **SENT)
    assert late.status_code == 400 and "already" in alert(late)[0] and not group.events("site")


def test_one_takes_in_while_another_turns_down_and_one_of_them_holds(group, monkeypatch):
    address = group.hand_in().url.path
    begun = threading.Event()

    def slowly(*values, **said):
        begun.set()
        threading.Event().wait(0.3)
        return into_register(*values, **said)

    monkeypatch.setattr("siteassess.group.survey_routes.into_register", slowly)
    group.browsers["Cor"] = group.browser(group.accounts.invite("coordinator", group.ada), "Cor")
    with ThreadPoolExecutor(1) as other:
        taking = other.submit(group.send, "Rev", address, f"{address}/decide", **SENT)
        assert begun.wait(20)
        down = group.send("Cor", address, f"{address}/decide", word="turn down", text="No")
        assert taking.result().status_code == 200
    assert down.status_code == 400 and Queue(group.accounts).all()[0].state == "taken in"


@pytest.mark.parametrize("day, opened", [("2026-04-17", True), ("2026-04-18", False), ("2026-05-02", False)])
def test_damage_told_since_the_survey_is_not_looked_at_by_taking_it_in(group, day, opened):
    line = group.taken_in()["L1"]  # surveyed on 2026-04-18
    parts = parts_of(group.browsers["Mem"].get(line))
    group.send("Mem", line, f"{line}/event", event="damage", where=parts[0], day=day)
    assert "review due" in told(group, line)
    assert taken(group, "Mim", ANOTHER_OAK).status_code == 200
    assert ("review due" not in told(group, line)) == opened


def test_a_mark_that_somebody_took_back_is_not_given_anew_by_taking_in(group):
    line = group.taken_in()["L1"]
    group.send("Rev", line, f"{line}/mark", given="no")
    assert taken(group, "Mim", ANOTHER_OAK).status_code == 200
    assert "review due" in told(group, line) and "approved" not in told(group, line)


def test_an_older_survey_does_not_replace_a_newer_one(group):
    newer = TEXT.replace('date: "2026-04-18"', 'date: "2026-04-20"', 1).replace("Quercus robur", "Quercus petraea", 1)
    assert newer.count('"2026-04-20"') == 1
    address = group.hand_in().url.path
    assert taken(group, "Mim", newer).status_code == 200
    before = len(group.events("anchor"))
    late = group.send("Rev", address, f"{address}/decide", **SENT)
    assert late.status_code == 400 and "2026-04-20" in alert(late)[0] and len(group.events("anchor")) == before
    assert Queue(group.accounts).one(address.removeprefix("/surveys/")).state == "waiting"


@pytest.mark.parametrize("named", ["Rev", "rev", "Ann Elm and  REV"])
def test_whom_a_survey_names_as_surveyor_does_not_take_it_in(group, named):
    text = TEXT.replace('by: "R. Fennimore (invented)"', f'by: "{named}"', 1)
    assert text != TEXT
    page = taken(group, "Mem", text)
    assert page.status_code == 400 and "own" in alert(page)[0] and not group.events("site")
    assert 'value="take in"' not in group.browsers["Rev"].get(f"/surveys/{Queue(group.accounts).all()[0].id}").text


def test_who_surveyed_a_tree_of_a_line_does_not_review_the_line(group):
    line = group.taken_in()["L1"]
    group.browsers["Cor"] = group.browser(group.accounts.invite("coordinator", group.ada), "Cor")
    assert taken(group, "Rev", ANOTHER_OAK, by="Cor").status_code == 200  # the oak is new, the line as it was
    page = group.send("Rev", line, f"{line}/mark", given="yes", until="2027-05-01")
    assert page.status_code == 400 and alert(page)


def test_a_park_has_no_mark_of_the_group_from_the_page(group):
    park = group.taken_in()["Brindlewick Common (invented)"]
    before = len(group.events("mark"))
    page = group.send("Rev", park, f"{park}/mark", given="yes", until="2027-05-01")
    assert page.status_code == 400 and alert(page) and len(group.events("mark")) == before


@pytest.mark.parametrize("event", ["reopened", "entries lost", "rule set changed", "splendid"])
def test_a_member_ends_no_rest_by_telling_news(group, event):
    line = group.taken_in()["L1"]
    parts = parts_of(group.browsers["Mem"].get(line))
    group.send("Rev", line, f"{line}/rest", where=parts[0], until="2026-09-01")
    page = group.send("Mem", line, f"{line}/event", event=event, where=parts[0], day=DAY.isoformat())
    assert page.status_code == 400 and alert(page) and "2026-09-01" in told(group, line)


def test_damage_told_from_a_page_gone_back_to_is_kept(group):
    line, browser = group.taken_in()["L1"], group.browsers["Mem"]
    page = browser.get(line)
    marks = {"proof": hidden(page, "proof"), "once": hidden(page, "once"), "day": DAY.isoformat()}
    browser.post(f"{line}/use", data={**marks, "hours": "2"})
    for _ in range(2):
        browser.post(f"{line}/event", data={**marks, "event": "damage", "where": parts_of(page)[0]})
    assert [one.body["what"] for one in group.events("log")] == ["use", "use", "event"]
    assert "review due" in told(group, line)


def test_comments_from_a_page_gone_back_to_are_each_kept_once(group):
    line, browser = group.taken_in()["L1"], group.browsers["Mem"]
    page = browser.get(line)
    marks = {"proof": hidden(page, "proof"), "once": hidden(page, "once")}
    for text in ("first words", "second words", "second words"):
        shown = browser.post(f"{line}/talk", data={**marks, "text": text})
    assert (shown.text.count("first words"), shown.text.count("second words")) == (1, 1)


def test_the_same_survey_handed_in_from_two_pages_waits_once(group):
    assert group.hand_in().url == group.hand_in().url and len(Queue(group.accounts).all()) == 1
    assert group.hand_in("Mim").status_code == 200 and len(Queue(group.accounts).all()) == 2  # another's is another's


@pytest.mark.parametrize("gone", ["left", "member"])
def test_nobody_comes_back_by_an_invitation_of_their_own(group, gone):
    accounts = group.accounts
    cor = accounts.come_in(accounts.invite("coordinator", group.ada), "Cor", WORDS)
    word, another = accounts.invite("coordinator", cor), accounts.invite("member", group.ada)
    accounts.leave("Cor") if gone == "left" else accounts.give_role("Cor", gone)
    assert accounts.invited_as(word) is None and accounts.invited_as(another) == "member"


def test_a_second_sending_is_one_that_says_the_same(tmp_path):
    with Store.create(tmp_path / "a.gpkg", title="Invented", who="Ada") as store, store.change() as writer:
        record = {"siteassess_record": 1, "site": {"name": "Invented green", "land_status": "mown amenity"}}
        park = actions.add_record(writer, record, By("Ada", "listed"))["site"]
        sent = By("Ada", "told", "the same mark")
        body = {"what": "event", "date": "2026-05-02", "event": "storm"}
        first, again = (actions.log(writer, park, body, sent) for _ in range(2))
        other = actions.log(writer, park, {**body, "event": "damage"}, sent)
        assert first.name == again.name != other.name


def test_what_was_said_of_a_hidden_tree_stays_with_who_reads_notes(group):
    address = group.hand_in().url.path
    group.send("Rev", address, f"{address}/decide", sensitive="T1", **SENT)
    tree = group.links("Off")["T1"]
    group.send("Off", tree, f"{tree}/talk", text="By the north bank")
    group.send("Mem", tree, f"{tree}/talk", text="A dead limb")
    group.send("Mem", tree, f"{tree}/event", event="other", where=tree.removeprefix("/place/"), day=DAY.isoformat(),
               notes="Beside the weir")  # fmt: skip
    shown = {who: [text in seen(group.browsers[who].get(tree)) for text in ("north bank", "dead limb", "the weir")]
             for who in ("Off", "Rev", "Mem", "Mim")}  # fmt: skip
    everything = [True, True, True]
    assert shown == {"Off": everything, "Rev": everything, "Mem": [False, True, False], "Mim": [False, False, False]}


def test_a_file_name_turns_no_text_round(group):
    page = group.send("Mem", "/surveys", "/surveys", record=("\u202elmay.exe", b"a: [", "text/yaml"))
    assert page.status_code == 400 and "lmay.exe" in page.text and "\u202e" not in page.text


def test_a_new_survey_without_conditions_lifts_none(group):
    line = group.taken_in()["L1"]  # under "Dry days"
    assert taken(group, "Mim", ANOTHER_OAK).status_code == 200
    assert "Dry days" in told(group, line) and "approved with conditions" in told(group, line)
