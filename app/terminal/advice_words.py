"""The words of `advise`, and what it shares with `report`: products, laboratory, ground."""

import argparse
from pathlib import Path
from typing import Any


def add_advise(commands: Any) -> None:
    """Add the command that says what soils are and what crops need."""
    advise = commands.add_parser("advise", help="what the soils are and what a crop needs on them")
    advise.add_argument("survey", metavar="SURVEY")
    advise.add_argument(
        "--crop",
        action="append",
        default=[],
        dest="crops",
        metavar="NAME",
        help="what is to grow (default: what each site says); further ones, or all, are compared",
    )
    advise.add_argument(
        "--region",
        required=True,
        action="append",
        dest="regions",
        metavar="TABLE",
        help="a region that ships with the program, or a table of your own (CSV; may be repeated)",
    )
    advise.add_argument("--sample", metavar="ID", help="this sample alone (default: all of soil)")
    add_advice_words(advise)
    advise.add_argument("--units", choices=("si", "us"), help="one system of units (default: both)")
    advise.add_argument(
        "--steps", action="store_true", help="every sample in full, with how each number came about"
    )
    advise.add_argument("--format", choices=("text", "json"), default="text")


def add_advice_words(parser: argparse.ArgumentParser) -> None:
    """Add what `advise` and `report` may be told beyond the survey."""
    parser.add_argument(
        "--medium",
        choices=("water", "cacl2", "kcl"),
        help="what the soil was shaken in for pH, where neither method nor chart says it",
    )
    parser.add_argument(
        "--estimate-water-ph",
        action="store_true",
        help="estimate the pH in water (1:1) from one in calcium chloride, or at 1:5",
    )
    parser.add_argument(
        "--products",
        metavar="FILE.csv",
        help="what you have or can buy: name, grade or cce or sulphur, bag_kg, price",
    )
    parser.add_argument(
        "--least", choices=("cost", "excess"), help="what the mix of fertilizers is to make least"
    )
    parser.add_argument(
        "--lab", metavar="FILE.csv", help="values of a laboratory's report: sample, method, value"
    )
    parser.add_argument(
        "--ground", metavar="FILE.csv", help="more about the ground: sample, area_m2, fizzes, ..."
    )
    parser.add_argument(
        "--phosphorus",
        choices=("allowed", "forbidden"),
        help="what the rules of the place say of phosphorus fertilizer",
    )


def advice_said(order: argparse.Namespace) -> dict[str, Any]:
    """Return what the options say, as `AdviceOrder` takes it.

    Raises
    ------
    SheetError
        If a sheet cannot be used.
    """
    from app.tasks.advice_sheets import read_grounds, read_laboratory, read_products

    return {
        "medium": order.medium,
        "estimate_water_ph": order.estimate_water_ph,
        "products": None if order.products is None else read_products(Path(order.products)),
        "least": order.least,
        "laboratory": () if order.lab is None else read_laboratory(Path(order.lab)),
        "grounds": () if order.ground is None else read_grounds(Path(order.ground)),
        "phosphorus_allowed": None if order.phosphorus is None else order.phosphorus == "allowed",
    }
