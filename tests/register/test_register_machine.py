"""Two groups act at random on registers they keep merging: nothing is lost, bad news is never talked away."""

from __future__ import annotations

import copy
import datetime
import shutil
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from siteassess.errors import StoreError
from siteassess.register import actions, moves
from siteassess.register.merge import conflicts, merge_store
from siteassess.register.schema import DRAWN_TABLES
from siteassess.register.store import Store
from siteassess.register.verify import verify

TODAY = datetime.date(2026, 5, 1)
PARK = {
    "site": {"name": "Larchmere Green", "invented": True},
    "anchors": [
        {"kind": "tree", "code": code, "position": {"fixes": [{"lat": 50.0, "lon": 8.0}]}}
        for code in ("T1", "T2", "T3")
    ],
    "lines": [
        {"id": "L1", "use": "low line", "a": {"anchor": "T1"}, "b": {"anchor": "T2"}},
        {"id": "L2", "use": "low line", "a": {"anchor": "T2"}, "b": {"anchor": "T3"}},
    ],
}
SIDES = st.sampled_from((0, 1))
THINGS = st.sampled_from(("site", "anchor T1", "anchor T2", "anchor T3", "line L1", "line L2"))
PEOPLE = st.sampled_from(("Ada", "Ben", "Cleo"))


