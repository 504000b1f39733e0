"""Do boxes overlap, also when they are turned and tilted."""

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulator.case.overlap import contains, corners, overlap_depth
from simulator.case.parts import Box

steady = settings(deadline=None, derandomize=True)

LENGTHS = st.floats(0.2, 2.0)
PLACES = st.floats(-1.5, 1.5)
BOXES = st.builds(
    Box,
    centre=st.tuples(PLACES, PLACES, PLACES),
    size=st.tuples(LENGTHS, LENGTHS, LENGTHS),
    turn=st.floats(-180, 180),
    tilt=st.floats(-90, 90),
)


def test_upright_boxes_overlap_by_the_shorter_way_out() -> None:
    first = Box((0.0, 0.0, 0.0), (2.0, 2.0, 2.0))
    assert overlap_depth(first, Box((1.5, 0.0, 0.0), (2.0, 2.0, 2.0))) == pytest.approx(0.5)
    assert overlap_depth(first, Box((2.5, 0.0, 0.0), (2.0, 2.0, 2.0))) == pytest.approx(-0.5)


def test_a_turned_box_passes_where_its_frame_would_not() -> None:
    # a square turned by 45 degrees beside the corner of another: their frames overlap, they do not
    first = Box((0.0, 0.0, 0.0), (2.0, 2.0, 1.0))
    second = Box((1.75, 1.75, 0.0), (2.0, 2.0, 1.0), turn=45.0)
    gap = math.hypot(1.75, 1.75) - math.hypot(1.0, 1.0) - 1.0
    assert overlap_depth(first, second) == pytest.approx(-gap)


def test_a_tilted_box_reaches_up() -> None:
    box = Box((0.0, 0.0, 0.0), (1.0, 2.0, 0.0001), tilt=90.0)
    assert max(corner[2] for corner in corners(box)) == pytest.approx(1.0, abs=1e-4)
    assert contains(box, (0.0, 0.0, 0.99))
    assert not contains(box, (0.0, 0.99, 0.0))


@steady
@given(BOXES, BOXES)
def test_overlap_does_not_depend_on_who_is_first(first: Box, second: Box) -> None:
    assert overlap_depth(first, second) == pytest.approx(overlap_depth(second, first), abs=1e-9)


@steady
@given(BOXES, BOXES)
def test_boxes_that_share_a_point_overlap(first: Box, second: Box) -> None:
    inner = np.linspace(-0.49, 0.49, 6)
    low = np.array(corners(second))
    origin, x, y, z = low[0], low[4] - low[0], low[2] - low[0], low[1] - low[0]
    shared = any(
        contains(first, tuple(origin + (a + 0.5) * x + (b + 0.5) * y + (c + 0.5) * z))
        for a, b, c in product(inner, repeat=3)
    )
    if shared:
        assert overlap_depth(first, second) > 0.0


@steady
@given(BOXES)
def test_the_corners_enclose_the_centre_and_keep_the_volume(box: Box) -> None:
    points = np.array(corners(box))
    assert points.mean(axis=0) == pytest.approx(np.array(box.centre), abs=1e-9)
    edges = [points[4] - points[0], points[2] - points[0], points[1] - points[0]]
    assert abs(np.linalg.det(edges)) == pytest.approx(box.volume, rel=1e-9)
