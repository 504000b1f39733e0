"""What the desk refuses, each with the status of its HTTP answer; every message is one line."""

from pydantic import ValidationError

from simulator.case.documents import dotted
from simulator.errors import RoomsoakError


class Refused(RoomsoakError):
    """A request that cannot be understood: malformed, or of the wrong shape."""

    status = 400


class NotThere(Refused):
    """Something is asked for that does not exist, or that lies outside the desk's folder."""

    status = 404


class Outdated(Refused):
    """An edit of an older revision than the one that is saved."""

    status = 409


def first_problem(error: ValidationError, within: str = "") -> str:
    """Return the first thing that is wrong with a request's body: where, and what."""
    first = error.errors(include_url=False)[0]
    where = dotted((within, *first["loc"]) if within else first["loc"])
    return f"{where}: {first['msg']}"
