"""Checks of what was read."""
