"""Anchor positions: what is tried, what is proven, what is chosen, and how it is shared and marked."""
