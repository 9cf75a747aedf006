-- A survey of format 1 as the first version wrote it. Frozen: it shows that such files open for ever.
PRAGMA application_id = 1414090324;
PRAGMA user_version = 1;
BEGIN TRANSACTION;
CREATE TABLE charts (
        number INTEGER PRIMARY KEY CHECK (number > 0),
        fingerprint TEXT NOT NULL UNIQUE CHECK (length(fingerprint) = 64),
        id TEXT NOT NULL,
        name TEXT NOT NULL,
        text TEXT NOT NULL
    ) STRICT
    ;
INSERT INTO "charts" VALUES(1,'197bd571e14fe7d368073337f97cfcee8c6eff879e8b792a3957e41e620be0d1','0123456789abcdef0123456789abcdef','Bench, May','{
 "format": "tintwell-chart",
 "format_version": 1,
 "id": "0123456789abcdef0123456789abcdef",
 "name": "Bench, May",
 "quantity": "ph",
 "form": null,
 "basis": null,
 "ratio": null,
 "unit": "pH",
 "extractant": null,
 "indicator": "mixed",
 "batch": null,
 "method": null,
 "light_notes": null,
 "kind": "liquid",
 "white": "D65",
 "card_reflectance": [
  0.18,
  0.18,
  0.18
 ],
 "cameras": [
  "Pinhole One"
 ],
 "created_at": "2026-05-01T10:00:00+00:00",
 "check_again_on": "2026-08-01",
 "software_version": "0.1.0",
 "swatches": [
  {
   "value": 5.0,
   "label": null,
   "lab": [
    55.0,
    45.0,
    50.0
   ],
   "covariance": [
    [
     0.04,
     0.01,
     0.0
    ],
    [
     0.01,
     0.09,
     0.0
    ],
    [
     0.0,
     0.0,
     0.16
    ]
   ],
   "n": 1,
   "standard_uncertainty": null
  },
  {
   "value": 6.0,
   "label": null,
   "lab": [
    60.0,
    10.0,
    40.0
   ],
   "covariance": [
    [
     0.04,
     0.01,
     0.0
    ],
    [
     0.01,
     0.09,
     0.0
    ],
    [
     0.0,
     0.0,
     0.16
    ]
   ],
   "n": 1,
   "standard_uncertainty": null
  },
  {
   "value": 7.0,
   "label": null,
   "lab": [
    50.0,
    -20.0,
    20.0
   ],
   "covariance": [
    [
     0.04,
     0.01,
     0.0
    ],
    [
     0.01,
     0.09,
     0.0
    ],
    [
     0.0,
     0.0,
     0.16
    ]
   ],
   "n": 1,
   "standard_uncertainty": null
  }
 ],
 "measurements": [
  {
   "value": 5.0,
   "uncertainty": null,
   "label": null,
   "role": "standard",
   "photo": "s001.jpg",
   "tube": 1,
   "measurement": {
    "lab": [
     55.0,
     45.0,
     50.0
    ],
    "covariance": [
     [
      0.04,
      0.01,
      0.0
     ],
     [
      0.01,
      0.09,
      0.0
     ],
     [
      0.0,
      0.0,
      0.16
     ]
    ],
    "n_pixels": 5000,
    "white": "D65",
    "rgb": [
     0.4,
     0.3,
     0.1
    ],
    "background_rgb": [
     0.8,
     0.81,
     0.79
    ],
    "card_rgb": [
     0.17,
     0.18,
     0.2
    ],
    "clipped_share": 0.001,
    "outline": "found",
    "box": [
     10.5,
     20.0,
     30.0,
     80.0
    ],
    "card_box": [
     100.0,
     20.0,
     60.0,
     90.0
    ],
    "sha256": "abababababababababababababababababababababababababababababababab",
    "camera": "Pinhole One",
    "taken_at": "2026-05-01T09:30:00",
    "reasons": [
     {
      "code": "card_uneven",
      "text": "Uneven.",
      "what_to_do": "Turn it.",
      "weight": "note"
     }
    ]
   }
  },
  {
   "value": 6.0,
   "uncertainty": null,
   "label": null,
   "role": "standard",
   "photo": "s001.jpg",
   "tube": 1,
   "measurement": {
    "lab": [
     60.0,
     10.0,
     40.0
    ],
    "covariance": [
     [
      0.04,
      0.01,
      0.0
     ],
     [
      0.01,
      0.09,
      0.0
     ],
     [
      0.0,
      0.0,
      0.16
     ]
    ],
    "n_pixels": 5000,
    "white": "D65",
    "rgb": [
     0.4,
     0.3,
     0.1
    ],
    "background_rgb": [
     0.8,
     0.81,
     0.79
    ],
    "card_rgb": [
     0.17,
     0.18,
     0.2
    ],
    "clipped_share": 0.001,
    "outline": "found",
    "box": [
     10.5,
     20.0,
     30.0,
     80.0
    ],
    "card_box": [
     100.0,
     20.0,
     60.0,
     90.0
    ],
    "sha256": "abababababababababababababababababababababababababababababababab",
    "camera": "Pinhole One",
    "taken_at": "2026-05-01T09:30:00",
    "reasons": [
     {
      "code": "card_uneven",
      "text": "Uneven.",
      "what_to_do": "Turn it.",
      "weight": "note"
     }
    ]
   }
  },
  {
   "value": 7.0,
   "uncertainty": null,
   "label": null,
   "role": "standard",
   "photo": "s001.jpg",
   "tube": 1,
   "measurement": {
    "lab": [
     50.0,
     -20.0,
     20.0
    ],
    "covariance": [
     [
      0.04,
      0.01,
      0.0
     ],
     [
      0.01,
      0.09,
      0.0
     ],
     [
      0.0,
      0.0,
      0.16
     ]
    ],
    "n_pixels": 5000,
    "white": "D65",
    "rgb": [
     0.4,
     0.3,
     0.1
    ],
    "background_rgb": [
     0.8,
     0.81,
     0.79
    ],
    "card_rgb": [
     0.17,
     0.18,
     0.2
    ],
    "clipped_share": 0.001,
    "outline": "found",
    "box": [
     10.5,
     20.0,
     30.0,
     80.0
    ],
    "card_box": [
     100.0,
     20.0,
     60.0,
     90.0
    ],
    "sha256": "abababababababababababababababababababababababababababababababab",
    "camera": "Pinhole One",
    "taken_at": "2026-05-01T09:30:00",
    "reasons": [
     {
      "code": "card_uneven",
      "text": "Uneven.",
      "what_to_do": "Turn it.",
      "weight": "note"
     }
    ]
   }
  }
 ]
}
');
CREATE TABLE events (
        id INTEGER PRIMARY KEY CHECK (id > 0),
        at TEXT NOT NULL,
        person TEXT NOT NULL,
        what TEXT NOT NULL,
        subject TEXT NOT NULL,
        before TEXT,
        after TEXT
    ) STRICT
    ;
