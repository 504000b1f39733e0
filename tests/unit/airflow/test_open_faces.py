"""Which faces let air pass, and what they join."""

import numpy as np
from air_rooms import air_room

from simulator.physics.airflow.open_faces import bodies_of_air, open_faces


def test_faces_are_open_between_open_cells_only() -> None:
    blocked = np.zeros((3, 2, 2), dtype=np.bool_)
    blocked[1] = True
    x, y, z = open_faces(air_room((3, 2, 2), blocked=blocked))
    assert x.shape == (4, 2, 2)
    assert not x.any()
    assert y[:, 1].tolist() == [[True, True], [False, False], [True, True]]
    assert z[:, :, 1].tolist() == [[True, True], [False, False], [True, True]]
    assert not (y[:, 0].any() or y[:, -1].any() or z[:, :, 0].any() or z[:, :, -1].any())


def test_solid_parts_the_air() -> None:
    blocked = np.zeros((3, 2, 2), dtype=np.bool_)
    blocked[1] = True
    bodies = bodies_of_air(air_room((3, 2, 2), blocked=blocked)).reshape(3, 2, 2)
    assert len(set(bodies[0].ravel())) == len(set(bodies[2].ravel())) == 1
    assert bodies[0, 0, 0] != bodies[2, 0, 0]
    assert (bodies[1] == -1).all()


def test_a_board_parts_the_air_unless_it_leaves_a_gap() -> None:
    board = np.zeros((4, 2, 2), dtype=np.bool_)
    board[2] = True
    assert len(set(bodies_of_air(air_room((3, 2, 2), closed_x=board)))) == 2
    board[2, 1, 1] = False
    assert len(set(bodies_of_air(air_room((3, 2, 2), closed_x=board)))) == 1
