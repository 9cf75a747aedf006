"""The picture of a plan that belongs to a survey, and how it lies on the ground."""

import json
import shutil
from dataclasses import dataclass
from pathlib import Path

from app.errors import OrderError
from app.exports.whole_file import whole_file
from app.site_map.plane import PlanScale
from app.tasks.small_json import is_there, read_small_json
from colorcore.errors import PhotoError
from colorcore.photo import read_photo

NAME = "plan"
FACTS = f"{NAME}.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A picture that lies under the sites.

    Parameters
    ----------
    picture : Path
        Its file.
    scale : PlanScale
        How it lies on the ground.
    """

    picture: Path
    scale: PlanScale


def save_plan(folder: Path, picture: Path, scale: PlanScale) -> Plan:
    """Copy a plan into a survey's folder in place of the one before.

    Raises
    ------
    OrderError
        If the picture cannot be read or the disk refuses.
    """
    try:
        photo = read_photo(picture)
    except PhotoError as error:
        raise OrderError(
            f"The plan {picture.name} cannot be used ({error.what_happened}).",
            what_to_do="Use a photo, a scan or a drawing as JPEG or PNG.",
        ) from error
    target = folder / f"{NAME}.{photo.file_format.casefold()}"  # whatever its name says it is
    with whole_file(target) as part:
        shutil.copyfile(picture, part)
    facts = {
        "picture": target.name,
        "east_per_px": scale.east_per_px,
        "north_per_px": scale.north_per_px,
        "origin": list(scale.origin),
    }
    with whole_file(folder / FACTS) as part:
        part.write_text(json.dumps(facts), encoding="utf-8")
    for old in folder.glob(f"{NAME}.*"):
        if old.name not in (target.name, FACTS):
            old.unlink(missing_ok=True)
    return Plan(picture=target, scale=scale)


def load_plan(folder: Path) -> Plan | None:
    """Return a survey's plan, None where it has none.

    Raises
    ------
    OrderError
        If its facts are damaged.
    """
    path = folder / FACTS
    if not path.is_file():
        return None
    try:
        facts = read_small_json(path)
        east, north = facts["origin"]
        scale = PlanScale(
            east_per_px=float(facts["east_per_px"]),
            north_per_px=float(facts["north_per_px"]),
            origin=(float(east), float(north)),
        )
        picture = folder / Path(str(facts["picture"])).name
    except (OSError, LookupError, TypeError, ValueError, OverflowError) as error:
        raise OrderError(
            f"The plan of the survey is damaged ({error}).",
            what_to_do="Choose its picture and scale it again; the sites keep their places.",
        ) from error
    is_ours = is_there(picture) and not picture.is_symlink()  # a link may lead anywhere
    return Plan(picture=picture, scale=scale) if is_ours else None


def copy_plan(folder: Path, target: Path) -> None:
    """Copy a survey's plan, where it has one, into another folder."""
    plan = load_plan(folder)
    if plan is not None:
        for path in (plan.picture, folder / FACTS):
            shutil.copyfile(path, target / path.name)
