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