INSERT INTO "events" VALUES(1,'2026-05-01T09:30:00+02:00','P1','sites added','2',NULL,NULL);
INSERT INTO "events" VALUES(2,'2026-05-01T09:30:00+02:00','P1','samples added','2',NULL,NULL);
INSERT INTO "events" VALUES(3,'2026-05-01T09:30:00+02:00','P1','methods added','1',NULL,NULL);
INSERT INTO "events" VALUES(4,'2026-05-01T09:30:00+02:00','P1','tests added','1',NULL,NULL);
INSERT INTO "events" VALUES(5,'2026-05-01T09:30:00+02:00','P1','name given','P2',NULL,NULL);
CREATE TABLE known_values (
        id INTEGER PRIMARY KEY CHECK (id > 0),
        sample TEXT NOT NULL REFERENCES samples (label),
        quantity TEXT NOT NULL,
        unit TEXT,
        value REAL NOT NULL,
        standard_uncertainty REAL CHECK (standard_uncertainty > 0),
        source TEXT NOT NULL CHECK (source IN ('certificate', 'electrode', 'laboratory')),
        noted_at TEXT NOT NULL,
        noted_by TEXT NOT NULL REFERENCES persons (code)
    ) STRICT
    ;
INSERT INTO "known_values" VALUES(1,'Buffer 7','ph','pH',7.0,0.01,'certificate','2026-05-01T09:30:00+02:00','P1');
CREATE TABLE methods (
        name TEXT PRIMARY KEY,
        ratio TEXT,
        extractant TEXT,
        indicator TEXT,
        settling_from_min REAL,
        settling_to_min REAL,
        color_from_min REAL,
        color_to_min REAL,
        subtract_blank INTEGER NOT NULL CHECK (subtract_blank IN (0, 1)),
        notes TEXT
    ) STRICT
    ;
