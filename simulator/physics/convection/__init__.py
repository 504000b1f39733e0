"""Heat transfer coefficients between air and surfaces, natural and forced."""
