"""Sound files of every kind that the product reads from strangers, small so that runs are quick."""

import io
import json
from pathlib import Path

import numpy as np
from PIL import Image

import sample_images
from app.bench_clock import BenchClock
from app.desk import Desk, DeskChart, DeskPhoto, PhotoEdits
from app.records.record_book import create_survey
from app.soil import table_reader
from app.survey.method import Method
from app.survey.sample import Sample
from app.survey.site import Site
from app.tasks.desk_file import NAME, save_desk
from app.tasks.open_demo import open_demo
from app.tasks.step import finish
from app.tube_reading import KnownTube, TubeEntry
from calibration.chart import Chart
from calibration.chart_file import chart_text
from calibration.indicator import Analyte
from colorcore.hand_outlines import HandOutlines, HandTube
from tests.app.sample_surveys import CHART, LATER, NOW, known_ph, make_line
from tests.colorcore.test_photo import dng, grey_mosaic
from tests.fuzz.seed import Seed

SAMPLES = Path(sample_images.__file__).resolve().parent
TABLES = Path(table_reader.__file__).with_name("tables")
WIDTH_PX = 360


def make_seeds(folder: Path) -> tuple[Seed, ...]:
    """Make all seeds; `folder` is an empty place to work in."""
    demo = finish(open_demo())
    charts = (*demo.charts, CHART)
    return (
        *_photos(),
        *[Seed(kind="chart", name="chart.json", data=chart_text(c).encode()) for c in charts] * 2,
        *_sheets(),
        *_tables(),
        *(_survey(folder),) * 5,
        *(_desk(folder, demo.charts[0]),) * 3,
        _plan(),
        *(_draft(),) * 2,
    )


def _photos() -> list[Seed]:
    import pillow_heif

    pillow_heif.register_heif_opener()
    made = []
    for number, path in enumerate(("survey/plot-a-morning.jpg", "ph/ph-2.jpg")):
        with Image.open(SAMPLES / path) as whole:
            exif, icc = whole.info.get("exif", b""), whole.info.get("icc_profile")
            small = whole.convert("RGB")
        small.thumbnail((WIDTH_PX, WIDTH_PX))
        options = {"exif": exif, "icc_profile": icc}
        forms: tuple[tuple[str, str, dict[str, object]], ...] = (
            ("jpg", "JPEG", {"quality": 85, **options}),
            ("jpg", "JPEG", {"quality": 85, "progressive": True, **options}),
            ("png", "PNG", {**options, "compress_level": 1}),
            ("tif", "TIFF", {"compression": "tiff_deflate"}),
            ("tif", "TIFF", {}),
            ("webp", "WEBP", {"quality": 80, **options}),
            ("heic", "HEIF", {"quality": 70, **options}),
            ("avif", "AVIF", {"quality": 70, "speed": 9, **options}),
        )
        for ending, form, said in forms:
            out = io.BytesIO()
            small.save(out, form, **{k: v for k, v in said.items() if v is not None})
            made.append(Seed(kind="photo", name=f"photo-{number}.{ending}", data=out.getvalue()))
    raw = dng(grey_mosaic(np.linspace(0.05, 0.9, 64 * 48).reshape(48, 64)))
    made.append(Seed(kind="photo", name="raw.dng", data=raw))
    return made


STANDARDS = """photo,tube,value,unit,uncertainty,buffer,temperature,role,label
photo.jpg,1,4.01,pH,0.02,,,standard,acid
photo.jpg,2,6.86,pH,,,,standard,
photo.jpg,3,,,,borax,22,standard,
photo.jpg,4,,,,,,blank,
"""
TUBES = """photo,tube,sample,replicate,chart,role
photo.jpg,1,A1,1,ph,sample
photo.jpg,2,A1,2,ph,sample
photo.jpg,3,,,,blank
"""
REGIONS = """photo,patch,x1,y1,x2,y2,x3,y3,x4,y4,value,label,unit
photo.jpg,1,10,10,60,10,60,60,10,60,5.0,five,pH
photo.jpg,2,70,10,120,10,120,60,70,60,6.0,six,pH
"""
PRODUCTS = """name,grade,cce,sulphur,bag_kg,price
Garden mix,7-7-7,,,25,18.50
Lime,,95,,20,6
Flowers,,,90,5,9
"""
LABORATORY = (
    "sample,method,quantity,value,unit\nA1,pH in water,,6.1,pH\nA1,Bray 1,phosphorus,12,mg/kg\n"
)
GROUND = "sample,area_m2,fizzes\nA1,120,no\nB2,35.5,yes\n"
SITES = """name,latitude_deg,longitude_deg,elevation_m,land_use,area_ha,crop,notes
North,50.25,-8.5,120,garden,0.2,bean,by the wall
South,50.26,-8.51,118,field,1.5,potato,
"""
SAMPLE_ROWS = """label,kind,site,taken_on,depth_top_cm,depth_bottom_cm,texture,taken_by,notes
A1,soil,North,2026-05-01,0,20,loam,P1,
B2,soil,South,2026-05-02,0,20,clay,P2,wet
W,water,North,2026-05-02,,,,,
"""
METHODS = "name,ratio,extractant\nshake,1:5,water\n"
TESTS = "sample,quantity,method\nA1,ph,shake\n"
KNOWN = """sample,quantity,unit,value,standard_uncertainty,source
A1,ph,pH,6.2,0.05,laboratory
"""
HEADS = "site,head_m\nNorth,12.3\nSouth,12.1\n"


