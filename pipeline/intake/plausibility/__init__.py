"""What cannot be is set aside, what is unlikely is named, with the likely cause and the place.

Each room asks one question of the rows: ``limits`` (what nobody reaches), ``times`` (of one run),
``sets`` (of a lift), ``rows`` (two values of one row), ``attempts`` (the athlete's own others),
``between_tests``, ``days``, ``copied`` (down a column). ``rules`` runs them all, ``causes`` knows
what slips look like, ``notices`` tells what was done less often than planned.
"""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.battery import Battery
from pipeline.errors import Finding
from pipeline.intake.plausibility import (
    attempts,
    between_tests,
    copied,
    days,
    limits,
    notices,
    rows,
    rules,
    sets,
    times,
)
from pipeline.intake.plausibility.notices import unweighed as unweighed
from pipeline.intake.plausibility.rules import Accepts, nothing
from pipeline.measures.spec import Trials

IMPOSSIBLE = (*sets.RULES, *times.RULES, *limits.RULES)
"""Checks of a row by itself, in the order they look."""

UNLIKELY = (
    *times.REACTIONS,
    *rows.RULES,
    *sets.ACROSS,
    *attempts.RULES,
    *between_tests.RULES,
    *days.RULES,
    *copied.RULES,
    *limits.RARITIES,
)
"""Checks of rows against others, what names its cause best first."""


def check(
    trials: Trials, battery: Battery, accepts: Accepts = nothing
) -> tuple[Trials, list[Finding]]:
    """Set aside what cannot be, each row by itself.

    Args:
        trials: one day's.
        battery: its limits and what it says is done.
        accepts: whether staff signed for what stands at a place; it is found and kept.

    Returns:
        The trials with those values' status changed, and a finding for each.
    """
    return rules.apply(IMPOSSIBLE, trials, battery, (), accepts)


def compare(
    trials: Trials, battery: Battery, before: Sequence[Trials], accepts: Accepts = nothing
) -> tuple[Trials, list[Finding]]:
    """Hold the rows of a day against each other and against the days before.

    Args:
        trials: one day's, after ``check``.
        battery: its ``[checks]`` say what is done about each kind.
        before: the earlier days as they came out of here, oldest first.
        accepts: as for ``check``.

    Returns:
        As ``check``.
    """
    return rules.apply(UNLIKELY, trials, battery, before, accepts)


def notice(trials: Trials, excused: set[tuple[str, str]], battery: Battery) -> list[Finding]:
    """What was done less often or otherwise than planned; nothing is set aside.

    Args:
        trials: one day's, after ``check``.
        excused: (athlete, test) that staff marked limited or not done; a blank test means all.
        battery: how many attempts a test asks for.
    """
    return [
        *notices.hand_timed(trials, battery),
        *notices.missed_gates(trials),
        *notices.short_series(trials, battery),
        *notices.too_few_attempts(trials, excused, battery),
        *notices.no_estimates(trials, battery),
    ]
