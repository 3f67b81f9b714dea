"""Dates as people write them."""

from __future__ import annotations

import datetime as dt

DATE_LIKE = "date like 2026-10-13"


def is_date(text: str) -> bool:
    """Whether a text is an ISO date."""
    try:
        dt.date.fromisoformat(text)
    except ValueError:
        return False
    return True
