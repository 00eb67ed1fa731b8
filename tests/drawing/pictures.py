"""PNG files as dots, decoded without an imaging library: PNG specification (second edition), sections 9 and 11."""

from __future__ import annotations

import zlib
from typing import Any

import numpy as np


def grey(data: bytes) -> Any:
    """Return (height, width) dots, 0 black to 255 white, of an 8-bit PNG; what is transparent is white."""
    position, body, width, height, depth, kind = 8, b"", 0, 0, 0, 0
    while position < len(data):
        length = int.from_bytes(data[position : position + 4], "big")
        name, chunk = data[position + 4 : position + 8], data[position + 8 : position + 8 + length]
        if name == b"IHDR":
            width, height = int.from_bytes(chunk[:4], "big"), int.from_bytes(chunk[4:8], "big")
            depth, kind = chunk[8], chunk[9]
        if name == b"IDAT":
            body += chunk
        position += 12 + length
    assert depth == 8
    channels = {0: 1, 2: 3, 4: 2, 6: 4}[kind]
    raw = np.frombuffer(zlib.decompress(body), dtype=np.uint8).reshape(height, 1 + width * channels)
    rows = np.zeros((height, width * channels), dtype=np.uint8)
    above = bytes(width * channels)
    for y in range(height):
        above = _unfiltered(int(raw[y, 0]), raw[y, 1:].tobytes(), above, channels)
        rows[y] = np.frombuffer(above, dtype=np.uint8)
    dots = rows.reshape(height, width, channels).astype(float)
    if channels in (2, 4):
        alpha = dots[..., -1:] / 255
        dots = dots[..., :-1] * alpha + 255 * (1 - alpha)
    if dots.shape[2] == 1:
        return dots[..., 0]
    return dots[..., 0] * 0.299 + dots[..., 1] * 0.587 + dots[..., 2] * 0.114  # ITU-R BT.601


def _unfiltered(how: int, row: bytes, above: bytes, step: int) -> bytes:
    if how == 0:
        return row
    if how == 2:
        return (
            ((np.frombuffer(row, np.uint8).astype(int) + np.frombuffer(above, np.uint8)) & 255)
            .astype(np.uint8)
            .tobytes()
        )
    out = bytearray(row)
    for i in range(len(out)):
        left = out[i - step] if i >= step else 0
        up = above[i]
        if how == 1:
            guess = left
        elif how == 3:
            guess = (left + up) // 2
        else:
            corner = above[i - step] if i >= step else 0
            near = left + up - corner
            a, b, c = abs(near - left), abs(near - up), abs(near - corner)
            guess = left if a <= b and a <= c else up if b <= c else corner
        out[i] = (out[i] + guess) & 255
    return bytes(out)
