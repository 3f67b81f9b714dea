"""Findings (what was wrong with an input) and failures (why a run could not go on).

Every finding has a code, whose severity and words stand in ``catalogue``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from urllib.parse import unquote

from pipeline import outgoing
from pipeline.catalogue import CATALOGUE, FEW, Severity


def _marked(name: str) -> str:
    return name.replace("%", "%25").replace("!", "%21").replace(";", "%3B")


@dataclass(frozen=True, slots=True)
class Place:
    """Where a value stands: file (relative to the season), sheet, row (heading = 1), column."""

    file: str
    sheet: str = ""
    row: int | None = None
    column: str = ""

    @property
    def source(self) -> str:
        """``file!sheet!row!column``, the form used in every table.

        The marks ``!`` and ``;`` in a name stand as ``%21`` and ``%3B``.
        """
        row = "" if self.row is None else str(self.row)
        return "!".join((_marked(self.file), _marked(self.sheet), row, _marked(self.column)))

    @classmethod
    def last_of(cls, sources: str) -> Place:
        """The place that ``sources`` names, the last if several are joined by ``;``."""
        source = sources.rsplit(";", maxsplit=1)[-1]
        file, sheet, row, column = source.split("!")
        number = int(row) if row else None
        return cls(unquote(file), unquote(sheet), number, unquote(column))

    def at(self, row: int | None = None, column: str = "") -> Place:
        """The same sheet at another row and column."""
        return Place(self.file, self.sheet, row, column)


_ROWS = "rows"
"""The detail that tells a finding of many rows from one of a single row."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One fault, where it stands and whom it concerns."""

    code: str
    place: Place
    athlete_id: str = ""
    details: tuple[tuple[str, str], ...] = field(default=())
    given: Severity | None = None

    @property
    def severity(self) -> Severity:
        """As the catalogue has it, unless the battery's rule for the day was another."""
        return self.given or CATALOGUE[self.code].severity

    @property
    def message(self) -> str:
        """The sentence and the mend. It may name a cell's content, so it is for staff."""
        kind, details = CATALOGUE[self.code], dict(self.details)
        sentence = (kind.many if _ROWS in details else kind.text).format(**details)
        return f"{sentence.removesuffix('.') if sentence.endswith('?.') else sentence} {kind.fix}"


def finding(code: str, place: Place, athlete_id: str = "", **details: object) -> Finding:
    """Make a finding; raises ``KeyError`` at once for a code or a detail the catalogue lacks."""
    said = tuple((k, outgoing.plain(str(v))) for k, v in details.items())
    made = Finding(code, place, athlete_id, said)
    made.message  # noqa: B018  # a missing detail must fail here, not on a page
    return made


def rated(one: Finding, severity: Severity) -> Finding:
    """The same finding, as severe as the battery's rule makes it."""
    return one if severity is one.severity else replace(one, given=severity)


def spans(numbers: Iterable[int]) -> str:
    """Whole numbers as one writes them: ``3, 7–9``."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{r[0]}–{r[-1]}" if len(r) > 1 else f"{r[0]}" for r in runs)


def grouped(findings: Iterable[Finding]) -> list[Finding]:
    """Findings with one for all rows of a sheet where more than ``FEW`` have the same to say.

    Only those kinds are joined that have a sentence for many.
    """
    left: list[Finding] = []
    alike: dict[tuple[str, str, str], list[Finding]] = {}
    for one in findings:
        if CATALOGUE[one.code].many and one.place.row is not None:
            alike.setdefault((one.code, one.place.file, one.place.sheet), []).append(one)
        else:
            left.append(one)
    for (code, file, sheet), found in alike.items():
        rows = {one.place.row for one in found if one.place.row is not None}
        if len(rows) <= FEW:
            left += found
        else:
            left.append(finding(code, Place(file, sheet), count=len(rows), rows=spans(rows)))
    return left


def in_order(findings: Iterable[Finding]) -> list[Finding]:
    """Errors first, then by place: one order everywhere, whatever order they were found in."""
    return sorted(
        set(findings),
        key=lambda f: (
            f.severity.rank, f.place.file, f.place.sheet, f.place.row or 0, f.place.column,
            f.code, f.athlete_id, f.details,
        ),
    )  # fmt: skip


class CannotStartError(Exception):
    """The run could not start; the sentence is for the user (exit 2)."""


class PageError(Exception):
    """One page could not be made; the others go on."""
