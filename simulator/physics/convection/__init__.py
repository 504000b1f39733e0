"""Convection between air and surfaces: the correlations on offer, and the choice for every surface.

Which correlation is used where (``surface_coefficients.py`` says why):

===================================  ============================================  ===============
where                                correlation                                   range
===================================  ============================================  ===============
stirred air along a flat surface     the greater of Pohlhausen 1921 (laminar) and  Re < 5e5 and
                                     Colburn 1933 (turbulent), times 1.15, on at   Re < 1e7
                                     most 1 m
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

Where a jet hits, no correlation of its own is used: the airflow resolves the jet and the wall jet
that it becomes, and their speed is what the choice reads. Martin 1977 is there to check this. Along
a published wall jet (peak speed 1.03 U0 D/r, Rajaratnam 1976, from memory) the choice gives 0.73 to
1.02 of Martin's mean over discs of 2.5 to 7.5 D. On cells of 0.1 m the speed within 0.2 m of the
wall is lower than that peak, and the choice gives about half: ``benchmarks/HEAT_REPORT.md`` has the
figures. What a jet hits therefore warms faster than computed.

The others are offered for comparison. Most authors lie within ±30 % of the choice for one and the
same surface, some do not (Khalifa & Marshall 1990 for walls of rooms with a heater: up to +50 %),
so no room result can be told better than that. ``CorrelatedCoefficients(sampling, scale)`` varies
all coefficients together; a band of uncertainty draws ``scale`` from 0.7 to 1.3.

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
