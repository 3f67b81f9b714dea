"""What a cell may hold without a word: the plausible limits of the measures, as a heading has them.

The limits stand in the measures' records (and the battery); here they are only turned into the
quantity and unit that are written down.
"""

from __future__ import annotations

import math

from pipeline.battery import Battery, TestPlan
from pipeline.forms.wording import gate, split_unit
from pipeline.measures import registry
from pipeline.units import HEADING_UNITS, STANDARD_GRAVITY

Limits = tuple[float, float]

_OF_ONE_MEASURE = {
    "body_mass": "body_mass", "contact_time": "contact_time", "distance": "distance",
    "reaction": "reaction_time", "best": "one_rep_max",
}  # fmt: skip


def limits_of(heading: str, plan: TestPlan | None, battery: Battery) -> Limits | None:
    """The least and the greatest plausible number under a heading, in the heading's unit.

    Args:
        heading: as the sheet has it, e.g. ``flight_time_s``.
        plan: the row's test; ``None`` is body.
        battery: whose limits go before those of the records.

    Returns:
        ``None`` where no record says anything, and where a cell holds two units.
    """
    base, ending = split_unit(heading)
    if heading == "value" and plan is not None:
        return plan.low, plan.high
    if heading == "reps":
        return 1, battery.max_repetitions
    if not ending or HEADING_UNITS[ending].larger:
        return None
    found = _in_si(heading, base, plan, battery)
    if found is None:
        return None
    factor = HEADING_UNITS[ending].factor
    return found[0] / factor, found[1] / factor


def _in_si(heading: str, base: str, plan: TestPlan | None, battery: Battery) -> Limits | None:
    at = gate(heading)
    if at is not None:
        slow, fast = _of("segment_speed", battery)
        return at / fast, at / slow
    if base == "flight_time":
        low, high = _of("jump_height", battery)
        return math.sqrt(8 * low / STANDARD_GRAVITY), math.sqrt(8 * high / STANDARD_GRAVITY)
    if base == "height":
        return _of("height" if plan is None else "jump_height", battery)
    if base == "load":
        return 0.0, _of("one_rep_max", battery)[1]  # a set may be light, a maximum may not
    return _of(_OF_ONE_MEASURE[base], battery) if base in _OF_ONE_MEASURE else None


def _of(key: str, battery: Battery) -> Limits:
    """The limits of a measure in SI; its record's unit is one of a heading or SI itself."""
    record = registry.MEASURES[key]
    low, high = record.limits(battery)
    factor = HEADING_UNITS[record.unit].factor if record.unit in HEADING_UNITS else 1.0
    return low * factor, high * factor