def _sheets() -> list[Seed]:
    texts = {
        "standards": STANDARDS,
        "tubes": TUBES,
        "regions": REGIONS,
        "products": PRODUCTS,
        "laboratory": LABORATORY,
        "ground": GROUND,
    }
    made = [Seed(kind=k, name=f"{k}.csv", data=text.encode()) for k, text in texts.items()]
    for name in (
        "categories_iowa",
        "crops_extension",
        "lime_texture_first",
        "recommendations_texas",
    ):
        data = (TABLES / f"{name}.csv").read_bytes()
        made.append(Seed(kind="region", name=f"{name}.csv", data=data))
    return made


POINTS = {
    "type": "FeatureCollection",
    "features": [
        {
            "type": "Feature",
            "properties": {"name": name, "crop": "bean", "area_ha": 0.2},
            "geometry": {"type": "Point", "coordinates": [-8.5, 50.25, 120]},
        }
        for name in ("North", "South")
    ],
}


def _tables() -> list[Seed]:
    from openpyxl import Workbook

    made = [Seed(kind="table:sites", name="sites.geojson", data=json.dumps(POINTS).encode())]
    for what, text in {
        "sites": SITES,
        "samples": SAMPLE_ROWS,
        "methods": METHODS,
        "tests": TESTS,
        "known": KNOWN,
        "heads": HEADS,
    }.items():
        made.append(Seed(kind=f"table:{what}", name=f"{what}.csv", data=text.encode()))
        book = Workbook()
        for line in text.splitlines():
            book.active.append(line.split(","))
        out = io.BytesIO()
        book.save(out)
        made.append(Seed(kind=f"table:{what}", name=f"{what}.xlsx", data=out.getvalue()))
    return made


def _survey(folder: Path) -> Seed:
    photo = folder / "plot-7.jpg"
    pixels = np.full((120, 160, 3), 200, np.uint8)
    pixels[20:100, 10:40] = (40, 160, 90)
    Image.fromarray(pixels).save(photo)
    with create_survey(folder / "survey", id="s", now=NOW, name="Spring") as book:
        sites = [
            Site(name=f"S{i}", latitude_deg=50 + i / 1e3, longitude_deg=-8.5 - i * i / 1e3)
            for i in range(5)
        ]
        book.add_sites(sites, person="P1", now=NOW)
        samples = [Sample(label=f"A{i}", site=f"S{i}", texture="loam") for i in range(5)]
        check = Sample(label="Buffer 6", kind="check standard")
        book.add_samples([*samples, check], person="P1", now=NOW)
        book.add_methods(
            [Method(name="shake", ratio="1:5", extractant="water")], person="P1", now=NOW
        )
        known = known_ph("Buffer 6", 6.0, "certificate", uncertainty=0.01)
        book.add_known_values([known])
        book.name_person("P1", "Ada Invented", person="P1", now=NOW)
        for i in range(5):
            line = make_line(photo, value=5.5 + i / 3, tube=i + 1, sample=f"A{i}")
            book.keep_readings((line,), "P1", LATER)
        lines = (make_line(photo, value=6.0, tube=6, sample="Buffer 6", status="doubtful"),)
        book.keep_readings(lines, "P2", LATER)
        book.withdraw(2, reason="spilt", person="P2", now=LATER)
    data = (folder / "survey" / "survey.sqlite").read_bytes()
    return Seed(kind="survey", name="survey.sqlite", data=data)


def _desk(folder: Path, chart: Chart) -> Seed:
    photo = folder / "plot-7.jpg"
    quad = ((1.0, 1.0), (20.0, 1.0), (20.0, 30.0), (1.0, 30.0))
    analyte = Analyte(quantity="ph", unit="pH")
    known = KnownTube(tube=2, value=6.0, label=None, uncertainty=0.1, analyte=analyte)
    edits = PhotoEdits(
        entries=((1, TubeEntry(sample="A1", replicate="1", chart=chart.id)),),
        known=(known,),
        hand=HandOutlines(card=quad, tubes=(HandTube(found=1, region=quad),)),
    )
    method = Method(name="shake", settling_from_min=5, color_to_min=20)
    clock = BenchClock(
        id="c", samples=("A1",), method=method, shaken_at=NOW, indicator_added_at=None
    )
    desk = Desk(
        photos=(DeskPhoto(path=photo, edits=edits),),
        chosen=photo,
        charts=(DeskChart(chart=chart, path=None, in_use=True),),
        card_reflectance=(0.18, 0.18, 0.18),
        clocks=(clock,),
    )
    save_desk(desk, folder / "desk")
    return Seed(kind="desk", name="desk.json", data=(folder / "desk" / NAME).read_bytes())


def _plan() -> Seed:
    facts = {"picture": "plan.png", "east_per_px": 0.1, "north_per_px": 0.0, "origin": [0, 0]}
    return Seed(kind="plan", name="plan.json", data=json.dumps(facts).encode())


def _draft() -> Seed:
    patch = {"quad": [[1, 1], [9, 1], [9, 9], [1, 9]], "value": 5.0, "label": "five"}
    data = {
        "facts": {"name": "New", "unit": "pH", "quantity": "ph"},
        "kind": "liquid",
        "photos": ["photo.jpg"],
        "patches": [patch],
        "counted": [["photo.jpg", 2]],
    }
    return Seed(kind="draft", name="facts.json", data=json.dumps(data).encode())
