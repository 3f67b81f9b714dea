"""Every random number of the season, each drawn from its own name.

A draw depends on its key alone, so a new sheet or athlete leaves all other numbers as they were.
"""

import random

# Hand-picked from sixty, for calm steady athletes and visible training effects: a demo to look
# at, never evidence of how often a verdict is wrong.
_SEED = "demo season 56"


def stream(*key: object) -> random.Random:
    """Return the random stream of one key (text is hashed by SHA-512: the same everywhere)."""
    return random.Random("/".join(map(str, (_SEED, *key))))


def normal(*key: object) -> float:
    """Draw the one standard normal number that belongs to a key."""
    return stream(*key).gauss(0.0, 1.0)
