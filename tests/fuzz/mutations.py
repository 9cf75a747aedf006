"""Ways to spoil a file: blindly, as text, as JSON.

Every mutation follows from the random generator that it is given, so that a case can be repeated.
"""

import json
import re
import struct
from random import Random
from typing import Any

from tests.fuzz import nasty

DEEP = 100_000


def spoil_bytes(data: bytes, random: Random) -> bytes:
    """Flip, overwrite, cut, double or insert bytes; headers more often than the rest."""
    spoilt = bytearray(data)
    for _ in range(random.choice((1, 1, 2, 4, 16))):
        end = len(spoilt) if random.random() < 0.5 else min(len(spoilt), 600)
        at = random.randrange(end) if end else 0
        length = random.choice((1, 2, 4, 16, 200, max(1, len(spoilt) // 4)))
        match random.randrange(8):
            case 0:
                spoilt[at : at + 1] = bytes(b ^ 1 << random.randrange(8) for b in spoilt[at:][:1])
            case 1:
                spoilt[at : at + 1] = bytes([random.choice(nasty.BYTES)])
            case 2:
                form = random.choice((">I", "<I", ">H", "<H"))
                word = random.choice(nasty.WORDS) & (0xFFFF if form[1] == "H" else 0xFFFFFFFF)
                spoilt[at : at + struct.calcsize(form)] = struct.pack(form, word)
            case 3:
                del spoilt[at : at + length]
            case 4:
                spoilt[at:at] = spoilt[at : at + length]
            case 5:
                spoilt[at:at] = random.randbytes(length % 257)
            case 6:
                spoilt[at : at + length] = bytes(min(length, len(spoilt) - at))
            case _:
                del spoilt[at:]
    return bytes(spoilt)


def spoil_text(data: bytes, random: Random) -> bytes:
    """Put nasty words into cells, mix up lines, separators and encodings."""
    text = data.decode("utf-8", "replace")
    for _ in range(random.choice((1, 1, 2, 5))):
        lines = text.split("\n")
        at = random.randrange(len(lines))
        match random.randrange(9):
            case 0 | 1 | 2 | 3:
                tokens = list(re.finditer(r"[^,;\s]+", text)) or [re.match("", text)]
                token = random.choice(tokens)
                start, end = token.span() if token else (0, 0)
                text = text[:start] + random.choice(nasty.TEXTS) + text[end:]
                continue
            case 4:
                lines[at : at + 1] = []
            case 5:
                most = 3_000_000 // (len(lines[at]) + 1) + 1  # the spoiler has the limits, too
                lines[at:at] = lines[at : at + 1] * min(random.choice((1, 3, 3000)), most)
            case 6:
                separator = random.choice(";\t|")
                lines = [line.replace(",", separator) for line in lines]
            case 7:
                lines[at] = re.sub(r"(\d)\.(\d)", r"\1,\2", lines[at])
            case _:
                lines[at] += random.choice((",", '"', ",,,,", '"unclosed', "\r", "\x00"))
        text = "\n".join(lines)
        if len(text) > 3_000_000:
            break
    encoding = random.choice(("utf-8",) * 6 + ("utf-16", "latin-1", "utf-8-sig"))
    return text.encode(encoding, "replace" if encoding == "latin-1" else "surrogatepass")


def spoil_json(data: bytes, random: Random) -> bytes:
    """Replace, remove, double or nest entries."""
    if random.random() < 0.1:
        return _strange_json(data, random)
    try:
        tree = json.loads(data)
    except ValueError:
        return spoil_bytes(data, random)
    for _ in range(random.choice((1, 1, 1, 2, 5))):
        inner = list(_places(tree))
        if not inner:
            break
        owner, key = random.choice(inner)
        match random.randrange(6):
            case 0:
                del owner[key]
            case 1:
                owner[key] = [owner[key]]
            case 2 if isinstance(owner, list):
                owner.insert(key, owner[key])
            case _:
                owner[key] = _nasty_value(random)
    return json.dumps(tree).encode()


def _strange_json(data: bytes, random: Random) -> bytes:
    """JSON that is too deep, doubled, not whole, or no object."""
    return random.choice(
        (
            b"[" * DEEP + b"]" * DEEP,
            b'{"a":' * DEEP,
            data.replace(b"{", b'{"format": 1, "format": 2, "id": null,', 1),
            data + data,
            data[: len(data) // 2],
            b"[]",
            b"null",
            b"1" * 6000,
            b'{"format": 1}',
            json.dumps({f"key {i}": "x" * 30 for i in range(30_000)}).encode(),
        )
    )


def _places(tree: Any) -> list[tuple[Any, Any]]:
    """Every (owner, key) in a tree of dicts and lists."""
    found, waiting = [], [tree]
    while waiting:
        owner = waiting.pop()
        keys = owner.keys() if isinstance(owner, dict) else range(len(owner))
        for key in keys:
            found.append((owner, key))
            if isinstance(owner[key], dict | list):
                waiting.append(owner[key])
    return found


def _nasty_value(random: Random) -> Any:
    kind = random.randrange(5)
    if kind <= 1:
        return random.choice(nasty.NUMBERS)
    if kind <= 3:
        return random.choice(nasty.TEXTS)
    return random.choice((None, True, False, [], {}, [[]], [1, 2, 3], {"a": {"b": []}}, [0] * 5000))
