"""The tables of a register file, and the steps from an older form to this one.

`events`, `tallies`, `heads`, `lost` and `photos` are what is kept; `about` says what the file is. Everything else is
drawn from the events and can be made anew. Triggers of the database itself refuse to change or delete an event.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable

from siteassess.places.geopackage import announce, run_statements, write_frame
from siteassess.register.intact import recount

STORE_VERSION = 3

_KEPT = """
CREATE TABLE about (id INTEGER PRIMARY KEY AUTOINCREMENT, key TEXT NOT NULL UNIQUE, value TEXT NOT NULL);
CREATE TABLE events (
  id INTEGER PRIMARY KEY AUTOINCREMENT, name TEXT NOT NULL UNIQUE, kind TEXT NOT NULL, subject TEXT NOT NULL,
  who TEXT NOT NULL, recorded TEXT NOT NULL, why TEXT NOT NULL, content TEXT NOT NULL);
CREATE INDEX events_by_subject ON events (subject);
CREATE INDEX events_by_kind ON events (kind);
CREATE TABLE heads (id INTEGER PRIMARY KEY AUTOINCREMENT, name TEXT NOT NULL UNIQUE);
CREATE TABLE photos (
  id INTEGER PRIMARY KEY AUTOINCREMENT, sha256 TEXT NOT NULL UNIQUE, media_type TEXT NOT NULL, bytes BLOB NOT NULL);
CREATE TRIGGER events_are_never_changed BEFORE UPDATE ON events
  BEGIN SELECT RAISE(ABORT, 'an event is never changed; add a correction'); END;
CREATE TRIGGER events_are_never_deleted BEFORE DELETE ON events
  BEGIN SELECT RAISE(ABORT, 'an event is never deleted; add a correction'); END;
"""
_TALLIES = """
CREATE TABLE tallies (
  id INTEGER PRIMARY KEY AUTOINCREMENT, subject TEXT NOT NULL UNIQUE, changes INTEGER NOT NULL, names INTEGER NOT NULL);
CREATE TABLE lost (id INTEGER PRIMARY KEY AUTOINCREMENT, name TEXT NOT NULL UNIQUE);
"""
_DRAWN = """
CREATE TABLE sites (
  id INTEGER PRIMARY KEY AUTOINCREMENT, geom POINT, subject TEXT NOT NULL UNIQUE, name TEXT, land_status TEXT,
  status_when_written TEXT, valid_until TEXT, conflicts INTEGER, origin TEXT, record TEXT);
CREATE TABLE anchors (
  id INTEGER PRIMARY KEY AUTOINCREMENT, geom POINT, subject TEXT NOT NULL UNIQUE, site TEXT, code TEXT, kind TEXT,
  species TEXT, girth_m DOUBLE, girth_read_at_m DOUBLE, accuracy_m DOUBLE, lat_deg DOUBLE, lon_deg DOUBLE,
  status_when_written TEXT, valid_until TEXT, conflicts INTEGER, origin TEXT, record TEXT);
CREATE INDEX anchors_by_site ON anchors (site, code);
CREATE TABLE lines (
  id INTEGER PRIMARY KEY AUTOINCREMENT, geom LINESTRING, subject TEXT NOT NULL UNIQUE, site TEXT, code TEXT, use TEXT,
  anchor_a TEXT, anchor_b TEXT, span_m DOUBLE, status_when_written TEXT, valid_until TEXT, conflicts INTEGER,
  origin TEXT, record TEXT);
CREATE INDEX sites_by_name ON sites (name COLLATE NOCASE);
CREATE INDEX sites_by_origin ON sites (origin);
CREATE INDEX anchors_by_origin ON anchors (origin);
CREATE INDEX lines_by_origin ON lines (origin);
CREATE INDEX lines_by_site ON lines (site, code);
CREATE INDEX lines_by_a ON lines (anchor_a);
CREATE INDEX lines_by_b ON lines (anchor_b);
CREATE TABLE care_log (
  id INTEGER PRIMARY KEY AUTOINCREMENT, event TEXT NOT NULL UNIQUE, subject TEXT NOT NULL, what TEXT, date TEXT,
  line TEXT, hours DOUBLE, pull_n DOUBLE, load_hours_kn_h DOUBLE, wetness TEXT, bark_marks TEXT, ground_marks TEXT,
  void INTEGER NOT NULL, corrected INTEGER NOT NULL, body TEXT);
