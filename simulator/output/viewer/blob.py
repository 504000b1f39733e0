"""A packed room as bytes: one gzip stream with a length, a JSON table and all arrays.

    4 bytes   length of the JSON text, unsigned, little-endian, a multiple of 4
    JSON      UTF-8, spaces at its end; ``arrays`` lists every array: name, type, shape, and offset
              [bytes] from the end of the JSON
    arrays    one after the other, little-endian, C order

Series (``is_series``) are stored as whole numbers, each frame less the frame before it (modulo
2^16), all low bytes of a frame before its high bytes. A temperature that creeps is then mostly
zeros, which gzip takes to a small part. Constant arrays are stored row less the row before it, in
their own type: rows of points and of corners repeat their steps.
"""

import gzip
import json
import struct
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

#: Code of a temperature that is not known.
UNKNOWN = 0

#: Number of the layout described above.
FORMAT = 2


def encoded(temperature: NDArray[Any], low: float, step: float) -> NDArray[np.uint16]:
    """Return temperatures [°C] as codes: 0 unknown, n for ``low + (n - 1) * step``."""
    code = np.rint((np.nan_to_num(temperature, nan=low) - low) / step) + 1.0
    if code.size and (code.min() < 1.0 or code.max() > 65535.0):
        raise ValueError("a temperature lies outside of the window to be packed")
    return np.where(np.isnan(temperature), UNKNOWN, code).astype(np.uint16)


def to_bytes(
    table: Mapping[str, Any],
    series: Mapping[str, NDArray[np.uint16]],
    constant: Mapping[str, NDArray[Any]],
) -> bytes:
    """Return a table of plain values, series of codes (frames, …) and constant arrays as bytes."""
    chunks: list[bytes] = []
    listed, offset = [], 0
    for is_series, arrays in ((True, series), (False, constant)):
        for name, array in arrays.items():
            chunk = _differences(array) if is_series else _steps(array)
            chunk += b"\0" * (-len(chunk) % 4)
            listed.append(
                {
                    "name": name,
                    "type": array.dtype.name,
                    "shape": array.shape,
                    "offset": offset,
                    "is_series": is_series,
                }
            )
            chunks.append(chunk)
            offset += len(chunk)
    text = json.dumps(
        {**table, "format": FORMAT, "arrays": listed, "bytes": offset},
        ensure_ascii=False,
        allow_nan=False,
        separators=(",", ":"),
    ).encode()
    text += b" " * (-len(text) % 4)  # typed arrays begin at multiples of their item
    return gzip.compress(b"".join([struct.pack("<I", len(text)), text, *chunks]), 9, mtime=0)


def from_bytes(blob: bytes) -> tuple[dict[str, Any], dict[str, NDArray[Any]]]:
    """Return the table and the arrays of a packed room; series again frame by frame."""
    whole = gzip.decompress(blob)
    (length,) = struct.unpack_from("<I", whole)
    table = json.loads(whole[4 : 4 + length])
    stream = whole[4 + length :]
    arrays: dict[str, NDArray[Any]] = {}
    for entry in table["arrays"]:
        shape, kind = tuple(entry["shape"]), np.dtype(entry["type"]).newbyteorder("<")
        count = int(np.prod(shape))
        if entry["is_series"]:
            planes = np.frombuffer(stream, np.uint8, 2 * count, entry["offset"])
            pairs = planes.reshape(shape[0], 2, -1).astype(np.uint16)
            change = pairs[:, 0] | (pairs[:, 1] << 8)
            arrays[entry["name"]] = np.cumsum(change, axis=0, dtype=np.uint16).reshape(shape)
        else:
            array = np.frombuffer(stream, kind, count, entry["offset"]).reshape(shape)
            arrays[entry["name"]] = np.cumsum(array, axis=0, dtype=kind)
    return table, arrays


def _differences(codes: NDArray[np.uint16]) -> bytes:
    flat = codes.reshape(codes.shape[0], -1)
    change = np.diff(flat, axis=0, prepend=np.zeros((1, flat.shape[1]), np.uint16))
    change = change.astype(np.uint16)
    planes = np.stack([change & 0xFF, change >> 8], axis=1).astype(np.uint8)
    return planes.tobytes()


def _steps(array: NDArray[Any]) -> bytes:
    """Return every row less the row before it; whole numbers that pass their range wrap."""
    kind = array.dtype.newbyteorder("<")
    steps = np.diff(array, axis=0, prepend=np.zeros_like(array[:1]))
    return np.ascontiguousarray(steps.astype(kind)).tobytes()
