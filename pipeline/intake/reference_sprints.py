"""The staff's own table of sprints by people who are not on the roster.

It is read as a day's sprints are, with the same checks, and serves one thing: a sprint's shape.
No result, change or page comes from it.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from pathlib import Path

import pandas as pd

from pipeline.battery import Battery
from pipeline.errors import Finding, Place, finding
from pipeline.intake import plausibility, readers
from pipeline.intake.columns import REFERENCE, by_heading, plain
from pipeline.intake.folder import Day, Season, Session
from pipeline.intake.readers import RowMark
from pipeline.intake.roster import SEXES, Athlete, Roster
from pipeline.intake.trials import read_sheet
from pipeline.measures.spec import ATTEMPT_COLUMNS, VALUE_COLUMNS, Trials

_NO_DAY = dt.date(1, 1, 1)
_PREFIX = "reference:"
"""Before a person's name: an athlete's id holds no colon, so nobody is taken for an athlete."""


@dataclass(frozen=True)
class ReferenceSprints:
    """The runs, the rows read, and what was wrong with them."""

    trials: Trials
    rows: list[RowMark] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)


def read(season: Season, battery: Battery) -> ReferenceSprints:
    """Read the season's reference_sprints; an absent one gives no run.

    A person without a sex, or with two, is set aside: a shape is of one sex.
    """
    path = next(iter(readers.named(season.path, REFERENCE.name)), None)
    if path is None:
        attempts = pd.DataFrame(columns=list(ATTEMPT_COLUMNS))
        return ReferenceSprints(Trials(attempts, pd.DataFrame(columns=list(VALUE_COLUMNS)), {}))
    people, faults = _people(path, season.place(path))
    roster = Roster(people, season.place(path), ())
    day = Day(season.path, _NO_DAY, "", None, {}, Session("", _NO_DAY, {}))
    taken = read_sheet(season, day, roster, battery, (path, REFERENCE))
    checked, implausible = plausibility.check(taken.trials, battery)
    known = checked.attempts.index[checked.attempts["sex"] != ""]
    aside = set(checked.values.loc[~checked.values["key"].isin(known), "source"])
    findings = [*faults, *taken.findings, *implausible]
    return ReferenceSprints(checked.set_aside(aside), taken.rows, findings)


def _people(path: Path, place: Place) -> tuple[dict[str, Athlete], list[Finding]]:
    """Everybody named, by label; without a sex where the sheet gives none or two."""
    sexes: dict[str, dict[str, int]] = {}
    labels: dict[str, str] = {}
    findings: list[Finding] = []
    try:
        sheets = readers.read(path)
    except readers.UnreadableError:
        return {}, []  # told by the reader of the rows
    for sheet in sheets:
        headings = [plain(heading) for heading in sheet.headings]
        findings += [
            finding("heading-missing", Place(place.file, sheet.name, column=name), heading=name)
            for name in ("person", "sex")
            if name not in headings
        ]
        for row in sheet.rows:
            cells = by_heading(headings, row)
            label, sex = cells.get("person", ""), cells.get("sex", "").upper()
            if not label:
                continue
            at = Place(place.file, sheet.name).at(row.number, "sex")
            labels.setdefault(label.casefold(), label)
            seen = sexes.setdefault(label.casefold(), {})
            if sex not in SEXES:
                what = " or ".join(SEXES)
                findings.append(finding("person-sex", at, raw=cells.get("sex", ""), what=what))
            elif seen and sex not in seen:
                first = next(iter(seen.values()))
                findings.append(finding("person-two-sexes", at, raw=label, first=first))
            seen.setdefault(sex, row.number)
    return {
        key: Athlete(
            athlete_id=f"{_PREFIX}{labels[key]}",
            name=labels[key],
            sex=next(iter(seen)) if len(seen) == 1 and set(seen) <= set(SEXES) else "",
            birth_date=None,
            groups=(),
            event="",
            joined=None,
            left=None,
            share="none",
        )
        for key, seen in sexes.items()
    }, findings
