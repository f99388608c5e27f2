"""The group's page as a browser without scripts meets it: who sees and does what, and what is refused."""

from __future__ import annotations

import asyncio
import itertools
import re
from datetime import date

import pytest

pytest.importorskip("fastapi", reason="the extra `group` is not installed")
pytest.importorskip("argon2", reason="the extra `group` is not installed")

from fastapi.testclient import TestClient  # noqa: E402
from parks import data  # noqa: E402

from siteassess.group.accounts import AccountError, Accounts  # noqa: E402
from siteassess.group.app import group_app  # noqa: E402
from siteassess.group.guarding import MOST_FORM_BYTES, BoundedBodies  # noqa: E402
from siteassess.group.pages import language_of  # noqa: E402
from siteassess.group.roles import ACTS, ROLES, may  # noqa: E402
from siteassess.register.actions import By, add_record  # noqa: E402
from siteassess.register.store import Store  # noqa: E402

WORDS, DAY = "kletterwald am see", date(2026, 5, 1)
HOSTILE = "</td><script>alert(1)</script>{{ 70001*70001 }}\"'"
TRICKY = "{{ 70001*70001 }} {% set x = 1 %} & \"'"  # the register itself refuses markup
OPEN = {"/sign-in", "/come-in/{word}", "/feed/{address}",  # the last by a secret address of its own
        "/worker.js", "/icon.svg", "/manifest.webmanifest"}  # fmt: skip


@pytest.fixture
def group(tmp_path):
    """A register with one invented park, its accounts, the application, and a way to make a browser."""
    register = tmp_path / "group.gpkg"
    park = data({"site.name": f"Testing Green {TRICKY}"})
    with Store.create(register, title=f"Group {TRICKY}", who="Ada Linden") as store, store.change() as writer:
        add_record(writer, park, By("Ada Linden", "surveyed"))
    accounts = Accounts(tmp_path / "people.sqlite")
    app = group_app(register, accounts, today=lambda: DAY)
    yield lambda: TestClient(app, base_url="http://group.test", follow_redirects=False), accounts
    accounts.close()


def proof_in(page) -> str:
    return re.search(r'name="proof" value="([^"]+)"', page.text)[1]


def come_in(browser, word, name="Ada Linden"):
    page = browser.get(f"/come-in/{word}")
    return browser.post(f"/come-in/{word}", data={"name": name, "password": WORDS, "proof": proof_in(page)})


def signed_in(group, role):
    make, accounts = group
    if (word := accounts.first_address()) is not None:
        accounts.come_in(word, "Ada Linden", WORDS)
    browser = make()
    ada = accounts.person("Ada Linden")
    assert come_in(browser, accounts.invite(role, ada), f"A {role}").status_code == 303
    return browser


def test_the_first_address_leads_to_the_places_and_to_nobody_else(group):
    make, accounts = group
    browser, word = make(), accounts.first_address()
    assert (browser.get("/").status_code, browser.get("/").headers["location"]) == (303, "/sign-in")
    assert come_in(browser, word).headers["location"] == "/"
    page = browser.get("/")
    assert page.status_code == 200 and "Ada Linden" in page.text and "T1" in page.text
    other = make()
    assert other.get(f"/come-in/{word}").status_code == 404
    assert other.get("/").status_code == 303


