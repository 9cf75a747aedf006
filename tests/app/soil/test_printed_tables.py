"""The shipped tables against a second copy of the same print, cell by cell.

Both copies were typed from the sources named beside them; a slip in one of them shows here.
"""

import pytest

from app.soil.crops import shipped_crops
from app.soil.lime_formulas import sikora_oregon, turf_penn_state
from app.soil.reaction import reaction_class
from app.soil.region import shipped_region
from app.soil.region_tables import CategoryScale
from app.soil.table_reader import load_table
from app.soil.units import LBS_PER_ACRE_PER_MG_PER_KG, convert

# Oregon State University, EM 9585 (2025), Table 1, ton/acre by Sikora buffer pH, to pH 5.6, 6.0,
# 6.4, 6.8 and 7.2
SIKORA = {
    6.9: (0.0, 0.0, 0.5, 0.8, 1.0),
    6.8: (0.0, 0.4, 0.8, 1.2, 1.6),
    6.7: (0.2, 0.7, 1.1, 1.6, 2.2),
    6.6: (0.4, 0.9, 1.5, 2.1, 2.7),
    6.5: (0.7, 1.2, 1.8, 2.5, 3.3),
    6.4: (0.9, 1.5, 2.1, 2.9, 3.8),
    6.3: (1.1, 1.7, 2.5, 3.3, 4.4),
    6.2: (1.3, 2.0, 2.8, 3.7, 4.9),
    6.1: (1.5, 2.3, 3.1, 4.2, 5.5),
    6.0: (1.7, 2.5, 3.5, 4.6, 6.0),
    5.8: (2.2, 3.1, 4.1, 5.4, 7.1),
    5.5: (3.5, 5.1, 7.0, 9.3, 12.9),
}

# Penn State, turf: meq/100 g of exchangeable acidity and lb CaCO3 per 1000 ft2 to pH 6.5
TURF = (
    *((2.0, 50), (3.9, 70), (5.2, 90), (6.5, 110), (7.8, 140), (9.7, 180)),
    *((11.6, 210), (14.2, 280), (18.0, 340), (20.0, 390), (25.1, 510)),
)

# Last value of very low, low, medium and high; what is above is very high
CATEGORIES = [
    ("new_jersey", "phosphorus", "Mehlich-3", (24, 45, 71, 137)),  # Rutgers, lb/acre
    ("new_jersey", "potassium", "Mehlich-3", (40, 81, 145, 277)),
    ("new_jersey", "magnesium", "Mehlich-3", (45, 83, 143, 295)),
    ("iowa", "phosphorus", "Bray-1", (10, 15, 20, 30)),  # PM 1688 (from memory), mg/kg
    ("iowa", "phosphorus", "Mehlich-3", (10, 15, 20, 30)),
    ("iowa", "phosphorus", "Olsen", (5, 9, 13, 18)),
    ("iowa", "potassium", "ammonium acetate", (120, 160, 200, 240)),
    ("minnesota", "phosphorus", "Bray-1", (5, 10, 15, 20)),  # Minnesota (from memory), mg/kg
    ("minnesota", "phosphorus", "Olsen", (3, 7, 11, 15)),
    ("oregon", "phosphorus", "Bray-1", (None, 19, 39, 100)),  # EC 1478 (from memory), mg/kg
    ("oregon", "potassium", "ammonium acetate", (None, 149, 249, 800)),
    ("oregon", "nitrogen", "water", (None, 9, 19, 30)),
    ("northern_ireland", "phosphorus", "Olsen", (9, 15, 25, 45)),  # Rules 2019/81, mg/L of soil
    ("england_wales", "potassium", "ammonium nitrate", (60, 120, 240, 400)),  # RB209 (memory)
]

# The Old Farmer's Almanac (almanac.com)
ALMANAC = """
asparagus 6.0 8.0; bean, pole 6.0 7.5; beet 6.0 7.5; broccoli 6.0 7.0; Brussels sprout 6.0 7.5;
cabbage 6.0 7.0; carrot 5.5 7.0; cauliflower 5.5 7.5; celery 5.8 7.0; chive 6.0 7.0;
cucumber 5.5 7.0; garlic 5.5 8.0; kale 6.0 7.5; lettuce 6.0 7.0; pea, sweet 6.0 7.5;
pepper, sweet 5.5 7.0; potato 4.8 6.5; pumpkin 5.5 7.5; radish 6.0 7.0; spinach 6.0 7.5;
squash, crookneck 6.0 7.5; squash, Hubbard 5.5 7.0; tomato 5.5 7.5; apple 5.0 6.5; pecan 6.4 8.0;
orange 6.0 7.5; azalea 4.5 6.0; blackberry 5.0 6.0; blueberry 4.0 6.0; boxwood 6.0 7.5;
cherry, sour 6.0 7.0; hydrangea, blue 4.0 5.0; hydrangea, pink 6.0 7.0; lilac 6.0 7.5;
peach 6.0 7.0; pear 6.0 7.5; pine, white 4.5 6.0; plum 6.0 8.0; raspberry, red 5.5 7.0;
rhododendron 4.5 6.0
"""
# United States extension tables (from memory), and a grower-supply page for highbush blueberry
OTHERS = """
alfalfa 6.5 7.5; barley 6.0 7.5; onion 6.0 7.0; maize 5.8 7.0; soybean 6.0 7.0;
sweet potato 5.2 6.5; wheat 5.5 7.0; strawberry 5.5 6.5; lawn, cool-season 6.0 7.0;
blueberry, highbush 4.5 5.5
"""


