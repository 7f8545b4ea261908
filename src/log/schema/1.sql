-- Schema 1 of the tank log. Rows are written once: an UPDATE or DELETE of any row is refused (triggers at the end), and
-- every change is a row in `revision`. Times are text in UTC, nine decimals, so that they sort; offsets are seconds.
PRAGMA application_id = 1414090316; -- 'TINL'

-- One row for each row of the tables below, in the order in which they were written.
CREATE TABLE entry (
  seq      INTEGER PRIMARY KEY,
  id       TEXT NOT NULL UNIQUE CHECK (length(id) = 36),
  kind     TEXT NOT NULL,
  recorded TEXT NOT NULL
) STRICT;

CREATE TABLE tank (
  seq      INTEGER PRIMARY KEY REFERENCES entry (seq),
  id       TEXT NOT NULL UNIQUE REFERENCES entry (id),
  name     TEXT NOT NULL CHECK (name <> ''),
  name_key TEXT NOT NULL,           -- the name in lower case: unique among living tanks
  zone     TEXT NOT NULL,           -- IANA time zone
  water    TEXT NOT NULL CHECK (water IN ('fresh', 'brackish', 'marine')),
  volume_l REAL CHECK (volume_l > 0),
  note     TEXT
) STRICT;

CREATE TABLE test (
  seq     INTEGER PRIMARY KEY REFERENCES entry (seq),
  id      TEXT NOT NULL UNIQUE REFERENCES entry (id),
  kit     TEXT,                     -- none: read by eye, or by something that is no kit of ours
  name    TEXT NOT NULL,
  analyte TEXT NOT NULL,
  unit    TEXT NOT NULL             -- with its basis
) STRICT;
CREATE UNIQUE INDEX test_same ON test (name, analyte, unit, ifnull(kit, ''));

CREATE TABLE photo (
  seq             INTEGER PRIMARY KEY REFERENCES entry (seq),
  id              TEXT NOT NULL UNIQUE REFERENCES entry (id),
  hash            TEXT NOT NULL UNIQUE, -- of the coded image data without metadata
  name            TEXT,                 -- of the file as it came
  format          TEXT NOT NULL,
  camera          TEXT,
  taken_utc TEXT,
  taken_offset INTEGER,
  taken_source TEXT,
  taken_certainty TEXT CHECK (taken_certainty IN ('sure', 'unsure')),
  CHECK ((taken_utc IS NULL) + (taken_offset IS NULL) + (taken_source IS NULL) + (taken_certainty IS NULL) IN (0, 4))
) STRICT;

-- One vial or strip. It may have several photos: the readings name them.
CREATE TABLE sample (
  seq       INTEGER PRIMARY KEY REFERENCES entry (seq),
  id        TEXT NOT NULL UNIQUE REFERENCES entry (id),
  target    TEXT NOT NULL CHECK (target IN ('tank', 'tap', 'standard', 'other')),
  tank      TEXT REFERENCES tank (id),
  label     TEXT,                   -- which standard, which other water
  station   TEXT,
  note      TEXT,
  drawn_utc TEXT,
  drawn_offset INTEGER,
  drawn_source TEXT,
  drawn_certainty TEXT CHECK (drawn_certainty IN ('sure', 'unsure')),
  reagent_utc TEXT,
  reagent_offset INTEGER,
  reagent_source TEXT,
  reagent_certainty TEXT CHECK (reagent_certainty IN ('sure', 'unsure')),
  photo_utc TEXT,
  photo_offset INTEGER,
  photo_source TEXT,
  photo_certainty TEXT CHECK (photo_certainty IN ('sure', 'unsure')),
  entered_utc TEXT NOT NULL,
  entered_offset INTEGER NOT NULL,
  entered_source TEXT NOT NULL,
  entered_certainty TEXT NOT NULL CHECK (entered_certainty IN ('sure', 'unsure')),
  CHECK ((target = 'tank') = (tank IS NOT NULL)),
  CHECK ((drawn_utc IS NULL) + (drawn_offset IS NULL) + (drawn_source IS NULL) + (drawn_certainty IS NULL) IN (0, 4)),
  CHECK ((reagent_utc IS NULL) + (reagent_offset IS NULL) + (reagent_source IS NULL) + (reagent_certainty IS NULL) IN (0, 4)),
  CHECK ((photo_utc IS NULL) + (photo_offset IS NULL) + (photo_source IS NULL) + (photo_certainty IS NULL) IN (0, 4))
) STRICT;

