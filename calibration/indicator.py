"""What a test measures: the quantity, the form it is expressed in, its basis and its unit.

What is not said stays unknown (None); nothing is filled in that the user did not say or that does
not follow from it.
"""

import difflib
import re
from dataclasses import dataclass, fields
from typing import Literal, get_args

from calibration.errors import AnalyteError

Form = Literal["NO3-N", "NO3", "P", "P2O5", "K", "K2O"]
Basis = Literal["extract", "soil"]

QUANTITY_OF_FORM: dict[Form, str] = {
    "NO3-N": "nitrogen",
    "NO3": "nitrogen",
    "P": "phosphorus",
    "P2O5": "phosphorus",
    "K": "potassium",
    "K2O": "potassium",
}

_QUANTITIES: dict[str, tuple[str, Form | None]] = {
    "ph": ("ph", None),
    "nitrogen": ("nitrogen", None),
    "nitrate": ("nitrogen", None),  # the ion or its nitrogen: not said, a factor of 4.4 apart
    "nitrate nitrogen": ("nitrogen", "NO3-N"),
    "nitrate-nitrogen": ("nitrogen", "NO3-N"),
    "phosphorus": ("phosphorus", None),
    "phosphate": ("phosphorus", None),
    "potassium": ("potassium", None),
    "potash": ("potassium", None),
}
_UNITS = {
    "ph": "pH",
    "phunit": "pH",
    "phunits": "pH",
    "mg/kg": "mg/kg",
    "mgkg-1": "mg/kg",
    "mg/l": "mg/L",
    "mgl-1": "mg/L",
    "ppm": "ppm",
}
_LONGEST = 80


@dataclass(frozen=True, slots=True, kw_only=True)
class Analyte:
    """What the values of a chart are.

    Parameters
    ----------
    quantity : str or None
        "ph", "nitrogen", "phosphorus", "potassium", or the user's own word.
    form : Form or None
        The substance the amount is expressed as, e.g. "NO3-N" (nitrogen in nitrate) or "NO3".
    basis : {"extract", "soil"} or None
        Whether the amount is in the liquid or in the soil it was made of.
    ratio : str or None
        Soil to liquid, e.g. "1:5".
    unit : str or None
        Unit of the values.
    """

    quantity: str | None = None
    form: Form | None = None
    basis: Basis | None = None
    ratio: str | None = None
    unit: str | None = None

    def __post_init__(self) -> None:
        if self.form is not None and self.form not in QUANTITY_OF_FORM:
            raise ValueError(f"form must be one of {get_args(Form)}, got {self.form!r}")
        if self.basis is not None and self.basis not in get_args(Basis):
            raise ValueError(f"basis must be extract or soil, got {self.basis!r}")
        if self.form is not None and self.quantity != QUANTITY_OF_FORM[self.form]:
            raise ValueError(f"form {self.form} does not belong to {self.quantity!r}")
        if (self.quantity == "ph") != (self.unit == "pH") and self.unit is not None:
            raise ValueError(f"unit {self.unit!r} does not belong to {self.quantity!r}")

    @property
    def is_ph(self) -> bool:
        """Whether the values are pH."""
        return self.quantity == "ph"

    def agrees_with(self, other: "Analyte") -> bool:
        """Whether nothing that both say differs; what one of them leaves open does not count.

        Examples
        --------
        >>> Analyte(unit="mg/kg").agrees_with(Analyte(quantity="phosphorus", unit="mg/kg"))
        True
        >>> Analyte(quantity="ph", unit="pH").agrees_with(Analyte(quantity="phosphorus"))
        False
        """
        pairs = ((getattr(self, f.name), getattr(other, f.name)) for f in fields(self))
        return all(one == two or one is None or two is None for one, two in pairs)


def read_analyte(
    *,
    quantity: str | None = None,
    form: str | None = None,
    basis: str | None = None,
    ratio: str | None = None,
    unit: str | None = None,
) -> Analyte:
    """Make an `Analyte` of what the user wrote; None or blank is unknown.

    The unit pH says that the quantity is pH, a form says which nutrient it is, and "nitrate
    nitrogen" says the form. Nothing else is concluded.

    Raises
    ------
    AnalyteError
        If a word is not understood or two of them contradict each other.

    Examples
    --------
    >>> read_analyte(unit="PH").quantity
    'ph'
    >>> read_analyte(quantity="Nitrate nitrogen", unit="mg/kg").form
    'NO3-N'
    """
    the_unit, the_form = normal_unit(unit), normal_form(form)
    the_quantity, its_form = normal_quantity(quantity)
    if the_form and its_form and the_form != its_form:
        raise _contradiction(f"the quantity '{quantity}'", f"the form {the_form}")
    the_form = the_form or its_form
    implied = QUANTITY_OF_FORM[the_form] if the_form else "ph" if the_unit == "pH" else None
    the_quantity = the_quantity or implied
    if implied and implied != the_quantity:
        said = f"the form {the_form}" if the_form else "the unit pH"
        raise _contradiction(f"the quantity '{the_quantity}'", said)
    if the_quantity == "ph":
        the_unit = the_unit or "pH"
    if the_unit and (the_quantity == "ph") != (the_unit == "pH"):
        raise _contradiction(f"the quantity '{the_quantity}'", f"the unit {the_unit}")
    return Analyte(
        quantity=the_quantity,
        form=the_form,
        basis=normal_basis(basis),
        ratio=normal_ratio(ratio),
        unit=the_unit,
    )