@pytest.mark.parametrize("buffer_ph", SIKORA)
def test_sikora(buffer_ph: float) -> None:
    """All sixty cells."""
    rates = [sikora_oregon(buffer_ph, target=target) for target in (5.6, 6.0, 6.4, 6.8, 7.2)]
    assert rates == pytest.approx(SIKORA[buffer_ph])


def test_turf() -> None:
    """All eleven rows."""
    assert [turf_penn_state(acidity) for acidity, _ in TURF] == [rate for _, rate in TURF]


@pytest.mark.parametrize(("region", "quantity", "extractant", "lasts"), CATEGORIES)
def test_categories(
    region: str, quantity: str, extractant: str, lasts: tuple[int | None, ...]
) -> None:
    """Each class begins one step above the last value of the class below."""
    scale = next(
        scale
        for scale in shipped_region(region).categories
        if scale.quantity == quantity and scale.takes(extractant)
    )
    assert scale.limits == tuple(0 if last is None else last + 1 for last in lasts)


def test_plants() -> None:
    """All fifty ranges of 48 plants."""
    printed = {}
    for entry in (ALMANAC + ";" + OTHERS).replace("\n", " ").split(";"):
        name, low, high = entry.rsplit(maxsplit=2)
        printed[name.strip()] = (float(low), float(high))
    assert {c.name: (c.ph_from, c.ph_to) for c in shipped_crops()} == printed


@pytest.mark.parametrize(
    ("name", "low", "high"),
    # USDA Soil Survey Manual and NRCS (1998)
    [
        ("extremely acid", 3.5, 4.4),
        ("very strongly acid", 4.5, 5.0),
        ("strongly acid", 5.1, 5.5),
        ("moderately acid", 5.6, 6.0),
        ("slightly acid", 6.1, 6.5),
        ("neutral", 6.6, 7.3),
        ("slightly alkaline", 7.4, 7.8),
        ("moderately alkaline", 7.9, 8.4),
        ("strongly alkaline", 8.5, 9.0),
    ],
)
def test_reaction_classes(name: str, low: float, high: float) -> None:
    """Both printed ends belong to the class, what is a tenth beyond does not."""
    assert reaction_class(low) == reaction_class(high) == name
    assert name not in (reaction_class(low - 0.1), reaction_class(high + 0.1))


@pytest.mark.parametrize(
    ("use", "nutrient", "pounds"),
    # typical of United States extension tables (from memory), lb/1000 ft2, very low to very high
    [
        ("vegetable garden", "P2O5", ((5, 5), (4, 4), (2, 3), (1, 1), (0, 0))),
        ("vegetable garden", "K2O", ((5, 5), (4, 4), (2, 3), (1, 1), (0, 0))),
        ("vegetable garden", "N", ((2, 3),) * 5),
        ("established lawn", "P2O5", ((2, 2), (1, 1), (0.5, 0.5), (0, 0), (0, 0))),
        ("established lawn", "K2O", ((4, 4), (3, 3), (2, 2), (1, 1), (0, 0))),
        ("established lawn", "N", ((1, 4),) * 5),
    ],
)
def test_typical_recommendations(
    use: str, nutrient: str, pounds: tuple[tuple[float, float], ...]
) -> None:
    """Every cell."""
    (row,) = (
        row
        for row in shipped_region("us_typical").recommendations
        if (row.use, row.nutrient) == (use, nutrient)
    )
    assert (row.rates, row.unit) == (pounds, "lb/1000 ft2")


def test_acidity_of_nitrogen_fertilizers() -> None:
    """Pierre's convention (from memory), kg CaCO3 a kg N."""
    printed = {"ammonium sulphate": 5.35, "urea": 1.8, "monoammonium phosphate": 5}
    printed["calcium nitrate"] = -1.35
    found = {row.text("name"): row for row in load_table("fertilisers")}
    for name, acidity in printed.items():
        assert found[name].number("acidity", signed=True) == acidity


def test_england_limes_towards_the_printed_targets() -> None:
    """RB209: arable 6.7 and grass 6.2 on mineral soils, 6.0 and 5.5 on peat."""
    factors = {row.texture_group: row for row in shipped_region("england_wales").lime_factors}
    assert factors["peat"].targets == (6.0, 5.5)
    assert factors["sands"].targets == factors["clay loams and clays"].targets == (6.7, 6.2)
    # lime factors from memory, arable and grass
    assert [row.factors for row in factors.values()] == [(6, 4), (7, 5), (8, 6), (16, 12)]


@pytest.mark.parametrize("depth_in", [4, 6, 20 / 3, 8])
def test_another_depth_of_the_furrow_slice(depth_in: float) -> None:
    """Depth/6.67 in times it: the same as mg/kg x 1.324 g/cm3 x depth x 0.1 (computed)."""
    convention = LBS_PER_ACRE_PER_MG_PER_KG * depth_in / (20 / 3)
    field = convert(1.324 * convert(depth_in, "in", "cm") * 0.1, "kg/ha", "lb/acre")
    assert field == pytest.approx(convention, rel=5e-4)


def test_extractants_are_not_converted() -> None:
    """Ohio prints Bray-1 = 0.832 x Mehlich-3 - 8.08, so 22 is 10.2: low, where 22 would be high.

    Regions differ in such lines, so a value by one extractant is never looked up by another's
    limits.
    """

    def category(scale: CategoryScale, value: float) -> int:
        return sum(value >= limit for limit in scale.limits)

    bray = next(s for s in shipped_region("minnesota").categories if s.takes("Bray-1"))
    assert category(bray, 0.832 * 22 - 8.08) < category(bray, 22)
    assert not bray.takes("Mehlich-3")