INSERT INTO "methods" VALUES('shake 1:5','1:5','0.01 M calcium chloride',NULL,10.0,30.0,5.0,15.0,1,NULL);
CREATE TABLE persons (
        code TEXT PRIMARY KEY,
        name TEXT
    ) STRICT
    ;
INSERT INTO "persons" VALUES('P2','Sample Taker');
INSERT INTO "persons" VALUES('P1',NULL);
CREATE TABLE photos (
        number INTEGER PRIMARY KEY CHECK (number > 0),
        sha256 TEXT NOT NULL UNIQUE CHECK (length(sha256) = 64),
        file TEXT NOT NULL,
        name TEXT NOT NULL,
        bytes INTEGER NOT NULL CHECK (bytes >= 0),
        kept_at TEXT NOT NULL
    ) STRICT
    ;
INSERT INTO "photos" VALUES(1,'d4e24d749a4fe2f161af2de913c0402b04e3ae287dafd0f9dbfa4a5c56c69285','d4e24d749a4fe2f161af2de913c0402b04e3ae287dafd0f9dbfa4a5c56c69285.jpg','plot-7.jpg',7,'2026-05-01T07:30:00.000000+00:00');
CREATE TABLE reading_details (
        reading INTEGER PRIMARY KEY REFERENCES readings (id),
        measurement TEXT,
        box TEXT,
        card TEXT,
        alternatives TEXT NOT NULL,
        probabilities TEXT NOT NULL,
        reasons TEXT NOT NULL,
        known TEXT NOT NULL,
        card_reflectance TEXT
    ) STRICT
    ;
