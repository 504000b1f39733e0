"""The errors that a user can cause or must act on; each message is one clear line."""


class RoomsoakError(Exception):
    """Base of every error that the command line turns into one line and an exit code."""

    exit_code = 1


def reason_of(error: BaseException) -> str:
    """Return an error's own words on one line, or its kind if it has none."""
    return " ".join(str(error).split()) or type(error).__name__


class CaseError(RoomsoakError):
    """A case file that cannot be used; the message names file, line, key and what is allowed.

    ``short`` is the first thing that is wrong, in its own words: without file, line and key.
    """

    exit_code = 2

    def __init__(self, message: str = "", short: str = "") -> None:
        super().__init__(message)
        self.short = short or message


class UnitError(CaseError):
    """A quantity that cannot be read: no unit, an unknown unit or a unit of another dimension."""


class ConvergenceError(RoomsoakError):
    """A solver that did not converge; the message names the remedy."""


class ResultError(RoomsoakError):
    """A result or checkpoint file that is missing, damaged or of another case."""

    exit_code = 2


class RenderError(RoomsoakError):
    """Pictures cannot be drawn here; the message names the system packages that are missing."""


class Interrupted(RoomsoakError):
    """The user stopped a run; the message names the checkpoint from which it can go on."""

    exit_code = 130
