"""Two values of one row against each other."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.intake.plausibility.rules import Context, Rule, Suspect, records, whole_row
from pipeline.units import CM_PER_M, STANDARD_GRAVITY

LONGER, FLIGHT_S, CONTACT_S = 1.5, (0.08, 0.30), (0.30, 0.80)
"""Contact over flight, and what the two look like when they stand in each other's column: a contact
read as flight, a flight read as contact. Common practice, no source."""


def _times_exchanged(now: Context) -> Iterator[Suspect]:
    contact, flight = (
        now.trials.of_kind(name, "drop jump", "rebound") for name in ("contact_time", "flight_time")
    )
    both = contact.merge(flight[["key", "value"]], on="key", suffixes=("", "_flight"))
    table = both.rename(columns={"value": "contact", "value_flight": "flight"})
    swapped = (
        (table["contact"] > LONGER * table["flight"])
        & table["flight"].between(*FLIGHT_S)
        & table["contact"].between(*CONTACT_S)
    )
    for row in records(table[swapped]):
        details = {name: f"{row[name]:.3f}" for name in ("contact", "flight")}
        yield whole_row(now.trials, row, details)


APART, APART_M = 0.10, 0.01
"""How far a device's height may lie from the one its flight time gives: a share, and 1 cm for
rounding. Common practice, no source."""


def _two_heights(now: Context) -> Iterator[Suspect]:
    """A row whose height and flight time tell of two different jumps."""
    heights, flights = (now.trials.of_kind(n, "jump") for n in ("height", "flight_time"))
    both = heights.merge(flights[["key", "value"]], on="key", suffixes=("", "_flight"))
    both = both.assign(flown=STANDARD_GRAVITY * both["value_flight"] ** 2 / 8)
    apart = (both["value"] - both["flown"]).abs()
    for row in records(both[apart > APART * both["flown"] + APART_M]):
        details = {
            "height": f"{row['value'] * CM_PER_M:.1f}",
            "flown": f"{row['flown'] * CM_PER_M:.1f}",
        }
        yield whole_row(now.trials, row, details)


RULES = (
    Rule("times-exchanged", _times_exchanged, "the jump", across=True),
    Rule("heights-apart", _two_heights, "the jump", across=True),
)