def _contradiction(first: str, second: str) -> AnalyteError:
    return AnalyteError(
        f"{first[0].upper()}{first[1:]} and {second} do not go together.",
        what_to_do="Correct one of the two.",
    )


def normal_quantity(text: str | None) -> tuple[str | None, Form | None]:
    """Return the quantity a text names, and the form where the name says it.

    Examples
    --------
    >>> normal_quantity("pH"), normal_quantity("nitrate nitrogen"), normal_quantity("Iron")
    (('ph', None), ('nitrogen', 'NO3-N'), ('Iron', None))
    """
    words = _words(text)
    return (None, None) if words is None else _QUANTITIES.get(words.casefold(), (words, None))


def normal_unit(text: str | None) -> str | None:
    """Return a unit in its usual spelling; one that is not known stays as written.

    Examples
    --------
    >>> normal_unit("Mg / Kg"), normal_unit("ppm"), normal_unit("mg kg⁻¹"), normal_unit("meq")
    ('mg/kg', 'ppm', 'mg/kg', 'meq')
    """
    words = _words(text)
    if words is None:
        return None
    plain = re.sub(r"[\s.·]", "", words.casefold().replace("⁻¹", "-1"))
    return _UNITS.get(plain, words)


def normal_form(text: str | None) -> Form | None:
    """Return a form in its usual spelling.

    Examples
    --------
    >>> normal_form("no₃-n"), normal_form("P2O5")
    ('NO3-N', 'P2O5')
    """
    words = _words(text)
    if words is None:
        return None
    plain = words.translate(str.maketrans("₂₃₅–‑", "235--")).replace(" ", "").casefold()
    for form in get_args(Form):
        if plain == form.casefold():
            return form  # type: ignore[no-any-return]  # an element of Form
    raise _not_one_of("form", words, get_args(Form))


def normal_basis(text: str | None) -> Basis | None:
    """Return a basis in its usual spelling.

    Examples
    --------
    >>> normal_basis(" Soil ")
    'soil'
    """
    words = _words(text)
    if words is None:
        return None
    for basis in get_args(Basis):
        if words.casefold() == basis:
            return basis  # type: ignore[no-any-return]  # an element of Basis
    raise _not_one_of("basis", words, get_args(Basis))


def normal_ratio(text: str | None) -> str | None:
    """Return a soil:liquid ratio without blanks.

    Examples
    --------
    >>> normal_ratio("1 : 2.50")
    '1:2.5'
    """
    words = _words(text)
    if words is None:
        return None
    parts = re.fullmatch(r"(\d{1,4}(?:\.\d{1,4})?):(\d{1,4}(?:\.\d{1,4})?)", words.replace(" ", ""))
    if parts is None or not all(float(part) > 0 for part in parts.groups()):
        raise AnalyteError(
            f"'{words}' is not a soil:liquid ratio.",
            what_to_do="Write soil, colon, liquid, for example 1:5.",
        )
    return ":".join(f"{float(part):g}" for part in parts.groups())


def _words(text: str | None) -> str | None:
    """Return a text with single blanks; None where there is nothing in it."""
    words = " ".join((text or "").split())
    if len(words) > _LONGEST:
        raise AnalyteError(
            f"'{words[:20]}…' is {len(words)} characters long.",
            what_to_do=f"Use at most {_LONGEST}.",
        )
    return words or None


def _not_one_of(what: str, text: str, known: tuple[str, ...]) -> AnalyteError:
    by_folded = {word.casefold(): word for word in known}
    near = difflib.get_close_matches(text.casefold(), by_folded, n=1)
    hint = f"Did you mean {by_folded[near[0]]}? " if near else ""
    return AnalyteError(
        f"'{text}' is not a {what} that is known here.",
        what_to_do=f"{hint}Use one of {', '.join(known)}, or leave it out if it is not known.",
    )
