"""What random damage does to a register's file, by its bytes and by hand, and which entries it leaves alone.

For `damage_register.py`; the park is told there.
"""

from __future__ import annotations

import datetime
import random
import sqlite3
from pathlib import Path

from siteassess.register.events import name_of

PAGE = 4096
DAY = datetime.timedelta(days=1)
SAID = ("", 0, -1, 2**40, 0.5, None, b"\xff\x00", "x", "T1", "the same", "not the same", "2036-12-31", "{}", "\0")


def by_bytes(park, chance: random.Random) -> tuple[bytes, set[str]]:
    """A file with bytes or pages of it overwritten, or cut; and the entries left alone."""
    raw = bytearray(park.raw)
    page = chance.randrange(len(raw) // PAGE) * PAGE
    how = chance.randrange(8)
    if how == 0:
        for _ in range(chance.choice((1, 1, 4, 64, 1000))):
            raw[chance.randrange(len(raw))] ^= chance.randrange(1, 256)
    elif how == 1:
        raw[page : page + PAGE] = chance.choice((bytes(PAGE), chance.randbytes(PAGE), b"\xff" * PAGE))
    elif how == 2:
        del raw[chance.randrange(len(raw)) :]
    elif how == 3:
        start, length = chance.randrange(len(raw)), chance.randrange(1, 3 * PAGE)
        raw[start : start + length] = chance.randbytes(len(raw[start : start + length]))
    elif how == 4:
        for _ in range(chance.randrange(1, 12)):
            raw[chance.randrange(100)] = chance.randrange(256)
    elif how == 5:
        other = chance.randrange(len(raw) // PAGE) * PAGE
        raw[page : page + PAGE], raw[other : other + PAGE] = raw[other : other + PAGE], raw[page : page + PAGE]
    elif how == 6:
        # heads of pages: kind, number of cells, where they lie
        raw[page : page + 12] = chance.randbytes(12)
    else:
        for _ in range(chance.randrange(1, 4)):
            at = chance.randrange(len(park.raw) // PAGE) * PAGE
            raw[at : at + PAGE] = chance.choice((bytes(PAGE), chance.randbytes(PAGE)))
    done = bytes(raw)
    alone = {
        name
        for name, parts in park.extents.items()
        if all(done[low:high] == park.raw[low:high] for low, high in parts)
    }
    return done, alone


def by_hand(park, chance: random.Random, path: Path) -> tuple[bytes, set[str]]:
    """A file edited with plain SQL; and the entries whose rows still say what they said."""
    path.write_bytes(park.raw)
    db = sqlite3.connect(path, isolation_level=None)
    for trigger in ("events_are_never_changed", "events_are_never_deleted"):
        db.execute(f"DROP TRIGGER {trigger}")
    subjects = dict(db.execute("SELECT name, subject FROM events"))
    for _ in range(chance.choice((1, 1, 1, 2, 5))):
        try:
            _edit(db, park, chance)
        except (sqlite3.Error, UnicodeDecodeError, IndexError):
            # an edit before it left nothing to edit
            continue
    try:
        kept = {
            name
            for name, content, subject in db.execute(
                "SELECT CAST(name AS BLOB), CAST(content AS BLOB), CAST(subject AS BLOB) FROM events"
            )
            if park.contents.get(name.decode("ascii", "replace")) == content
            and subjects.get(name.decode("ascii", "replace"), "").encode() == subject
        }
        kept = {name.decode() for name in kept}
    except sqlite3.Error:
        kept = set()
    db.close()
    return path.read_bytes(), kept


def _edit(db: sqlite3.Connection, park, chance: random.Random) -> None:
    name = chance.choice(list(park.contents))
    how = chance.randrange(10)
    if how == 0:
        column = chance.choice(("name", "kind", "subject", "who", "recorded", "why", "content"))
        value = chance.choice((*SAID, chance.choice(list(park.contents))))
        db.execute(f"UPDATE events SET {column} = ? WHERE name = ?", (value, name))
    elif how == 1:
        db.execute("DELETE FROM events WHERE name = ?", (name,))
    elif how in (2, 3):
        content = park.contents[name].decode()
        today = park.today.date()
        old, new = chance.choice(
            (
                ('"given":false', '"given":true'),
                (str(today - 30 * DAY), "2036-12-31"),
                (str(today + 20 * DAY), "2020-01-01"),
                (str(park.ends), "2036-12-31"),
                ("withdrawn", "active"),
                ("storm", "pruning"),
                ('"a', '"b'),
            )
        )
        forged = content.replace(old, new)
        if how == 2:
            db.execute("UPDATE events SET content = ? WHERE name = ?", (forged, name))
        else:
            db.execute("UPDATE events SET content = ?, name = ? WHERE name = ?", (forged, name_of(forged), name))
    elif how == 4:
        table = chance.choice(("heads", "tallies", "lost", "about", "photos", "gpkg_contents"))
        columns = [row[1] for row in db.execute(f"PRAGMA table_info({table})")]
        if chance.random() < 0.5:
            db.execute(f"UPDATE {table} SET {chance.choice(columns)} = ?", (chance.choice(SAID),))
        else:
            db.execute(f"DELETE FROM {table}")
    elif how in (5, 6):
        table = chance.choice(("sites", "anchors", "lines", "care_log", "assessments", "approvals", "joins"))
        columns = [row[1] for row in db.execute(f"PRAGMA table_info({table})")]
        some = f"WHERE id = {chance.randrange(1, 9)}" if chance.random() < 0.7 else ""
        if chance.random() < 0.8:
            value = chance.choice((*SAID, chance.choice(list(park.names.values()))))
            db.execute(f"UPDATE {table} SET {chance.choice(columns)} = ? {some}", (value,))
        else:
            db.execute(f"DELETE FROM {table} {some}")
    elif how == 7:
        things = db.execute("SELECT type, name FROM sqlite_master WHERE sql IS NOT NULL").fetchall()
        db.execute("DROP {} {}".format(*chance.choice(things)))
    elif how == 8:
        db.execute("PRAGMA writable_schema = ON")
        thing = chance.choice([row[0] for row in db.execute("SELECT name FROM sqlite_master")])
        what, value = chance.choice((("sql", "x"), ("rootpage", chance.randrange(1, 60)), ("name", "other")))
        db.execute(f"UPDATE sqlite_master SET {what} = ? WHERE name = ?", (value, thing))
    else:
        kept = db.execute("SELECT name, kind, subject, who, recorded, why, content FROM events").fetchall()
        row = list(chance.choice(kept))
        row[6] = row[6].replace('"salt":"', '"salt":"0')
        row[0] = name_of(row[6])
        db.execute("INSERT INTO events (name, kind, subject, who, recorded, why, content) VALUES (?,?,?,?,?,?,?)", row)
