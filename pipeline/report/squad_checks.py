"""What to check before any praise, and the surest of the clear changes."""

from __future__ import annotations

from typing import Any

from pipeline.bundle import DayBundle
from pipeline.measures.spec import key_fields
from pipeline.report import wording
from pipeline.report.blocks import Notice, Prose, Section
from pipeline.report.facts import base_of, ends_of, label_in_test, record_in
from pipeline.report.saying import amount, needed, way
from pipeline.report.squad_words import names_of
from pipeline.report.wording import say

SENTENCES = 3
"""More warnings than this stand on the page after the first."""

_VALUES = 3
"""More values of one test than this are counted."""


def check_first(day: DayBundle) -> Section:
    """Where a whole group moved together: a warning before anything is praised."""
    told = warnings(day)
    if not told:
        return Section.of(Prose(say("check none"), lead=say("check lead")))
    rest = len(told) - SENTENCES
    more = say("check more", count=rest) if rest > 0 else ""
    return Section.of(notice(day, told[:SENTENCES], more))


def notice(day: DayBundle, told: list[str], more: str = "") -> Notice:
    """The warnings, what to ask of them, and that nobody is praised for it."""
    timed = any(s["measure"] in _NAMED_AS for s in day.day["shifts"] if not s["gate"])
    ask = say("check ask timed" if timed else "check ask")
    if all(s["gate"] for s in day.day["shifts"]):
        ask = ""
    parts = [*told, more, ask, say("check withheld")]
    return Notice(say("check lead"), " ".join(part for part in parts if part))


def warnings(day: DayBundle) -> list[str]:
    """One sentence for each gate, and one for each test in which all moved."""
    gates: dict[tuple[str, str], Any] = {}
    others: dict[tuple[str, str, str], list[Any]] = {}
    for shift in day.day["shifts"]:
        if shift["gate"]:
            gates.setdefault((shift["test"], shift["gate"]), shift)
        else:
            key = shift["test"], shift["from_day"], base_of(shift["conditions"])
            others.setdefault(key, []).append(shift)
    told = [say("check gate", test=test, gate=gate, n=s["n"]) for (test, gate), s in gates.items()]
    keys = list(others)
    return told + [
        _together(day, _each_once(day, rows), _apart(keys, key)) for key, rows in others.items()
    ]


_NAMED_AS = ("phase_time", "time", "split_time", "segment_time")
"""What one stretch of track is called where several measures time it, the first that is there."""


def _each_once(day: DayBundle, rows: list[Any]) -> list[Any]:
    """The values without those that time the same stretch again, the surest first."""
    order = sorted(
        rows, key=lambda r: _NAMED_AS.index(r["measure"]) if r["measure"] in _NAMED_AS else 0
    )
    once: dict[object, Any] = {}
    for row in order:
        once.setdefault(_stretch(day, row), row)
    return sorted(once.values(), key=lambda row: -abs(row["shift"]) / row["se"])


def _stretch(day: DayBundle, row: Any) -> object:
    """The metres a time is taken over; of anything else its measure and part."""
    if row["measure"] not in _NAMED_AS:
        return row["measure"], row["part"]
    ends = ends_of(row["conditions"])[1] or wording.dashed(str(row["part"]))
    if row["measure"] == "time":
        distance = day.day["tests"].get(row["test"], {}).get("distance_m")
        ends = "" if distance is None else f"{float(distance):g} m"
    return ends if "–" in ends else f"0–{ends}"


def _together(day: DayBundle, rows: list[Any], under: str) -> str:
    """One sentence for a test: which of its values moved for everybody, and by how much."""
    parts = []
    for row in rows[:_VALUES]:
        record = record_in(day.day["tests"], row)
        sign = -1 if record.better == "lower" else 1
        moved = wording.signed_number(sign * row["shift"], record.decimals)
        what = _stretch(day, row)
        label = what if isinstance(what, str) else record.label
        if row["part"] and not isinstance(what, str):
            label = f"{label}, {row['part']}"
        parts.append(say("check value", label=label, moved=wording.with_unit(moved, record)))
    if len(rows) > _VALUES:
        parts.append(say("check others", count=len(rows) - _VALUES))
    least, most = (f(row["n"] for row in rows) for f in (min, max))
    test = rows[0]["test"]
    return say(
        "check together",
        n=most if least == most else say("check from to", least=least, most=most),
        test=say("label apart", label=test, apart=under) if under else test,
        date=wording.short_date(rows[0]["from_day"]),
        values=wording.listed(parts),
    )


def _apart(keys: list[tuple[str, str, str]], own: tuple[str, str, str]) -> str:
    """The conditions that tell one warning from the others of its test, in words."""
    test, from_day, key = own
    others = [key_fields(k) for t, d, k in keys if (t, d) == (test, from_day) and k != key]
    mine = key_fields(key)
    return wording.conditions({k: v for k, v in mine.items() if any(o.get(k) != v for o in others)})


SUREST = 4
"""How many of the clear changes stand on the first page."""


def surest(day: DayBundle) -> Section:
    """The surest of the clear changes that stay with chance held down."""
    found: dict[tuple[str, ...], tuple[float, str]] = {}
    for group in day.day["group_changes"]:
        for one in group["front"]:
            change = change_of(day, one)
            reach = float(change["high"]) - float(change["low"])
            key = tuple(one[name] for name in ("athlete_id", "test", "part", "measure"))
            found[key] = -abs(float(change["change"])) / reach, _told(day, one, change)
    if not found:
        return Section.of(Prose(say("surest none"), lead=say("surest lead")))
    ranked = [text for _, text in sorted(found.values())]
    more = len(ranked) - SUREST
    told = [*ranked[:SUREST], *([say("surest more", count=more)] if more > 0 else [])]
    return Section.of(Prose(" ".join(told), lead=say("surest lead")))


def _told(day: DayBundle, one: Any, change: Any) -> str:
    record = record_in(day.day["tests"], change)
    return say(
        "front one",
        name=names_of(day).get(one["athlete_id"], one["athlete_id"]),
        label=label_in_test(change),
        way=way(change, record),
        amount=amount(change, record),
        needs=needed(change, record),
    )


def change_of(day: DayBundle, one: Any) -> Any:
    """The row of the table *changes* that a clear change stands for."""
    same = day.tables["changes"]
    for column in ("athlete_id", "test", "part", "measure", "conditions"):
        same = same[same[column] == one[column]]
    return same.iloc[0]
