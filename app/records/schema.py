"""The tables of a survey, format 1.

A released format is never edited: what changes is a step in `upgrades.py`.
"""

APPLICATION_ID = 0x54494E54
"""Tells a survey's file from any other SQLite file ("TINT")."""

FORMAT = 1

TABLES = (
    """
    CREATE TABLE survey (
        only_one INTEGER PRIMARY KEY CHECK (only_one = 1),
        id TEXT NOT NULL,
        name TEXT NOT NULL,
        created_at TEXT NOT NULL,
        software_version TEXT NOT NULL
    ) STRICT
    """,
    """
    CREATE TABLE persons (
        code TEXT PRIMARY KEY,
        name TEXT
    ) STRICT
    """,
    """
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
    """,
    """
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
    """,
    """
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
    """,
    """
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
    """,
    """
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
    """,
    """
    CREATE TABLE charts (
        number INTEGER PRIMARY KEY CHECK (number > 0),
        fingerprint TEXT NOT NULL UNIQUE CHECK (length(fingerprint) = 64),
        id TEXT NOT NULL,
        name TEXT NOT NULL,
        text TEXT NOT NULL
    ) STRICT
    """,
    """
    CREATE TABLE photos (
        number INTEGER PRIMARY KEY CHECK (number > 0),
        sha256 TEXT NOT NULL UNIQUE CHECK (length(sha256) = 64),
        file TEXT NOT NULL,
        name TEXT NOT NULL,
        bytes INTEGER NOT NULL CHECK (bytes >= 0),
        kept_at TEXT NOT NULL
    ) STRICT
    """,
    # The analyte's quantity stands in `readings` too, so that sorting needs no second table.
    # `other_chart_id` is filled only where the reading names a chart that is not kept, `origin`
    # only where it came from another survey.
    """
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
    """,
    # What is long and never searched; apart, so that going through all readings stays quick.
    """
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
    """,
    """
    CREATE TABLE events (
        id INTEGER PRIMARY KEY CHECK (id > 0),
        at TEXT NOT NULL,
        person TEXT NOT NULL,
        what TEXT NOT NULL,
        subject TEXT NOT NULL,
        before TEXT,
        after TEXT
    ) STRICT
    """,
)

SORTED = ("sample", "photo_name", "quantity", "value", "status", "confidence", "taken_at", "person")
"""Columns of `readings` that a table on the screen is sorted by."""

FILTERED = ("quantity", "status", "role", "person", "chart", "sample", "replicate", "photo_name")
"""Columns that it is filtered by. They stand in every index that sorts, so that 100,000 readings
are gone through in their order without looking up a single row."""

INDEXES = (
    "CREATE INDEX samples_by_site ON samples (site)",
    "CREATE INDEX tests_by_sample ON tests (sample, quantity)",
    "CREATE INDEX known_values_by_sample ON known_values (sample, quantity, source)",
    "CREATE UNIQUE INDEX readings_corrected ON readings (corrects) WHERE corrects IS NOT NULL",
    "CREATE INDEX readings_withdrawn ON readings (id) WHERE withdrawn = 1",
    "CREATE UNIQUE INDEX readings_by_origin ON readings (origin) WHERE origin IS NOT NULL",
    "CREATE INDEX readings_by_kept_at ON readings (kept_at)",
    "CREATE INDEX readings_by_photo ON readings (photo)",
    "CREATE INDEX readings_by_chart ON readings (chart)",
    *(
        f"CREATE INDEX readings_by_{column} ON readings "
        f"({', '.join(dict.fromkeys((column, 'id', *FILTERED)))})"
        for column in SORTED
    ),
)

KEPT_FOR_GOOD = {
    "readings": ("id", "corrects", "origin"),
    "reading_details": ("reading",),
    "charts": ("number", "fingerprint"),
    "photos": ("number", "sha256"),
    "known_values": ("id",),
    "events": ("id",),
}
"""Tables whose rows are never changed or deleted, with the columns that name a row."""


def guards(table: str, keys: tuple[str, ...]) -> tuple[str, ...]:
    """Triggers by which the database itself refuses to change, delete or replace a row.

    The third is needed because `INSERT OR REPLACE` deletes without asking the second.
    """
    words = f"what is kept in {table} is never changed or deleted"
    same = " OR ".join(f"{key} = NEW.{key}" for key in keys)
    return (
        f"CREATE TRIGGER {table}_never_changed BEFORE UPDATE ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{words}'); END",
        f"CREATE TRIGGER {table}_never_deleted BEFORE DELETE ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{words}'); END",
        f"CREATE TRIGGER {table}_never_replaced BEFORE INSERT ON {table} "
        f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {same}) "
        f"BEGIN SELECT RAISE(ABORT, '{words}'); END",
    )


SCHEMA = (
    *TABLES,
    *INDEXES,
    *(trigger for table, keys in KEPT_FOR_GOOD.items() for trigger in guards(table, keys)),
)
"""Everything that makes an empty survey of this format."""
