"""What a laboratory measured, typed from its report: the only way to a buffer pH or an acidity."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast, get_args

from app.errors import OrderError
from app.soil.lime import find_lime_method
from app.soil.soil_reading import LABORATORY_ONLY, SoilReading, medium_of
from app.soil.spread import Z
from calibration.indicator import QUANTITY_OF_FORM, Form
from calibration.sheet_reader import SheetRow

HEADINGS = ("sample", "method", "value")
OPTIONS = ("quantity", "unit", "form", "low", "high", "uncertainty")
"""Headings of the sheet. `low` and `high` are a 90 % interval, `uncertainty` is standard."""

_QUANTITIES = {
    "ph": "ph",
    "buffer ph": "buffer_ph",
    "exchangeable acidity": "exchangeable_acidity",
    "nitrogen": "nitrogen",
    "nitrate": "nitrogen",
    "phosphorus": "phosphorus",
    "potassium": "potassium",
    "magnesium": "magnesium",
}
_UNITS = {
    "ph": ("pH",),
    "buffer_ph": ("pH",),
    "exchangeable_acidity": ("meq/100 g", "meq/100g", "cmol/kg", "cmol(+)/kg"),
}
_NUTRIENT_UNITS = ("mg/kg", "ppm", "mg/L")
_RATIO = re.compile(r"\b(\d+:\d+(?:\.\d+)?)\b", re.A)


@dataclass(frozen=True, slots=True, kw_only=True)
class LaboratoryValue:
    """One value of a laboratory's report.

    Parameters
    ----------
    sample : str
        Label of the sample.
    line : int
        Line in the sheet, for messages.
    reading : SoilReading
        What was measured, and how.
    """

    sample: str
    line: int
    reading: SoilReading


def laboratory_values(rows: Sequence[SheetRow]) -> tuple[LaboratoryValue, ...]:
    """Return the values of a sheet with the headings of `HEADINGS` and `OPTIONS`.

    The quantity may be left out where the method tells it: a method of `lime.lime_methods()`, or
    "pH in water".

    Raises
    ------
    SheetError
        If a line makes no sense; it is named.
    """
    return tuple(_value(row) for row in rows)


def _value(row: SheetRow) -> LaboratoryValue:
    method, value = row.needed("method"), row.number("value")
    if value is None:
        raise row.error("'value' is blank.", "Fill in the value.")
    quantity = _quantity(row, method)
    low, high = _interval(row, value)
    is_ph, is_lime = quantity == "ph", quantity in LABORATORY_ONLY
    medium = medium_of(method) if is_ph else None
    if is_ph and medium is None:
        raise row.error(
            f"'{method[:40]}' does not say in which liquid the pH was measured.",
            "Write water, calcium chloride or potassium chloride under method.",
        )
    ratio = _RATIO.search(method)
    try:
        reading = SoilReading(
            quantity=quantity,
            unit=_unit(row, quantity),
            value=value,
            low=low,
            high=high,
            form=_form(row, quantity),
            basis=None if is_ph or is_lime else "soil",
            ratio=ratio[1] if is_ph and ratio else None,
            extractant=None if is_lime else method,
            medium=medium,
            source="laboratory",
            method=_lime_method(method, quantity) if is_lime else None,
        )
    except OrderError as error:
        raise row.error(error.what_happened, error.what_to_do) from error
    return LaboratoryValue(sample=row.needed("sample"), line=row.line, reading=reading)


def _quantity(row: SheetRow, method: str) -> str:
    text = row.text("quantity")
    if text is not None:
        words = " ".join(text.casefold().replace("_", " ").split())
        if words not in _QUANTITIES:
            known = ", ".join(_QUANTITIES)
            raise row.error(f"The quantity '{text[:40]}' is not known.", f"Use one of {known}.")
        return _QUANTITIES[words]
    try:
        return find_lime_method(method).measures
    except OrderError as error:
        if "ph" in method.casefold().split() and medium_of(method) is not None:
            return "ph"
        raise row.error(
            f"'{method[:40]}' does not tell what was measured.",
            f"Write the quantity beside it. {error.what_to_do}",
        ) from error


def _lime_method(method: str, quantity: str) -> str:
    found = find_lime_method(method)
    if found.measures != quantity:
        raise OrderError(
            f"{found.title} is not a method of {quantity.replace('_', ' ')}.",
            what_to_do="Check the number and the method on the laboratory's report.",
        )
    return found.key


def _unit(row: SheetRow, quantity: str) -> str:
    known = _UNITS.get(quantity, _NUTRIENT_UNITS)
    text = row.text("unit")
    if text is None and quantity in _UNITS:
        return known[0]
    for unit in known:
        if text is not None and text.casefold() == unit.casefold():
            return unit
    raise row.error(
        f"The unit of {quantity.replace('_', ' ')} is {text or 'blank'}.",
        f"Use one of {', '.join(known)}.",
    )


def _form(row: SheetRow, quantity: str) -> Form | None:
    text = row.text("form")
    if text is None:
        return None
    for form in get_args(Form):
        if text.casefold() == form.casefold() and QUANTITY_OF_FORM[form] == quantity:
            return cast(Form, form)
    forms = [form for form, of in QUANTITY_OF_FORM.items() if of == quantity]
    hint = f"Use one of {', '.join(forms)}." if forms else "Leave it blank."
    raise row.error(f"'{text[:40]}' is no form of {quantity}.", hint)


def _interval(row: SheetRow, value: float) -> tuple[float | None, float | None]:
    low, high, standard = row.number("low"), row.number("high"), row.number("uncertainty")
    if standard is not None:
        if low is not None or high is not None or standard < 0:
            raise row.error(
                "An uncertainty stands beside an interval, or is below 0.",
                "Give either low and high, or the standard uncertainty.",
            )
        return value - Z * standard, value + Z * standard
    if (low is None) != (high is None) or not (low or value) <= value <= (high or value):
        raise row.error(
            "The interval does not hold the value.", "Give low and high round it, or neither."
        )
    return low, high
