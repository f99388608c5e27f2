"""Damages a register in 10,000 random ways and asks it all it can be asked: how often it fails, lies or loses.

Run: python tests/bench/damage_register.py [CASES] [SEED]

Each case overwrites bytes or pages, cuts the file, edits rows, tables or the schema behind the register's back, or
moves the clock. Then the register is opened, listed, shown, copied, verified, asked on the command line and written
to; it is salvaged, and what came out is listed. Counted are

- internal errors: anything raised that is not meant for a reader;
- wrong yes: a line whose mark has ended, begins later, was refused or is withdrawn, or that leans on an entry that is
  altered or gone, said to be open; or any line at all while the clock is behind the newest entry;
- entries back: of those whose own bytes the damage left alone, how many the salvage brought into the new file.

Which entries are left alone is worked out here from the whole file's bytes, not asked of the code under test.
"""

from __future__ import annotations

import datetime
import random
import sys
import tempfile
import time
import traceback
import types
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from click.testing import CliRunner

from siteassess.cli.register import register
from siteassess.errors import SiteassessError
from siteassess.register import actions, events
from siteassess.register.listing import details, listed_rows
from siteassess.register.salvage import salvage
from siteassess.register.share import make_copy
from siteassess.register.store import Store
from siteassess.register.verify import verify

sys.path.insert(0, str(Path(__file__).resolve().parent))
from damages import DAY, PAGE, by_bytes, by_hand  # noqa: E402

TODAY = datetime.datetime(2026, 6, 1, 9, 30, tzinfo=datetime.UTC)
TREES = ("T1", "T2", "T3", "T4", "T5", "T6", "T7")
# which line hangs between which trees; T1 to T3 bear the one that is open, the others each have one thing against them
LINES = {"L1": "T1 T2", "L2": "T2 T3", "L3": "T3 T1", "L4": "T3 T2", "L5": "T4 T5", "L6": "T5 T6"}


@dataclass
class Park:
    """A whole register's bytes, and what must never be said of it."""

    raw: bytes
    today: datetime.datetime
    names: dict[str, str]
    basis: set[str]
    contents: dict[str, bytes]
    extents: dict[str, list[tuple[int, int]]]
    ends: datetime.date


@dataclass
class Tally:
    """What the cases came to."""

    cases: int = 0
    internal: list[str] = field(default_factory=list)
    wrong_yes: list[str] = field(default_factory=list)
    intact: int = 0
    back: int = 0
    said: Counter = field(default_factory=Counter)


def make_park(folder: Path) -> Park:
    """An invented park: one open line, and five that must never say yes today."""
    on = TODAY.date()
    # the same file each time, or a case could not be looked at again
    salts, kept = random.Random(7), events.secrets
    events.secrets = types.SimpleNamespace(token_hex=lambda size: salts.randbytes(size).hex())
    try:
        return _filled(Store.create(folder / "whole.gpkg", title="Invented group", who="Ada", now=lambda: TODAY), on)
    finally:
        events.secrets = kept