CREATE INDEX care_log_by_subject ON care_log (subject, date);
CREATE TABLE assessments (
  id INTEGER PRIMARY KEY AUTOINCREMENT, event TEXT NOT NULL UNIQUE, subject TEXT NOT NULL, date TEXT,
  void INTEGER NOT NULL, corrected INTEGER NOT NULL, body TEXT);
CREATE INDEX assessments_by_subject ON assessments (subject, date);
CREATE TABLE approvals (
  id INTEGER PRIMARY KEY AUTOINCREMENT, event TEXT NOT NULL UNIQUE, subject TEXT NOT NULL, what TEXT, said TEXT,
  who TEXT, recorded TEXT, date TEXT, expires TEXT, conditions TEXT, current INTEGER NOT NULL);
CREATE INDEX approvals_by_subject ON approvals (subject);
CREATE TABLE joins (
  id INTEGER PRIMARY KEY AUTOINCREMENT, event TEXT NOT NULL UNIQUE, a TEXT NOT NULL, b TEXT NOT NULL, finding TEXT,
  void INTEGER NOT NULL);
CREATE INDEX joins_by_a ON joins (a);
CREATE INDEX joins_by_b ON joins (b);
"""
TABLES_OF_THINGS = ("sites", "anchors", "lines")
DRAWN_TABLES = (*TABLES_OF_THINGS, "care_log", "assessments", "approvals", "joins")
_CONTENTS = (
    ("about", "What this file is, its licence and version", None),
    ("events", "The history: one row a change, named by the hash of its content; never changed, never deleted", None),
    ("heads", "The latest changes; note them elsewhere to find a cut-off history", None),
    ("tallies", "How many changes each thing has, and the sum of their names: shows one that is gone", None),
    ("lost", "Names of changes that others build on and that a salvage did not find", None),
    ("photos", "Photos by the hash of their bytes, metadata stripped", None),
    ("sites", "Sites, drawn from events. A user's list: not an inspection, no permission", "POINT"),
    ("anchors", "Anchors, drawn from events. Status as of the last write: ask the register for today's", "POINT"),
    ("lines", "Lines, drawn from events. Status as of the last write: ask the register for today's", "LINESTRING"),
    ("care_log", "Care log, drawn from events. Load-hours are a use index; no harm threshold is known", None),
    ("assessments", "Assessments as they were given, drawn from events", None),
    ("approvals", "Moves and marks, drawn from events", None),
    ("joins", "What people found about subjects that looked like one, drawn from events", None),
)



def _with_tallies(db: sqlite3.Connection) -> None:
    run_statements(db, _TALLIES)
    for row in _CONTENTS:
        if row[0] in ("tallies", "lost"):
            announce(db, *row)
    recount(db)


# from version n to n + 1: each step changes the kept tables inside one transaction; drawn tables are made anew after
# entries about copies came with form 3: a program that does not know them says so, and takes none for altered
FORM_STEPS: dict[int, Callable[[sqlite3.Connection], None]] = {1: _with_tallies, 2: lambda db: None}


def create(db: sqlite3.Connection) -> None:
    """Write every table of a new register, inside the caller's transaction."""
    write_frame(db)
    run_statements(db, _KEPT)
    run_statements(db, _TALLIES)
    run_statements(db, _DRAWN)
    for table, description, geometry in _CONTENTS:
        announce(db, table, description, geometry)
    db.execute("INSERT INTO about (key, value) VALUES ('store_version', ?)", (str(STORE_VERSION),))


def redraw_empty(db: sqlite3.Connection) -> None:
    """Drop and make anew the drawn tables, inside the caller's transaction."""
    for table in DRAWN_TABLES:
        db.execute(f"DROP TABLE IF EXISTS {table}")
        db.execute("DELETE FROM gpkg_geometry_columns WHERE table_name = ?", (table,))
        db.execute("DELETE FROM gpkg_contents WHERE table_name = ?", (table,))
    run_statements(db, _DRAWN)
    for table, description, geometry in _CONTENTS:
        if table in DRAWN_TABLES:
            announce(db, table, description, geometry)
