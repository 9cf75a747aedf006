"""The version of the software, as charts and exports carry it."""

VERSION = "0.1.0"