def _filled(store: Store, on: datetime.date) -> Park:
    store.db.execute("PRAGMA synchronous = OFF")
    trees = [
        {
            "kind": "tree",
            "code": code,
            "position": {"fixes": [{"lat": 50 + 0.0003 * i, "lon": 8.0, "accuracy": "5 m"}]},
            "trunk": [{"girth": "180 cm", "read_at": "1.3 m"}],
        }
        for i, code in enumerate(TREES)
    ]
    ends = {line: dict(zip("ab", ({"anchor": code} for code in pair.split()))) for line, pair in LINES.items()}
    record = {
        "site": {"name": "Larchmere Green", "invented": True, "land_status": "mown amenity"},
        "survey": {"by": "Ada", "date": str(on - 10 * DAY)},
        "anchors": trees,
        "lines": [{"id": line, "use": "low line", **ends[line]} for line in LINES],
    }

    def do(action, *args, who="Ada", **said):
        with store.change() as writer:
            return action(writer, *args, actions.By(who, "bench"), **said)

    names = do(actions.add_record, record)

    def mark(line, by, first, last, given=True):
        body = {"by": by, "given": given, "name": "office", "date": str(on + first * DAY)}
        do(actions.mark, names[line], body | ({"expires": str(on + last * DAY)} if given else {}))

    for line in LINES:
        spans = {"L2": (-400, -30), "L6": (20, 300)}.get(line, (-10, 200))
        for by in ("group", "owner"):
            mark(f"line {line}", by, *spans)
        day = on + (spans[0] + 1) * DAY
        for to in ("surveyed", "second look", "approved with conditions", "active"):
            do(actions.move, names[f"line {line}"], to, who="Ada" if to == "surveyed" else "Ben", on=day)
    mark("line L3", "owner", -1, 0, given=False)
    do(actions.move, names["line L4"], "withdrawn", on=on)
    storm = {"what": "event", "date": str(on - 2 * DAY), "event": "storm"}
    do(actions.log, names["anchor T4"], storm)
    use = {"what": "use", "date": str(on - DAY), "hours": "2 h", "pull": "2 kN", "line": names["line L1"]}
    for _ in range(3):
        do(actions.log, names["anchor T1"], use)
    do(actions.join, names["anchor T6"], names["anchor T7"])
    result = {"verdict": "suits if", "reasons": [random.Random(i).randbytes(450).hex() for i in range(9)]}
    with store.change() as writer:
        actions.keep_answer(writer, names["line L1"], result, on, actions.By("Ada", "bench"))
    subjects = {names[what] for what in ("site", "anchor T1", "anchor T2", "line L1")}
    basis = {event.name for event in store.events() if event.about in subjects}
    contents = {name: content.encode() for name, content in store.iterate()}
    rows_of = {event.name: event for event in store.events()}
    store.close()
    raw = store.path.read_bytes()
    extents = {name: _extents(raw, event) for name, event in rows_of.items()}
    return Park(raw, TODAY, names, basis, contents, extents, on + 200 * DAY)


def _extents(raw: bytes, event) -> list[tuple[int, int]]:
    """Where an entry's name and text lie, with the links between the pages of a long one."""
    beside = f"{event.kind}{event.about}{event.who}{event.recorded}{event.why}".encode()
    row = event.name.encode() + beside + event.content.encode()
    # the first 200 bytes of a row stand together; a later piece begins a page, behind its link to the next
    at = raw.index(row[:200])
    end = _same(raw, at, row)
    # what stands between the two only repeats the text
    found = [(at, at + 64), (at + 64 + len(beside), at + end + (4 if end < len(row) else 0))]
    done = end
    while done < len(row):
        at = raw.index(row[done : done + 40])
        assert at % PAGE == 4
        length = min(_same(raw, at, row[done:]), PAGE - 4)
        found.append((at - 4, at + length))
        done += length
    return found


def _same(raw: bytes, at: int, row: bytes) -> int:
    """How many bytes of a row stand at a place."""
    return next((i for i, byte in enumerate(row) if raw[at + i : at + i + 1] != bytes((byte,))), len(row))


def ask(store: Store, park: Park, on: datetime.date, chance: random.Random) -> set[str]:
    """All a reader asks; the lines that are said to be open, by any of the answers."""
    found = listed_rows(store, on)
    may = {row.label for row in found if row.may_rig_now != "no"}
    line = chance.choice(list(LINES))
    if details(store, park.names[f"line {line}"], on).listed.may_rig_now != "no":
        may.add(line)
    copy = make_copy(store, chance.choice(("officer", "members", "public")), on)
    may |= {feature.code for feature in copy.features if feature.may_rig_now != "no"}
    return may


def command(path: Path, chance: random.Random) -> None:
    """One of the commands that only read, by the machine's own clock; what it does not say in words is raised."""
    asked = chance.choice(("list", "history", "verify", "due", "rota", "same", "clock"))
    ended = CliRunner().invoke(register, [asked, str(path)]).exception
    if ended is not None and not isinstance(ended, SystemExit):
        raise ended


