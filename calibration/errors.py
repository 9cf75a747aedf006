"""What can go wrong between numbers and chemistry.

TintwellError
    TableError       a table that ships with the program lacks its source or is damaged
    StandardError    a buffer that is not in the tables, or not at that temperature
    AnalyteError     what a chart measures is said in a way that cannot be right
    ChartError       no chart can be made of these standards
    ChartFileError   a chart's file cannot be read or written
        ChartTooNewError
"""

from colorcore.errors import TintwellError


class TableError(TintwellError):
    """A table of values that lacks its source or is damaged."""


class StandardError(TintwellError):
    """A standard whose value is not known here."""


class AnalyteError(TintwellError):
    """A quantity, form, basis, ratio or unit that cannot be right."""


class ChartError(TintwellError):
    """Standards of which no chart can be made."""


class ChartFileError(TintwellError):
    """A chart's file that cannot be read or written."""


class ChartTooNewError(ChartFileError):
    """A chart written by a newer version of the program."""
