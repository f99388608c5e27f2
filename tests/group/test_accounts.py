"""Who comes in, with what, and for how long."""

from __future__ import annotations

import contextlib
import sqlite3
import threading
from datetime import UTC, datetime, timedelta

import pytest

pytest.importorskip("argon2", reason="the extra `group` is not installed")

from argon2 import PasswordHasher  # noqa: E402

from siteassess.group import accounts as acc  # noqa: E402
from siteassess.group.accounts import AccountError, Accounts  # noqa: E402
from siteassess.group.roles import ACTS, ROLES, may  # noqa: E402

WORDS = "kletterwald am see"


class Clock:
    def __init__(self):
        self.at = datetime(2026, 5, 1, 12, tzinfo=UTC)

    def __call__(self):
        return self.at

    def later(self, **much):
        self.at += timedelta(**much)


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def group(tmp_path, clock):
    made = Accounts(tmp_path / "people.sqlite", clock)
    yield made
    made.close()


@pytest.fixture
def first(group):
    return group.come_in(group.first_address(), "Ada Linden", WORDS)


def test_the_first_address_makes_one_coordinator_and_no_second(group):
    old, new = group.first_address(), group.first_address()
    assert group.invited_as(old) is None and group.invited_as(new) == "coordinator"
    ada = group.come_in(new, "  Ada   Linden ", WORDS)
    assert (ada.name, ada.role) == ("Ada Linden", "coordinator") and group.people() == [ada]
    assert group.first_address() is None
    with pytest.raises(AccountError, match="used already"):
        group.come_in(new, "Bo Esche", WORDS)


@pytest.mark.parametrize("role", ROLES)
def test_an_invitation_gives_its_role_once_and_ends(group, first, clock, role):
    word, late = group.invite(role, first), group.invite(role, first)
    assert group.come_in(word, "Bo Esche", WORDS).role == role
    for spent in (word, word + "x", ""):
        with pytest.raises(AccountError, match="used already"):
            group.come_in(spent, "Cy Birke", WORDS)
    clock.later(days=acc.INVITED.days)
    with pytest.raises(AccountError, match="time is over"):
        group.come_in(late, "Cy Birke", WORDS)
    assert [one.name for one in group.people()] == ["Ada Linden", "Bo Esche"]


@pytest.mark.parametrize("name", ["", "  ", "x" * 61, "Ada\nLinden\u202e", "ada  LINDEN", "\uff21da Linden"])
def test_a_name_is_plain_and_nobody_elses(group, first, name):
    with pytest.raises(AccountError):
        group.come_in(group.invite("member", first), name, WORDS)
    assert group.people() == [first]


@pytest.mark.parametrize("password", ["", "short", "x" * 201, "Bo Eschenholz "])
def test_a_password_is_neither_short_nor_a_book_nor_the_name(group, first, password):
    with pytest.raises(AccountError, match="password"):
        group.come_in(group.invite("member", first), "Bo Eschenholz", password)


def test_a_session_lasts_until_signed_out_and_its_time_is_over(group, first, clock):
    one, other = group.sign_in("ada linden", WORDS), group.sign_in("Ada Linden", WORDS)
    assert one != other and group.signed_in(one) == group.signed_in(other) == first
    group.sign_out(one)
    assert group.signed_in(one) is None and group.signed_in(other) == first
    clock.later(days=acc.SIGNED_IN.days, seconds=-1)
    assert group.signed_in(other) == first
    clock.later(seconds=1)
    assert group.signed_in(other) is None


def test_signing_out_everywhere_ends_ones_own_sessions_alone(group, first):
    bo = group.come_in(group.invite("member", first), "Bo Esche", WORDS)
    mine, theirs = [group.sign_in("Ada Linden", WORDS) for _ in range(3)], group.sign_in("Bo Esche", WORDS)
    group.sign_out_everywhere(first)
    assert [group.signed_in(word) for word in mine] == [None] * 3 and group.signed_in(theirs) == bo