CREATE TABLE reading (
  seq             INTEGER PRIMARY KEY REFERENCES entry (seq),
  id              TEXT NOT NULL UNIQUE REFERENCES entry (id),
  root            TEXT NOT NULL REFERENCES reading (id), -- first of the readings that replace one another; itself if first
  origin          TEXT NOT NULL CHECK (origin IN ('photo', 'hand', 'correction')),
  sample          TEXT NOT NULL REFERENCES sample (id),
  test            TEXT NOT NULL REFERENCES test (id),
  photo           TEXT REFERENCES photo (id),
  station         TEXT,
  kit_revision    TEXT,
  card_revision   TEXT,
  program         TEXT NOT NULL,
  status          TEXT NOT NULL,
  entered         TEXT,             -- the number as it was entered
  value           REAL,
  lower           REAL,             -- of the 95 % interval
  upper           REAL,
  bound           REAL,             -- detection limit not reached, top or bottom of the scale
  detection_limit REAL CHECK (detection_limit > 0),
  unit            TEXT NOT NULL,
  canonical_value REAL,
  canonical_lower REAL,
  canonical_upper REAL,
  canonical_bound REAL,
  canonical_unit  TEXT NOT NULL,
  dilution_added  REAL CHECK (dilution_added > 0),
  refusal         TEXT NOT NULL CHECK (json_type(refusal) = 'array'),  -- findings that decided a refusal
  findings        TEXT NOT NULL CHECK (json_type(findings) = 'array'),
  lab             TEXT CHECK (json_array_length(lab) = 3),
  off_curve       REAL,
  light           TEXT CHECK (json_type(light) = 'array'),
  place           TEXT,
  -- No value without its interval, no 'none' without its limit, no zero. A CHECK passes on NULL, hence ifnull.
  CHECK (ifnull(CASE status
    WHEN 'measured' THEN (value > 0 OR unit = 'pH') AND lower >= 0 AND lower <= value AND value <= upper AND bound IS NULL
    WHEN 'not-detected' THEN bound > 0 AND value IS NULL AND lower IS NULL AND upper IS NULL
    WHEN 'above' THEN (bound > 0 OR unit = 'pH') AND value IS NULL AND lower IS NULL AND upper IS NULL
    WHEN 'below' THEN (bound > 0 OR unit = 'pH') AND value IS NULL AND lower IS NULL AND upper IS NULL
    WHEN 'refused' THEN bound IS NULL AND value IS NULL AND lower IS NULL AND upper IS NULL
    END, 0)),
  CHECK ((status = 'refused') = (json_array_length(refusal) > 0)),
  CHECK ((status = 'refused') = (entered IS NULL)),
  CHECK ((value IS NULL) = (canonical_value IS NULL) AND (lower IS NULL) = (canonical_lower IS NULL)
    AND (upper IS NULL) = (canonical_upper IS NULL) AND (bound IS NULL) = (canonical_bound IS NULL)),
  CHECK ((photo IS NULL) = (station IS NULL))
) STRICT;
CREATE INDEX reading_root ON reading (root);
CREATE INDEX reading_photo ON reading (photo, station);
CREATE INDEX reading_sample ON reading (sample);

CREATE TABLE event (
  seq     INTEGER PRIMARY KEY REFERENCES entry (seq),
  id      TEXT NOT NULL UNIQUE REFERENCES entry (id),
  kind    TEXT NOT NULL CHECK (kind <> ''),
  tank    TEXT REFERENCES tank (id),
  note    TEXT,
  payload TEXT NOT NULL CHECK (json_type(payload) = 'object'),
  at_utc TEXT NOT NULL,
  at_offset INTEGER NOT NULL,
  at_source TEXT NOT NULL,
  at_certainty TEXT NOT NULL CHECK (at_certainty IN ('sure', 'unsure'))
) STRICT;

CREATE TABLE revision (
  seq      INTEGER PRIMARY KEY REFERENCES entry (seq),
  id       TEXT NOT NULL UNIQUE REFERENCES entry (id),
  kind     TEXT NOT NULL CHECK (kind <> ''),
  subject  TEXT NOT NULL REFERENCES entry (id),  -- what it changes
  replaces TEXT REFERENCES entry (id),           -- what stood before: a reading, or the undo taken back
  reading  TEXT REFERENCES reading (id),         -- the new reading of a correction or rereading
  target   TEXT CHECK (target IN ('tank', 'tap', 'standard', 'other')),
  tank     TEXT REFERENCES tank (id),
  label    TEXT,
  reason   TEXT,
  drawn_utc TEXT,
  drawn_offset INTEGER,
  drawn_source TEXT,
  drawn_certainty TEXT CHECK (drawn_certainty IN ('sure', 'unsure')),
  CHECK ((target IS 'tank') = (tank IS NOT NULL)),
  CHECK ((drawn_utc IS NULL) + (drawn_offset IS NULL) + (drawn_source IS NULL) + (drawn_certainty IS NULL) IN (0, 4))
) STRICT;
CREATE INDEX revision_subject ON revision (subject, kind);

-- What is undone now: the newest word on it is 'undo'.
CREATE VIEW undone (id) AS
SELECT r.subject FROM revision r
WHERE r.kind = 'undo' AND NOT EXISTS (
  SELECT 1 FROM revision n WHERE n.subject = r.subject AND n.kind IN ('undo', 'redo') AND n.seq > r.seq);

