"""The four testing days and the repeat of one, with their sessions and each one's `day.toml`."""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import date

from .chance import normal

AUTUMN_25 = "2025-09-autumn"
WINTER_26 = "2026-01-winter"
SPRING_26 = "2026-05-spring"
SPRING_AGAIN = "2026-05-spring-repeat"  # a week later, nobody trained hard: for reliability
AUTUMN_26 = "2026-10-autumn"

# Heats of 100 m that had the wind behind them: day, test, sex, heat.
_BLOWN_HOME: dict[tuple[object, ...], float] = {
    (AUTUMN_25, "100 m", "F", 2): 2.4,
    (AUTUMN_26, "100 m", "M", 1): 2.3,
}


@dataclass(frozen=True)
class Session:
    """One session of a day: a field left at None was not written down."""

    name: str
    date: date
    venue: str
    indoor: bool
    surface: str | None = None
    footwear: str | None = None
    timing: str | None = None
    beams: str | None = None
    clock: str | None = None
    start: str | None = None
    start_distance_m: float | None = None
    altitude_m: int | None = None
    temperature_c: float | None = None
    pressure_hpa: float | None = None

    def toml(self) -> str:
        """Return the session as its part of `day.toml`."""
        values = {field.name: getattr(self, field.name) for field in fields(self)}
        lines = [f"[session.{values.pop('name')}]"]
        lines += [f"{key} = {_toml(value)}" for key, value in values.items() if value is not None]
        return "\n".join(lines) + "\n"


@dataclass(frozen=True)
class Day:
    """One testing day, `terms` terms after the first."""

    folder: str
    date: date
    term: str
    terms: int
    sessions: dict[str, Session]
    repeat_of: date | None = None

    def toml(self) -> str:
        """Return the text of `day.toml`."""
        head = f"date = {_toml(self.date)}\nterm = {_toml(self.term)}\n"
        if self.repeat_of:
            head += f"repeat_of = {_toml(self.repeat_of)}\n"
        return "\n".join([head, *(session.toml() for session in self.sessions.values())])

    def wind(self, session: str, *run: object) -> float | None:
        """Return the wind of one run, as far as anybody measured it there."""
        if self.sessions[session].indoor or session == "pitch":  # no gauge on the pitch
            return None
        usual = min(max(0.4 + 0.7 * normal(self.folder, "wind", *run), -1.8), 1.9)
        measured = _BLOWN_HOME.get((self.folder, *run), usual)
        return round(measured, 1) + 0.0  # no wind is not written -0.0


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{value}"' if isinstance(value, str) else str(value)


def _track(day: date, temperature: float, pressure: float, *, indoor: bool = False) -> Session:
    return Session(
        "track",
        day,
        "Quillmere Indoor Hall" if indoor else "Quillmere Park track",
        indoor,
        surface="synthetic track",
        footwear="spikes",
        timing="gates",
        beams="double",
        start="three-point",
        start_distance_m=0.0,
        altitude_m=40,
        temperature_c=temperature,
        pressure_hpa=pressure,
    )


def _pitch(day: date, temperature: float, pressure: float) -> Session:
    return Session(
        "pitch",
        day,
        "Quillmere turf 2",
        indoor=False,
        surface="artificial turf",
        footwear="boots",
        timing="gates",
        beams="double",
        start="standing",
        start_distance_m=0.5,
        altitude_m=40,
        temperature_c=temperature,
        pressure_hpa=pressure,
    )


def _race(day: date, temperature: float, pressure: float) -> Session:
    return Session(
        "race",
        day,
        "Ottermarsh Stadium",
        indoor=False,
        surface="synthetic track",
        footwear="spikes",
        timing="electronic",
        clock="gun",
        start="blocks",
        altitude_m=65,
        temperature_c=temperature,
        pressure_hpa=pressure,
    )


def _gym(day: date) -> Session:
    return Session("gym", day, "Quillmere strength room", indoor=True)


def _day(
    folder: str, term: str, terms: int, *sessions: Session, repeat_of: date | None = None
) -> Day:
    named = {session.name: session for session in sessions}
    return Day(folder, sessions[0].date, term, terms, named, repeat_of)


DAYS = (
    _day(
        *(AUTUMN_25, "autumn 2025", 0),
        _track(date(2025, 9, 16), 17.0, 1013.0),
        _pitch(date(2025, 9, 17), 16.0, 1011.0),
        _gym(date(2025, 9, 18)),
        _race(date(2025, 9, 20), 18.5, 1016.0),
    ),
    _day(
        *(WINTER_26, "winter 2026", 1),
        _track(date(2026, 1, 20), 16.0, 1002.0, indoor=True),
        _pitch(date(2026, 1, 21), 7.0, 1004.0),
        _gym(date(2026, 1, 22)),
    ),
    _day(
        *(SPRING_26, "spring 2026", 2),
        _track(date(2026, 5, 12), 18.0, 1015.0),
        _pitch(date(2026, 5, 13), 16.5, 1014.0),
        _gym(date(2026, 5, 14)),
        _race(date(2026, 5, 16), 20.0, 1018.0),
    ),
    _day(
        *(SPRING_AGAIN, "spring 2026, repeated", 2),
        _track(date(2026, 5, 19), 17.0, 1012.0),
        _pitch(date(2026, 5, 20), 17.5, 1013.0),
        _gym(date(2026, 5, 21)),
        repeat_of=date(2026, 5, 12),
    ),
    _day(
        *(AUTUMN_26, "autumn 2026", 3),
        _track(date(2026, 10, 13), 15.5, 1009.0),
        _pitch(date(2026, 10, 14), 14.0, 1010.0),
        _gym(date(2026, 10, 15)),
        _race(date(2026, 10, 17), 16.0, 1012.0),
    ),
)
