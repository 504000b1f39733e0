"""DISCRETISE: the grid of cells and how parts are laid into it."""
