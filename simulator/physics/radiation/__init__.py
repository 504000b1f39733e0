"""Long-wave exchange between surfaces by ray casting on the cells."""
