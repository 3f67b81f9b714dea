"""Every sentence of the sheets that are handed out. One catalogue, as the reports have theirs."""

from __future__ import annotations

import re

from pipeline.units import HEADING_UNITS

SENTENCES: dict[str, str] = {
    # --- the workbook
    "limit title": "Usual values",
    "limit": "{low} to {high}. What lies outside is set aside on reading.",
    "limit odd": "This lies outside {low} to {high} and would be set aside. Keep it all the same?",
    "choice odd": "This is none of the words that are understood here. Keep it all the same?",
    # --- the day file
    "day head": (
        "The testing day. Take the # off a line and set it right; what is left out counts as not "
        "known,\nand two days are compared only where what is known of them agrees."
    ),
    "day repeat": "only if this day repeats an earlier one, to learn how far each test wobbles",
    "day conditions": "Conditions of the whole day. A session, or a row of a sheet, may differ.",
    "day session": "The session “{name}”: what differs from the day.",
    # --- the paper
    "title": "Recording sheets",
    "front note": (
        "Write every attempt down as it was read, also one that looks odd. No mark: write NM and "
        "why (DNS, DNF, false start). Never leave a mark out because it was bad, and never fill "
        "one in from memory."
    ),
    "cautions heading": "Before anybody starts",
    "caution effort": (
        "Maximal sprints, jumps and lifts can hurt. Test under supervision, after a full warm-up, "
        "on a dry, clear surface with room to stop, within the rules of your club and federation."
    ),
    "caution minors": (
        "Many athletes are minors. Test them with the consent of those responsible for them, with "
        "two adults present, and praise the effort, not the place. Anybody may say no to a test, "
        "without giving a reason; write “not done” in status and nothing more."
    ),
    "caution pain": (
        "Pain, dizziness or worry: stop, tell the coach; medical questions go to the medical team. "
        "These sheets are no medical clearance and no selection mark."
    ),
    "caution sheets": (
        "These sheets hold names and marks. Keep them with staff, out of pictures, write nothing "
        "about anybody's health on them, and destroy them once the day is read and checked."
    ),
    "stations heading": "The day, in order",
    "stations caption": "Stations in the order in which they are best taken",
    "people heading": "Who is expected",
    "people caption": "Running order; tick whoever is here",
    "col station": "station",
    "col people": "people",
    "col attempts": "attempts",
    "col rest": "rest between",
    "col page": "page",
    "col number": "no.",
    "col id": "id",
    "col name": "name",
    "col here": "here",
    "station heading": "{number}. {name}",
    "continued": "Station {number}, {name}",
    "station body": "body measures",
    "sheet note": "To be typed into the sheet {file}: the same lines, the same columns.",
    "how": "Tell the athlete.",
    "order": "Order.",
    "rest": "Rest.",
    "no mark": "No mark.",
    "caption": "{name}: one line for each attempt",
    "caption body": "One line for each athlete",
    "walk-in": "walk-in",
    "nobody": "Nobody on the list does this test; the lines are for walk-ins.",
    "conditions": "Conditions",
    "attempts one": "{attempts}",
    "attempts sides": "{attempts} each side",
    "attempts boxes": "{attempts} from each of {boxes} cm",
    "attempts sets": "up to {attempts} sets",
    "attempts series": "{attempts} × {rebounds} contacts",
    "attempts reps": "{attempts} in a row",
    "attempts body": "once",
}

HEADINGS: dict[str, str] = {
    "athlete_id": "id",
    "name": "name",
    "side": "side",
    "attempt": "no.",
    "set": "set",
    "rep": "rep",
    "drop_height": "box",
    "lane": "lane",
    "wind": "wind",
    "reaction": "reaction",
    "run_in": "run-in",
    "arms": "arms",
    "flight_time": "flight",
    "contact_time": "contact",
    "height": "height",
    "sitting_height": "sitting height",
    "body_mass": "body mass",
    "distance": "distance",
    "load": "load",
    "reps": "reps",
    "result": "good / failed",
    "maximal": "maximal, yes / no",
    "value": "result",
    "file": "file of the trace",
    "rate_hz": "rate, Hz",
    "column": "column",
    "unit": "unit",
    "start_distance": "start behind gate",
    "best": "best",
}
"""How a column is headed on paper, by its heading without the unit."""

CONDITIONS: dict[str, str] = {
    "date": "date",
    "time": "from – to",
    "observer": "recorded by",
    "venue": "venue",
    "indoor": "in / outdoors",
    "surface": "surface",
    "footwear": "shoes",
    "temperature": "temperature, °C",
    "pressure": "air pressure, hPa",
    "altitude": "altitude, m",
    "timing": "timed by (electronic, gates, hand, video)",
    "beams": "beams (single, double)",
    "clock": "clock from (gun, movement, gate)",
    "start": "start (blocks, three-point, standing)",
    "start distance": "start behind gate, m",
    "device": "mat or device",
    "depth": "depth agreed",
    "leg": "knee or hip angle",
    "drop": "box checked, cm",
    "scales": "scales, stadiometer",
}
"""What is asked for in the box of a station."""

_UNITS = re.compile(rf"_({'|'.join(sorted(HEADING_UNITS, key=len, reverse=True))})$")
_SHOWN_UNITS = {"mps": "m/s", "st_lb": "st lb", "ft_in": "ft in"}
_GATE = re.compile(r"t(\d+(?:\.\d+)?)_s$")


def say(key: str, **parts: object) -> str:
    """A sentence of the catalogue with its parts filled in."""
    return SENTENCES[key].format(**parts)


def split_unit(heading: str) -> tuple[str, str]:
    """A heading without its unit, and the unit's ending; blank where it has none."""
    found = _UNITS.search(heading)
    return (heading[: found.start()], found.group(1)) if found else (heading, "")


def gate(heading: str) -> float | None:
    """The gate in metres that a heading like ``t10_s`` names."""
    found = _GATE.match(heading)
    return float(found.group(1)) if found else None


def heading(name: str, unit: str = "") -> str:
    """A column's heading as paper shows it: words, and the unit after a comma."""
    at = gate(name)
    if at is not None:
        return f"{at:g} m, s"
    base, ending = split_unit(name)
    words = HEADINGS.get(name) or HEADINGS.get(base, name.replace("_", " "))
    shown = unit or _SHOWN_UNITS.get(ending, ending)
    return f"{words}, {shown}" if shown else words
