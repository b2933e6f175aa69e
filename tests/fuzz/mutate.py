"""Spoil a sound file: bytes, packed parts, JSON and TOML values, pixels, words."""

from __future__ import annotations

import io
import json
import re
import zipfile
from copy import deepcopy
from typing import TYPE_CHECKING

import cv2
import numpy as np
from PIL import Image

if TYPE_CHECKING:
    from random import Random

ODD_NUMBERS = (0, 1, 0x7F, 0x80, 0xFF, 0x7FFF, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF)
ODD_WORDS = (
    "",
    "-1",
    "9" * 5000,
    "1e999",
    "nan",
    "true",
    "\u202e",
    "\ufffd",
    "x" * 2000,
    "../../a",
    "&#x41;",
    "none",
)
WORD_TAGS = (
    *(
        "w:r",
        "w:t",
        "w:p",
        "w:tbl",
        "w:tr",
        "w:tc",
        "w:drawing",
        "w:txbxContent",
        "w:sdt",
        "w:ruby",
    ),
    *("w:footnoteReference", "w:sym", "w:pict", "w:object", "w:ins", "w:instrText", "w:hyperlink"),
)
TEXT_TAGS = (
    *("text:p", "text:span", "text:note", "text:s", "text:section", "text:hidden-text"),
    *("draw:frame", "draw:text-box", "draw:g", "table:table", "table:table-cell", "style:style"),
)
ODD_VALUES = (
    None,
    True,
    [],
    {},
    -1,
    10**400,
    1e308,
    float("nan"),
    "",
    "x" * 500,
    [[]] * 3,
    {"a": 1},
    "\u0000",
    "\ud800",
)
ODD_TOML = (
    "nan",
    "inf",
    "-inf",
    "9" * 400,
    "9" * 5000,
    "1e999",
    "-1",
    '""',
    '"' + "x" * 3000 + '"',
    "[" * 2000 + "]" * 2000,
    "{a = 1}",
    "[1, nan, [2]]",
    "1979-05-27T07:32:00Z",
    "true",
    '"\\u0000"',
    '"\\u202E\\u001B[31m"',
)


def spoilt_bytes(data: bytes, rng: Random) -> bytes:
    """One to four strokes on the bytes, whatever they mean."""
    held = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 4))):
        _stroke(held, rng)
    return bytes(held)


def _stroke(held: bytearray, rng: Random) -> None:
    at = (
        rng.randrange(len(held) + 1)
        if rng.random() < 0.5
        else rng.randrange(min(len(held), 200) + 1)
    )
    length = min(rng.choice((1, 2, 4, 16, 300)), len(held) - at)
    what = rng.randrange(8)
    if what == 7:
        _odd_number(held, rng)
    elif what == 0 and at < len(held):
        held[at] ^= 1 << rng.randrange(8)
    elif what == 1:
        held[at : at + length] = rng.randbytes(length)
    elif what == 2:
        del held[at : at + length]
    elif what == 3:
        held[at:at] = held[at : at + length] * rng.choice((1, 2, 50))
    elif what == 4:
        del held[at:]
    elif what == 5:
        number = rng.choice(ODD_NUMBERS)
        size = rng.choice((1, 2, 4))
        value = (number & (256**size - 1)).to_bytes(size, rng.choice(("little", "big")))
        held[at : at + size] = value
    else:
        other = rng.randrange(len(held) + 1)
        held[at : at + length] = held[other : other + length]


def _odd_number(held: bytearray, rng: Random) -> None:
    """A number written in figures (PDF, PNM, CSV) becomes another."""
    places = [m.span() for m in re.finditer(rb"\d+", bytes(held[:20_000]))]
    if places:
        start, end = rng.choice(places)
        held[start:end] = rng.choice((b"0", b"-1", b"99999999", b"1e9", b"4294967297", b"3", b"."))


