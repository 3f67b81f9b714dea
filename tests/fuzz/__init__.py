"""Seeded seasons with slips in them: what the door must survive, and a second opinion on it.

Nothing here but ``oracle`` imports ``pipeline``: the generator knows the truth by itself.
"""
