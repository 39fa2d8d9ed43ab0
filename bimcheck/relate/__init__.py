"""What needs neighbours: outward side, facades, corners, places, joints, what stands behind, storeys, lots."""