-- Samples after their moves and changes of time. `at` is the best known time of the water: drawn, else reagent, photo, entered.
CREATE VIEW sample_now AS
SELECT s.seq, s.id, s.station, s.note,
  CASE WHEN m.seq IS NULL THEN s.target ELSE m.target END AS target,
  CASE WHEN m.seq IS NULL THEN s.tank ELSE m.tank END AS tank,
  CASE WHEN m.seq IS NULL THEN s.label ELSE m.label END AS label,
  coalesce(t.drawn_utc, s.drawn_utc) AS drawn_utc, coalesce(t.drawn_offset, s.drawn_offset) AS drawn_offset,
  coalesce(t.drawn_source, s.drawn_source) AS drawn_source, coalesce(t.drawn_certainty, s.drawn_certainty) AS drawn_certainty,
  s.reagent_utc, s.reagent_offset, s.reagent_source, s.reagent_certainty,
  s.photo_utc, s.photo_offset, s.photo_source, s.photo_certainty,
  s.entered_utc, s.entered_offset, s.entered_source, s.entered_certainty,
  coalesce(t.drawn_utc, s.drawn_utc, s.reagent_utc, s.photo_utc, s.entered_utc) AS at_utc,
  coalesce(t.drawn_offset, s.drawn_offset, s.reagent_offset, s.photo_offset, s.entered_offset) AS at_offset,
  coalesce(t.drawn_source, s.drawn_source, s.reagent_source, s.photo_source, s.entered_source) AS at_source,
  coalesce(t.drawn_certainty, s.drawn_certainty, s.reagent_certainty, s.photo_certainty, s.entered_certainty) AS at_certainty
FROM sample s
LEFT JOIN revision m ON m.seq = (SELECT max(v.seq) FROM revision v
  WHERE v.subject = s.id AND v.kind = 'move' AND v.id NOT IN (SELECT id FROM undone))
LEFT JOIN revision t ON t.seq = (SELECT max(v.seq) FROM revision v
  WHERE v.subject = s.id AND v.kind = 'retime' AND v.id NOT IN (SELECT id FROM undone));

-- Readings with their standing. Of those that replace one another the newest correction by the keeper stands, else the newest.
CREATE VIEW reading_now AS
SELECT r.*,
  CASE
    WHEN r.id IN (SELECT id FROM undone) OR r.sample IN (SELECT id FROM undone) THEN 'undone'
    WHEN EXISTS (SELECT 1 FROM reading n WHERE n.root = r.root
      AND (n.origin = 'correction', n.seq) > (r.origin = 'correction', r.seq)
      AND n.id NOT IN (SELECT id FROM undone)) THEN 'superseded'
    ELSE 'current'
  END AS standing
FROM reading r;

-- Append-only. A replacing insert would delete without a delete trigger, hence the third one.
CREATE TRIGGER entry_kept BEFORE UPDATE ON entry BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER entry_stays BEFORE DELETE ON entry BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER entry_once BEFORE INSERT ON entry
WHEN EXISTS (SELECT 1 FROM entry WHERE id = NEW.id OR seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER tank_kept BEFORE UPDATE ON tank BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER tank_stays BEFORE DELETE ON tank BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER tank_once BEFORE INSERT ON tank
WHEN EXISTS (SELECT 1 FROM tank WHERE id = NEW.id OR seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER test_kept BEFORE UPDATE ON test BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER test_stays BEFORE DELETE ON test BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER test_once BEFORE INSERT ON test
WHEN EXISTS (SELECT 1 FROM test WHERE id = NEW.id OR seq = NEW.seq)
  OR EXISTS (SELECT 1 FROM test WHERE name = NEW.name AND analyte = NEW.analyte AND unit = NEW.unit AND kit IS NEW.kit)
BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER photo_kept BEFORE UPDATE ON photo BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER photo_stays BEFORE DELETE ON photo BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER photo_once BEFORE INSERT ON photo
WHEN EXISTS (SELECT 1 FROM photo WHERE id = NEW.id OR seq = NEW.seq OR hash = NEW.hash)
BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER sample_kept BEFORE UPDATE ON sample BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER sample_stays BEFORE DELETE ON sample BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER sample_once BEFORE INSERT ON sample
WHEN EXISTS (SELECT 1 FROM sample WHERE id = NEW.id OR seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER reading_kept BEFORE UPDATE ON reading BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER reading_stays BEFORE DELETE ON reading BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER reading_once BEFORE INSERT ON reading
WHEN EXISTS (SELECT 1 FROM reading WHERE id = NEW.id OR seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER event_kept BEFORE UPDATE ON event BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER event_stays BEFORE DELETE ON event BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER event_once BEFORE INSERT ON event
WHEN EXISTS (SELECT 1 FROM event WHERE id = NEW.id OR seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER revision_kept BEFORE UPDATE ON revision BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER revision_stays BEFORE DELETE ON revision BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER revision_once BEFORE INSERT ON revision
WHEN EXISTS (SELECT 1 FROM revision WHERE id = NEW.id OR seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