INSERT INTO "reading_details" VALUES(1,'{"lab": [60.0, 10.0, 46.1], "covariance": [[0.04, 0.01, 0.0], [0.01, 0.09, 0.0], [0.0, 0.0, 0.16]], "n_pixels": 5000, "white": "D65", "rgb": [0.4, 0.3, 0.1], "background_rgb": [0.8, 0.81, 0.79], "card_rgb": [0.17, 0.18, 0.2], "clipped_share": 0.001, "outline": "found", "box": [10.5, 20.0, 30.0, 80.0], "card_box": [100.0, 20.0, 60.0, 90.0], "sha256": "d4e24d749a4fe2f161af2de913c0402b04e3ae287dafd0f9dbfa4a5c56c69285", "camera": "Pinhole One", "taken_at": "2026-05-01T09:30:00", "reasons": [{"code": "card_uneven", "text": "Uneven.", "what_to_do": "Turn it.", "weight": "note"}]}','[10.5, 20.0, 30.0, 80.0]','[100.0, 20.0, 60.0, 90.0]','[]','[0.1, 0.8, 0.1]','[]','[{"tube": 4, "value": 7.0, "label": null, "uncertainty": 0.02}]','[0.2, 0.2, 0.2]');
INSERT INTO "reading_details" VALUES(2,'{"lab": [60.0, 10.0, 40.0], "covariance": [[0.04, 0.01, 0.0], [0.01, 0.09, 0.0], [0.0, 0.0, 0.16]], "n_pixels": 5000, "white": "D65", "rgb": [0.4, 0.3, 0.1], "background_rgb": [0.8, 0.81, 0.79], "card_rgb": [0.17, 0.18, 0.2], "clipped_share": 0.001, "outline": "found", "box": [10.5, 20.0, 30.0, 80.0], "card_box": [100.0, 20.0, 60.0, 90.0], "sha256": "d4e24d749a4fe2f161af2de913c0402b04e3ae287dafd0f9dbfa4a5c56c69285", "camera": "Pinhole One", "taken_at": "2026-05-01T09:30:00", "reasons": [{"code": "card_uneven", "text": "Uneven.", "what_to_do": "Turn it.", "weight": "note"}]}','[10.5, 20.0, 30.0, 80.0]','[100.0, 20.0, 60.0, 90.0]','[]','[]','[{"code": "blurred", "text": "Blurred.", "what_to_do": "Hold still.", "weight": "doubtful"}]','[{"tube": 4, "value": 7.0, "label": null, "uncertainty": 0.02}]','[0.2, 0.2, 0.2]');
INSERT INTO "reading_details" VALUES(3,'{"lab": [60.0, 10.0, 46.3], "covariance": [[0.04, 0.01, 0.0], [0.01, 0.09, 0.0], [0.0, 0.0, 0.16]], "n_pixels": 5000, "white": "D65", "rgb": [0.4, 0.3, 0.1], "background_rgb": [0.8, 0.81, 0.79], "card_rgb": [0.17, 0.18, 0.2], "clipped_share": 0.001, "outline": "found", "box": [10.5, 20.0, 30.0, 80.0], "card_box": [100.0, 20.0, 60.0, 90.0], "sha256": "d4e24d749a4fe2f161af2de913c0402b04e3ae287dafd0f9dbfa4a5c56c69285", "camera": "Pinhole One", "taken_at": "2026-05-01T09:30:00", "reasons": [{"code": "card_uneven", "text": "Uneven.", "what_to_do": "Turn it.", "weight": "note"}]}','[10.5, 20.0, 30.0, 80.0]','[100.0, 20.0, 60.0, 90.0]','[{"value": 6.1, "low": 6.0, "high": 6.2, "probability": 0.7}]','[0.1, 0.8, 0.1]','[{"code": "blurred", "text": "Blurred.", "what_to_do": "Hold still.", "weight": "doubtful"}]','[{"tube": 4, "value": 7.0, "label": null, "uncertainty": 0.02}]','[0.2, 0.2, 0.2]');
INSERT INTO "reading_details" VALUES(4,'{"lab": [60.0, 10.0, 46.1], "covariance": [[0.04, 0.01, 0.0], [0.01, 0.09, 0.0], [0.0, 0.0, 0.16]], "n_pixels": 5000, "white": "D65", "rgb": [0.4, 0.3, 0.1], "background_rgb": [0.8, 0.81, 0.79], "card_rgb": [0.17, 0.18, 0.2], "clipped_share": 0.001, "outline": "found", "box": [10.5, 20.0, 30.0, 80.0], "card_box": [100.0, 20.0, 60.0, 90.0], "sha256": "d4e24d749a4fe2f161af2de913c0402b04e3ae287dafd0f9dbfa4a5c56c69285", "camera": "Pinhole One", "taken_at": "2026-05-01T09:30:00", "reasons": [{"code": "card_uneven", "text": "Uneven.", "what_to_do": "Turn it.", "weight": "note"}]}','[10.5, 20.0, 30.0, 80.0]','[100.0, 20.0, 60.0, 90.0]','[]','[0.1, 0.8, 0.1]','[]','[{"tube": 4, "value": 7.0, "label": null, "uncertainty": 0.02}]','[0.2, 0.2, 0.2]');
INSERT INTO "reading_details" VALUES(5,'{"lab": [60.0, 10.0, 46.3], "covariance": [[0.04, 0.01, 0.0], [0.01, 0.09, 0.0], [0.0, 0.0, 0.16]], "n_pixels": 5000, "white": "D65", "rgb": [0.4, 0.3, 0.1], "background_rgb": [0.8, 0.81, 0.79], "card_rgb": [0.17, 0.18, 0.2], "clipped_share": 0.001, "outline": "found", "box": [10.5, 20.0, 30.0, 80.0], "card_box": [100.0, 20.0, 60.0, 90.0], "sha256": "d4e24d749a4fe2f161af2de913c0402b04e3ae287dafd0f9dbfa4a5c56c69285", "camera": "Pinhole One", "taken_at": "2026-05-01T09:30:00", "reasons": [{"code": "card_uneven", "text": "Uneven.", "what_to_do": "Turn it.", "weight": "note"}]}','[10.5, 20.0, 30.0, 80.0]','[100.0, 20.0, 60.0, 90.0]','[{"value": 6.1, "low": 6.0, "high": 6.2, "probability": 0.7}]','[0.1, 0.8, 0.1]','[{"code": "blurred", "text": "Blurred.", "what_to_do": "Hold still.", "weight": "doubtful"}]','[{"tube": 4, "value": 7.0, "label": null, "uncertainty": 0.02}]','[0.2, 0.2, 0.2]');
CREATE TABLE readings (
        id INTEGER PRIMARY KEY CHECK (id > 0),
        kept_at TEXT NOT NULL,
        kept_offset_min INTEGER NOT NULL,
        person TEXT NOT NULL REFERENCES persons (code),
        software_version TEXT NOT NULL,
        test TEXT REFERENCES tests (id),
        corrects INTEGER REFERENCES readings (id),
        correction TEXT,
        withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
        photo_name TEXT NOT NULL,
        photo INTEGER REFERENCES photos (number),
        tube INTEGER CHECK (tube > 0),
        sample TEXT REFERENCES samples (label),
        replicate TEXT,
        role TEXT NOT NULL,
        said_chart TEXT,
        chart INTEGER REFERENCES charts (number),
        other_chart_id TEXT,
        quantity TEXT,
        status TEXT NOT NULL CHECK (status IN ('accepted', 'doubtful', 'refused')),
        value REAL,
        low REAL,
        high REAL,
        swatch REAL,
        swatch_label TEXT,
        confidence REAL CHECK (confidence BETWEEN 0 AND 1),
        nearest_by_color REAL,
        color_distance REAL,
        curve_distance REAL,
        largest_term TEXT,
        taken_at TEXT,
        origin TEXT,
        CHECK ((corrects IS NULL) = (correction IS NULL)),
        CHECK (withdrawn = 0 OR corrects IS NOT NULL),
        CHECK (corrects < id)
    ) STRICT
    ;
