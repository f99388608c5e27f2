CREATE TABLE kept (key TEXT PRIMARY KEY, value TEXT NOT NULL);
CREATE TABLE people (
  id TEXT PRIMARY KEY, name TEXT NOT NULL, spelt TEXT NOT NULL UNIQUE, role TEXT NOT NULL, password TEXT NOT NULL,
  added TEXT NOT NULL, left_on TEXT);
CREATE TABLE invitations (
  token TEXT PRIMARY KEY, role TEXT NOT NULL, made_by TEXT, made TEXT NOT NULL, ends TEXT NOT NULL,
  used_by TEXT REFERENCES people (id));
CREATE TABLE sessions (
  token TEXT PRIMARY KEY, person TEXT NOT NULL REFERENCES people (id), made TEXT NOT NULL, ends TEXT NOT NULL);
CREATE TABLE misses (of TEXT NOT NULL, at TEXT NOT NULL);
CREATE INDEX misses_of ON misses (of);