class TwoGroups(RuleBasedStateMachine):
    def __init__(self):
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.stores = []

    @initialize()
    def begin(self):
        first = self._store("one")
        with first.change() as writer:
            self.names = actions.add_record(writer, copy.deepcopy(PARK), actions.By("Ada", "survey"))
        first.close()
        shutil.copy(first.path, self.folder / "two.gpkg")
        self.stores = [Store.open(self.folder / "one.gpkg"), Store.open(self.folder / "two.gpkg")]
        for store in self.stores:
            # the disk's patience is tested elsewhere
            store.db.execute("PRAGMA synchronous = OFF")
        self.made = [{event.name for event in store.events()} for store in self.stores]

    def _store(self, name):
        return Store.create(self.folder / f"{name}.gpkg", title="invented", who="Ada")

    def _do(self, side, action, *args, **kwargs):
        with self.stores[side].change() as writer:
            event = action(writer, *args, **kwargs)
        self.made[side].add(event.name)
        return event

    @rule(side=SIDES, thing=THINGS, to=st.sampled_from(moves.STATUSES), who=PEOPLE)
    def move(self, side, thing, to, who):
        store, name = self.stores[side], self.names[thing]
        before = store.standing(name, TODAY)
        until = TODAY if to == moves.CLOSED else None
        try:
            self._do(side, actions.move, name, to, actions.By(who, "chance"), on=TODAY, until=until)
        except StoreError as refused:
            illegal = to not in moves.MOVES[before.own]
            assert not illegal or all(legal in str(refused) for legal in before.legal)
        else:
            assert to in before.legal
            assert store.standing(name, TODAY).own in (to, moves.REVIEW_DUE, moves.WITHDRAWN)

    @rule(side=SIDES, thing=THINGS, who=PEOPLE)
    def walk_to_active(self, side, thing, who):
        """The legal way, so that chance gets anywhere at all."""
        for by in ("group", "owner"):
            self.mark(side, thing, by, True)
        for to, person in (
            (moves.SURVEYED, "Ada"),
            (moves.SECOND_LOOK, "Ben"),
            (moves.APPROVED, who),
            (moves.ACTIVE, who),
        ):
            self.move(side, thing, to, person)

    @rule(side=SIDES, thing=THINGS, by=st.sampled_from(("group", "owner")), given=st.booleans())
    def mark(self, side, thing, by, given):
        body = {"by": by, "given": given, "name": "office", "date": "2026-04-01"}
        body |= {"expires": "2026-12-31"} if given else {}
        self._do(side, actions.mark, self.names[thing], body, actions.By("Ada", "chance"))

    @rule(side=SIDES, thing=THINGS, event=st.sampled_from(("storm", "root works", "pruning")))
    def news(self, side, thing, event):
        body = {"what": "event", "date": "2026-04-30", "event": event}
        self._do(side, actions.log, self.names[thing], body, actions.By("Ada", "chance"))
        if event != "pruning":
            assert self.stores[side].standing(self.names[thing], TODAY).status not in moves.REVIEWED

    @precondition(lambda self: self.stores)
    @rule(side=SIDES, data=st.data())
    def strike_out(self, side, data):
        names = sorted(e.name for e in self.stores[side].events() if e.kind in ("log", "join"))
        if names:
            self._do(side, actions.correct, data.draw(st.sampled_from(names)), actions.By("Ben", "chance"))

    @rule(side=SIDES, pair=st.sampled_from((("T1", "T3"), ("T1", "T2"), ("T2", "T3"))))
    def join(self, side, pair):
        names = [self.names[f"anchor {code}"] for code in pair]
        self._do(side, actions.join, *names, actions.By("Cleo", "chance"))

    @rule(side=SIDES, thing=THINGS)
    def survey_again(self, side, thing):
        kind, _, code = thing.partition(" ")
        record = copy.deepcopy(PARK)
        if kind == "anchor":
            next(a for a in record["anchors"] if a["code"] == code)["notes"] = f"look {len(self.made[side])}"
            with self.stores[side].change() as writer:
                actions.add_record(writer, record, actions.By("Ben", "again"))
                self.made[side] |= {event.name for event in writer.added}

    @rule(into=SIDES)
    def merge(self, into):
        one, other = self.stores[into], self.stores[1 - into]
        words = {
            thing: moves.most_cautious([s.subject(name).moved_to for s in (one, other)])
            for thing, name in self.names.items()
            if {m.name for m in one.subject(name).moves} == {m.name for m in other.subject(name).moves}
        }
        merge_store(one, other)
        self.made[into] |= self.made[1 - into]
        for thing, word in words.items():
            assert one.subject(self.names[thing]).moved_to == word

    @rule()
    def merge_both_ways(self):
        self.merge(0)
        self.merge(1)
        one, two = (self._said(store) for store in self.stores)
        assert one == two

    def _said(self, store):
        tables = []
        for table in DRAWN_TABLES:
            columns = ", ".join(row[1] for row in store.db.execute(f"PRAGMA table_info({table})") if row[1] != "id")
            tables.append(sorted(store.db.execute(f"SELECT {columns} FROM {table}").fetchall(), key=repr))
        listed = [(c.subject, c.what, tuple(e.name for e in c.sides)) for c in conflicts(store)]
        words = {thing: store.standing(name, TODAY).status for thing, name in self.names.items()}
        return store.heads(), tables, listed, words

    @invariant()
    def nothing_is_lost_and_nothing_is_wrong(self):
        for store, made in zip(self.stores, getattr(self, "made", ()), strict=False):
            assert {event.name for event in store.events()} >= made
            assert verify(store) == []

    @invariant()
    def nothing_is_active_without_both_marks_a_review_and_sound_ground(self):
        for store in self.stores:
            for thing, name in self.names.items():
                now = store.standing(name, TODAY)
                if now.status == moves.ACTIVE:
                    assert not now.open_news and all(mark.holds(TODAY) for mark in now.marks.values())
                    below = [self.names[t] for t in _below(thing)]
                    assert not {store.standing(b, TODAY).own for b in below} & {moves.WITHDRAWN, moves.ARCHIVED}

    def teardown(self):
        for store in self.stores:
            store.close()
        shutil.rmtree(self.folder, ignore_errors=True)


def _below(thing):
    return {
        "line L1": ("anchor T1", "anchor T2", "site"),
        "line L2": ("anchor T2", "anchor T3", "site"),
        "site": (),
    }.get(thing, ("site",))


TestTwoGroups = TwoGroups.TestCase
TestTwoGroups.settings = settings(
    max_examples=12, stateful_step_count=14, deadline=None, suppress_health_check=list(HealthCheck)
)
