"""Anchors, bolts and clips from a catalogue: which item fits a panel, with which lengths, at both ends of its tolerances."""
