"""Tables of regions: ours are found by name, the user's by their headings."""

import pytest

from app.errors import OrderError
from app.soil.region import added, own_region, region_names, shipped_region
from calibration.errors import TableError

NOTES = "# source: county handbook, table 3\n# region: Our County\n# year: 2020\n# unit: {unit}\n"
SCALE = NOTES.format(unit="mg/kg") + (
    "quantity,extractant,low_from,medium_from,high_from,very_high_from\n"
    "Phosphorus,Field kit|Olsen,5,10,20,40\n"
)
RATES = NOTES.format(unit="kg/ha") + (
    "use,nutrient,very_low,low,medium,high,very_high\nBeans,p2o5,60,40-50,20,0,0\n"
)
LIME = NOTES.format(unit="t/ha") + (
    "ph,target_ph,depth_cm,sandy,loam,clay\n5.5,6.5,20,2,3,4\n5.0,6.5,20,3,4,6\n"
)
CROPS = NOTES.format(unit="pH") + "name,ph_from,ph_to,use\nteff,5.5,7.0,Field crops\n"


def test_own_tables_of_every_kind() -> None:
    """Known by their headings, put together into one region."""
    texts = [("a.csv", SCALE), ("b.csv", RATES), ("c.csv", LIME), ("d.csv", CROPS)]
    region = own_region(texts)
    assert region.name == "Our County"
    assert region.categories[0].takes("field KIT")
    assert region.categories[0].citation.source == "county handbook, table 3"
    assert region.recommendations[0].rates[1] == (40, 50)
    assert region.lime_tables[0].ph == (5.0, 5.5)
    assert region.lime_tables[0].depth_cm == 20
    assert (region.crops[0].name, region.crops[0].target) == ("teff", 6.25)


@pytest.mark.parametrize(
    ("text", "line", "what"),
    [
        (SCALE.replace("5,10,20,40", "5,20,10,40"), 6, "limits do not rise"),
        (SCALE.replace("mg/kg", "meq"), 4, "the unit 'meq'"),
        (SCALE.replace("5,10,20,40", "5,x,20,40"), 6, "medium_from 'x' is not a number"),
        (RATES.replace("p2o5", "Fe"), 6, "nutrient 'FE' is not known"),
        (RATES.replace("kg/ha", "mg/kg"), 4, "the unit 'mg/kg'"),
        (RATES.replace("40-50", "50-40"), 6, "runs backwards"),
        (LIME.replace("5.0,6.5,20", "5.0,6.0,20"), 6, "target or depth differs"),
        (LIME.replace("5.0,6.5,20,3,4,6", "5.0,6.5,20,1,4,6"), 6, "more lime than a more acid"),
        (LIME.replace("5.5,6.5", "7.5,6.5").replace("5.0,6.5", "5.0,6.5"), 6, "above the target"),
        (LIME.replace("20,", "0,"), 7, "depth is 0"),
        (CROPS.replace("5.5,7.0", "7.0,5.5"), 6, "is no range"),
        (CROPS.replace("ph_to", "until"), 5, "are of no table that is known"),
        (CROPS.replace("# year: 2020\n", ""), 4, "the table's year"),
    ],
)
def test_what_makes_no_sense_is_refused_with_its_line(text: str, line: int, what: str) -> None:
    """The user finds the cell."""
    with pytest.raises(TableError, match=rf"own\.csv, line {line}: .*{what}"):
        own_region([("own.csv", text)])


def test_own_tables_beside_a_region() -> None:
    """Own ones first; a recommendation of the same use and nutrient, and lime, are replaced."""
    beans = RATES.replace("Beans", "bean")
    own = own_region([("a.csv", SCALE), ("b.csv", beans), ("c.csv", LIME), ("d.csv", CROPS)])
    texas = added(shipped_region("texas"), own)
    rates = {(row.use, row.nutrient): row.unit for row in texas.recommendations}
    assert rates == {
        ("bean", "P2O5"): "kg/ha",
        ("bean", "N"): "lb/acre",
        ("bean", "K2O"): "lb/acre",
    }
    assert len(texas.recommendations) == 3
    england = added(shipped_region("england_wales"), own)
    assert (england.lime_factors, england.lime_tables) == ((), own.lime_tables)
    assert england.categories[: len(own.categories)] == own.categories
    alone = added(shipped_region("england_wales"), own_region([("d.csv", CROPS)]))
    assert alone.lime_factors
    assert alone.crops == own.crops


def test_shipped_regions_by_name() -> None:
    """With blanks or underlines, in any case."""
    assert {"new_jersey", "iowa", "texas", "england_wales"} <= set(region_names())
    assert shipped_region("New Jersey") == shipped_region("new_jersey")
    assert shipped_region("texas").categories == ()
    for name in region_names():
        assert shipped_region(name).name


def test_an_unknown_region_gets_a_hint() -> None:
    """And the list."""
    with pytest.raises(OrderError) as caught:
        shipped_region("minesota")
    assert "Did you mean minnesota?" in caught.value.what_to_do
