"""What one piece of furniture or equipment compiles to."""

from dataclasses import dataclass

from simulator.case.parts import Box, Part, Probe


@dataclass(frozen=True, slots=True)
class Pieces:
    """The parts of one piece, placed in the dwelling.

    Attributes
    ----------
    parts : boxes of stuff, sources of heat, movers of air, heated jets.
    probes : points that are watched because of this piece.
    footprint : boxes that the piece claims for itself: all its parts and air that must stay free.
    words : the kind in words a crew uses, such as "bed".
    notes : what a user should know about how the piece was understood.
    """

    parts: tuple[Part, ...]
    probes: tuple[Probe, ...]
    footprint: tuple[Box, ...]
    words: str
    notes: tuple[str, ...] = ()
