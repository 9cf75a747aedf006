"""Reads what a user brings to an advice: region tables, products, laboratory values, ground."""

from collections.abc import Sequence
from pathlib import Path

from app.errors import OrderError
from app.soil import ground, laboratory, product_sheet
from app.soil.ground import Ground
from app.soil.laboratory import LaboratoryValue
from app.soil.product_sheet import Products
from app.soil.region import Region, added, own_region, shipped_region
from calibration.sheet_reader import bytes_of, read_sheet, text_of


def find_region(names: Sequence[str]) -> Region:
    """Return a region by its name, one of the user's own tables (CSV files), or both together.

    Raises
    ------
    TintwellError
        If there is no such region, or a table cannot be used.
    """
    files = [Path(name) for name in names if name.casefold().endswith(".csv")]
    shipped = [name for name in names if not name.casefold().endswith(".csv")]
    if len(shipped) > 1:
        raise OrderError(
            f"{' and '.join(shipped)} are two regions.",
            what_to_do="Give one region by its name, and tables of your own (CSV files) beside it.",
        )
    region = shipped_region(shipped[0]) if shipped else None
    if not files:
        assert region is not None  # a region is always asked for
        return region
    own = own_region([(file.name, text_of(bytes_of(file), file.name)) for file in files])
    return own if region is None else added(region, own)


def read_products(path: Path) -> Products:
    """Read the products that a user has or can buy.

    Raises
    ------
    SheetError
        If the sheet cannot be read, or a line makes no sense; it is named.
    """
    headings, options = product_sheet.HEADINGS, product_sheet.OPTIONS
    return product_sheet.products_of(read_sheet(path, required=headings, optional=options))


def read_laboratory(path: Path) -> tuple[LaboratoryValue, ...]:
    """Read values typed from a laboratory's report.

    Raises
    ------
    SheetError
        If the sheet cannot be read, or a line makes no sense; it is named.
    """
    headings, options = laboratory.HEADINGS, laboratory.OPTIONS
    return laboratory.laboratory_values(read_sheet(path, required=headings, optional=options))


def read_grounds(path: Path) -> tuple[Ground, ...]:
    """Read what is known of the ground of samples beyond what the survey keeps.

    Raises
    ------
    SheetError
        If the sheet cannot be read, or a line makes no sense; it is named.
    """
    headings, options = ground.HEADINGS, ground.OPTIONS
    return ground.grounds_of(read_sheet(path, required=headings, optional=options))
