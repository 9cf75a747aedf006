"""The survey on disk: one folder, a database and the photos; the only place that knows SQL."""
