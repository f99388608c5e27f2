"""The register against plain sqlite3 doing the same: listing a park, adding a row.

Run: python tests/bench/bench_register.py [SITES] [LOG_ROWS]     (100,000 and 1,000,000 if not given)

The peer keeps one table of anchors and one of log rows with an index each, and a transaction with the same promise to
the disk, but knows no history, no status and no names by hash. Filling goes past the checks of single changes (events
are made and written in bulk), or it would take hours; what is timed afterwards is the package's own way.
"""

from __future__ import annotations

import datetime
import json
import sqlite3
import statistics
import sys
import tempfile
import time
from pathlib import Path

from siteassess.register import actions, events, intact, schema
from siteassess.register.intact import recount
from siteassess.register.listing import listed_rows
from siteassess.register.store import Store
from siteassess.register.verify import verify
from siteassess.register.views import draw_all

TODAY = datetime.date(2026, 5, 1)
TREES_A_SITE = 2
BIG_PARK_TREES = 100


def fill(store: Store, sites: int, log_rows: int) -> tuple[str, str]:
    """Write sites of two trees and a line, one park of 100 trees, and log rows on the trees; the park and one tree."""
    db = store.db
    db.execute("PRAGMA synchronous = OFF")
    db.execute("PRAGMA cache_size = -400000")
    with store.whole():
        park, tree, head = write_events(store, sites, log_rows)
        db.execute("DELETE FROM heads")
        db.execute("INSERT INTO heads (name) VALUES (?)", (head,))
        recount(db)
        schema.redraw_empty(db)
        draw_all(db)
    return park, tree


