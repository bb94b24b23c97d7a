/**
 * The collection's database, in words that outlive the program: this text is also written beside it as schema.sql.
 * Over 400 lines because the steps of one schema are read one after the other.
 */
/** "SDay" in ASCII: marks the file as a daybook, for `file` and for ourselves. */
export const APPLICATION_ID = 0x53446179;

const VERSION_1 = `
-- Dates are YYYY-MM-DD or YYYY-MM-DDTHH:MM[:SS] in the camera's own wall time; created_at and binned_at are UTC.
-- Lengths are micrometres, scales micrometres per pixel, playing time hours. binned_at: in the bin since then.

CREATE TABLE stylus (
  id TEXT PRIMARY KEY,
  name TEXT NOT NULL,
  cartridge TEXT NOT NULL,
  profile TEXT NOT NULL,
  deck TEXT NOT NULL,
  radius_um REAL,
  side_radius_um REAL,
  rated_hours REAL,
  start_date TEXT,
  start_hours REAL,               -- hours already played at the start; NULL = unknown history
  price REAL,
  currency TEXT NOT NULL,
  limit_um REAL,                  -- the owner's own limit for the flat width
  notes TEXT NOT NULL,
  demo INTEGER NOT NULL DEFAULT 0 CHECK (demo IN (0, 1)),
  retired_date TEXT,
  retired_reason TEXT,
  successor_id TEXT REFERENCES stylus (id),
  created_at TEXT NOT NULL,
  binned_at TEXT
) STRICT;

-- One row for each picture file in originals/, named <sha256>.<extension>.
CREATE TABLE original (
  sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
  media_type TEXT NOT NULL,
  byte_length INTEGER NOT NULL CHECK (byte_length > 0),
  width_px INTEGER NOT NULL,      -- upright, after the EXIF orientation
  height_px INTEGER NOT NULL,
  stored_at TEXT NOT NULL
) STRICT;

CREATE TABLE capture (
  id TEXT PRIMARY KEY,
  stylus_id TEXT NOT NULL REFERENCES stylus (id),
  sha256 TEXT NOT NULL REFERENCES original (sha256),
  file_name TEXT NOT NULL,
  view TEXT NOT NULL,
  light TEXT NOT NULL,
  mirrored INTEGER CHECK (mirrored IN (0, 1)),
  taken_wall TEXT,
  taken_offset TEXT,
  taken_source TEXT,
  scale_um_per_px REAL,
  scale_standard_um_per_px REAL,
  scale_source TEXT,
  microscope TEXT NOT NULL,
  is_baseline INTEGER NOT NULL CHECK (is_baseline IN (0, 1)),
  notes TEXT NOT NULL,
  examination TEXT,               -- JSON report on this one picture
  cantilever TEXT,                -- JSON report on the cantilever
  created_at TEXT NOT NULL,
  binned_at TEXT
) STRICT;
CREATE INDEX capture_by_stylus ON capture (stylus_id);
CREATE INDEX capture_by_original ON capture (sha256);

CREATE TABLE comparison (
  id TEXT PRIMARY KEY,
  stylus_id TEXT NOT NULL REFERENCES stylus (id),
  baseline_id TEXT NOT NULL REFERENCES capture (id),
  later_id TEXT NOT NULL REFERENCES capture (id),
  engine_version TEXT NOT NULL,
  inputs TEXT NOT NULL,           -- JSON: view and scales that the report was made with
  report TEXT NOT NULL,           -- JSON report
  created_at TEXT NOT NULL,
  binned_at TEXT
) STRICT;
CREATE INDEX comparison_by_stylus ON comparison (stylus_id);

CREATE TABLE entry (
  id TEXT PRIMARY KEY,
  stylus_id TEXT NOT NULL REFERENCES stylus (id),
  kind TEXT NOT NULL,
  date TEXT NOT NULL,
  played_amount REAL,
  played_unit TEXT,
  played_minutes_per_side REAL,
  played_hours REAL,
  played_estimated INTEGER CHECK (played_estimated IN (0, 1)),
  text TEXT NOT NULL,
  created_at TEXT NOT NULL,
  binned_at TEXT
) STRICT;
CREATE INDEX entry_by_stylus ON entry (stylus_id);

-- Every change of a row as it was and as it became (JSON; before is NULL for a new row).
CREATE TABLE change (
  number INTEGER PRIMARY KEY,
  at TEXT NOT NULL,
  kind TEXT NOT NULL,
  row_id TEXT NOT NULL,
  before TEXT,
  after TEXT NOT NULL
) STRICT;

CREATE TABLE setting (
  name TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT;
`;

