"""A chart comes back from its file as it was; a bad file is refused with a reason."""

import copy
import json
import os
from collections.abc import Callable
from contextlib import suppress
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import calibration
from calibration import chart_file
from calibration.chart import Chart
from calibration.chart_file import chart_text, load_chart, parse_chart, save_chart
from calibration.errors import ChartFileError, ChartTooNewError
from colorcore.measurement import Measurement
from colorcore.reasons import Reason
from tests.calibration.sample_charts import charts, make_chart

SCHEMA = json.loads(
    (Path(calibration.__file__).parent / "chart.schema.json").read_text(encoding="utf-8")
)
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)

Spoil = Callable[[dict[str, Any]], object]


def data_of(chart: Chart) -> dict[str, Any]:
    """Return a chart's file as plain data."""
    data: dict[str, Any] = json.loads(chart_text(chart))
    return data


@given(chart=charts)
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_a_round_trip_loses_nothing(chart: Chart) -> None:
    """Text and back gives the same chart, and the schema allows the text."""
    text = chart_text(chart)
    assert parse_chart(text, "c.json") == chart
    assert chart_text(parse_chart(text, "c.json")) == text
    VALIDATOR.validate(json.loads(text))


def test_a_chart_is_saved_and_loaded(tmp_path: Path) -> None:
    """The file is UTF-8 JSON, alone in its folder: nothing temporary is left."""
    chart = replace(make_chart(), name="Grün, pH 4–8 ✓")
    save_chart(chart, tmp_path / "c.json")
    assert load_chart(tmp_path / "c.json") == chart
    assert [file.name for file in tmp_path.iterdir()] == ["c.json"]


def test_a_chart_tells_which_one_it_takes_the_place_of() -> None:
    """The entry is there only where it is said, so that older files stay as they are."""
    assert "supersedes" not in data_of(make_chart())
    newer = replace(make_chart(), supersedes="0a" * 16)
    assert parse_chart(chart_text(newer), "c.json") == newer
    VALIDATOR.validate(data_of(newer))
    with pytest.raises(ChartFileError, match="32 hexadecimal"):
        parse_chart(json.dumps(data_of(newer) | {"supersedes": "the old one"}), "c.json")


def test_a_chart_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    """An editor may have put one there."""
    (tmp_path / "c.json").write_text("\ufeff" + chart_text(make_chart()), encoding="utf-8")
    assert load_chart(tmp_path / "c.json") == make_chart()