INSERT INTO "readings" VALUES(1,'2026-05-01T07:30:00.000000+00:00',120,'P1','0.1.0','t1',NULL,NULL,0,'plot-7.jpg',1,1,'A1',NULL,'sample',NULL,1,NULL,'ph','accepted',6.1,5.89999999999999946709e+00,6.35,6.0,NULL,0.8,6.0,3.25,3.33333333333333314829e-01,'light: 60 %','2026-05-01T09:30:00',NULL);
INSERT INTO "readings" VALUES(2,'2026-05-01T07:30:00.000000+00:00',120,'P1','0.1.0','t1',NULL,NULL,0,'plot-7.jpg',1,2,'A1',NULL,'sample',NULL,1,NULL,'ph','refused',NULL,NULL,NULL,NULL,NULL,NULL,6.0,3.25,3.33333333333333314829e-01,NULL,'2026-05-01T09:30:00',NULL);
INSERT INTO "readings" VALUES(3,'2026-05-01T07:30:00.000000+00:00',120,'P1','0.1.0','t1',NULL,NULL,0,'plot-7.jpg',1,3,'A1','2','sample',NULL,1,NULL,'ph','doubtful',6.3,6.1,6.55,6.0,NULL,0.8,6.0,3.25,3.33333333333333314829e-01,'light: 60 %','2026-05-01T09:30:00',NULL);
INSERT INTO "readings" VALUES(4,'2026-05-02T08:00:00.000000+00:00',0,'P2','0.1.0','t1',1,'outline moved',0,'plot-7.jpg',1,1,'A1',NULL,'sample',NULL,1,NULL,'ph','accepted',6.15,5.95,6.4,6.0,NULL,0.8,6.0,3.25,3.33333333333333314829e-01,'light: 60 %','2026-05-01T09:30:00',NULL);
INSERT INTO "readings" VALUES(5,'2026-05-02T08:00:00.000000+00:00',0,'P1','0.1.0','t1',3,'wrong tube',1,'plot-7.jpg',1,3,'A1','2','sample',NULL,1,NULL,'ph','doubtful',6.3,6.1,6.55,6.0,NULL,0.8,6.0,3.25,3.33333333333333314829e-01,'light: 60 %','2026-05-01T09:30:00',NULL);
CREATE TABLE samples (
        label TEXT PRIMARY KEY,
        kind TEXT NOT NULL CHECK (kind IN ('soil', 'water', 'check standard', 'blank')),
        site TEXT REFERENCES sites (name),
        taken_on TEXT,
        depth_top_cm REAL CHECK (depth_top_cm >= 0),
        depth_bottom_cm REAL CHECK (depth_bottom_cm >= 0),
        texture TEXT,
        taken_by TEXT REFERENCES persons (code),
        notes TEXT,
        CHECK (depth_top_cm < depth_bottom_cm)
    ) STRICT
    ;