const MARKS = `
-- What somebody saw on a stylus. frame 'tip': coordinates in the tip frame of the stylus and view (micrometres, or per
-- cent of the shank's width where no scale is known); frame 'picture': pixels of the capture.
CREATE TABLE mark (
  id TEXT PRIMARY KEY,
  stylus_id TEXT NOT NULL REFERENCES stylus (id),
  capture_id TEXT NOT NULL REFERENCES capture (id),
  view TEXT NOT NULL,
  kind TEXT NOT NULL,
  state TEXT NOT NULL CHECK (state IN ('suspected', 'confirmed', 'rejected')),
  frame TEXT NOT NULL CHECK (frame IN ('tip', 'picture')),
  unit TEXT NOT NULL CHECK (unit IN ('um', 'percent-of-shank', 'px')),
  shape TEXT NOT NULL,            -- JSON: point, outline, line or angle
  size TEXT,                      -- JSON: value, expanded uncertainty, unit, where from
  note TEXT NOT NULL,
  seen_by TEXT NOT NULL,
  seen_on TEXT NOT NULL,
  proposed TEXT,                  -- JSON: what the program suspected; NULL = found by a person
  created_at TEXT NOT NULL,
  binned_at TEXT
) STRICT;
CREATE INDEX mark_by_stylus ON mark (stylus_id);
`;

const LIVE = `
-- How a live picture was taken (JSON); NULL for a file.
ALTER TABLE capture ADD COLUMN camera TEXT;

-- Pictures kept behind a capture: the focal planes that it was merged from.
CREATE TABLE capture_part (
  capture_id TEXT NOT NULL REFERENCES capture (id),
  number INTEGER NOT NULL CHECK (number >= 0),
  sha256 TEXT NOT NULL REFERENCES original (sha256),
  PRIMARY KEY (capture_id, number)
) STRICT;
`;

const PLAYING_TIME = `
-- Playing time with its uncertainty, weekly habits, set-up values, and which rows of a play list are in.
ALTER TABLE stylus ADD COLUMN start_standard_hours REAL;  -- standard uncertainty of start_hours
ALTER TABLE stylus ADD COLUMN minutes_per_side REAL;
ALTER TABLE stylus ADD COLUMN groove TEXT;                -- JSON: rpm, outerMm, innerMm; NULL = 30 cm, 33 1/3
ALTER TABLE entry ADD COLUMN played_from TEXT;            -- first day of a stretch that ends on date
ALTER TABLE entry ADD COLUMN played_sides_per_evening REAL;
ALTER TABLE entry ADD COLUMN played_standard_hours REAL;
ALTER TABLE entry ADD COLUMN played_groove TEXT;
ALTER TABLE entry ADD COLUMN set_up TEXT;                 -- JSON: forces in mN, lengths in mm, angles in degrees
CREATE INDEX entry_by_stylus_and_date ON entry (stylus_id, date);

CREATE TABLE habit (
  id TEXT PRIMARY KEY,
  stylus_id TEXT NOT NULL REFERENCES stylus (id),
  start_date TEXT NOT NULL,
  end_date TEXT,                  -- NULL = goes on
  amount REAL NOT NULL,           -- so many a week
  unit TEXT NOT NULL,
  minutes_per_side REAL NOT NULL,
  sides_per_evening REAL NOT NULL,
  hours_per_week REAL NOT NULL,
  text TEXT NOT NULL,
  created_at TEXT NOT NULL,
  binned_at TEXT
) STRICT;
CREATE INDEX habit_by_stylus ON habit (stylus_id);

-- A row of a play list that became an entry, by a hash of its content; a second import passes over it.
CREATE TABLE play_row (
  hash TEXT NOT NULL,
  entry_id TEXT NOT NULL REFERENCES entry (id),
  PRIMARY KEY (hash, entry_id)
) STRICT;
`;