def test_every_route_times_every_role_answers_as_the_table_says(group):
    make, accounts = group
    routes = [route for route in make().app.routes if hasattr(route, "dependant")]
    acts = {}
    for route, method in [(one, method) for one in routes for method in one.methods]:
        asked = [one.call.act for one in route.dependant.dependencies if hasattr(one.call, "act")]
        assert len(asked) == (route.path not in OPEN), route.path  # none is open by being forgotten
        if asked:
            acts[method, route.path] = asked[0]
    assert len(acts) >= 24 and set(acts.values()) == set(ACTS) - {"see the log"}  # which the page of a place asks
    browsers = {role: signed_in(group, role) for role in ROLES}
    for ((method, path), act), role in itertools.product(acts.items(), ROLES):
        browser = browsers[role]
        forged = {"proof": "x", "name": "Ada Linden", "role": "reader"}
        page = browser.request(method, re.sub("{[^}]*}", "f" * 64, path), data=forged if method == "POST" else None)
        seen = 'role="alert"' in page.text and "not part of your role" in page.text
        assert seen == (not may(role, act)), (method, path, role)
        there = 404 if "{" in path else 200  # nothing bears that name
        forged_at = 400 if path == "/surveys/sent" and may(role, act) else 403  # it takes JSON alone
        assert page.status_code == (there if may(role, act) and method == "GET" else forged_at), (method, path, role)
    assert [one.role for one in accounts.people()].count("coordinator") == 2  # and nothing was changed
    stranger = make()
    for method, path in acts:
        page = stranger.request(method, re.sub("{[^}]*}", "f" * 64, path), data=forged if method == "POST" else None)
        assert page.status_code == (303 if method == "GET" else 403)


def test_a_form_is_taken_from_its_own_page_and_session_alone(group):
    browser, (_, accounts) = signed_in(group, "coordinator"), group
    other = signed_in(group, "officer")
    mine, theirs = proof_in(browser.get("/people")), proof_in(other.get("/"))
    for proof in ("", "x", theirs, mine + "x", mine[:-1]):
        page = browser.post("/people/invite", data={"role": "reader", "proof": proof or "-"})
        assert page.status_code == 403 and "/come-in/" not in page.text
    page = browser.post("/people/invite", data={"role": "reader", "proof": mine})
    (address,) = re.findall(r"http://group\.test/come-in/([\w-]+)", page.text)
    assert accounts.invited_as(address) == "reader"
    browser.post("/sign-out", data={"proof": mine})
    assert browser.post("/people/invite", data={"role": "reader", "proof": mine}).status_code == 403


def test_a_word_known_before_signing_in_opens_nothing(group):
    make, accounts = group
    accounts.come_in(accounts.first_address(), "Ada Linden", WORDS)
    browser = make()
    page = browser.get("/sign-in")
    planted = browser.cookies["siteassess"]
    answer = browser.post("/sign-in", data={"name": "ada linden", "password": WORDS, "proof": proof_in(page)})
    assert answer.status_code == 303 and browser.cookies["siteassess"] != planted
    thief = make()
    thief.cookies.set("siteassess", planted)
    assert thief.get("/").status_code == 303
    thief.cookies.set("siteassess", browser.cookies["siteassess"][:-2])
    assert thief.get("/").status_code == 303


@pytest.mark.parametrize("everywhere", [False, True])
def test_signing_out_ends_this_session_or_all(group, everywhere):
    make, accounts = group
    accounts.come_in(accounts.first_address(), "Ada Linden", WORDS)
    here, there = make(), make()
    for browser in (here, there):
        proof = proof_in(browser.get("/sign-in"))
        browser.post("/sign-in", data={"name": "Ada Linden", "password": WORDS, "proof": proof})
        assert browser.get("/").status_code == 200
    gone = {"proof": proof_in(here.get("/"))} | ({"everywhere": "yes"} if everywhere else {})
    kept = here.cookies["siteassess"]
    assert here.post("/sign-out", data=gone).headers["location"] == "/sign-in"
    here.cookies.clear()
    here.cookies.set("siteassess", kept)  # as whoever had copied it
    assert here.get("/").status_code == 303
    assert there.get("/").status_code == (303 if everywhere else 200)


def test_hostile_texts_are_shown_and_run_nowhere(group):
    make, accounts = group
    browser = make()
    come_in(browser, accounts.first_address(), "Ada <b>Linden</b>")
    for page in (browser.get("/"), browser.get("/people")):
        assert page.status_code == 200 and "<script" not in page.text and "<b>Linden" not in page.text
        assert "{{ 70001*70001 }}" in page.text or page.url.path == "/people"
        assert str(70001**2) not in page.text
        assert re.search(r"script-src 'none'; style-src 'sha256-", page.text)
    proof = proof_in(browser.get("/people"))
    page = browser.post("/people/role", data={"name": HOSTILE, "role": HOSTILE, "proof": proof})
    assert page.status_code == 403 and "<script" not in page.text