def write_events(store: Store, sites: int, log_rows: int) -> tuple[str, str, str]:
    head = store.event(store.heads()[0])

    def add(kind, subject, body):
        nonlocal head
        head = events.make(
            kind, subject, body, who="Ada", why="bench", recorded=head.recorded, parents=[head.name], salt="0"
        )
        store.db.execute(
            "INSERT INTO events (name, kind, subject, who, recorded, why, content) VALUES (?,?,?,?,?,?,?)",
            (head.name, head.kind, head.about, head.who, head.recorded, head.why, head.content),
        )
        return head.name

    trees = []
    park = ""
    for number in range(sites):
        site = add("site", "", {"record": {"name": f"Green {number}", "land_status": "mown amenity"}})
        many = BIG_PARK_TREES if number == sites // 2 else TREES_A_SITE
        park = site if many == BIG_PARK_TREES else park
        names = []
        for tree in range(many):
            fix = {"lat": 40 + number % 1000 * 0.01 + tree * 1e-4, "lon": number // 1000 * 0.01, "accuracy": "5 m"}
            record = {
                "kind": "tree",
                "code": f"T{tree}",
                "position": {"fixes": [fix]},
                "species": {"name": "Quercus robur"},
                "trunk": [{"girth": "180 cm", "read_at": "1.3 m"}],
            }
            names.append(add("anchor", "", {"site": site, "record": record}))
        trees.append(names[0])
        for one, other in zip(names[::2], names[1::2], strict=False):
            ends = {"a": {"anchor": "T0"}, "b": {"anchor": "T1"}}
            add(
                "line",
                "",
                {"site": site, "anchors": [one, other], "record": {"id": f"L{one[:6]}", "use": "low line", **ends}},
            )
    for number in range(log_rows):
        body = {"what": "use", "date": "2026-04-18", "hours": "3 h", "pull": "2.8 kN", "wetness": "dry"}
        add("log", trees[number % len(trees)], body)
    return park, trees[0], head.name


def plain(store: Store, path: Path) -> sqlite3.Connection:
    """The peer, with the same records and log rows."""
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("PRAGMA journal_mode = DELETE")
    db.execute("PRAGMA synchronous = OFF")
    db.execute("ATTACH ? AS register", (str(store.path),))
    db.execute("CREATE TABLE anchors AS SELECT subject, site, code, girth_m, record FROM register.anchors")
    db.execute("CREATE INDEX anchors_by_site ON anchors (site)")
    db.execute("CREATE TABLE log AS SELECT subject, date, load_hours_kn_h, body FROM register.care_log")
    db.execute("CREATE INDEX log_by_subject ON log (subject)")
    db.execute("DETACH register")
    db.execute("PRAGMA synchronous = EXTRA")
    return db


def unchecked(db: sqlite3.Connection, subject: str, moments: dict[str, str] | None) -> intact.History:
    """A subject's history as it would be read without a look at names and tallies."""
    rows = db.execute("SELECT content, name FROM events WHERE subject = ? ORDER BY id", (subject,))
    found = []
    for content, name in rows:
        parts = json.loads(content)
        lists = {key: tuple(parts.pop(key)) for key in ("parents", "replaces")}
        parts.pop("format")
        found.append(events.Event(**parts, **lists, content=content, name=name))
    return intact.History(tuple(found))


def share_of_checks(store: Store, times: int) -> float:
    """Part of the time of listing all that goes into checking entries against their names and tallies [-]."""
    checked = intact._history_of
    took: dict[object, list[float]] = {checked: [], unchecked: []}
    for _ in range(times):
        for reading in took:
            intact._history_of = reading
            start = time.process_time()
            listed_rows(store, TODAY)
            took[reading].append(time.process_time() - start)
    intact._history_of = checked
    return 1 - min(took[unchecked]) / min(took[checked])


def timed(job, times: int) -> float:
    """Median time of a job [s]."""
    took = []
    for _ in range(times):
        start = time.perf_counter()
        job()
        took.append(time.perf_counter() - start)
    return statistics.median(took)


def main(sites: int, log_rows: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "list.gpkg"
        start = time.perf_counter()
        store = Store.create(path, title="invented", who="Ada")
        park, tree = fill(store, sites, log_rows)
        store.close()
        print(
            f"{sites} sites, {log_rows} log rows: filled in {time.perf_counter() - start:.0f} s, "
            f"{path.stat().st_size / 1e6:.0f} MB"
        )
        store = Store.open(path)
        peer = plain(store, Path(folder) / "peer.db")
        by = actions.By("Ada", "bench")
        use = {"what": "use", "date": "2026-05-01", "hours": "3 h", "pull": "2.8 kN", "wetness": "dry"}
        storm = {"what": "event", "date": "2026-05-01", "event": "storm"}

        def add_one(body):
            with store.change() as writer:
                actions.log(writer, tree, body, by)

        def add_plain():
            peer.execute("BEGIN IMMEDIATE")
            peer.execute("INSERT INTO log VALUES (?,?,?,?)", (tree, "2026-05-01", 8.4, json.dumps(use)))
            peer.execute("COMMIT")

        def list_plain():
            found = peer.execute(
                "SELECT code, girth_m, record FROM anchors WHERE site = ? ORDER BY code", (park,)
            ).fetchall()
            return [json.loads(row[2]) for row in found]

        def quick(wait):
            for db in (store.db, peer):
                db.execute(f"PRAGMA synchronous = {wait}")

        compare(
            "list a park of 100 trees, 50 lines, with status",
            timed(lambda: listed_rows(store, TODAY, park), 15),
            timed(list_plain, 15),
        )
        if log_rows <= 100_000:
            print(f"checking entries against their names: {100 * share_of_checks(store, 5):.1f} % of listing all")
        compare("add a use, disk waited for", timed(lambda: add_one(use), 60), timed(add_plain, 60))
        quick("OFF")
        compare("add a use, disk not waited for", timed(lambda: add_one(use), 200), timed(add_plain, 200))
        compare("add a storm (draws what leans on the tree)", timed(lambda: add_one(storm), 20), timed(add_plain, 20))
        if log_rows <= 100_000:
            start = time.perf_counter()
            findings = verify(store)
            print(f"verify: {time.perf_counter() - start:.1f} s, {len(findings)} findings")
        store.close()
        peer.close()


def compare(what: str, ours_s: float, peer_s: float) -> None:
    print(f"{what}: {1000 * ours_s:.2f} ms, plain sqlite3 {1000 * peer_s:.2f} ms, ratio {ours_s / peer_s:.1f}")


if __name__ == "__main__":
    given = [int(text) for text in sys.argv[1:3]]
    main(*given, *(100_000, 1_000_000)[len(given) :])
