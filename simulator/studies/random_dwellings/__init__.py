"""Furnished dwellings drawn by lot, from a seed: what rules and layouts are tried on.

All distributions are invented, "estimate" or "common practice, no source" throughout: they are to
span what crews meet, not to weigh it as a census would. U(a, b) is uniform.

==================  ==============================================================================
what                how it is drawn
==================  ==============================================================================
size                studio 0.30, one bedroom 0.35, two 0.25, three 0.10
studio              one room of U(16, 30) m², 1.1 to 1.6 times as long as wide, and a bathroom
others              two rows of rooms, 2.9 to 4.3 m deep, on both sides of a corridor of U(1.0, 1.4)
                    m; living room U(4.0, 6.0) m wide, bedrooms U(3.0, 4.4), kitchen U(2.2, 3.2),
                    bathroom U(1.6, 2.2), in any order, stretched to one length; one-bedroom flats
                    have a kitchen of their own half of the time, else its cabinets stand in the
                    living room; mirrored or not along both axes
height              2.4, 2.5, 2.6, 2.7 m (0.35, 0.35, 0.20, 0.10)
doors               one a room, 0.71 to 0.91 m, all open, 0.25 m from a corner or anywhere
walls               timber frame 0.45, brick 0.2, insulated brick 0.2, concrete 0.15; floors and
                    ceilings that go with them, carpet half of the time
around it           each side outdoors with 0.6, else a neighbour of U(18, 22) °C; at least one
                    side outdoors; below: ground 0.3, a flat 0.5, outdoor air 0.2; above: outdoors
                    0.4, a flat 0.6
climate             cold U(-12, 0) °C 0.25, cool U(0, 10) 0.35, mild U(10, 20) 0.25, warm U(20, 32)
                    0.15; ground U(8, 16); indoors U(18, 23), at least 24 where it is warm outside
leakage             n50 U(2, 12) 1/h
windows             one in each outdoor wall of a room that people live in, U(0.9, 2.0) m wide;
                    single glazing 0.25; curtains 0.7
clutter             tidy 0.25, lived in 0.40, cluttered 0.25, stuffed 0.10: sets what lies under
                    beds, how full drawers, closets and shelves are, and piles on the floor
bedroom             bed (twin 0.20, full 0.25, queen 0.40, king 0.15; a smaller one where it does
                    not fit), up to two nightstands, wardrobe or built-in closet, dresser 0.7, desk
                    0.35, bookcase 0.3, armchair 0.2
living room         sofa, sideboard with a television 0.8, bookcase 0.6, armchair, dining table and
                    rug 0.5 each, aquarium 0.05
kitchen, bathroom   cabinets, wall cabinets, refrigerator, table; a vanity
heaters             electric, 5.6 kW, one for each U(7, 12) m² of floor, the largest rooms first,
                    each on a circuit of its own (a supply that the crew brings); fans: none, they
                    are the rule's or the search's
circuits            2 to 5 of 120 V, 15 or 20 A
==================  ==============================================================================

A dwelling is valid by the way it is laid out and not by trial: every piece keeps the floor that its
doors, drawers and the pulled-off bed will take in the prepared state, ways through doors stay free,
and what finds no place is left out.
"""
