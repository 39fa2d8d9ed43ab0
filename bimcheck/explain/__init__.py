"""A panel's numbers, so that an engineer can follow them by hand: formulas in symbols and in numbers, inputs with their
origin, combinations, the picture of the plate."""