def spoilt_pack(data: bytes, rng: Random) -> bytes:
    """One part of a packed document spoilt as XML, or dropped, or doubled."""
    with zipfile.ZipFile(io.BytesIO(data)) as pack:
        parts = {name: pack.read(name) for name in pack.namelist()}
    wanted = [name for name in parts if name.endswith(".xml")]
    heavy = [name for name in wanted if re.search("document|content|styles", name)]
    name = rng.choice(heavy if heavy and rng.random() < 0.85 else wanted)
    what = rng.randrange(8)
    if what == 0:
        del parts[name]
    elif what == 1:
        parts[name] = spoilt_bytes(parts[name], rng)
    else:
        parts[name] = spoilt_xml(parts[name].decode("utf-8", "replace"), rng).encode()
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as pack:
        for each, body in parts.items():
            pack.writestr(each, body)
    return held.getvalue()


def spoilt_xml(text: str, rng: Random) -> str:
    """Elements taken out, doubled, nested or renamed; attributes and words replaced."""
    for _ in range(rng.choice((1, 2, 5))):
        tags = [m.span() for m in re.finditer(r"<[^<>]+>", text)]
        values = [m.span(1) for m in re.finditer(r'="([^"]*)"', text)]
        words = [m.span(1) for m in re.finditer(r">([^<>]+)<", text)]
        what = rng.randrange(6)
        if what <= 1 and values:
            start, end = rng.choice(values)
            text = text[:start] + rng.choice(ODD_WORDS).replace("&", "") + text[end:]
        elif what == 2 and words:
            start, end = rng.choice(words)
            text = text[:start] + rng.choice(ODD_WORDS) * rng.choice((1, 1, 40)) + text[end:]
        elif what == 3 and tags:
            start, end = rng.choice(tags)
            text = text[:start] + text[end:]
        elif what == 4 and tags:
            start, end = rng.choice(tags)
            text = text[:end] + text[start:end] * rng.choice((1, 3, 3000)) + text[end:]
        elif tags:
            start, end = rng.choice(tags)
            name = rng.choice(WORD_TAGS if "<w:" in text else TEXT_TAGS)
            text = text[:start] + re.sub(r"(?<=[</])[\w:]+", name, text[start:end]) + text[end:]
    return text


def spoilt_json(data: bytes, rng: Random) -> bytes:
    """One to three values replaced by others, wherever they stand."""
    held = json.loads(data)
    for _ in range(rng.choice((1, 1, 3))):
        node, key = _a_place(held, rng)
        if rng.random() < 0.15 and isinstance(node, dict):
            del node[key]
        else:
            # A copy: one put into another would stay there for all cases after, or hold itself.
            node[key] = deepcopy(rng.choice(ODD_VALUES))
    return json.dumps(held).encode("utf-8", "surrogatepass")


def _a_place(held, rng: Random):
    node = held
    while True:
        keys = list(node) if isinstance(node, dict) else list(range(len(node)))
        key = rng.choice(keys)
        inner = node[key]
        if isinstance(inner, dict | list) and inner and rng.random() < 0.75:
            node = inner
            continue
        return node, key


def spoilt_toml(data: bytes, rng: Random) -> bytes:
    """One value replaced, a key made up, or the bytes spoilt."""
    lines = data.decode().splitlines()
    what = rng.randrange(5)
    if what == 0:
        return spoilt_bytes(data, rng)
    at = rng.randrange(len(lines))
    if what == 1:
        lines.insert(at, rng.choice(("", "unfit", "face", "[a.b]", '"\\u001b"')) + " = 1")
    else:
        lines[at] = lines[at].partition("=")[0] + "= " + rng.choice(ODD_TOML)
    return "\n".join(lines).encode()


