"""What things are made of, each row with its source, and how loose mixes are averaged."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Material:
    """A homogeneous (or effective) material.

    Attributes
    ----------
    name : unique name used in case files.
    conductivity : k [W/(m K)].
    density : ρ [kg/m³].
    heat_capacity : c [J/(kg K)].
    emissivity : long-wave emissivity ε [-].
    harm_temperature : temperature at which it comes to harm [°C], or None.
    source : where the numbers come from, with standing.
    """

    name: str
    conductivity: float
    density: float
    heat_capacity: float
    emissivity: float
    harm_temperature: float | None
    source: str

    @property
    def volumetric_heat_capacity(self) -> float:
        """ρ c [J/(m³ K)]."""
        return self.density * self.heat_capacity
