"""Wind on walls: a module of rules a standard, all delivering the same columns of panels and anchors."""
