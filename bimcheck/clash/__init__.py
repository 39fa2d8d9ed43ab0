"""Finders: what is too near, too far, in the way or beyond a limit; each function makes a list of issues from tables."""