INSERT INTO "samples" VALUES('A1','soil','North','2026-05-01',0.0,20.0,'loam','P2',NULL);
INSERT INTO "samples" VALUES('Buffer 7','check standard',NULL,NULL,NULL,NULL,NULL,NULL,NULL);
CREATE TABLE sites (
        name TEXT PRIMARY KEY,
        latitude_deg REAL CHECK (latitude_deg BETWEEN -90 AND 90),
        longitude_deg REAL CHECK (longitude_deg BETWEEN -180 AND 180),
        elevation_m REAL,
        map_x_m REAL,
        map_y_m REAL,
        land_use TEXT,
        area_ha REAL CHECK (area_ha > 0),
        crop TEXT,
        notes TEXT,
        CHECK ((latitude_deg IS NULL) = (longitude_deg IS NULL)),
        CHECK ((map_x_m IS NULL) = (map_y_m IS NULL))
    ) STRICT
    ;
INSERT INTO "sites" VALUES('North',50.25,8.5,210.0,NULL,NULL,'field',2.5,'rye','wet corner');
INSERT INTO "sites" VALUES('Plan',NULL,NULL,NULL,3.0,4.5,NULL,NULL,NULL,NULL);
CREATE TABLE survey (
        only_one INTEGER PRIMARY KEY CHECK (only_one = 1),
        id TEXT NOT NULL,
        name TEXT NOT NULL,
        created_at TEXT NOT NULL,
        software_version TEXT NOT NULL
    ) STRICT
    ;
INSERT INTO "survey" VALUES(1,'format-1','Spring on the north field','2026-05-01T07:30:00.000000+00:00','0.1.0');
CREATE TABLE tests (
        id TEXT PRIMARY KEY,
        sample TEXT NOT NULL REFERENCES samples (label),
        quantity TEXT NOT NULL,
        method TEXT REFERENCES methods (name),
        indicator_batch TEXT,
        shaken_at TEXT,
        indicator_added_at TEXT,
        notes TEXT
    ) STRICT
    ;
