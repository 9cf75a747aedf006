"""The sheets that people write, in the dialects that their programs write them in."""

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.errors import AnalyteError
from calibration.indicator import Analyte
from calibration.sheet_reader import MAX_BYTES, MAX_ROWS
from calibration.sheets import (
    read_in_frame_sheet,
    read_patches,
    read_regions,
    read_standards_sheet,
    read_tubes_sheet,
    sheet_analyte,
)
from colorcore.errors import SheetError

HEAD = "photo,tube,value,unit"
Sheet = Callable[..., Path]


@pytest.fixture
def sheet(tmp_path: Path) -> Sheet:
    """Write a sheet beside two photos."""
    for name in ("a.jpg", "b.jpg"):
        (tmp_path / name).touch()

    def write(*lines: str, encoding: str = "utf-8", newline: str = "\n") -> Path:
        path = tmp_path / "sheet.csv"
        path.write_bytes((newline.join(lines) + newline).encode(encoding))
        return path

    return write


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize(
    "lines",
    [
        (HEAD + ",label", "a.jpg,1,6.5,pH,grün", "b.jpg,2,7,pH,"),
        ("photo;tube;value;unit;label", "a.jpg;1;6,5;pH;grün", "b.jpg;2;7;pH;", ";;;;"),
        ("Photo\tTube\tValue\tUnit\tLabel", "a.jpg\t1\t6,5\tph\tgrün", "", "b.jpg\t2\t7\tpH"),
        ('"photo","tube","value","unit","label"', 'a.jpg, 1 ,6.5,pH,"grün"', "b.jpg,2,7.0,pH,"),
        ("note,photo,tube,value,unit,label", '"x, ""y""",a.jpg,1,6.5,pH,grün', "z,b.jpg,2,7,pH,"),
    ],
)
def test_one_sheet_in_many_dialects(
    sheet: Sheet, lines: tuple[str, ...], newline: str, encoding: str
) -> None:
    """Comma, semicolon with decimal comma, tab; any encoding with its mark; any line ends."""
    path = sheet(*lines, encoding=encoding, newline=newline)
    first, second = read_standards_sheet(path)
    assert (first.photo, first.tube, first.value, first.label) == ("a.jpg", 1, 6.5, "grün")
    assert (second.photo, second.tube, second.value, second.label) == ("b.jpg", 2, 7.0, None)
    assert first.path == path.parent / "a.jpg"
    assert first.role == "standard"
    assert first.uncertainty is None
    assert sheet_analyte((first, second)) == Analyte(quantity="ph", unit="pH")


def test_a_buffer_by_name_and_temperature_needs_no_value(sheet: Sheet) -> None:
    """Value, uncertainty, unit and source come from the tables."""
    path = sheet(
        "photo,tube,value,unit,buffer,temperature", "a.jpg,1,,,pH 7,20", "b.jpg,1,,,ph4,20"
    )
    row, _ = read_standards_sheet(path)
    assert row.value == pytest.approx(7.02)
    assert row.uncertainty == pytest.approx(0.02)
    assert row.buffer == "ph7"
    assert row.analyte == Analyte(quantity="ph", unit="pH")
    assert row.source is not None


def test_a_value_beside_a_buffer_must_agree(sheet: Sheet) -> None:
    """Up to 0.02 the bottle's label wins; beyond that it is an error that names the line."""
    head = "photo,tube,value,unit,buffer,temperature"
    (row,) = read_standards_sheet(sheet(head, "a.jpg,1,7.00,pH,ph7,20"))
    assert row.value == 7.00
    assert row.source is None
    with pytest.raises(SheetError, match=r"Line 2: the value 7\.05.*7\.02"):
        read_standards_sheet(sheet(head, "a.jpg,1,7.05,pH,ph7,20"))


def test_labels_alone_are_enough(sheet: Sheet) -> None:
    """A chart of labels has no values and no unit."""
    rows = read_standards_sheet(sheet("photo,tube,label", "a.jpg,1,red", "a.jpg,2,green"))
    assert [(row.value, row.label) for row in rows] == [(None, "red"), (None, "green")]
    assert sheet_analyte(rows) == Analyte()


def test_a_blank_needs_no_value(sheet: Sheet) -> None:
    """And does not count as a line without unit."""
    path = sheet(HEAD + ",role", "a.jpg,1,6,pH,", "a.jpg,2,,,blank", "b.jpg,1,7,pH,Standard")
    assert [row.role for row in read_standards_sheet(path)] == ["standard", "blank", "standard"]


