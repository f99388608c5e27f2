"""The tables of a register file, and the steps from an older form to this one.

`events`, `tallies`, `heads`, `lost` and `photos` are what is kept; `about` says what the file is. Everything else is
drawn from the events and can be made anew. Triggers of the database itself refuse to change or delete an event.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable

from siteassess.places.geopackage import announce, make_tables, write_frame
from siteassess.register.intact import recount

STORE_VERSION = 3

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
    make_tables(db, "register_tallies")
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
    make_tables(db, "register_kept")
    make_tables(db, "register_tallies")
    make_tables(db, "register_drawn")
    for table, description, geometry in _CONTENTS:
        announce(db, table, description, geometry)
    db.execute("INSERT INTO about (key, value) VALUES ('store_version', ?)", (str(STORE_VERSION),))


def redraw_empty(db: sqlite3.Connection) -> None:
    """Drop and make anew the drawn tables, inside the caller's transaction."""
    for table in DRAWN_TABLES:
        db.execute(f"DROP TABLE IF EXISTS {table}")
        db.execute("DELETE FROM gpkg_geometry_columns WHERE table_name = ?", (table,))
        db.execute("DELETE FROM gpkg_contents WHERE table_name = ?", (table,))
    make_tables(db, "register_drawn")
    for table, description, geometry in _CONTENTS:
        if table in DRAWN_TABLES:
            announce(db, table, description, geometry)
