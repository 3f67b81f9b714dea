"""The squad: who they are, what they are able to do, and how term after term changes it.

Nobody here exists. Levels follow published group means (10-40 m times, jumps, squat ratios);
a younger athlete is an adult with a share still to come.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import prod, sqrt

from .chance import normal

QUALITIES = ("speed", "drive", "jump", "reactive", "squat", "throw")


@dataclass(frozen=True)
class Squad:
    """One group: its event and an adult's mean and spread in each quality."""

    name: str
    sex: str
    event: str
    speed: tuple[float, float]  # m/s, scale of the speed curve
    drive: tuple[float, float]  # m/s^2, acceleration out of the start
    jump: tuple[float, float]  # cm, countermovement jump
    reactive: tuple[float, float]  # m/s, reactive strength index from 30 cm
    squat: tuple[float, float]  # back squat over body mass
    throw: tuple[float, float]  # m, overhead ball throw

    @property
    def sprints(self) -> bool:
        """Say whether this is a sprint group (the others play a field sport)."""
        return self.name.startswith("sprint")


SW = Squad(
    *("sprint women", "F", "100/200 m"),
    *((9.25, 0.26), (8.10, 0.28), (37, 3.2), (1.75, 0.20), (1.50, 0.16), (11.0, 1.1)),
)
SM = Squad(
    *("sprint men", "M", "100/200 m"),
    *((10.55, 0.28), (8.85, 0.28), (48, 4.0), (2.05, 0.22), (1.80, 0.13), (14.5, 1.4)),
)
FW = Squad(
    *("football women", "F", "football"),
    *((8.35, 0.26), (7.20, 0.30), (30, 3.0), (1.30, 0.17), (1.24, 0.14), (9.0, 1.0)),
)
HM = Squad(
    *("hockey men", "M", "field hockey"),
    *((9.02, 0.23), (7.90, 0.28), (39, 3.5), (1.55, 0.18), (1.55, 0.15), (12.0, 1.2)),
)

# What good athletes share: the correlation of each quality with the general ability.
_LOADING = {
    "speed": 0.85,
    "drive": 0.75,
    "jump": 0.70,
    "reactive": 0.60,
    "squat": 0.50,
    "throw": 0.50,
}

# Share still to come for each year under eighteen.
_YOUTH = {
    "F": {
        "speed": 0.010,
        "drive": 0.006,
        "jump": 0.025,
        "reactive": 0.03,
        "squat": 0.06,
        "throw": 0.03,
    },
    "M": {
        "speed": 0.020,
        "drive": 0.012,
        "jump": 0.045,
        "reactive": 0.04,
        "squat": 0.09,
        "throw": 0.06,
    },
}

# Change from one testing day to the next: autumn-winter, winter-spring, spring-autumn.
_COURSES: dict[str, dict[str, tuple[float, float, float]]] = {
    "steady": {"squat": (0.01, 0.00, 0.01)},
    "strength block": {
        "squat": (0.06, 0.05, 0.03),
        "drive": (0.01, 0.01, 0.01),
        "jump": (0.02, 0.02, 0.01),
    },
    "strength alone": {
        "squat": (0.06, 0.05, 0.03),
        "drive": (0.01, 0.01, 0.01),
        "jump": (0.02, 0.02, 0.01),
        "reactive": (-0.02, -0.03, -0.20),
    },
    "speed block": {
        "speed": (0.006, 0.010, 0.008),
        "reactive": (0.05, 0.05, 0.04),
    },
    "jump responder": {"jump": (0.06, 0.05, 0.07), "reactive": (0.04, 0.06, 0.06)},
    "breakthrough": {
        "speed": (0.008, 0.012, 0.025),
        "drive": (0.01, 0.015, 0.04),
        "jump": (0.02, 0.03, 0.07),
        "squat": (0.04, 0.03, 0.06),
    },
    "long layoff": {
        "speed": (0.005, 0.005, -0.035),
        "drive": (0.01, 0.00, -0.040),
        "jump": (0.02, 0.01, -0.10),
        "reactive": (0.02, 0.02, -0.14),
        "squat": (0.03, 0.02, -0.12),
    },
    "first years": {"squat": (0.03, 0.03, 0.03), "reactive": (0.02, 0.03, 0.02)},
}

# Share of adult height and body mass at 13, 14 ... 18 years, from population medians.
_GROWN = {
    "F": ((0.965, 0.82), (0.983, 0.88), (0.993, 0.93), (0.997, 0.96), (0.999, 0.98), (1, 1)),
    "M": ((0.886, 0.68), (0.932, 0.76), (0.966, 0.84), (0.986, 0.91), (0.997, 0.96), (1, 1)),
}
_GROWN_FROM = 13