const SCALES = `
-- A scale belongs to one microscope at one setting; zoom and focus are in the device's own units, NULL = not known.
CREATE TABLE scale_card (
  id TEXT PRIMARY KEY,
  microscope TEXT NOT NULL,
  frame_width_px INTEGER NOT NULL,
  frame_height_px INTEGER NOT NULL,
  resize_mode TEXT,
  zoom REAL,
  focus REAL,
  um_per_px REAL NOT NULL,
  standard_um_per_px REAL,
  source TEXT NOT NULL,
  taken_wall TEXT,
  taken_offset TEXT,
  taken_source TEXT,
  notes TEXT NOT NULL,
  sha256 TEXT REFERENCES original (sha256),   -- the picture it was taken from
  file_name TEXT,
  slide TEXT,                     -- JSON: what was found on the ruled slide
  created_at TEXT NOT NULL,
  binned_at TEXT
) STRICT;

ALTER TABLE capture ADD COLUMN scale_card_id TEXT REFERENCES scale_card (id);
-- Zoom and focus of this picture, as stated when it took its scale from that card.
ALTER TABLE capture ADD COLUMN scale_zoom REAL;
ALTER TABLE capture ADD COLUMN scale_focus REAL;
CREATE INDEX capture_by_scale_card ON capture (scale_card_id);
`;

const HISTORY = `
-- One step of undo: what one form, one drag or one batch of pictures changed together.
CREATE TABLE gesture (
  number INTEGER PRIMARY KEY,
  at TEXT NOT NULL,
  title TEXT NOT NULL,
  key TEXT,                       -- calls with the same key one after the other are one gesture
  state TEXT NOT NULL CHECK (state IN ('done', 'undone', 'dropped'))
) STRICT;
CREATE INDEX gesture_by_state ON gesture (state, number);
ALTER TABLE change ADD COLUMN gesture INTEGER REFERENCES gesture (number);  -- NULL = by the program itself
CREATE INDEX change_by_gesture ON change (gesture);
`;

