"""Invented models written as STEP text: a mid-rise with planted faults, a small podium, towers of any size."""
