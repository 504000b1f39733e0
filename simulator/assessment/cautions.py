"""What must be in order before any heat is put into a home; local rules come first.

Limits with their sources: 80 % of a circuit, NEC 210.19 and 210.20; cords in hot rooms, NEC
310.15(B)(1); carbon monoxide 35 ppm over a shift and 200 ppm at any time, NIOSH; work in heat, the
NIOSH recommended exposure limit.
"""

CAUTIONS = (
    "This is a model's estimate, no proof. Local codes, the makers' labels and people licensed for "
    "the work come before anything printed here.",
    "People and pets leave before the heat comes and return after it has gone.",
    "Gas and pressure containers, lighters, flammables, ammunition and medicines go out first.",
    "Know sprinklers, smoke alarms and heat detectors and their ratings; tell the owner and "
    "whoever watches them. Only a licensed fire-protection contractor changes them.",
    "Write a load sheet: at most 80 % of each circuit for hours on end (NEC 210.19, 210.20). A "
    "licensed electrician decides in doubt.",
    "Cords carry less where it is hot. At 51 to 55 °C (124 to 131 °F) insulation rated 60, 75 or "
    "90 °C keeps 0.41, 0.67 or 0.76 of its rating; at 56 to 60 °C (133 to 140 °F) the first may "
    "not be used and the others keep 0.58 or 0.71 (NEC 310.15(B)(1)).",
    "Where fuel burns, keep the burner outdoors and send in clean air; carry a carbon monoxide "
    "alarm. NIOSH: 35 ppm over a shift, never 200 ppm.",
    "Someone watches all the time, and a cut-off that does not depend on the thermostat ends the "
    "heat if the air or a thing passes its limit.",
    "Agree limits for the air, the ceiling and delicate things before starting, and measure there.",
    "A room at 55 °C (131 °F) is beyond the NIOSH limit even for light work: short entries, in "
    "pairs, with water and rest outside.",
    "Let the home cool down before anything is put back or plugged in.",
    "If a residual insecticide is part of the plan, only a licensed person applies it, by its "
    "label.",
    "Inspect afterwards, more than once: what a model or a sensor says does not replace looking.",
)