const LISTENING = `
-- Listening. A sound file is an original too, with the media type audio/wav and 0 as its width and height.
ALTER TABLE entry ADD COLUMN listening TEXT;  -- JSON: what was heard on which passages

CREATE TABLE passage (            -- belongs to no stylus: the same passage is heard with all of them
  id TEXT PRIMARY KEY,
  kind TEXT NOT NULL CHECK (kind IN ('passage', 'tone')),
  name TEXT NOT NULL,
  place TEXT NOT NULL,
  groove TEXT NOT NULL,
  tone_hz REAL,
  cut_on TEXT NOT NULL,
  notes TEXT NOT NULL,
  created_at TEXT NOT NULL,
  binned_at TEXT
) STRICT;

CREATE TABLE recording (
  id TEXT PRIMARY KEY,
  stylus_id TEXT NOT NULL REFERENCES stylus (id),
  passage_id TEXT NOT NULL REFERENCES passage (id),
  sha256 TEXT NOT NULL REFERENCES original (sha256),
  file_name TEXT NOT NULL,
  recorded_on TEXT NOT NULL,
  cleaning TEXT NOT NULL,         -- before, after, none
  notes TEXT NOT NULL,
  sample_rate INTEGER NOT NULL,
  channel_count INTEGER NOT NULL,
  bits INTEGER NOT NULL,
  float INTEGER NOT NULL CHECK (float IN (0, 1)),
  seconds REAL NOT NULL,
  tone TEXT,                      -- JSON: harmonics and levels of a test band
  engine_version TEXT,
  created_at TEXT NOT NULL,
  binned_at TEXT
) STRICT;
CREATE INDEX recording_by_stylus ON recording (stylus_id);

CREATE TABLE sound_comparison (
  id TEXT PRIMARY KEY,
  stylus_id TEXT NOT NULL REFERENCES stylus (id),
  earlier_id TEXT NOT NULL REFERENCES recording (id),
  later_id TEXT NOT NULL REFERENCES recording (id),
  report TEXT NOT NULL,           -- JSON
  engine_version TEXT NOT NULL,
  created_at TEXT NOT NULL,
  binned_at TEXT
) STRICT;
CREATE INDEX sound_comparison_by_stylus ON sound_comparison (stylus_id);

-- Other causes to rule out before the stylus is blamed; one row for each stylus and cause.
CREATE TABLE cause (
  id TEXT PRIMARY KEY,
  stylus_id TEXT NOT NULL REFERENCES stylus (id),
  cause TEXT NOT NULL,
  answer TEXT NOT NULL,
  checked_on TEXT,
  note TEXT NOT NULL,
  created_at TEXT NOT NULL,
  binned_at TEXT,
  UNIQUE (stylus_id, cause)
) STRICT;

-- A used turntable on offer; the pictures hang on the stylus that came with it.
CREATE TABLE offer (
  id TEXT PRIMARY KEY,
  stylus_id TEXT NOT NULL REFERENCES stylus (id),
  title TEXT NOT NULL,
  day TEXT NOT NULL,
  seller TEXT NOT NULL,
  cartridge TEXT NOT NULL,
  price REAL,
  currency TEXT NOT NULL,
  checks TEXT NOT NULL,           -- JSON: part of the deck, answer, note
  statements TEXT NOT NULL,       -- JSON: what the seller said, what was found
  costs TEXT NOT NULL,            -- JSON: what, amount
  notes TEXT NOT NULL,
  created_at TEXT NOT NULL,
  binned_at TEXT
) STRICT;
`;

const CLEANING = `
-- What a pair of pictures before and after a cleaning says (JSON); NULL = no pair was looked at.
ALTER TABLE entry ADD COLUMN cleaned TEXT;
`;

const BRIEF = `
-- Long texts stand last in their rows: what comes after one is only reached through all of its pages.
ALTER TABLE capture RENAME COLUMN examination TO old_examination;
ALTER TABLE capture RENAME COLUMN cantilever TO old_cantilever;
ALTER TABLE capture ADD COLUMN cantilever TEXT;           -- JSON report on the cantilever
ALTER TABLE capture ADD COLUMN examination TEXT;          -- JSON report on this one picture
UPDATE capture SET cantilever = old_cantilever, examination = old_examination;
ALTER TABLE capture DROP COLUMN old_examination;
ALTER TABLE capture DROP COLUMN old_cantilever;
ALTER TABLE comparison ADD COLUMN whole TEXT NOT NULL DEFAULT '';
UPDATE comparison SET whole = report;
ALTER TABLE comparison DROP COLUMN report;
ALTER TABLE comparison RENAME COLUMN whole TO report;     -- JSON report

-- The same reports without outlines, profiles and budgets of uncertainty, a tenth of their length: what screens read
-- that show a whole stylus. Follows from the reports; a row that is missing here is read from there.
CREATE TABLE capture_brief (
  capture_id TEXT PRIMARY KEY REFERENCES capture (id) ON DELETE CASCADE,
  examination TEXT NOT NULL
) STRICT;
CREATE TABLE comparison_brief (
  comparison_id TEXT PRIMARY KEY REFERENCES comparison (id) ON DELETE CASCADE,
  report TEXT NOT NULL
) STRICT;
INSERT INTO capture_brief
  SELECT id, json_remove(json_replace(examination, '$.drawing.contour', json('[]'), '$.drawing.profile', json('[]')),
    '$.flats.left.budget', '$.flats.right.budget')
  FROM capture WHERE json_valid(examination);
INSERT INTO comparison_brief
  SELECT id, json_remove(json_replace(report, '$.drawing.baselineContour', json('[]'), '$.drawing.laterContour', json('[]'),
    '$.drawing.profile', json('[]')), '$.flats.left.budget', '$.flats.right.budget')
  FROM comparison WHERE json_valid(report);

-- The shelf's cards are answered from these without touching the rows.
DROP INDEX capture_by_stylus;
CREATE INDEX capture_by_stylus ON capture (stylus_id, binned_at, taken_wall, created_at, id, view, taken_offset, taken_source);
DROP INDEX comparison_by_stylus;
CREATE INDEX comparison_by_stylus ON comparison (stylus_id, binned_at, later_id, baseline_id, created_at, id);
CREATE INDEX capture_baseline ON capture (stylus_id) WHERE is_baseline = 1;
CREATE INDEX comparison_by_later ON comparison (later_id, baseline_id);
`;

