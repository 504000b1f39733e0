"""Convection between air and surfaces: the correlations on offer, and the choice for every surface.

Which correlation is used where (``surface_coefficients.py`` says why):

===================================  ============================================  ===============
where                                correlation                                   range
===================================  ============================================  ===============
stirred air along a flat surface     the greater of Pohlhausen 1921 (laminar) and  Re < 5e5 and
                                     Colburn 1933 (turbulent), times 1.15, on at   Re < 1e7
                                     most 1 m
where a jet hits, out to 7.5 D       at least Martin 1977, local value             Re 2e3 to 4e5,
                                                                                   H/D 2 to 12
still air, upright surface           Alamdari & Hammond 1983                       Ra 1e4 to 1e12
still air, cold floor, warm ceiling  McAdams 1954, opposed                         Ra 1e5 to 1e11
still air, warm floor, cold ceiling  McAdams 1954, assisting                       Ra 1e4 to 1e11
shut pocket, upright or level gap    at most half of ElSherbiny et al. 1982 or     H/w 5 to 110,
                                     Hollands 1984                                 any Ra
loose stuff                          Wakao & Kaguei 1982 with Churchill 1983 (a    Re 3 to 3000
                                     sphere's natural convection), at least Nu 2
every surface                        at least conduction to the middle of its cell
===================================  ============================================  ===============

Forced and natural convection blend as h = (h_forced³ + h_natural³)^(1/3) (Churchill 1977, from
memory, for buoyancy that assists). Where buoyancy opposes the stream the true coefficient may be
lower; in a stirred room the stream turns all the time, and one blend serves.

Martin 1977 is a floor under the forced coefficient, and blends with the natural one like it. The
resolved speed alone would not do: along a published wall jet (peak speed 1.03 U0 D/r, Rajaratnam
1976, from memory) the plate's law gives 0.73 to 1.02 of Martin's mean over discs of 2.5 to 7.5 D,
but the mean speed within 0.2 m of the wall is lower than that peak and gives about half.

The others are offered for comparison. Most authors lie within ±30 % of the choice for one and the
same surface, some do not (Khalifa & Marshall 1990 for walls of rooms with a heater: up to +50 %),
so no room result can be told better than that. ``CorrelatedCoefficients(sampling, scale)`` varies
all coefficients together; a band of uncertainty is to draw ``scale`` from 0.7 to 1.3.

To add one: a function named quantity_surface_regime_author_year in ``natural.py``, ``forced.py`` or
``impinging.py`` with formula, range, weakness, source and a worked number, its name in the tuple
below, and its case in ``tests/unit/convection/test_correlations.py``.
"""

from simulator.physics.convection import forced, impinging, natural

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
    impinging.Nu_round_jet_impinging_martin_1977,
)
