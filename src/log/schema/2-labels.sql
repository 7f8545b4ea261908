-- Cut-out labels: what a printed number means in this log. A label is retired by undoing it and renamed by a revision of the
-- kind 'rename', so a number once given out keeps its row for ever.
CREATE TABLE label (
  seq     INTEGER PRIMARY KEY REFERENCES entry (seq),
  id      TEXT NOT NULL UNIQUE REFERENCES entry (id),
  number  INTEGER NOT NULL CHECK (number BETWEEN 16 AND 511), -- AprilTag 36h11: 16 to 255 a test, 256 to 511 a target
  names   TEXT NOT NULL CHECK (names IN ('test', 'tank', 'tap', 'new-water', 'standard', 'zero', 'clear')),
  test    TEXT REFERENCES test (id),
  tank    TEXT REFERENCES tank (id),
  analyte TEXT,                     -- of a standard
  value   REAL CHECK (value > 0),   -- its concentration
  unit    TEXT,                     -- with its basis
  words   TEXT NOT NULL CHECK (words <> ''), -- as first printed
  CHECK ((names = 'test') = (number < 256) AND (names = 'test') = (test IS NOT NULL)),
  CHECK ((names = 'tank') = (tank IS NOT NULL)),
  CHECK ((names = 'standard') = (value IS NOT NULL) AND (names = 'standard') = (unit IS NOT NULL)
    AND (names = 'standard') = (analyte IS NOT NULL))
) STRICT;
CREATE INDEX label_number ON label (number);
CREATE TRIGGER label_kept BEFORE UPDATE ON label BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER label_stays BEFORE DELETE ON label BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER label_once BEFORE INSERT ON label
WHEN EXISTS (SELECT 1 FROM label WHERE id = NEW.id OR seq = NEW.seq)
BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