def test_one_apostrophe_is_taken_off_text_that_looks_like_a_formula(sheet: Sheet) -> None:
    """Exactly one, and only there."""
    path = sheet(HEAD + ",label", "a.jpg,1,5,pH,'=A1", "a.jpg,2,6,pH,''+x", "a.jpg,3,7,pH,'s top")
    assert [row.label for row in read_standards_sheet(path)] == ["=A1", "''+x", "'s top"]


def test_what_the_values_are_comes_from_columns_and_from_words(sheet: Sheet) -> None:
    """Both may say it; they must not contradict each other."""
    path = sheet(HEAD + ",form,ratio", "a.jpg,1,5,mg/kg,NO3-N,1:5", "a.jpg,2,9,mg / kg,no3-n,1:5")
    rows = read_standards_sheet(path)
    expected = Analyte(quantity="nitrogen", form="NO3-N", basis="soil", ratio="1:5", unit="mg/kg")
    assert sheet_analyte(rows, quantity="nitrogen", basis="soil") == expected
    with pytest.raises(SheetError, match="form NO3-N, but NO3"):
        sheet_analyte(rows, form="NO3")
    with pytest.raises(AnalyteError, match="colour"):
        sheet_analyte(rows, basis="colour")


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ((HEAD, "a.jpg,1,6,pH", "b.jpg,1,7,mg/kg"), "Line 3: the unit is mg/kg, but pH on line 2"),
        ((HEAD, "a.jpg,1,6,", "b.jpg,1,7,pH"), "Line 3: the unit is pH, but not given"),
        (
            (HEAD + ",quantity", "a.jpg,1,6,ppm,phosphorus", "b.jpg,1,7,ppm,potassium"),
            "Line 3: the quantity is potassium",
        ),
        ((HEAD, "a.jpg,1,6,pH", "a.jpg,1,7,pH"), "Line 3: tube 1 of a.jpg stands on line 2"),
        ((HEAD, "a.jpg,1,6,pH", "./a.jpg,1,7,pH"), "Line 3: tube 1"),
        ((HEAD, "c.jpg,1,6,pH", "d.jpg,1,7,pH", "c.jpg,2,6,pH"), "missing: c.jpg, d.jpg"),
        ((HEAD, *(f"m{i}.jpg,1,6,pH" for i in range(9))), "m4.jpg and 4 more"),
        ((HEAD, "a.jpg,0,6,pH"), "Line 2: tube '0'"),
        ((HEAD, "a.jpg,1.5,6,pH"), "Line 2: tube '1.5'"),
        ((HEAD, "a.jpg,left,6,pH"), "Line 2: tube 'left'"),
        ((HEAD, "a.jpg,,6,pH"), "Line 2: 'tube' is blank"),
        ((HEAD, ",1,6,pH"), "Line 2: 'photo' is blank"),
        ((HEAD, "a.jpg,1,nan,pH"), "Line 2: value 'nan'"),
        ((HEAD, "a.jpg,1,inf,pH"), "Line 2: value 'inf'"),
        ((HEAD, "a.jpg,1,1e999,pH"), "Line 2: value '1e999'"),
        ((HEAD, "a.jpg,1,1_0,pH"), "Line 2: value '1_0'"),
        ((HEAD, "a.jpg,1,٦,pH"), "Line 2: value"),
        ((HEAD, 'a.jpg,1,"6,5",pH'), "with a point"),
        ((HEAD, "a.jpg,1,6,5,pH"), "Line 2: it has 5 cells under 4 headings"),
        (("photo;tube;value;unit", "a.jpg;1;1.234,5;pH"), "Line 2: value '1.234,5'"),
        ((HEAD, "a.jpg,1,,pH"), "Line 2: there is no value"),
        ((HEAD + ",label", "a.jpg,1,6,pH,", "a.jpg,2,,pH,red"), "Line 3: some lines have a value"),
        ((HEAD + ",uncertainty", "a.jpg,1,6,pH,0"), "Line 2: the uncertainty 0"),
        ((HEAD + ",role", "a.jpg,1,6,pH,sample"), "Line 2: role 'sample'"),
        ((HEAD + ",form", "a.jpg,1,6,mg/kg,N"), "Line 2: 'N' is not a form"),
        ((HEAD + ",quantity", "a.jpg,1,6,pH,phosphorus"), "Line 2: The quantity 'phosphorus'"),
        ((HEAD + ",buffer", "a.jpg,1,,pH,ph7"), "Line 2: the buffer has no temperature"),
        ((HEAD + ",buffer,temperature", "a.jpg,1,,pH,phtalate,20"), "Did you mean 'phthalate'"),
        ((HEAD + ",buffer,temperature", "a.jpg,1,,pH,ph7,60"), "Line 2:.*60 °C"),
        ((HEAD + ",buffer,temperature", "a.jpg,1,,mg/kg,ph7,20"), "Line 2:.*mg/kg"),
        (
            (HEAD + ",buffer,temperature,quantity", "a.jpg,1,,,ph7,20,potassium"),
            "Line 2: a pH buffer is no standard for potassium",
        ),
        ((HEAD + ",uncertianty", "a.jpg,1,6,pH,0.1"), "Did you mean 'uncertainty'"),
        ((HEAD + ",unit", "a.jpg,1,6,pH,pH"), "two columns 'unit'"),
        (("picture,tube,value,unit", "a.jpg,1,6,pH"), "lacks one of the headings photo, tube"),
        (("", HEAD, "a.jpg,1,6,pH"), "first line"),
        ((HEAD,), "no lines"),
        (("",), "first line"),
        ((HEAD, 'a.jpg,1,6,"pH'), "Line 2: the quotation marks do not close"),
        ((HEAD, "a\x00.jpg,1,6,pH"), "no text file"),
        ((HEAD, "a\x07.jpg,1,6,pH"), "Line 2: the photo's name has control characters"),
        ((HEAD, "x" * 5000 + ".jpg,1,6,pH"), "missing"),
    ],
)
def test_a_mistake_is_named_with_its_line_and_what_to_do(
    sheet: Sheet, lines: tuple[str, ...], said: str
) -> None:
    """Every refusal says where, and what to try."""
    with pytest.raises(SheetError, match=said) as caught:
        read_standards_sheet(sheet(*lines))
    assert caught.value.what_to_do