def test_the_schema_is_itself_a_schema() -> None:
    """And speaks of the format that is written."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["properties"]["format_version"]["const"] == chart_file.format_version()


def test_the_file_holds_every_field() -> None:
    """A field that a measurement or a reason gains must find its place in the file."""
    entry = data_of(make_chart())["measurements"][0]["measurement"]
    assert set(entry) == {field.name for field in fields(Measurement)}
    assert set(entry["reasons"][0]) == {field.name for field in fields(Reason)}


def test_what_a_later_version_added_is_kept() -> None:
    """Entries that are not known travel along."""
    data = {**data_of(make_chart()), "later": {"a": [1, None, "ü"]}}
    chart = parse_chart(json.dumps(data), "c.json")
    assert data_of(chart)["later"] == {"a": [1, None, "ü"]}


def test_a_file_is_not_written_over_unasked(tmp_path: Path) -> None:
    """Not even by the same chart."""
    path = tmp_path / "c.json"
    save_chart(make_chart(), path)
    with pytest.raises(ChartFileError, match=r"c-2\.json"):
        save_chart(make_chart(), path)
    save_chart(replace(make_chart(), name="new"), path, overwrite=True)
    assert load_chart(path).name == "new"


def test_another_chart_and_another_file_are_never_written_over(tmp_path: Path) -> None:
    """Even when asked: the old content stays, and another name is proposed."""
    path, notes = tmp_path / "c.json", tmp_path / "notes.json"
    save_chart(make_chart(), path)
    with pytest.raises(ChartFileError, match=r"another chart.*c-2\.json"):
        save_chart(replace(make_chart(), id="f" * 32), path, overwrite=True)
    assert load_chart(path) == make_chart()
    notes.write_text("my notes")
    with pytest.raises(ChartFileError, match="cannot be read as a chart"):
        save_chart(make_chart(), notes, overwrite=True)
    assert notes.read_text() == "my notes"


def test_a_newer_state_of_the_chart_is_not_written_over(tmp_path: Path) -> None:
    """An old program must not throw away what a new one wrote."""
    path = tmp_path / "c.json"
    path.write_text(json.dumps({**data_of(make_chart()), "format_version": 99}))
    with pytest.raises(ChartTooNewError):
        save_chart(make_chart(), path, overwrite=True)


def test_a_failed_write_leaves_the_old_chart(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk fails at the last moment: the old file is whole, and no scrap is left."""
    path = tmp_path / "c.json"
    save_chart(make_chart(), path)

    def fail(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(ChartFileError, match="No space left"):
        save_chart(replace(make_chart(), name="new"), path, overwrite=True)
    assert load_chart(path) == make_chart()
    assert [file.name for file in tmp_path.iterdir()] == ["c.json"]


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    """No folder is made on the way."""
    with pytest.raises(ChartFileError, match="nowhere"):
        save_chart(make_chart(), tmp_path / "nowhere" / "c.json")
    with pytest.raises(ChartFileError, match=r"no chart file .*c\.json"):
        load_chart(tmp_path / "c.json")
    with pytest.raises(ChartFileError, match="no chart file"):
        load_chart(tmp_path)


def test_what_a_file_cannot_hold_is_not_written(tmp_path: Path) -> None:
    """Infinite numbers, half characters and fingerprints that are paths."""
    chart = make_chart()
    first, *rest = chart.measurements
    for seen in (
        replace(first.measurement, rgb=(float("nan"), 0.0, 0.0)),
        replace(first.measurement, camera="\ud800"),
        replace(first.measurement, sha256="../../etc/passwd"),
    ):
        broken = replace(chart, measurements=(replace(first, measurement=seen), *rest))
        with pytest.raises(ValueError, match=r"JSON|half a character|fingerprint"):
            save_chart(broken, tmp_path / "c.json")
    with pytest.raises(ValueError, match="place of their own"):
        chart_text(replace(chart, extra=(("name", '"x"'),)))
    assert not list(tmp_path.iterdir())


def spoil(*keys: str | int, value: object) -> Spoil:
    """Return a change that puts a value where it does not belong."""

    def change(data: dict[str, Any]) -> None:
        place: Any = data
        for key in keys[:-1]:
            place = place[key]
        place[keys[-1]] = value

    return change


def drop(*keys: str | int) -> Spoil:
    """Return a change that takes an entry away."""

    def change(data: dict[str, Any]) -> None:
        place: Any = data
        for key in keys[:-1]:
            place = place[key]
        del place[keys[-1]]

    return change


SEEN = ("measurements", 0, "measurement")
WRONG = [
    drop("id"),
    drop("unit"),
    drop("swatches", 0, "lab"),
    drop(*SEEN, "box"),
    spoil("format", value="other"),
    spoil("format_version", value="1"),
    spoil("format_version", value=True),
    spoil("format_version", value=0),
    spoil("id", value="../../x"),
    spoil("name", value=None),
    spoil("form", value="N"),
    spoil("basis", value="air"),
    spoil("kind", value="paper"),
    spoil("white", value="A"),
    spoil("card_reflectance", value=[0.18, 0.18, 18]),
    spoil("card_reflectance", value=0.18),
    spoil("cameras", value=[1]),
    spoil("created_at", value=20260501),
    spoil("check_again_on", value=5),
    spoil("swatches", value={}),
    spoil("swatches", value=[]),
    spoil("swatches", 0, value=None),
    spoil("swatches", 0, "value", value="6"),
    spoil("swatches", 0, "value", value=True),
    spoil("swatches", 0, "lab", value=[1, 2]),
    spoil("swatches", 0, "lab", value=[1, 2, None]),
    spoil("swatches", 0, "covariance", value=[1, 2, 3]),
    spoil("swatches", 0, "n", value=0),
    spoil("swatches", 0, "n", value=1.5),
    spoil("swatches", 0, "standard_uncertainty", value=0),
    spoil("swatches", 0, "unheard", value=0),
    spoil("measurements", 0, "role", value="sample"),
    spoil("measurements", 0, "photo", value="../s001.jpg"),
    spoil("measurements", 0, "tube", value=0),
    spoil(*SEEN, "n_pixels", value=-1),
    spoil(*SEEN, "clipped_share", value=1.1),
    spoil(*SEEN, "outline", value="guessed"),
    spoil(*SEEN, "box", value=[1, 2, 3]),
    spoil(*SEEN, "sha256", value="../../etc/passwd"),
    spoil(*SEEN, "taken_at", value=[]),
    spoil(*SEEN, "reasons", 0, "weight", value="heavy"),
    spoil(*SEEN, "reasons", 0, "code", value="not a word"),
]
WRONG_BEYOND_THE_SCHEMA = [
    spoil("created_at", value="2026-05-01T10:00:00"),
    spoil("created_at", value="yesterday"),
    spoil("check_again_on", value="soon"),
    spoil("swatches", 0, "value", value=9.0),
    spoil("swatches", 0, "covariance", value=[[1, 5, 0], [0, 1, 0], [0, 0, 1]]),
    spoil("swatches", 0, "covariance", value=[[1e308, 0, 0], [0, 1e308, 0], [0, 0, -1e308]]),
    spoil("quantity", value="phosphorus"),
    spoil(*SEEN, "white", value="D50"),
    spoil("name", value="\ud800"),
    spoil("swatches", 0, "lab", value=[10**300, 0, 0]),
]


@pytest.mark.parametrize("change", WRONG)
def test_a_spoilt_entry_is_refused_by_us_and_by_the_schema(change: Spoil) -> None:
    """The checks written here and the published schema agree."""
    data = data_of(make_chart())
    change(data)
    with pytest.raises(ChartFileError, match=r"c\.json"):
        parse_chart(json.dumps(data), "c.json")
    assert not VALIDATOR.is_valid(data)


@pytest.mark.parametrize("change", WRONG_BEYOND_THE_SCHEMA)
def test_nonsense_that_a_schema_cannot_see_is_refused(change: Spoil) -> None:
    """Order, dates, covariances and numbers too large."""
    data = data_of(make_chart())
    change(data)
    with pytest.raises(ChartFileError, match=r"c\.json"):
        parse_chart(json.dumps(data), "c.json")


def test_an_error_names_the_entry() -> None:
    """So that it can be found in the file."""
    data = data_of(make_chart())
    data["swatches"][1]["lab"] = "green"
    with pytest.raises(ChartFileError, match=r"swatches\[1\]\.lab"):
        parse_chart(json.dumps(data), "c.json")


TEXT = chart_text(make_chart())


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"{}",
        b"[]",
        b"null",
        b"\xff\xfe\x00",
        b"\x00" * 100,
        b"photo,tube,value,unit\n",
        b"[" * 1_000_000,
        b'{"a":' * 200_000,
        b'{"format":' + b"9" * 10_000 + b"}",
        TEXT.encode()[:-100],
        TEXT.replace("0.001", "NaN").encode(),
        TEXT.replace("0.001", "-Infinity").encode(),
        TEXT.replace("0.001", "1e999").encode(),
        TEXT.replace("5000", "9" * 400).encode(),
        TEXT.replace('"kind"', '"name": "twice", "kind"').encode(),
        (TEXT[:-3] + ', "deep": ' + "[" * 60 + "]" * 60 + "}").encode(),
    ],
    ids=lambda data: repr(data[:16]),
)
def test_a_hostile_file_is_refused(tmp_path: Path, data: bytes) -> None:
    """Empty, torn, bottomless, not a number, doubled: an error that names the file."""
    (tmp_path / "c.json").write_bytes(data)
    with pytest.raises(ChartFileError, match=r"c\.json"):
        load_chart(tmp_path / "c.json")


