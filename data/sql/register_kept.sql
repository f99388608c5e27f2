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