def test_lines_are_counted_as_an_editor_counts_them(sheet: Sheet) -> None:
    """Blank lines and a cell of two lines included."""
    lines = (HEAD + ",note", 'a.jpg,1,6,pH,"two', 'lines"', "", "b.jpg,x,7,pH,")
    with pytest.raises(SheetError, match="Line 5: tube 'x'"):
        read_standards_sheet(sheet(*lines))


def test_files_that_are_no_sheets_are_refused(sheet: Sheet, tmp_path: Path) -> None:
    """Absent, a folder, not text, too large, too long."""
    with pytest.raises(SheetError, match="no file"):
        read_standards_sheet(tmp_path / "nothing.csv")
    with pytest.raises(SheetError, match="no file"):
        read_standards_sheet(tmp_path)
    path = tmp_path / "sheet.csv"
    path.write_bytes(HEAD.encode() + b"\n\xe4.jpg,1,6,pH\n")
    with pytest.raises(SheetError, match="UTF-8"):
        read_standards_sheet(path)
    path.write_bytes(b"\xff\xfe" + b"a")
    with pytest.raises(SheetError, match="UTF-16"):
        read_standards_sheet(path)
    path.write_bytes(b"x" * (MAX_BYTES + 1))
    with pytest.raises(SheetError, match="larger than 1 MB"):
        read_standards_sheet(path)
    with pytest.raises(SheetError, match=f"more than {MAX_ROWS} lines"):
        read_standards_sheet(sheet(HEAD, *(["a.jpg,1,6,pH"] * (MAX_ROWS + 1))))


@given(content=st.binary(max_size=300) | st.text(max_size=300).map(str.encode))
@settings(deadline=None)
def test_any_bytes_give_rows_or_a_refusal(
    tmp_path_factory: pytest.TempPathFactory, content: bytes
) -> None:
    """Never another error."""
    path = tmp_path_factory.mktemp("any") / "sheet.csv"
    for data in (content, HEAD.encode() + b"\n" + content):
        path.write_bytes(data)
        with pytest.raises(SheetError):  # no photo of such a name is there
            read_standards_sheet(path)


def test_known_tubes_of_several_tests_may_stand_in_one_sheet(sheet: Sheet) -> None:
    """Which chart a line belongs to follows from what it measures."""
    rows = read_in_frame_sheet(sheet(HEAD, "a.jpg,1,6,pH", "a.jpg,2,20,mg/kg"))
    chart = Analyte(quantity="phosphorus", unit="mg/kg")
    assert [row.analyte.agrees_with(chart) for row in rows] == [False, True]
    with pytest.raises(SheetError, match="tube 1"):
        read_in_frame_sheet(sheet(HEAD, "a.jpg,1,6,pH", "a.jpg,1,20,mg/kg"))


