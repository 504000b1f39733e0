"""By what a hiding place is found again on another grid: what it is in, its words and its room."""

from typing import Protocol

#: Owner, words and room of a hiding place: the same on every grid.
PlaceKey = tuple[str, str, str]


class NamedPlace(Protocol):
    """Whatever names a hiding place: a group of refuges, its verdict, its time."""

    @property
    def owner(self) -> str:
        """The furniture's name or the room's."""

    @property
    def words(self) -> str:
        """Where in or under it."""

    @property
    def room(self) -> str:
        """Name of the room."""


def place_key(place: NamedPlace) -> PlaceKey:
    """Return the key of a hiding place."""
    return (place.owner, place.words, place.room)
