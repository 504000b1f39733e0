"""The head of small cases in TOML, invented: one room in frame walls, cold outdoors."""


def room_head(
    title: str,
    size: tuple[str, str, str],
    *,
    room: str = "room",
    start: str = "20 degC",
    floor: str = "wood_floor",
    more: str = "",
) -> str:
    """Return title, dwelling and its first room; furniture, layout and treatment follow it.

    Parameters
    ----------
    size : of the room, each with its unit.
    more : lines of the dwelling's own table.
    """
    sides = ", ".join(f'"{length}"' for length in size)
    return f"""
title = "{title}"
[dwelling]
name = "{title}"
start = "{start}"
outdoors = {{ temperature = "5 degC" }}
{more}
shell.walls = {{ construction = "frame_wall", behind = "outdoors" }}
shell.floor = {{ construction = "{floor}", behind = "mirror" }}
shell.ceiling = {{ construction = "attic_ceiling", behind = "outdoors" }}
[[dwelling.room]]
name = "{room}"
size = [{sides}]
"""
