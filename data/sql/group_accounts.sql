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
CREATE TABLE surveys (
  id TEXT PRIMARY KEY, person TEXT NOT NULL REFERENCES people (id), at TEXT NOT NULL, site TEXT NOT NULL,
  text TEXT NOT NULL, verdicts TEXT NOT NULL, state TEXT NOT NULL, decided_by TEXT REFERENCES people (id),
  decided_at TEXT);
CREATE TABLE comments (
  id TEXT PRIMARY KEY, about TEXT NOT NULL, person TEXT NOT NULL REFERENCES people (id), at TEXT NOT NULL,
  text TEXT NOT NULL);
CREATE INDEX comments_about ON comments (about);
CREATE TABLE subscriptions (token TEXT PRIMARY KEY, person TEXT NOT NULL REFERENCES people (id), made TEXT NOT NULL);
