"""Killed in the middle, a group's files lose nothing that was confirmed and hold nothing twice.

The kill is the system's own (SIGKILL), at a moment drawn by lot; whoever sends tries again with the same mark until it
hears that it arrived, as a phone does. `python tests/group/test_nothing_lost.py 1000` kills a thousand times.
"""

from __future__ import annotations

import multiprocessing
import os
import random
import signal
import sys
import tempfile
import time
from pathlib import Path

import pytest

pytest.importorskip("argon2", reason="the extra `group` is not installed")
sys.path.insert(0, str(Path(__file__).parents[1]))  # when it is run by itself

from parks import data  # noqa: E402

from siteassess.group.accounts import Accounts  # noqa: E402
from siteassess.group.queue import Queue, Talk  # noqa: E402
from siteassess.register import actions  # noqa: E402
from siteassess.register.actions import By, add_record  # noqa: E402
from siteassess.register.store import Store  # noqa: E402
from siteassess.register.verify import verify  # noqa: E402

pytestmark = pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system has no SIGKILL")
CONFIRMED = "confirmed.txt"


def send_on(folder: Path, start: int) -> None:
    """Hand in surveys, comments and uses from a number on, each first as the killed one may have been, until killed."""
    accounts = Accounts(folder / "people.sqlite")
    queue, talk, person = Queue(accounts), Talk(accounts), accounts.people()[0]
    with Store.open(folder / "group.gpkg") as store:
        tree = store.db.execute("SELECT subject FROM anchors ORDER BY code").fetchone()[0]
    number = start
    while True:
        mark = f"{number:032x}"
        queue.hand_in(mark, person, "Testing Green", f"survey {number}", {"L1": "suits"})
        talk.say(mark, person, f"comment {number}", mark)
        with Store.open(folder / "group.gpkg") as store, store.change() as writer:
            body = {"what": "use", "date": "2026-05-01", "hours": "1 h", "notes": f"use {number}"}
            actions.log(writer, tree, body, By(person.name, "written down", mark))
        with (folder / CONFIRMED).open("a", encoding="ascii") as told:
            told.write(f"{number}\n")
            told.flush()
            os.fsync(told.fileno())
        number += 1


def killed_again_and_again(folder: Path, kills: int, seed: int) -> int:
    """How many were confirmed; what is in the files is held against them."""
    with Store.create(folder / "group.gpkg", title="Invented", who="Ada") as store, store.change() as writer:
        add_record(writer, data({}), By("Ada", "surveyed"))
    accounts = Accounts(folder / "people.sqlite")
    accounts.come_in(accounts.first_address(), "Ada", "kletterwald am see")
    accounts.close()
    lot, started = random.Random(seed), multiprocessing.get_context("fork")
    for _ in range(kills):
        confirmed = numbers(folder)
        sender = started.Process(target=send_on, args=(folder, len(confirmed)))
        sender.start()
        while sender.is_alive() and len(numbers(folder)) == len(confirmed):
            time.sleep(0.005)
        time.sleep(lot.uniform(0, 0.1))  # amid one of the next
        os.kill(sender.pid, signal.SIGKILL)
        sender.join()
    hold_against(folder)
    return len(numbers(folder))


def numbers(folder: Path) -> list[int]:
    file = folder / CONFIRMED
    return [int(line) for line in file.read_text().splitlines()] if file.exists() else []


def hold_against(folder: Path) -> None:
    confirmed = numbers(folder)
    assert confirmed == list(range(len(confirmed)))
    accounts = Accounts(folder / "people.sqlite")
    surveys = [one.text for one in Queue(accounts).all()]
    comments = [text for (text,) in accounts.rows("SELECT text FROM comments")]
    with Store.open(folder / "group.gpkg") as store:
        uses = [event.body["notes"] for event in store.events() if event.kind == "log"]
        assert verify(store) == []
    accounts.close()
    for kept, what in ((surveys, "survey"), (comments, "comment"), (uses, "use")):
        assert len(kept) == len(set(kept))  # none double
        assert {f"{what} {number}" for number in confirmed} <= set(kept)  # none lost
        assert len(kept) <= len(confirmed) + 1  # the one that was being sent at last


def test_what_was_confirmed_outlives_kills_and_is_there_once(tmp_path):
    confirmed = killed_again_and_again(tmp_path, kills=12, seed=18)
    assert confirmed >= 12  # between the kills something was sent


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as made:
        began, many = time.monotonic(), int(sys.argv[1])
        sent = killed_again_and_again(Path(made), many, seed=18)
        print(f"{many} kills: {sent} sent and confirmed, 0 lost, 0 double, {time.monotonic() - began:.0f} s")
