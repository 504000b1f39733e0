"""The compiled loops of long-wave exchange: rays from patch to patch through the cells of the grid.

Faces of a cell are numbered 2·axis + side, side 0 low and 1 high. A cell's byte ``walls`` has bit
``face`` set where that face stops rays, and bit 6 where stuff within the cell catches some of them.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simulator.compiled import cell_loop, per_face
from simulator.grid.grid import BoolArray, FloatArray, IndexArray, IntArray

#: Numbers of patches: half the memory where there are few.
PatchArray = NDArray[np.uint16] | NDArray[np.uint32]

#: Bit of ``walls``: the cell holds stuff that catches rays.
HOLDS_STUFF = 64

# Steps of a sequence in four dimensions without clumps: powers of 1/x, x⁵ = x + 1 (the golden ratio
# generalised; Roberts 2018, from memory).
_STEP_1 = 0.8566748838545029
_STEP_2 = 0.7338918566271260
_STEP_3 = 0.6287067210378087
_STEP_4 = 0.5385972572236101

# Park & Miller's generator with the multiplier of 1993: exact in 64-bit integers.
_MULTIPLIER = 48271
_MODULUS = 2147483647


class Scene(NamedTuple):
    """What rays meet. S surface rows; "on a face" are rows behind a face that stops rays."""

    planes: FloatArray  # cell planes along x, then y, then z [m]
    first_plane: IntArray  # where each axis begins in ``planes``
    shape: IntArray  # cells along each axis
    walls: NDArray[np.uint8]  # a byte for each cell, flat
    face_start: (
        IntArray  # rows on face f of cell c: face_rows[face_start[6c + f] : ...[6c + f + 1]]
    )
    face_rows: IntArray
    stuff_start: IntArray  # rows within cell c: stuff_rows[stuff_start[c] : stuff_start[c + 1]]
    stuff_rows: IntArray
    cell: IntArray  # (S,) flat cell that the row faces
    axis: NDArray[np.int8]  # (S,) -1: all directions
    sign: NDArray[np.int8]
    area: FloatArray  # [m²]
    emissivity: FloatArray
    is_on_face: BoolArray
    patch: IntArray  # (S,) -1: reflects everything


class Ray(NamedTuple):
    """A ray in flight and the random state, changed in place."""

    place: IntArray  # cell i, j, k
    start: FloatArray  # [m]
    direction: FloatArray
    state: IntArray  # of the random numbers


@per_face
def _random(ray: Ray) -> float:
    """Return the next number between 0 and 1 and advance the state."""
    ray.state[0] = ray.state[0] * _MULTIPLIER % _MODULUS
    return float(ray.state[0] / _MODULUS)


@per_face
def _aim(ray: Ray, axis: int, sign: int, first: float, second: float) -> None:
    """Set a direction: by the cosine law about ``sign`` along ``axis``, or any way for axis -1."""
    angle = 2.0 * math.pi * second
    if axis < 0:
        height = 2.0 * first - 1.0
        radius = math.sqrt(max(0.0, 1.0 - height * height))
        ray.direction[0] = radius * math.cos(angle)
        ray.direction[1] = radius * math.sin(angle)
        ray.direction[2] = height
    else:
        radius = math.sqrt(first)
        ray.direction[axis] = sign * math.sqrt(max(1e-12, 1.0 - first))
        ray.direction[(axis + 1) % 3] = radius * math.cos(angle)
        ray.direction[(axis + 2) % 3] = radius * math.sin(angle)


@per_face
def _launch(scene: Scene, ray: Ray, row: int, number: float) -> None:
    """Start ray ``number`` of the sequence from a surface row: anywhere on it, by its own law."""
    flat, axis, sign = scene.cell[row], scene.axis[row], scene.sign[row]
    ray.place[0] = flat // (scene.shape[1] * scene.shape[2])
    ray.place[1] = flat // scene.shape[2] % scene.shape[1]
    ray.place[2] = flat % scene.shape[2]
    for a in range(3):
        low = scene.planes[scene.first_plane[a] + ray.place[a]]
        high = scene.planes[scene.first_plane[a] + ray.place[a] + 1]
        if a == (axis + 1) % 3:
            ray.start[a] = low + (high - low) * (number * _STEP_1 % 1.0)
        elif a == (axis + 2) % 3:
            ray.start[a] = low + (high - low) * (number * _STEP_2 % 1.0)
        elif scene.is_on_face[row]:
            ray.start[a] = low if sign > 0 else high
        else:
            ray.start[a] = low + (high - low) * _random(ray)
    _aim(ray, axis, sign, number * _STEP_3 % 1.0, number * _STEP_4 % 1.0)


@per_face
def _shown_area(scene: Scene, ray: Ray, row: int) -> float:
    """Return the area that stuff shows to a ray: A cos of directed faces, A/4 of loose pieces."""
    axis = scene.axis[row]
    if axis < 0:
        return float(0.25 * scene.area[row])
    return float(scene.area[row] * max(0.0, -scene.sign[row] * ray.direction[axis]))


@per_face
def _extinction(scene: Scene, ray: Ray, flat: int) -> float:
    """Return the shown area of the stuff in a cell over the cell's volume [1/m]."""
    shown = 0.0
    for place in range(scene.stuff_start[flat], scene.stuff_start[flat + 1]):
        shown += _shown_area(scene, ray, scene.stuff_rows[place])
    for a in range(3):
        low = scene.first_plane[a] + ray.place[a]
        shown /= scene.planes[low + 1] - scene.planes[low]
    return shown


