"""What coaches' pages call people, groups and stretches."""

from __future__ import annotations

from pipeline.bundle import DayBundle
from pipeline.report import wording
from pipeline.report.wording import say


def names_of(day: DayBundle) -> dict[str, str]:
    """Names by id."""
    return {person["id"]: person["name"] for person in day.day["roster"]}


def named_with(name: str, reason: str) -> str:
    """A name with the reason in brackets, where there is one."""
    return say("front reason", name=name, reason=reason) if reason else name


def group_name(group: str) -> str:
    """A group's name at the start of a line."""
    return wording.capital(group or say("no group"))


def of_people(test: str, count: int) -> str:
    """A test with how many athletes it concerns."""
    return say("of one", test=test) if count == 1 else say("of many", test=test, count=count)
