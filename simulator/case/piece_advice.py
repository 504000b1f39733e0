"""The advice of every piece of a case, with the overrides that say that it was followed."""

from collections.abc import Mapping, Sequence

from simulator.case.advice import Advice, PieceAdvice
from simulator.case.furniture.placement import Furniture
from simulator.case.layout_file import PreparationFile
from simulator.case.placing import Placed


def advice_of(
    placed: Sequence[Placed], found: Sequence[str], state: PreparationFile
) -> tuple[PieceAdvice, ...]:
    """Return what is yet to be done to the furniture, in the order of the case file.

    Parameters
    ----------
    placed : furniture and equipment where they stand.
    found : names of the furniture that the dwelling itself has; the rest the preparation adds.
    state : the preparation.
    """
    return tuple(
        PieceAdvice(
            piece.entry.name,
            advice,
            _overrides(advice, piece.entry.name, found, state),
        )
        for piece in placed
        if isinstance(piece.entry, Furniture)
        for advice in piece.entry.advice(piece.room)
    )


def _overrides(
    advice: Advice, name: str, found: Sequence[str], state: PreparationFile
) -> Mapping[str, object]:
    """Return dotted keys for ``load``; none if the name holds a dot or nothing can say it."""
    if "." in name:
        return {}
    if advice.removes:
        return _removal(name, found, state)
    table = f"preparation.change.{name}" if name in found else f"preparation.furniture.{name}"
    return {f"{table}.{key}": value for key, value in advice.changes.items()}


def _removal(name: str, found: Sequence[str], state: PreparationFile) -> Mapping[str, object]:
    """Return the overrides that take a piece out; what changed it before goes as well."""
    if name not in found:
        return {}
    removed: dict[str, object] = {"preparation.remove": [*state.remove, name]}
    if name in state.change:
        rest = {other: dict(change) for other, change in state.change.items() if other != name}
        removed["preparation.change"] = rest
    return removed