INSERT INTO "tests" VALUES('t1','A1','ph','shake 1:5','B12','2026-05-01T09:30:00+02:00',NULL,NULL);
CREATE INDEX samples_by_site ON samples (site);
CREATE INDEX tests_by_sample ON tests (sample, quantity);
CREATE INDEX known_values_by_sample ON known_values (sample, quantity, source);
CREATE UNIQUE INDEX readings_corrected ON readings (corrects) WHERE corrects IS NOT NULL;
CREATE INDEX readings_withdrawn ON readings (id) WHERE withdrawn = 1;
CREATE UNIQUE INDEX readings_by_origin ON readings (origin) WHERE origin IS NOT NULL;
CREATE INDEX readings_by_kept_at ON readings (kept_at);
CREATE INDEX readings_by_photo ON readings (photo);
CREATE INDEX readings_by_chart ON readings (chart);
CREATE INDEX readings_by_sample ON readings (sample, id, quantity, status, role, person, chart, replicate, photo_name);
CREATE INDEX readings_by_photo_name ON readings (photo_name, id, quantity, status, role, person, chart, sample, replicate);
CREATE INDEX readings_by_quantity ON readings (quantity, id, status, role, person, chart, sample, replicate, photo_name);
CREATE INDEX readings_by_value ON readings (value, id, quantity, status, role, person, chart, sample, replicate, photo_name);
CREATE INDEX readings_by_status ON readings (status, id, quantity, role, person, chart, sample, replicate, photo_name);
CREATE INDEX readings_by_confidence ON readings (confidence, id, quantity, status, role, person, chart, sample, replicate, photo_name);
CREATE INDEX readings_by_taken_at ON readings (taken_at, id, quantity, status, role, person, chart, sample, replicate, photo_name);
CREATE INDEX readings_by_person ON readings (person, id, quantity, status, role, chart, sample, replicate, photo_name);
CREATE TRIGGER readings_never_changed BEFORE UPDATE ON readings BEGIN SELECT RAISE(ABORT, 'what is kept in readings is never changed or deleted'); END;
CREATE TRIGGER readings_never_deleted BEFORE DELETE ON readings BEGIN SELECT RAISE(ABORT, 'what is kept in readings is never changed or deleted'); END;
CREATE TRIGGER readings_never_replaced BEFORE INSERT ON readings WHEN EXISTS (SELECT 1 FROM readings WHERE id = NEW.id OR corrects = NEW.corrects OR origin = NEW.origin) BEGIN SELECT RAISE(ABORT, 'what is kept in readings is never changed or deleted'); END;
CREATE TRIGGER reading_details_never_changed BEFORE UPDATE ON reading_details BEGIN SELECT RAISE(ABORT, 'what is kept in reading_details is never changed or deleted'); END;
CREATE TRIGGER reading_details_never_deleted BEFORE DELETE ON reading_details BEGIN SELECT RAISE(ABORT, 'what is kept in reading_details is never changed or deleted'); END;
CREATE TRIGGER reading_details_never_replaced BEFORE INSERT ON reading_details WHEN EXISTS (SELECT 1 FROM reading_details WHERE reading = NEW.reading) BEGIN SELECT RAISE(ABORT, 'what is kept in reading_details is never changed or deleted'); END;
CREATE TRIGGER charts_never_changed BEFORE UPDATE ON charts BEGIN SELECT RAISE(ABORT, 'what is kept in charts is never changed or deleted'); END;
CREATE TRIGGER charts_never_deleted BEFORE DELETE ON charts BEGIN SELECT RAISE(ABORT, 'what is kept in charts is never changed or deleted'); END;
CREATE TRIGGER charts_never_replaced BEFORE INSERT ON charts WHEN EXISTS (SELECT 1 FROM charts WHERE number = NEW.number OR fingerprint = NEW.fingerprint) BEGIN SELECT RAISE(ABORT, 'what is kept in charts is never changed or deleted'); END;
CREATE TRIGGER photos_never_changed BEFORE UPDATE ON photos BEGIN SELECT RAISE(ABORT, 'what is kept in photos is never changed or deleted'); END;
CREATE TRIGGER photos_never_deleted BEFORE DELETE ON photos BEGIN SELECT RAISE(ABORT, 'what is kept in photos is never changed or deleted'); END;
CREATE TRIGGER photos_never_replaced BEFORE INSERT ON photos WHEN EXISTS (SELECT 1 FROM photos WHERE number = NEW.number OR sha256 = NEW.sha256) BEGIN SELECT RAISE(ABORT, 'what is kept in photos is never changed or deleted'); END;
CREATE TRIGGER known_values_never_changed BEFORE UPDATE ON known_values BEGIN SELECT RAISE(ABORT, 'what is kept in known_values is never changed or deleted'); END;
CREATE TRIGGER known_values_never_deleted BEFORE DELETE ON known_values BEGIN SELECT RAISE(ABORT, 'what is kept in known_values is never changed or deleted'); END;
CREATE TRIGGER known_values_never_replaced BEFORE INSERT ON known_values WHEN EXISTS (SELECT 1 FROM known_values WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'what is kept in known_values is never changed or deleted'); END;
CREATE TRIGGER events_never_changed BEFORE UPDATE ON events BEGIN SELECT RAISE(ABORT, 'what is kept in events is never changed or deleted'); END;
CREATE TRIGGER events_never_deleted BEFORE DELETE ON events BEGIN SELECT RAISE(ABORT, 'what is kept in events is never changed or deleted'); END;
CREATE TRIGGER events_never_replaced BEFORE INSERT ON events WHEN EXISTS (SELECT 1 FROM events WHERE id = NEW.id) BEGIN SELECT RAISE(ABORT, 'what is kept in events is never changed or deleted'); END;
COMMIT;