@per_face
def _choose_in_cell(scene: Scene, ray: Ray, flat: int) -> int:
    """Return a row of the stuff in a cell, with chances as the areas shown to the ray."""
    rest = 0.0
    for place in range(scene.stuff_start[flat], scene.stuff_start[flat + 1]):
        rest += _shown_area(scene, ray, scene.stuff_rows[place])
    rest *= _random(ray)
    chosen = -1
    for place in range(scene.stuff_start[flat], scene.stuff_start[flat + 1]):
        shown = _shown_area(scene, ray, scene.stuff_rows[place])
        if shown > 0.0 and rest >= 0.0:
            chosen = int(scene.stuff_rows[place])
        rest -= shown
    return chosen


@per_face
def _choose_on_face(scene: Scene, ray: Ray, face: int) -> int:
    """Return a row on a face, with chances as their areas; -1 if no row is there."""
    first, last = scene.face_start[face], scene.face_start[face + 1]
    rest = 0.0
    if last > first + 1:
        for place in range(first, last):
            rest += scene.area[scene.face_rows[place]]
        rest *= _random(ray)
    chosen = -1
    for place in range(first, last):
        if rest >= 0.0:
            chosen = int(scene.face_rows[place])
        rest -= scene.area[scene.face_rows[place]]
    return chosen


@per_face
def _stuff_ahead(scene: Scene, ray: Ray, flat: int, i: int, j: int, k: int, way: float) -> float:
    """Return how far the ray gets within the cell's stuff; ``way`` or more if it gets through."""
    ray.place[0], ray.place[1], ray.place[2] = i, j, k
    extinction = _extinction(scene, ray, flat)
    free = -math.log(_random(ray))
    return free / extinction if free < extinction * way else math.inf


