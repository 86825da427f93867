BEGIN TRANSACTION;
CREATE TABLE athlete (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (name <> ''),
  leg TEXT CHECK (leg IN ('left', 'right')),
  born INTEGER CHECK (born BETWEEN 1900 AND 2100),
  level TEXT CHECK (level IN ('beginner', 'intermediate', 'advanced')),
  file TEXT CHECK (file <> '' AND length(file) <= 100000),
  note TEXT CHECK (note <> '')
, stature REAL CHECK (stature > 0), mass REAL CHECK (mass > 0)) STRICT;
INSERT INTO "athlete" VALUES(1,'Runa','right',2014,'beginner',NULL,'first season',NULL,NULL);
INSERT INTO "athlete" VALUES(2,'Tevin',NULL,NULL,NULL,NULL,NULL,NULL,NULL);
CREATE TABLE attempt (
  id INTEGER PRIMARY KEY,
  session INTEGER NOT NULL REFERENCES session (id),
  athlete INTEGER NOT NULL REFERENCES athlete (id),
  plan INTEGER REFERENCES plan (id),
  drill TEXT NOT NULL CHECK (drill <> ''),
  moves TEXT NOT NULL CHECK (moves <> ''),
  lengths TEXT NOT NULL CHECK (lengths GLOB '[[]*]'),
  total REAL CHECK (total > 0),
  readings TEXT CHECK (readings <> ''),
  zero TEXT CHECK (zero <> ''),
  strides INTEGER CHECK (strides BETWEEN 0 AND 24),
  speed REAL CHECK (speed > 0),
  wind REAL,
  surface TEXT CHECK (surface <> ''),
  foul INTEGER NOT NULL CHECK (foul IN (0, 1)),
  note TEXT CHECK (note <> ''),
  made TEXT NOT NULL CHECK (made <> '')
, runs INTEGER NOT NULL DEFAULT 1 CHECK (runs BETWEEN 1 AND 99), contacts INTEGER NOT NULL DEFAULT 0 CHECK (contacts >= 0), struck INTEGER NOT NULL DEFAULT 0 CHECK (struck IN (0, 1)), knee_gap REAL, support_knee REAL, free_knee REAL, free_thigh REAL, trunk REAL) STRICT;
INSERT INTO "attempt" VALUES(1,1,1,1,'hop-step-sand','hop step','[2.61, 2.19]',4.8,'2.61 ; 4.80','board',4,5.4,0.4,'track',0,'windy','2026-04-01T10:00:00.000+00:00',1,3,1,NULL,NULL,NULL,NULL,NULL);
INSERT INTO "attempt" VALUES(2,1,2,NULL,'standing-triple','hop step jump','[null, null, null]',NULL,NULL,NULL,0,NULL,NULL,NULL,1,NULL,'2026-04-01T10:05:00.000+00:00',1,3,0,NULL,NULL,NULL,NULL,NULL);
CREATE TABLE correction (
  id INTEGER PRIMARY KEY,
  at TEXT NOT NULL CHECK (at <> ''),
  room TEXT NOT NULL CHECK (room IN ('athlete', 'session', 'plan', 'attempt')),
  row INTEGER NOT NULL,
  field TEXT NOT NULL CHECK (field <> ''),
  before TEXT NOT NULL,
  after TEXT NOT NULL
) STRICT;
INSERT INTO "correction" VALUES(1,'2026-11-25T13:05:37.765Z','attempt',1,'wind','-0.3','0.3');
INSERT INTO "correction" VALUES(2,'2026-11-26T18:53:07.689Z','attempt',1,'wind','0.3','0.4');
INSERT INTO "correction" VALUES(3,'2026-11-26T18:53:07.689Z','attempt',1,'struck','0','1');
CREATE TABLE plan (
  id INTEGER PRIMARY KEY,
  athlete INTEGER NOT NULL REFERENCES athlete (id),
  drill TEXT NOT NULL CHECK (drill <> ''),
  day TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-1][0-9]-[0-3][0-9]'),
  json TEXT NOT NULL CHECK (json GLOB '{*}' AND length(json) <= 100000)
) STRICT;
INSERT INTO "plan" VALUES(1,1,'hop-step-sand','2026-04-01','{"version":1}');
CREATE TABLE session (
  id INTEGER PRIMARY KEY,
  day TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-1][0-9]-[0-3][0-9]'),
  place TEXT NOT NULL CHECK (place <> ''),
  note TEXT CHECK (note <> ''),
  UNIQUE (day, place)
) STRICT;
INSERT INTO "session" VALUES(1,'2026-04-01','club',NULL);
CREATE TABLE setting (
  key TEXT PRIMARY KEY NOT NULL CHECK (key <> ''),
  value TEXT NOT NULL CHECK (value <> '')
) STRICT, WITHOUT ROWID;
INSERT INTO "setting" VALUES('taken:abc','yes');
CREATE INDEX attempt_athlete ON attempt (athlete, session);
CREATE INDEX attempt_session ON attempt (session, athlete, contacts, runs, struck);
CREATE INDEX attempt_plan ON attempt (plan);
CREATE INDEX plan_athlete ON plan (athlete, drill, day);
CREATE INDEX correction_row ON correction (room, row);
CREATE TRIGGER athlete_kept AFTER UPDATE ON athlete BEGIN
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'athlete', OLD.id, 'name', quote(OLD.name), quote(NEW.name) WHERE OLD.name IS NOT NEW.name;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'athlete', OLD.id, 'leg', quote(OLD.leg), quote(NEW.leg) WHERE OLD.leg IS NOT NEW.leg;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'athlete', OLD.id, 'born', quote(OLD.born), quote(NEW.born) WHERE OLD.born IS NOT NEW.born;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'athlete', OLD.id, 'level', quote(OLD.level), quote(NEW.level) WHERE OLD.level IS NOT NEW.level;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'athlete', OLD.id, 'file', quote(OLD.file), quote(NEW.file) WHERE OLD.file IS NOT NEW.file;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'athlete', OLD.id, 'note', quote(OLD.note), quote(NEW.note) WHERE OLD.note IS NOT NEW.note;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'athlete', OLD.id, 'stature', quote(OLD.stature), quote(NEW.stature) WHERE OLD.stature IS NOT NEW.stature;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'athlete', OLD.id, 'mass', quote(OLD.mass), quote(NEW.mass) WHERE OLD.mass IS NOT NEW.mass;
END;
CREATE TRIGGER session_kept AFTER UPDATE ON session BEGIN
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'session', OLD.id, 'day', quote(OLD.day), quote(NEW.day) WHERE OLD.day IS NOT NEW.day;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'session', OLD.id, 'place', quote(OLD.place), quote(NEW.place) WHERE OLD.place IS NOT NEW.place;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'session', OLD.id, 'note', quote(OLD.note), quote(NEW.note) WHERE OLD.note IS NOT NEW.note;
END;
CREATE TRIGGER plan_kept AFTER UPDATE ON plan BEGIN
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'plan', OLD.id, 'athlete', quote(OLD.athlete), quote(NEW.athlete) WHERE OLD.athlete IS NOT NEW.athlete;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'plan', OLD.id, 'drill', quote(OLD.drill), quote(NEW.drill) WHERE OLD.drill IS NOT NEW.drill;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'plan', OLD.id, 'day', quote(OLD.day), quote(NEW.day) WHERE OLD.day IS NOT NEW.day;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'plan', OLD.id, 'json', quote(OLD.json), quote(NEW.json) WHERE OLD.json IS NOT NEW.json;
END;
CREATE TRIGGER attempt_kept AFTER UPDATE ON attempt BEGIN
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'session', quote(OLD.session), quote(NEW.session) WHERE OLD.session IS NOT NEW.session;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'athlete', quote(OLD.athlete), quote(NEW.athlete) WHERE OLD.athlete IS NOT NEW.athlete;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'plan', quote(OLD.plan), quote(NEW.plan) WHERE OLD.plan IS NOT NEW.plan;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'drill', quote(OLD.drill), quote(NEW.drill) WHERE OLD.drill IS NOT NEW.drill;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'moves', quote(OLD.moves), quote(NEW.moves) WHERE OLD.moves IS NOT NEW.moves;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'lengths', quote(OLD.lengths), quote(NEW.lengths) WHERE OLD.lengths IS NOT NEW.lengths;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'total', quote(OLD.total), quote(NEW.total) WHERE OLD.total IS NOT NEW.total;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'readings', quote(OLD.readings), quote(NEW.readings) WHERE OLD.readings IS NOT NEW.readings;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'zero', quote(OLD.zero), quote(NEW.zero) WHERE OLD.zero IS NOT NEW.zero;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'strides', quote(OLD.strides), quote(NEW.strides) WHERE OLD.strides IS NOT NEW.strides;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'speed', quote(OLD.speed), quote(NEW.speed) WHERE OLD.speed IS NOT NEW.speed;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'wind', quote(OLD.wind), quote(NEW.wind) WHERE OLD.wind IS NOT NEW.wind;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'surface', quote(OLD.surface), quote(NEW.surface) WHERE OLD.surface IS NOT NEW.surface;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'foul', quote(OLD.foul), quote(NEW.foul) WHERE OLD.foul IS NOT NEW.foul;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'note', quote(OLD.note), quote(NEW.note) WHERE OLD.note IS NOT NEW.note;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'made', quote(OLD.made), quote(NEW.made) WHERE OLD.made IS NOT NEW.made;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'runs', quote(OLD.runs), quote(NEW.runs) WHERE OLD.runs IS NOT NEW.runs;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'contacts', quote(OLD.contacts), quote(NEW.contacts) WHERE OLD.contacts IS NOT NEW.contacts;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'struck', quote(OLD.struck), quote(NEW.struck) WHERE OLD.struck IS NOT NEW.struck;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'knee_gap', quote(OLD.knee_gap), quote(NEW.knee_gap) WHERE OLD.knee_gap IS NOT NEW.knee_gap;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'support_knee', quote(OLD.support_knee), quote(NEW.support_knee) WHERE OLD.support_knee IS NOT NEW.support_knee;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'free_knee', quote(OLD.free_knee), quote(NEW.free_knee) WHERE OLD.free_knee IS NOT NEW.free_knee;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'free_thigh', quote(OLD.free_thigh), quote(NEW.free_thigh) WHERE OLD.free_thigh IS NOT NEW.free_thigh;
INSERT INTO correction (at, room, row, field, before, after) SELECT strftime('%Y-%m-%dT%H:%M:%fZ', 'now'), 'attempt', OLD.id, 'trunk', quote(OLD.trunk), quote(NEW.trunk) WHERE OLD.trunk IS NOT NEW.trunk;
END;
CREATE TRIGGER athlete_stays BEFORE DELETE ON athlete BEGIN SELECT RAISE(ABORT, 'rows of athlete are kept'); END;
CREATE TRIGGER session_stays BEFORE DELETE ON session BEGIN SELECT RAISE(ABORT, 'rows of session are kept'); END;
CREATE TRIGGER plan_stays BEFORE DELETE ON plan BEGIN SELECT RAISE(ABORT, 'rows of plan are kept'); END;
CREATE TRIGGER attempt_stays BEFORE DELETE ON attempt BEGIN SELECT RAISE(ABORT, 'rows of attempt are kept'); END;
CREATE TRIGGER correction_stays BEFORE DELETE ON correction BEGIN SELECT RAISE(ABORT, 'rows of correction are kept'); END;
CREATE TRIGGER correction_fixed BEFORE UPDATE ON correction BEGIN SELECT RAISE(ABORT, 'corrections are kept'); END;
COMMIT;
