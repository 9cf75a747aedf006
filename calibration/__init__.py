"""Numbers into chemistry: standards, charts, curves and readings."""