const STUDIES = `
-- Repeatability studies: one stylus taken out and put back, a picture each time, by one person at one microscope.
CREATE TABLE study (
  id TEXT PRIMARY KEY,
  stylus_id TEXT NOT NULL REFERENCES stylus (id),
  day TEXT NOT NULL,
  who TEXT NOT NULL,
  microscope TEXT NOT NULL,
  notes TEXT NOT NULL,
  counts INTEGER NOT NULL CHECK (counts IN (0, 1)),  -- in the uncertainty budgets of that microscope
  created_at TEXT NOT NULL,
  binned_at TEXT
) STRICT;
CREATE INDEX study_by_stylus ON study (stylus_id);
-- A table of its own, because captures are asked in many places whether they are looks at the wear.
CREATE TABLE study_capture (
  capture_id TEXT PRIMARY KEY REFERENCES capture (id),
  study_id TEXT NOT NULL REFERENCES study (id)
) STRICT;
CREATE INDEX study_capture_by_study ON study_capture (study_id);
`;

export type Migration = { readonly version: number; readonly sql: string };

/** Step n turns schema n-1 into schema n. Steps of released versions are never edited; a new one goes at the end. */
const STEPS: readonly string[] = [
  VERSION_1,
  MARKS,
  LIVE,
  PLAYING_TIME,
  SCALES,
  HISTORY,
  LISTENING,
  CLEANING,
  BRIEF,
  STUDIES,
];
export const MIGRATIONS: readonly Migration[] = STEPS.map((sql, index) => ({ version: index + 1, sql }));
export const SCHEMA_VERSION = STEPS.length;

export const README_TEXT = `This folder is a Stylus Daybook collection: dated microscope pictures of record-player styluses,
what was measured on them, and the hours they played.

daybook.sqlite  everything but the pictures: an SQLite 3 database; schema.sql says what its tables mean
originals/      the pictures (and recordings) exactly as they were added, each named by the SHA-256 of its content
derived/        smaller copies for the screen and fitted wear laws; may be deleted, they are made again
backups/        whole copies as ZIP files (bags after RFC 8493), and copies of the database alone, made before its
                format changes
bin/            picture files that no row of the database names any more
aside/          what was here before a backup was taken back; nothing in it is used
incoming/, staging/   pictures that were offered but not added, and half-done work; emptied at every start
owner.lock, owner.json   which program has the collection open

Copy the whole folder to keep it, with the program closed: while it runs, files beside daybook.sqlite
(-wal, -shm) belong to it. Do not put the folder under a synchronising program (cloud drives); copy it there instead.
`;