def test_every_answer_carries_the_guards(group):
    browser = signed_in(group, "member")
    for page in (browser.get("/"), browser.get("/people"), browser.get("/nowhere"), browser.get("/sign-in")):
        assert "frame-ancestors 'none'" in page.headers["content-security-policy"]
        assert page.headers["x-content-type-options"] == "nosniff" and page.headers["cache-control"] == "no-store"
    cookie = group[0]().get("/sign-in").headers["set-cookie"].casefold()
    assert "httponly" in cookie and "samesite=lax" in cookie


def test_a_session_outlasts_the_browser_and_no_page_shortens_it(group):
    make, accounts = group
    browser = make()
    given = come_in(browser, accounts.first_address()).headers["set-cookie"]
    assert f"Max-Age={30 * 24 * 3600}" in given
    assert all("set-cookie" not in browser.get(path).headers for path in ("/", "/people", "/sign-in"))


def test_whose_name_was_tried_too_often_comes_in_and_is_told_to_wait(group):
    make, accounts = group
    word = accounts.first_address()
    for _ in range(8):
        with pytest.raises(AccountError):
            accounts.sign_in("Ada Linden", "not the password")
    answer = come_in(make(), word)
    assert answer.status_code == 403 and "tried too often" in answer.text and accounts.person("Ada Linden")


def test_behind_https_the_cookie_never_goes_over_plain_http(group, tmp_path):
    _, accounts = group
    browser = TestClient(group_app(tmp_path / "group.gpkg", accounts, https=True), base_url="https://group.test")
    page = browser.get("/sign-in")
    assert page.headers["set-cookie"].startswith("__Host-siteassess=") and "Secure" in page.headers["set-cookie"]
    assert "max-age" in page.headers["strict-transport-security"]


def test_a_body_longer_than_a_form_is_refused(group):
    browser = signed_in(group, "coordinator")
    answer = browser.post("/people/role", data={"name": "x" * MOST_FORM_BYTES, "role": "x", "proof": "x"})
    assert answer.status_code == 413


@pytest.mark.parametrize("length, whole", [(MOST_FORM_BYTES, True), (MOST_FORM_BYTES + 1, False)])
def test_a_body_that_lies_about_its_length_is_cut_off(length, whole):
    come = []

    async def app(scope, receive, send):
        while (message := await receive())["type"] == "http.request" and message["more_body"]:
            come.append(message["body"])
        come.append(message["type"])

    parts = [{"type": "http.request", "body": b"x", "more_body": at < length} for at in range(1, length + 1)]

    async def receive():
        return parts.pop(0)

    asyncio.run(BoundedBodies(app)({"type": "http", "headers": [(b"content-length", b"1")]}, receive, None))
    assert come[-1] == ("http.request" if whole else "http.disconnect")


@pytest.mark.parametrize("accepted, language", [
    ("de-AT,de;q=0.9,en;q=0.8", "de"), ("it,fr;q=0.7,es;q=0.9", "es"), ("", "en"), ("it", "en"), ("fr;q=0,en", "en"),
    ("es;q=x,fr", "fr"), (",;q=;,de", "de"),
])  # fmt: skip
def test_the_language_is_the_one_a_browser_asks_for(accepted, language):
    assert language_of(accepted) == language


@pytest.mark.parametrize("language", ["en", "de", "fr", "es"])
def test_pages_speak_the_language(group, language):
    browser = signed_in(group, "coordinator")
    words = {"en": "People", "de": "Leute", "fr": "Personnes", "es": "Personas"}
    page = browser.get("/", headers={"accept-language": language})
    assert f'lang="{language}"' in page.text and words[language] in page.text
