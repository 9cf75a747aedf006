"""The words of the commands that look for a source, or hide one."""

from typing import Any


def add_trace(commands: Any) -> None:
    """Add the command that looks for a source."""
    trace = commands.add_parser("trace", help="where a spill may have come from, and why")
    trace.add_argument("survey", metavar="SURVEY")
    trace.add_argument("--quantity", required=True, metavar="Q", help="ph, nitrogen, ...")
    trace.add_argument(
        "--background",
        required=True,
        metavar="ID,...",
        help="sites that the spill cannot have reached; three or more, up-gradient",
    )
    trace.add_argument(
        "--direction",
        default="unknown",
        metavar="DEGREES|heads|slope|unknown",
        help="where the water flows to: degrees from north, or where to take it from",
    )
    trace.add_argument("--heads", metavar="FILE.csv", help="water levels of wells: site, head_m")
    trace.add_argument(
        "--material", metavar="NAME", help="what the water flows through, for travel times"
    )
    trace.add_argument("--taken-on", metavar="YYYY-MM-DD", help="only samples of this day")
    trace.add_argument("--depth", metavar="TOP-BOTTOM", help="only samples from this depth, cm")
    trace.add_argument("--kind", choices=("water", "soil"), help="which samples are compared")
    trace.add_argument("--seed", type=int, default=0, metavar="N", help="fixes chance (default: 0)")
    trace.add_argument("--map", metavar="FILE", help="write the map: .png, .svg or .geojson")
    trace.add_argument(
        "--replace", action="store_true", help="let the map take the place of an older file"
    )
    trace.add_argument(
        "--with-positions", action="store_true", help="let a .geojson map tell where the sites lie"
    )
    trace.add_argument("--format", choices=("text", "json"), default="text")


def add_practice(commands: Any) -> None:
    """Add the command that makes a spill up."""
    practice = commands.add_parser("practice", help="a made-up spill for a class to trace")
    practice.add_argument("sites", metavar="SITES.csv", help="site, map_x_m, map_y_m")
    practice.add_argument("--background", required=True, metavar="ID,...", help="clean sites")
    practice.add_argument("--source", required=True, metavar="X,Y", help="where it is hidden, m")
    practice.add_argument(
        "--flow", required=True, type=float, metavar="DEGREES", help="where the water flows to"
    )
    practice.add_argument("--reach", type=float, metavar="M", help="way on which it falls to 1/e")
    practice.add_argument("--spread", type=float, metavar="M", help="half-width at the source")
    practice.add_argument("--source-ph", type=float, default=3.5, metavar="PH")
    practice.add_argument("--background-ph", type=float, default=6.8, metavar="PH")
    practice.add_argument("--noise", type=float, default=0.1, metavar="PH")
    practice.add_argument("--seed", type=int, default=0, metavar="N", help="fixes chance")
    practice.add_argument("--acid", choices=("citric", "vinegar"), default="citric")
    practice.add_argument("--volume", type=float, default=100.0, metavar="ML", help="of a sample")
    practice.add_argument(
        "--answers", metavar="FILE.csv", help="compare groups: group, site, ph, suspect, x_m, y_m"
    )