def spoilt_words(data: bytes, rng: Random) -> bytes:
    """Copy with odd characters, lines of any length, words over and over."""
    what = rng.randrange(5)
    if what == 0:
        return spoilt_bytes(data, rng)
    ranges = ((0, 0x20), (0x20, 0x7F), (0x80, 0x250), (0x2000, 0x2070), (0x0, 0x10FFFF))
    low, high = rng.choice(ranges)
    odd = "".join(chr(rng.randint(low, high)) for _ in range(rng.choice((1, 5, 200))))
    text = data.decode("utf-8", "replace")
    at = rng.randrange(len(text) + 1)
    times = rng.choice((1, 1, 1, 400)) if what < 4 else rng.choice((1, 20_000))
    whole = text[:at] + odd * times + text[at:] * (rng.choice((1, 30)) if what == 3 else 1)
    return whole.encode("utf-8", "surrogatepass")


def spoilt_sheet(sheet: np.ndarray, rng: Random) -> bytes:
    """A picture made from the proof's pixels, or from none, that no one would expect."""
    numbers = np.random.default_rng(rng.randrange(2**32))
    height, width = sheet.shape
    ways = (
        lambda: numbers.integers(0, 256, (rng.randint(1, 400), rng.randint(1, 400))),
        lambda: np.full((rng.choice((1, 33, 300)), rng.choice((1, 33, 9000))), rng.randrange(256)),
        lambda: np.clip(sheet + numbers.normal(0, rng.choice((10, 60)), sheet.shape), 0, 255),
        lambda: 255 - sheet,
        lambda: np.rot90(sheet, rng.randrange(4))[:: rng.choice((1, -1))],
        lambda: sheet[rng.randrange(height - 40) :, : rng.randint(33, width)],
        lambda: np.tile(sheet, (rng.choice((1, 3)), rng.choice((1, 3)))),
        lambda: cv2.resize(sheet, (rng.randint(33, 900), rng.randint(33, 600))),
        lambda: np.where(numbers.random(sheet.shape) < 0.02, 0, sheet),
        lambda: _blobs(sheet.shape, rng, rng.choice((3, 40, 300))),
        lambda: np.minimum(sheet, _blobs(sheet.shape, rng, rng.choice((2, 15)))),
        lambda: np.kron(np.indices((20, 25)).sum(0) % 2 * 255, np.ones((rng.randint(1, 9),) * 2)),
        lambda: np.clip(np.linspace(0, 255, width)[None, :] * np.ones((height, 1)), 0, 255),
        lambda: _turned(sheet, rng.uniform(-40, 40)),
        lambda: np.minimum(sheet, _bars(sheet.shape, rng)),
    )
    image = np.asarray(rng.choice(ways)()).astype(np.uint8)
    held = io.BytesIO()
    tag = rng.choice((None, (150, 150), (0, 0), (1e6, 1), (72, 72), (600, 600)))
    made = Image.fromarray(np.ascontiguousarray(image)).convert(
        rng.choice(("L", "L", "RGB", "RGBA", "1"))
    )
    made.save(held, "PNG", **({"dpi": tag} if tag else {}))
    return held.getvalue()


def _blobs(shape, rng: Random, count: int) -> np.ndarray:
    image = np.full(shape, 245, np.uint8)
    for _ in range(count):
        centre = (rng.randrange(shape[1]), rng.randrange(shape[0]))
        axes = (rng.randint(1, 40), rng.randint(1, 40))
        cv2.ellipse(image, centre, axes, rng.uniform(0, 180), 0, 360, rng.randrange(120), -1)
    return image


def _bars(shape, rng: Random) -> np.ndarray:
    image = np.full(shape, 245, np.uint8)
    for _ in range(rng.randint(1, 8)):
        at, thick = rng.randrange(max(shape)), rng.randint(1, 30)
        if rng.random() < 0.5:
            image[at : at + thick] = 10
        else:
            image[:, at : at + thick] = 10
    return image


def _turned(sheet: np.ndarray, degrees: float) -> np.ndarray:
    height, width = sheet.shape
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), degrees, 1.0)
    return cv2.warpAffine(sheet, turn, (width, height), borderValue=245)