def test_a_wrong_password_is_not_tried_for_ever(group, first, clock):
    kept = group.sign_in("Ada Linden", WORDS)
    for spelling in ["Ada Linden", "ADA LINDEN"] * (acc.MISSES // 2):
        with pytest.raises(AccountError, match="no such name"):
            group.sign_in(spelling, "not the password")
    with pytest.raises(AccountError, match="too often"):
        group.sign_in("Ada Linden", WORDS)  # not even the right one
    assert group.signed_in(kept) == first  # who is in stays in
    with pytest.raises(AccountError, match="no such name"):
        group.sign_in("Nobody At All", WORDS)  # told alike, whether or not anybody bears the name
    clock.later(minutes=15)
    assert group.signed_in(group.sign_in("Ada Linden", WORDS)) == first


def test_many_tries_at_once_are_no_more_than_one_after_the_other(group, first):
    told = []

    def attempt():
        try:
            group.sign_in("Ada Linden", "not the password")
        except AccountError as error:
            told.append(str(error))

    threads = [threading.Thread(target=attempt) for _ in range(2 * acc.MISSES)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sum("no such name" in one for one in told) == acc.MISSES
    assert sum("too often" in one for one in told) == acc.MISSES


def test_two_who_come_in_by_one_address_are_one(group, first):
    word, came = group.invite("reviewer", first), []

    def come(name):
        with contextlib.suppress(AccountError):
            came.append(group.come_in(word, name, WORDS))

    threads = [threading.Thread(target=come, args=(f"Guest {n}",)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(came) == 1 and len(group.people()) == 2


def test_who_leaves_is_out_at_once_and_the_name_stays_theirs(group, first):
    group.come_in(group.invite("member", first), "Bo Esche", WORDS)
    word = group.sign_in("Bo Esche", WORDS)
    group.leave("bo esche")
    assert group.signed_in(word) is None and group.people() == [first]
    with pytest.raises(AccountError, match="no such name"):
        group.sign_in("Bo Esche", WORDS)
    with pytest.raises(AccountError, match="no such name"):
        group.sign_in("Bo Esche", "")
    with pytest.raises(AccountError, match="is or was called"):
        group.come_in(group.invite("member", first), "Bo Esche", WORDS)


def test_somebody_coordinates_always(group, first):
    for change in (lambda: group.give_role("Ada Linden", "member"), lambda: group.leave("Ada Linden")):
        with pytest.raises(AccountError, match="only coordinator"):
            change()
    group.come_in(group.invite("member", first), "Bo Esche", WORDS)
    group.give_role("bo esche", "coordinator")
    word = group.sign_in("Ada Linden", WORDS)
    group.give_role("Ada Linden", "reader")
    assert group.signed_in(word).role == "reader"  # at once, in sessions that are open
    with pytest.raises(AccountError, match="no such role"):
        group.give_role("Ada Linden", "owner")
    with pytest.raises(AccountError, match="nobody of the group"):
        group.give_role("Cy Birke", "reader")


def test_who_reads_the_file_can_use_nothing_of_it(group, first, tmp_path):
    invited, signed = group.invite("officer", first), group.sign_in("Ada Linden", WORDS)
    raw = (tmp_path / "people.sqlite").read_bytes()
    assert not any(word.encode() in raw for word in (invited, signed, WORDS))
    with sqlite3.connect(tmp_path / "people.sqlite") as db:
        assert all(password.startswith("$argon2id$") for (password,) in db.execute("SELECT password FROM people"))
        kept = [row[0] for table in ("invitations", "sessions") for row in db.execute(f"SELECT token FROM {table}")]
    assert all(group.signed_in(word) is None and group.invited_as(word) is None for word in kept)
    assert (tmp_path / "people.sqlite").stat().st_mode & 0o077 == 0


def test_accounts_are_there_again_when_the_file_is_opened_again(group, first, tmp_path, clock):
    word, key = group.sign_in("Ada Linden", WORDS), group.signing_key
    again = Accounts(tmp_path / "people.sqlite", clock)
    assert again.signed_in(word) == first and again.signing_key == key and again.first_address() is None
    again.close()


def test_the_table_of_acts_gives_nobody_else_anything():
    assert not any(may(role, act) for role in ("", "owner", "Coordinator") for act in ACTS)
    with pytest.raises(KeyError):
        may("coordinator", "burn the register")
    assert {act for act in ACTS if may("reader", act)} == {"see places", "sign out", "subscribe"}
    # the owner's word is the land manager's alone
    assert {act for act in ACTS if may("coordinator", act)} == set(ACTS) - {"give the owner's word"}
    assert all(set(who) <= set(ROLES) for who in ACTS.values())


def test_one_sender_tries_many_names_only_so_often(group, first, clock):
    group._hasher = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    group._db.execute("UPDATE people SET password = ?", (group._hasher.hash(WORDS),))
    for number in range(acc.SENDERS_MISSES):
        with pytest.raises(AccountError, match="password"):
            group.sign_in(f"nobody {number}", "wrong words here", "192.0.2.7")
    with pytest.raises(AccountError, match="too often"):
        group.sign_in("Ada Linden", WORDS, "192.0.2.7")
    assert group.sign_in("Ada Linden", WORDS, "192.0.2.8")  # whoever sits elsewhere does not wait
    clock.later(minutes=16)
    for _ in range(acc.SENDERS_MISSES + 5):  # who knows the words is not counted
        assert group.sign_in("Ada Linden", WORDS, "192.0.2.7")
