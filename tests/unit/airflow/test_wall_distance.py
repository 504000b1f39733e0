"""The distance to walls, against the search through every closed face."""

import numpy as np
from air_rooms import air_room

from simulator.grid.grid import Grid
from simulator.physics.airflow.open_faces import open_faces
from simulator.physics.airflow.wall_distance import box_distance, wall_distance


def uneven_room() -> Grid:
    rng = np.random.default_rng(7)
    edges = tuple(np.cumsum([0.0, *rng.uniform(0.05, 0.2, count)]) for count in (6, 5, 4))
    blocked = rng.random((6, 5, 4)) < 0.1
    board = rng.random((7, 5, 4)) < 0.1
    board[1:-1] &= ~blocked[1:] & ~blocked[:-1]
    return air_room(edges=edges, blocked=blocked, closed_x=board)


def nearest_closed_face(grid: Grid, point: np.ndarray) -> float:
    edges = (grid.x_edges, grid.y_edges, grid.z_edges)
    best = np.inf
    for axis, faces in enumerate(open_faces(grid)):
        for face in np.argwhere(~faces):
            sides = [min(max(face[axis] - side, 0), grid.shape[axis] - 1) for side in (0, 1)]
            cells = [tuple(np.where(np.arange(3) == axis, side, face)) for side in sides]
            if not any(grid.is_open[cell] for cell in cells):
                continue
            low = np.array([edges[a][face[a]] for a in range(3)])
            high = np.array([edges[a][face[a] + (a != axis)] for a in range(3)])
            best = min(best, float(np.linalg.norm(point - np.clip(point, low, high))))
    return best


def test_distance_to_walls_and_boards_is_exact_on_an_uneven_grid() -> None:
    grid = uneven_room()
    distance = wall_distance(grid)
    for cell in np.argwhere(grid.is_open):
        point = np.array([grid.centres[axis][cell[axis]] for axis in range(3)])
        assert abs(distance[tuple(cell)] - nearest_closed_face(grid, point)) < 1e-12
    assert not distance[~grid.is_open].any()


def test_distance_to_a_cell_is_to_its_box() -> None:
    grid = air_room((5, 1, 4), 0.1)
    target = np.zeros(grid.shape, dtype=np.bool_)
    target[0, 0, 0] = True
    distance = box_distance(grid, target)[:, 0]
    assert abs(distance[3, 0] - 0.25) < 1e-12  # 0.35 less half a cell
    assert abs(distance[3, 2] - np.hypot(0.25, 0.15)) < 1e-12
    assert distance[0, 0] == 0.0