def test_a_huge_file_is_refused_unread(tmp_path: Path) -> None:
    """A terabyte of nothing takes no memory."""
    path = tmp_path / "c.json"
    with path.open("wb") as file:
        file.truncate(2**40)
    with pytest.raises(ChartFileError, match="larger than 20 MB"):
        load_chart(path)


@given(cut=st.integers(0, len(TEXT) - 2))
@settings(deadline=None)
def test_a_torn_file_is_refused_wherever_it_is_torn(cut: int) -> None:
    """No prefix of a chart is a chart."""
    with pytest.raises(ChartFileError):
        parse_chart(TEXT[:cut], "c.json")


@given(data=st.data())
@settings(deadline=None)
def test_any_value_in_any_place_gives_a_chart_or_a_refusal(data: st.DataObject) -> None:
    """Never another error."""
    chart = data_of(make_chart())
    place: Any = chart
    while isinstance(place, dict | list) and place:
        key = data.draw(st.sampled_from(sorted(place) if isinstance(place, dict) else [0]))
        if data.draw(st.booleans()) or not isinstance(place[key], dict | list):
            place[key] = data.draw(
                st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.just([])
            )
            break
        place = place[key]
    with suppress(ChartFileError):
        parse_chart(json.dumps(chart), "c.json")


def test_a_newer_format_is_refused_politely() -> None:
    """With both versions and what to do."""
    data = {**data_of(make_chart()), "format_version": 2, "unheard": 1}
    with pytest.raises(ChartTooNewError, match=r"format 2.*up to 1") as caught:
        parse_chart(json.dumps(data), "c.json")
    assert "Update" in caught.value.what_to_do


def test_an_older_format_is_upgraded_step_by_step(monkeypatch: pytest.MonkeyPatch) -> None:
    """With two made-up steps, a format 1 chart comes out as format 3; the id survives."""
    old = data_of(make_chart())
    old["title"] = old.pop("name")
    old["light"] = old.pop("light_notes")

    def rename_title(data: dict[str, Any]) -> dict[str, Any]:
        changed = copy.deepcopy(data)
        changed["name"] = changed.pop("title")
        return changed

    def rename_light(data: dict[str, Any]) -> dict[str, Any]:
        assert "name" in data
        changed = copy.deepcopy(data)
        changed["light_notes"] = changed.pop("light")
        return changed

    monkeypatch.setattr(chart_file, "UPGRADES", (rename_title, rename_light))
    assert parse_chart(json.dumps(old), "c.json") == make_chart()
    assert data_of(make_chart())["format_version"] == 3