def one_case(park: Park, chance: random.Random, folder: Path, tally: Tally) -> None:
    path, new = folder / "case.gpkg", folder / "new.gpkg"
    tally.cases += 1
    now = park.today + DAY / 2
    kind = chance.choices(("bytes", "hand", "clock"), (5, 4, 1))[0]
    if kind == "bytes":
        raw, alone = by_bytes(park, chance)
    elif kind == "hand":
        raw, alone = by_hand(park, chance, path)
    else:
        raw, alone = park.raw, set(park.contents)
        now += datetime.timedelta(days=chance.choice((-1, 1)) * 10 ** chance.uniform(-1, 4.5))
    path.write_bytes(raw)
    on = now.date()

    def watched(what: str, job) -> None:
        try:
            job()
            tally.said[f"{kind}: {what} done"] += 1
        except SiteassessError:
            tally.said[f"{kind}: {what} refused in words"] += 1
        except Exception as error:
            last = traceback.extract_tb(error.__traceback__)[-1]
            where = f"{what}: {type(error).__name__}: {error} at {Path(last.filename).name}:{last.lineno}"
            tally.internal.append(f"case {tally.cases}, {kind}, {where}")

    def yes(may: set[str], here: set[str], where: str) -> None:
        behind = now < park.today - datetime.timedelta(minutes=11)
        good = not behind and here >= park.basis and on <= park.ends
        allowed = ({"L1"} if good else set()) | ({"L6"} if on >= park.today.date() + 20 * DAY and not behind else set())
        if may - allowed:
            tally.wrong_yes.append(f"case {tally.cases}, {kind}, {where}: {sorted(may - allowed)}")

    def read() -> None:
        with Store.open(path, now=lambda: now) as store:
            yes(ask(store, park, on, chance), alone, "read")

    def look_over() -> None:
        with Store.open(path, now=lambda: now) as store:
            verify(store)

    def write() -> None:
        with Store.open(path, now=lambda: now) as store:
            store.db.execute("PRAGMA synchronous = OFF")
            with store.change() as writer:
                body = {"what": "event", "date": str(park.today.date()), "event": "pruning"}
                actions.log(writer, park.names["anchor T3"], body, actions.By("Ada", "bench"))
            yes(ask(store, park, on, chance), alone, "after writing")

    def bring_back() -> None:
        path.write_bytes(raw)
        tally.intact += len(alone)
        store, _ = salvage(path, new, "Ada", "bench", on, lambda: now)
        with store:
            here = {name for name, _ in store.iterate()}
            tally.back += len(alone & here)
            yes(ask(store, park, on, chance), here, "salvaged")

    jobs = {"reading": read, "a command": lambda: command(path, chance), "verifying": look_over, "writing": write,
            "salvage": bring_back}  # fmt: skip
    for what, job in jobs.items():
        watched(what, job)
    for name in ("case", "new"):
        for ending in ("", "-journal", "-wal", "-shm"):
            (folder / f"{name}.gpkg{ending}").unlink(missing_ok=True)


def run(cases: int, seed: int, folder: Path) -> Tally:
    """Cases of one seed, on one park."""
    park = make_park(folder)
    with Store.open(folder / "whole.gpkg", now=lambda: park.today + DAY / 2) as store:
        chance = random.Random(seed)
        assert ask(store, park, park.today.date(), chance) == {"L1"}, "the park itself must say what is meant"
    tally = Tally()
    for number in range(cases):
        one_case(park, random.Random(f"{seed} {number}"), folder, tally)
    return tally


def main(cases: int, seed: int) -> int:
    started = time.perf_counter()
    # files a hundred thousand times small: in memory where the system has such a place
    with tempfile.TemporaryDirectory(dir="/dev/shm" if Path("/dev/shm").is_dir() else None) as folder:
        tally = run(cases, seed, Path(folder))
    print(f"{tally.cases} cases of seed {seed} in {time.perf_counter() - started:.0f} s")
    print(f"internal errors: {len(tally.internal)}")
    print(f"wrong yes: {len(tally.wrong_yes)}")
    share = 100 * tally.back / max(tally.intact, 1)
    print(f"intact entries back: {tally.back} of {tally.intact}, {share:.3f} %")
    for what, count in sorted(tally.said.items()):
        print(f"  {what}: {count}")
    for text in (*tally.internal[:20], *tally.wrong_yes[:20]):
        print(f"  ! {text}")
    return 1 if tally.internal or tally.wrong_yes or share < 99 else 0


if __name__ == "__main__":
    given = [int(text) for text in sys.argv[1:3]]
    sys.exit(main(*given, *(10_000, 1)[len(given) :]))