def test_tubes_of_a_photo_get_their_samples(sheet: Sheet) -> None:
    """What is not said is None, and a tube is a sample unless something else is said."""
    path = sheet(
        "photo,tube,sample,replicate,chart,role",
        "a.jpg,1,plot 1,1,ph.json,",
        "a.jpg,2,plot 1,,,in-frame",
        "b.jpg,1,,,,blank",
    )
    first, second, third = read_tubes_sheet(path)
    assert (first.sample, first.replicate, first.chart, first.role) == (
        "plot 1",
        "1",
        "ph.json",
        "sample",
    )
    assert (second.role, second.chart) == ("in_frame", None)
    assert (third.role, third.sample) == ("blank", None)
    assert first.path == path.parent / "a.jpg"


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (("photo,tube", "a.jpg,1", "a.jpg,1"), "Line 3: tube 1"),
        (("photo,tube", "c.jpg,1"), "missing: c.jpg"),
        (("photo,tube,role", "a.jpg,1,standard"), "Line 2: role 'standard'"),
        (("photo,tube,samples", "a.jpg,1,x"), "Did you mean 'sample'"),
    ],
)
def test_mistakes_in_a_tubes_sheet_are_named(
    sheet: Sheet, lines: tuple[str, ...], said: str
) -> None:
    """As in a standards sheet."""
    with pytest.raises(SheetError, match=said):
        read_tubes_sheet(sheet(*lines))


CORNERS = "x1,y1,x2,y2,x3,y3,x4,y4"
SQUARE = "0,0,10,0,10,10,0,10.5"


def test_regions_are_named_and_chosen_by_photo(sheet: Sheet) -> None:
    """By patch, else name, else number; only the photo's own lines where photos are named."""
    path = sheet(
        f"photo,patch,name,{CORNERS}",
        f"p/a.jpg,A1,dark skin,{SQUARE}",
        f"a.jpg,,light skin,{SQUARE}",
        f"b.jpg,A1,dark skin,{SQUARE}",
    )
    regions = read_regions(path, photo="elsewhere/a.jpg")
    assert [region.name for region in regions] == ["A1", "light skin"]
    assert regions[0].quad == ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.5))
    with pytest.raises(SheetError, match=r"no line for the photo c\.jpg"):
        read_regions(path, photo="c.jpg")
    with pytest.raises(SheetError, match="Line 4: the name 'A1' stands on line 2"):
        read_regions(path)
    plain = sheet(CORNERS, SQUARE, SQUARE)
    assert [region.name for region in read_regions(plain, photo="a.jpg")] == ["1", "2"]


@pytest.mark.parametrize(
    ("corners", "said"),
    [
        ("0,0,10,10,10,0,0,10", "go round"),  # crossed
        ("0,0,10,0,20,0,30,0", "go round"),  # flat
        ("5,5,5,5,5,5,5,5", "go round"),  # a point
        ("0,0,10,0,2,2,0,10", "go round"),  # dented
        ("0,0,10,0,10,10,0,", "corner is blank"),
        ("0,0,10,0,10,10,0,inf", "y4 'inf'"),
    ],
)
def test_corners_that_make_no_region_are_refused(sheet: Sheet, corners: str, said: str) -> None:
    """Both ways round are fine; anything else is not."""
    assert read_regions(sheet(CORNERS, "0,10,10,10,10,0,0,0"))
    with pytest.raises(SheetError, match=f"Line 2: .*{said}"):
        read_regions(sheet(CORNERS, corners))


def test_patches_of_a_printed_chart_carry_values_or_labels(sheet: Sheet) -> None:
    """A patch without value goes by its label, else by its region's name."""
    valued = read_patches(sheet(f"{CORNERS},value,unit", f"{SQUARE},6.5,pH", f"{SQUARE},7,pH"))
    assert [(patch.value, patch.label) for patch in valued] == [(6.5, None), (7.0, None)]
    assert sheet_analyte(valued) == Analyte(quantity="ph", unit="pH")
    named = read_patches(sheet(f"name,label,{CORNERS}", f"A,low,{SQUARE}", f"B,,{SQUARE}"))
    assert [(patch.value, patch.label) for patch in named] == [(None, "low"), (None, "B")]
    with pytest.raises(SheetError, match="Line 3: the unit"):
        read_patches(sheet(f"{CORNERS},value,unit", f"{SQUARE},6.5,pH", f"{SQUARE},7,ppm"))
