"""Convection between air and surfaces: the correlations on offer, and the choice for every surface.

To add one: a function named quantity_surface_regime_author_year in ``natural.py`` or ``forced.py``
with formula, range, weakness, source and a worked number, its name in the tuple below, and its case
in ``tests/unit/convection/test_correlations.py``.
"""

from simulator.physics.convection import forced, natural

#: Every correlation on offer.
CORRELATIONS = (
    natural.h_vertical_wall_natural_alamdari_hammond_1983,
    natural.h_vertical_wall_natural_awbi_hatton_1999,
    natural.h_floor_natural_awbi_hatton_1999,
    natural.Nu_vertical_plate_natural_churchill_chu_1975,
    natural.Nu_horizontal_plate_assisting_mcadams_1954,
    natural.Nu_horizontal_plate_opposed_mcadams_1954,
    natural.Nu_sphere_natural_churchill_1983,
    natural.Nu_horizontal_cylinder_natural_churchill_chu_1975,
    natural.Nu_horizontal_gap_natural_hollands_1984,
    natural.Nu_vertical_gap_natural_elsherbiny_1982,
    forced.Nu_flat_plate_laminar_pohlhausen_1921,
    forced.Nu_flat_plate_turbulent_colburn_1933,
    forced.Nu_flat_plate_mixed_bergman_2011,
    forced.Nu_flat_plate_turbulent_schlichting_gersten_1997,
    forced.Nu_cylinder_crossflow_churchill_bernstein_1977,
    forced.Nu_packed_bed_wakao_kaguei_1982,
)
