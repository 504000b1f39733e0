"""Coloured bodies as one binary glTF 2.0 file, which viewers and drawing programs open.

glTF counts in metres and has y up; a turn of the whole scene takes z there. Colours are those of
the picture's scale, shown without lighting, so that a colour means a temperature.

References
----------
Khronos Group, glTF 2.0 specification (2021), and its extension KHR_materials_unlit.
"""

import json
import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simulator.grid.grid import FloatArray, IntArray

_FLOAT, _UNSIGNED = 5126, 5125
_VERTICES, _INDICES = 34962, 34963
_JSON_CHUNK, _BINARY_CHUNK = 0x4E4F534A, 0x004E4942
#: A quarter turn about x takes z up to y up.
_Z_UP = [-(0.5**0.5), 0.0, 0.0, 0.5**0.5]


@dataclass(frozen=True, slots=True)
class ColouredBody:
    """A named body: ``points`` (N, 3) [m], ``quads`` (M, 4), ``colours`` (N, 3) as 0 to 255.

    A wall that is not ``seen_from_behind`` lets one look into the room from outside.
    """

    name: str
    points: FloatArray
    quads: IntArray
    colours: NDArray[np.uint8]
    opacity: float = 1.0
    seen_from_behind: bool = True


def to_glb(bodies: Sequence[ColouredBody], extras: Mapping[str, Any]) -> bytes:
    """Return the file of some bodies; ``extras`` says what they show."""
    buffer = bytearray()
    views: list[dict[str, Any]] = []
    accessors: list[dict[str, Any]] = []
    meshes: list[dict[str, Any]] = []
    looks = sorted({(body.opacity, body.seen_from_behind) for body in bodies}, reverse=True)

    def add(array: NDArray[Any], target: int, kind: str, code: int) -> int:
        data = np.ascontiguousarray(array)
        views.append(
            {
                "buffer": 0,
                "byteOffset": len(buffer),
                "byteLength": data.nbytes,
                "target": target,
            }
        )
        buffer.extend(data.tobytes())
        accessor: dict[str, Any] = {
            "bufferView": len(views) - 1,
            "componentType": code,
            "count": data.size if kind == "SCALAR" else len(data),
            "type": kind,
        }
        if target == _VERTICES:
            accessor["min"] = data.min(axis=0).tolist()
            accessor["max"] = data.max(axis=0).tolist()
        accessors.append(accessor)
        return len(accessors) - 1

    for body in bodies:
        triangles = np.concatenate([body.quads[:, [0, 1, 2]], body.quads[:, [0, 2, 3]]])
        attributes = {
            "POSITION": add(body.points.astype("<f4"), _VERTICES, "VEC3", _FLOAT),
            "COLOR_0": add(linear(body.colours).astype("<f4"), _VERTICES, "VEC3", _FLOAT),
        }
        primitive = {
            "attributes": attributes,
            "indices": add(triangles.astype("<u4").ravel(), _INDICES, "SCALAR", _UNSIGNED),
            "material": looks.index((body.opacity, body.seen_from_behind)),
        }
        meshes.append({"name": body.name, "primitives": [primitive]})
    parts = list(range(1, len(meshes) + 1))
    scene: dict[str, Any] = {
        "asset": {"version": "2.0", "generator": "Roomsoak", "extras": dict(extras)},
        "extensionsUsed": ["KHR_materials_unlit"],
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [
            {"name": "dwelling", "rotation": _Z_UP, "children": parts},
            *({"name": mesh["name"], "mesh": number} for number, mesh in enumerate(meshes)),
        ],
        "meshes": meshes,
        "materials": [_material(*look) for look in looks],
        "accessors": accessors,
        "bufferViews": views,
        "buffers": [{"byteLength": len(buffer)}],
    }
    return _container(scene, bytes(buffer))


def linear(colours: NDArray[np.uint8]) -> FloatArray:
    """Return colours as glTF has them: linear shares of light, from the screen's 0 to 255.

    References
    ----------
    IEC 61966-2-1:1999 (sRGB), from memory.
    """
    share = colours.astype(np.float64) / 255.0
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def _material(opacity: float, seen_from_behind: bool) -> dict[str, Any]:
    return {
        "pbrMetallicRoughness": {
            "baseColorFactor": [1.0, 1.0, 1.0, opacity],
            "metallicFactor": 0.0,
            "roughnessFactor": 1.0,
        },
        "extensions": {"KHR_materials_unlit": {}},
        "doubleSided": seen_from_behind,
        **({"alphaMode": "BLEND"} if opacity < 1.0 else {}),
    }


def _container(scene: dict[str, Any], binary: bytes) -> bytes:
    text = json.dumps(scene, separators=(",", ":"), ensure_ascii=True).encode("ascii")
    text += b" " * (-len(text) % 4)
    binary += b"\0" * (-len(binary) % 4)
    chunks = struct.pack("<II", len(text), _JSON_CHUNK) + text
    chunks += struct.pack("<II", len(binary), _BINARY_CHUNK) + binary
    return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks
