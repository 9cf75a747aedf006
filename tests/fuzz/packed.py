"""Ways to spoil what is packed inside a file: a PNG, a JPEG, a workbook, a database."""

import io
import re
import sqlite3
import struct
import tempfile
import zipfile
import zlib
from collections.abc import Callable, Sequence
from pathlib import Path
from random import Random

from tests.fuzz import nasty
from tests.fuzz.mutations import spoil_bytes, spoil_json, spoil_text

Mutation = Callable[[bytes, Random], bytes]


def spoil_png(data: bytes, random: Random) -> bytes:
    """Spoil one chunk of a PNG and make its checksum right again, so that decoders see it."""
    chunks, at = [], 8
    while at + 12 <= len(data):
        (length,) = struct.unpack_from(">I", data, at)
        kind, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + length]
        if chunks and kind == chunks[-1][0] == b"IDAT":  # the packed pixels, in one piece
            body = chunks.pop()[1] + body
        chunks.append((kind, body))
        at += 12 + length
    which = random.randrange(len(chunks))
    kind, body = chunks[which]
    if kind == b"IHDR" and random.random() < 0.5:
        sides = [random.choice((*nasty.WORDS, 16, 20_000)) for _ in range(2)]
        body = struct.pack(">II", *sides) + body[8:]
    elif kind == b"IDAT" and random.random() < 0.5:
        body = zlib.compress(spoil_bytes(zlib.decompressobj().decompress(body), random))
    else:
        body = spoil_bytes(body, random)
    chunks[which] = (kind, body)
    if random.random() < 0.2:
        chunks.insert(random.randrange(len(chunks)), random.choice(chunks))
    packed = (
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        for kind, body in chunks
    )
    return data[:8] + b"".join(packed)


def spoil_jpeg(data: bytes, random: Random) -> bytes:
    """Lie about the size of a JPEG, or spoil one of its segments before the scan."""
    starts = [m.start() for m in re.finditer(rb"\xff[\xc0-\xc2\xc4\xda\xdb\xe0-\xe2]", data[:4000])]
    if not starts:
        return spoil_bytes(data, random)
    at = random.choice(starts)
    spoilt = bytearray(data)
    if data[at + 1] in (0xC0, 0xC1, 0xC2) and random.random() < 0.7:
        sides = [random.choice((*nasty.WORDS, 16, 7000)) & 0xFFFF for _ in range(2)]
        spoilt[at + 5 : at + 9] = struct.pack(">HH", *sides)
        return bytes(spoilt)
    length = int.from_bytes(data[at + 2 : at + 4], "big")
    inside = spoil_bytes(data[at + 4 : at + 2 + length], random)
    if random.random() < 0.7:
        inside = inside[: length - 2].ljust(max(length - 2, 0), b"\0")
    return data[: at + 4] + inside + data[at + 2 + length :]


def spoil_workbook(data: bytes, random: Random) -> bytes:
    """Spoil one part inside a workbook, or its name, and pack it again."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        parts = [(info.filename, packed.read(info)) for info in packed.infolist()]
    which = random.randrange(len(parts))
    name, body = parts[which]
    match random.randrange(6):
        case 0:
            name = random.choice(("../../outside", "/outside", "xl/../../outside"))
        case 1:
            body = bytes(50_000_000)  # a small file that unpacks to a large one
        case 2:
            entities = "".join(f'<!ENTITY e{i} "{f"&e{i - 1};" * 10}">' for i in range(1, 12))
            bomb = f'<!DOCTYPE x [<!ENTITY e0 "ha">{entities}]>'.encode()
            body = re.sub(rb"(<\?xml[^>]*>)?", lambda m: m.group() + bomb, body, count=1)
            body = body.replace(b"<v>", b"<v>&e11;").replace(b"<t>", b"<t>&e11;")
        case 3:
            places = list(re.finditer(rb'(?<=>)[^<]+(?=<)|(?<=")[^"<>]*(?=")', body))
            if places:
                start, end = random.choice(places).span()
                word = random.choice(nasty.TEXTS).encode("utf-8", "replace")
                body = body[:start] + word + body[end:]
        case _:
            body = spoil_bytes(body, random)
    parts[which] = (name, body)
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, body in parts:
            packed.writestr(name, body)
    return out.getvalue()


def spoil_database(data: bytes, random: Random) -> bytes:
    """Write nasty values into a database behind the back of its rules."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "spoilt.sqlite"
        path.write_bytes(data)
        db = sqlite3.connect(path, isolation_level=None)
        try:
            db.execute("PRAGMA ignore_check_constraints = ON")
            for name, kind in db.execute(
                "SELECT name, type FROM sqlite_master WHERE type IN ('trigger', 'view')"
            ).fetchall():
                if random.random() < 0.7:
                    db.execute(f'DROP {kind} "{name}"')
            for _ in range(random.choice((1, 1, 2, 4))):
                _spoil_table(db, random)
        except sqlite3.Error:
            pass  # some rules hold even here; what was written until then stays
        finally:
            db.close()
        return path.read_bytes()


def _spoil_table(db: sqlite3.Connection, random: Random) -> None:
    tables = [row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    table = random.choice(tables)
    columns = [row[1] for row in db.execute(f'PRAGMA table_info("{table}")')]
    column = random.choice(columns)
    text = random.choice(nasty.TEXTS).encode("utf-8", "replace").decode()
    number = random.choice([n for n in nasty.NUMBERS if not isinstance(n, int) or abs(n) < 2**63])
    there = db.execute(f'SELECT "{column}" FROM "{table}" LIMIT 1').fetchone()
    packed = there is not None and isinstance(there[0], str) and there[0][:1] in ("{", "[")
    value = random.choice((text, number, None, b"\x00\xff"))
    if packed and random.random() < 0.7:
        value = spoil_json(there[0].encode(), random).decode("utf-8", "replace")
    match random.randrange(8):
        case 0:
            db.execute(f"PRAGMA user_version = {random.choice((0, 1, 2, 99, -1, 2**31 - 1))}")
        case 1:
            db.execute(f'DROP TABLE "{table}"')
        case 2:
            db.execute(f'DELETE FROM "{table}"')
        case _:
            db.execute(f'UPDATE "{table}" SET "{column}" = ?', [value])


def ways_for(name: str) -> Sequence[Mutation]:
    """Return what can be done to a file of this name; some ways twice, to come up more often."""
    ending = Path(name).suffix
    known: dict[str, tuple[Mutation, ...]] = {
        ".png": (spoil_bytes, spoil_png, spoil_png),
        ".jpg": (spoil_bytes, spoil_jpeg),
        ".json": (spoil_json, spoil_json, spoil_json, spoil_text, spoil_bytes),
        ".geojson": (spoil_json, spoil_json, spoil_bytes),
        ".csv": (spoil_text, spoil_text, spoil_text, spoil_bytes),
        ".xlsx": (spoil_workbook, spoil_workbook, spoil_bytes),
        ".sqlite": (spoil_database, spoil_database, spoil_bytes),
    }
    return known.get(ending, (spoil_bytes,))