@per_face
def _fly(scene: Scene, ray: Ray) -> tuple[int, int, int]:
    """Move the ray's start to where it is caught; return the row (-1: bare), axis, sign there.

    The three axes are written out, so that the march stays in registers.
    """
    x, y, z = ray.start[0], ray.start[1], ray.start[2]
    i, j, k = ray.place[0], ray.place[1], ray.place[2]
    up_x = 1 if ray.direction[0] > 0.0 else 0
    up_y = 1 if ray.direction[1] > 0.0 else 0
    up_z = 1 if ray.direction[2] > 0.0 else 0
    per_x, per_y, per_z = 1.0 / ray.direction[0], 1.0 / ray.direction[1], 1.0 / ray.direction[2]
    plane_x, plane_y, plane_z = up_x, scene.first_plane[1] + up_y, scene.first_plane[2] + up_z
    stride_x, stride_y = scene.shape[1] * scene.shape[2], scene.shape[2]
    until_x = (scene.planes[plane_x + i] - x) * per_x
    until_y = (scene.planes[plane_y + j] - y) * per_y
    until_z = (scene.planes[plane_z + k] - z) * per_z
    flat = i * stride_x + j * stride_y + k
    travelled = 0.0
    hit, face = -1, 0
    while True:
        walls = scene.walls[flat]
        if walls & HOLDS_STUFF:
            way = min(until_x, until_y, until_z) - travelled
            reached = _stuff_ahead(scene, ray, flat, i, j, k, way)
            if reached < way:
                travelled += reached
                hit, face = _choose_in_cell(scene, ray, flat), -1
                break
        if until_x < until_y and until_x < until_z:
            travelled, face = until_x, up_x
            if walls >> face & 1:
                break
            i += 2 * up_x - 1
            flat += stride_x * (2 * up_x - 1)
            until_x = (scene.planes[plane_x + i] - x) * per_x
        elif until_y < until_z:
            travelled, face = until_y, 2 + up_y
            if walls >> face & 1:
                break
            j += 2 * up_y - 1
            flat += stride_y * (2 * up_y - 1)
            until_y = (scene.planes[plane_y + j] - y) * per_y
        else:
            travelled, face = until_z, 4 + up_z
            if walls >> face & 1:
                break
            k += 2 * up_z - 1
            flat += 2 * up_z - 1
            until_z = (scene.planes[plane_z + k] - z) * per_z
    ray.place[0], ray.place[1], ray.place[2] = i, j, k
    for a in range(3):
        ray.start[a] += ray.direction[a] * travelled
    if face < 0:
        return hit, int(scene.axis[hit]), int(scene.sign[hit])
    hit = _choose_on_face(scene, ray, 6 * flat + face)
    return hit, face // 2, 1 - 2 * (face % 2)


@per_face
def _absorber(scene: Scene, ray: Ray, source: int, most_flights: int) -> int:
    """Return the patch that absorbs the ray; after too many reflections the one it came from."""
    for _ in range(most_flights):
        hit, axis, sign = _fly(scene, ray)
        if hit >= 0 and scene.patch[hit] >= 0 and _random(ray) < scene.emissivity[hit]:
            return int(scene.patch[hit])
        _aim(ray, axis, sign, _random(ray), _random(ray))
    return source


@cell_loop
def cast_rays(
    scene: Scene,
    ray: Ray,
    first_patch: int,
    last_patch: int,
    member_start: IntArray,
    member: IntArray,
    ray_start: IntArray,
    most_flights: int,
    seed: IntArray,
    received: FloatArray,
    column: IntArray,
    value: FloatArray,
    count: IntArray,
) -> None:
    """Fill rows of the raw exchange: what every patch takes of the rays of some patches [m²].

    Patch p casts rays ray_start[p] to ray_start[p + 1], as many from each member row, and each is
    worth ε A / that number. ``received`` is scratch, one number a patch; the sparse rows go to
    ``column`` and ``value``, their lengths to ``count``.
    """
    filled = 0
    for source in range(first_patch, last_patch):
        ray.state[0] = seed[source]
        received[:] = 0.0
        members = member_start[source + 1] - member_start[source]
        rays = (ray_start[source + 1] - ray_start[source]) // members
        for place in range(members):
            row = member[member_start[source] + place]
            worth = scene.emissivity[row] * scene.area[row] / rays
            first = ray_start[source] + place * rays
            for number in range(first, first + rays):
                _launch(scene, ray, row, number + 0.5)
                received[_absorber(scene, ray, source, most_flights)] += worth
        before = filled
        for target in range(received.size):
            if received[target] > 0.0:
                column[filled] = target
                value[filled] = received[target]
                filled += 1
        count[source - first_patch] = filled - before


@cell_loop
def linearise(
    row_start: IndexArray,
    column: PatchArray,
    area: FloatArray,
    kelvin: FloatArray,
    stefan_boltzmann: float,
    out: FloatArray,
) -> None:
    """out = σ G (T_i² + T_j²)(T_i + T_j) of each pair, rows i and columns j [W/K]."""
    for i in range(row_start.size - 1):
        one = kelvin[i]
        for p in range(row_start[i], row_start[i + 1]):
            other = kelvin[column[p]]
            out[p] = stefan_boltzmann * area[p] * (one * one + other * other) * (one + other)
