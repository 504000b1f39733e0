"""A piece of any shape, from a mesh file."""

import dataclasses
from typing import ClassVar, Literal, Self

from pydantic import Field, PrivateAttr, model_validator

from simulator.case.dwelling import Room
from simulator.case.fields import Name, PositiveLength, refusal
from simulator.case.furniture import stuffing
from simulator.case.furniture.placement import Furniture
from simulator.case.materials import MATERIALS, Material, material, mix
from simulator.case.mesh_boxes import MeshBoxes, draw_boxes
from simulator.case.mesh_import import FORMATS
from simulator.case.parts import Refuge
from simulator.case.workbench import Workbench
from simulator.errors import CaseError

#: Finest and coarsest steps that a mesh is drawn in [m] (choice).
FINEST, COARSEST = 0.01, 0.20


class Mesh(Furniture):
    """Piece from a mesh file (STL, OBJ, PLY or VTU), of one material with or without air in it.

    A mesh knows neither its unit nor what it is made of: both are to be given. Its skin must be
    closed; doubled faces are dropped, a leak is told or refused. What is flat stays exact, what is
    round becomes steps of the ``detail``; the mass is the mesh's own. With a ``piece_size`` air
    seeps through it; without, the air in it stands still.
    """

    words: ClassVar[str] = "piece"
    stands_off: ClassVar[bool] = True

    kind: Literal["mesh"] = "mesh"
    file: Name = Field(description="mesh file beside this one, one of: " + ", ".join(FORMATS))
    unit: PositiveLength = Field(
        description="length of one unit of the file, such as '1 mm' or '1 in'; files do not say it"
    )
    material: Name = Field(description="name of a ready material")
    air_fraction: float = Field(
        0.0, strict=True, ge=0.0, lt=0.995, description="share of its volume that is air"
    )
    piece_size: PositiveLength | None = Field(
        None, description="size of the pieces, if it is loose stuff that air seeps through"
    )
    up: Literal["x", "y", "z"] = Field("z", description="the file's axis that points up: x, y or z")
    detail: PositiveLength = Field(
        0.03, description="size of the steps in which round shapes are drawn; default 3 cm"
    )
    shape: Literal["mesh", "box"] = Field(
        "mesh", description="mesh, or box: the box around it, for a mesh that leaks"
    )
    hides: Literal["throughout", "surface", "nowhere"] = Field(
        "throughout", description="where bugs hide in it: throughout, surface or nowhere"
    )

    _content: bytes | None = PrivateAttr(None)

    @model_validator(mode="after")
    def _can_be_drawn(self) -> Self:
        if self.file.rpartition(".")[2].lower() not in FORMATS:
            raise refusal("file", f"is of no known format; formats: {', '.join(FORMATS)}")
        if not FINEST <= self.detail <= COARSEST:
            raise refusal("detail", f"must lie between {FINEST:g} m and {COARSEST:g} m")
        if self.piece_size is not None and self.air_fraction < 0.05:
            raise refusal("air_fraction", "loose stuff has air in it; give at least 0.05")
        try:
            material(self.material, MATERIALS)
        except CaseError as error:
            raise refusal("material", str(error)) from None
        return self

    def supplied(self, content: bytes) -> Self:
        """Return the piece with the content of its file."""
        piece = self.model_copy()
        piece._content = content
        return piece

    def drawn(self) -> MeshBoxes:
        """Return the mesh as boxes of stuff."""
        if self._content is None:
            raise CaseError(f"the mesh file '{self.file}' was not given")
        is_box = self.shape == "box"
        return draw_boxes(self._content, self.file, self.unit, self.up, self.detail, is_box)

    def assemble(self, bench: Workbench, room: Room) -> None:
        """Draw the boxes of the mesh."""
        drawn = self.drawn()
        refuge = Refuge(self.hides)
        stuff = self._stuff(drawn.density_scale)
        for low, high in drawn.boxes:
            if self.piece_size is None:
                bench.solid("body", low, high, stuff, refuge)
            else:
                bench.porous(
                    "body",
                    low,
                    high,
                    stuff,
                    air_fraction=self.air_fraction,
                    piece_size=self.piece_size,
                    refuge=refuge,
                )
        bench.claim_parts()
        for note in drawn.notes:
            bench.note(note)

    def _stuff(self, density_scale: float) -> Material:
        """Return what it is made of; steps that lose or gain volume do not change the mass."""
        stuff = material(self.material)
        if self.piece_size is None and self.air_fraction > 0.0:
            name = f"{stuff.name} with air"
            shares = {stuff: 1.0 - self.air_fraction, stuffing.STILL_AIR: self.air_fraction}
            stuff = mix(name, shares)
        return dataclasses.replace(stuff, density=stuff.density * density_scale)