@dataclass(frozen=True)
class Athlete:
    """One athlete: the roster's facts, adult size, general ability and course of training."""

    squad: Squad
    athlete_id: str
    name: str
    born: date
    adult_height_cm: float
    adult_mass_kg: float
    ability: float
    course: str
    joined: date = date(2024, 9, 2)
    left: date | None = None
    share: str = "full"
    slow: tuple[float, float, float] | None = None  # from (m), to (m), how much is lost there (s)

    def __str__(self) -> str:
        """Return the id: the athlete's part of every key of chance."""
        return self.athlete_id

    def belongs(self, day: date) -> bool:
        """Say whether the athlete is in the squad on a day."""
        return self.joined <= day and (self.left is None or day < self.left)

    def age(self, day: date) -> float:
        """Return the age in years."""
        return (day - self.born).days / 365.25

    def grown(self, day: date) -> tuple[float, float]:
        """Return the share of adult height and body mass reached by a day."""
        table = _GROWN[self.squad.sex]
        place = min(max(self.age(day) - _GROWN_FROM, 0), len(table) - 1)
        index = min(int(place), len(table) - 2)
        below, above = table[index], table[index + 1]
        step = place - index
        return (
            below[0] + step * (above[0] - below[0]),
            below[1] + step * (above[1] - below[1]),
        )

    def lost(self, at_m: float) -> float:
        """Return the time (s) lost to a weakness of this athlete's own by a distance."""
        if self.slow is None:
            return 0.0
        first, last, seconds = self.slow
        return seconds * min(max((at_m - first) / (last - first), 0.0), 1.0)

    def trait(self, name: str, mean: float, spread: float) -> float:
        """Return something that stays the athlete's own over the whole season."""
        return mean + spread * normal(self, "trait", name)

    def quality(self, name: str, day: date, terms: int) -> float:
        """Return a latent quality on a day that comes `terms` terms after the first."""
        mean, spread = getattr(self.squad, name)
        shared = _LOADING[name]
        own = normal(self, "quality", name)
        adult = mean + spread * (shared * self.ability + sqrt(1 - shared**2) * own)
        to_come = _YOUTH[self.squad.sex][name] * max(0.0, 18 - self.age(day))
        changes = _COURSES[self.course].get(name, ())[:terms]
        trained = prod(1 + change for change in changes)
        return float(adult * (1 - to_come) * trained)


ATHLETES = (
    Athlete(SW, "S01", "Réka Tőkefalvi", date(2001, 3, 14), 168, 57.5, 1.3, "speed block"),
    # Slow at top speed, and her rebounds fell: the phase and the measure behind it agree.
    Athlete(
        *(SW, "S02", "Maren Østvollen", date(1999, 11, 2), 171, 61.0, 0.7, "strength alone"),
        slow=(30, 60, 0.20),
    ),
    Athlete(SW, "S03", "Zofia Małkowiecka", date(2003, 6, 25), 165, 55.5, 0.1, "breakthrough"),
    Athlete(SW, "S04", "Noemí Cardañuela", date(2005, 1, 9), 163, 54.0, -0.3, "jump responder"),
    Athlete(SW, "S05", "Tamsin Ollerthwaite", date(2002, 8, 30), 174, 64.0, 0.4, "steady"),
    Athlete(SW, "S06", "Ευδοκία Ραψομανίκη", date(2009, 5, 17), 167, 56.5, -0.2, "first years"),
    Athlete(SW, "S07", "Adaeze Umunnabuike", date(2010, 11, 21), 169, 58.0, 0.3, "first years"),
    Athlete(SM, "S08", "Lorcan Thistlemoor", date(2000, 2, 11), 181, 79.5, 1.2, "steady"),
    Athlete(SM, "S09", "Șerban Văduvelea", date(1998, 7, 5), 176, 73.5, 0.6, "long layoff"),
    Athlete(SM, "S10", "Bartłomiej Wiśniogór", date(2004, 4, 19), 184, 81.0, 0.0, "strength block"),
    Athlete(
        *(SM, "S11", "Kwabena Asiedu-Holtby", date(2003, 10, 8), 178, 76.0, 0.8, "steady"),
        joined=date(2026, 9, 7),
    ),
    Athlete(SM, "S12", "Tuğrul Dağsever", date(2005, 12, 1), 175, 72.0, -0.4, "jump responder"),
    Athlete(SM, "S13", "Joaquim Peñalvarado", date(2009, 8, 13), 180, 74.0, 0.5, "first years"),
    Athlete(
        *(SM, "S14", "Tobias Quenneville-Marsh", date(2010, 2, 24), 177, 71.0, 0.2, "first years"),
        share="initials",
    ),
    Athlete(FW, "F01", "Hanne Søgårdstrøm", date(2000, 9, 3), 170, 63.0, 0.9, "strength block"),
    Athlete(FW, "F02", "Ярослава Тихомлинская", date(2002, 12, 12), 166, 60.0, 0.4, "steady"),
    Athlete(FW, "F03", "Bronagh Tullyvane", date(2004, 5, 28), 172, 65.5, -0.1, "jump responder"),
    Athlete(
        *(FW, "F04", "Liesbeth Vandenwouwer", date(2001, 1, 16), 168, 62.0, -0.6, "steady"),
        left=date(2026, 7, 31),
    ),
    Athlete(FW, "F05", "Ximena Urquizabalde", date(2011, 6, 7), 164, 57.0, 0.6, "first years"),
    Athlete(FW, "F06", "Poppy Larkinshaw", date(2010, 3, 22), 167, 59.0, 0.0, "first years"),
    Athlete(
        *(FW, "F07", "Nerys Drumgoldie", date(2012, 7, 2), 165, 56.0, 0.3, "first years"),
        share="initials",
    ),
    Athlete(HM, "F08", "رشوان الكوثراني", date(1999, 4, 4), 179, 77.0, 0.8, "speed block"),
    Athlete(HM, "F09", "Jurriaan Koelewaterink", date(2002, 10, 27), 186, 82.0, 0.2, "steady"),
    Athlete(HM, "F10", "Gethin Pryddwen", date(2003, 3, 6), 177, 75.5, -0.3, "strength block"),
    Athlete(HM, "F11", "Rasmus Ålbækgaard", date(2005, 7, 18), 183, 79.0, 0.4, "breakthrough"),
    Athlete(HM, "F12", "Devraj Sohalpuri", date(2010, 6, 30), 176, 71.0, 0.0, "first years"),
    Athlete(HM, "F13", "Caspian Wetherell-Oakes", date(2011, 3, 11), 180, 74.0, 0.5, "first years"),
    Athlete(HM, "F14", "Ruaridh MacAskerill", date(2012, 1, 20), 178, 72.0, -0.2, "first years"),
)
