"""The battery: which tests a season has, how phases are cut, what the first page shows.

``templates/battery.toml`` holds every default; a season's ``battery.toml`` overrides any part.
A setting nobody reads is a finding with the nearest known one, never silently ignored.
"""

from __future__ import annotations

import difflib
import math
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipeline import protocols
from pipeline.errors import CannotStartError, Finding, Place, finding
from pipeline.protocols import RECORDED, STATIONS, Protocol

PACKAGE = Path(__file__).resolve().parent
_SHIPPED = PACKAGE / "templates"
TEMPLATES: Path = _SHIPPED if _SHIPPED.is_dir() else PACKAGE.parent / "templates"
"""The templates: inside an installed package, or beside it in a checkout."""

KINDS = (
    "sprint", "flying", "repeated", "jump", "distance jump", "drop jump", "rebound", "isometric",
    "lift",
    "other",
)  # fmt: skip
DIRECTIONS = ("higher", "lower", "neither")
EQUATIONS = ("epley", "brzycki", "lander", "lombardi", "mayhew", "oconner", "wathan")
POWER_EQUATIONS = ("sayers", "harman")
REBOUNDS = (5, 10)
"""Contacts of a rebound series that has a published rule."""


@dataclass(frozen=True, slots=True)
class TestPlan:
    """One test of the battery.

    ``unit better decimals low high`` are for a test of the staff's own, ``rebounds`` is the number
    of contacts of a rebound series. What a recording sheet needs: ``who`` names the groups and
    events of the roster that do the test (blank: everybody), ``sides`` says that each side is
    tested by itself, ``drop_heights_cm gates_m sets`` are the boxes, the gates and the rows of a
    lift. ``station order rest no_mark record`` are those of ``Protocol``, ``protocol`` is what the
    athlete is told.
    """

    __test__ = False  # pytest must not take it for a test class

    name: str
    kind: str
    attempts: int = 1
    distance_m: float | None = None
    aliases: tuple[str, ...] = ()
    protocol: str = ""
    estimate: bool = True
    unit: str = ""
    better: str = "higher"
    decimals: int = 2
    low: float = 0.0
    high: float = 1e6
    rebounds: int | None = None
    who: tuple[str, ...] = ()
    sides: bool = False
    drop_heights_cm: tuple[float, ...] = ()
    gates_m: tuple[float, ...] = ()
    sets: int = 1
    station: int = 99
    order: str = ""
    rest: str = ""
    no_mark: str = ""
    record: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PhaseSet:
    """Ends in metres from the start line and the name of each stretch between them."""

    ends_m: tuple[float, ...]
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class KeyMeasure:
    """One line of an athlete's first table."""

    test: str
    measure: str


@dataclass(frozen=True, slots=True)
class OwnError:
    """A typical error the staff measured themselves: in the measure's unit, or in %."""

    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class Reference:
    """One line of the staff's reference table: a group's mean and SD of a measure.

    ``event`` and ``part`` may be empty: then it holds for all events, for a measure without parts.
    """

    test: str
    measure: str
    sex: str
    mean: float
    sd: float
    n: int
    part: str = ""
    event: str = ""


@dataclass(frozen=True, slots=True)
class Sign:
    """A physical measure that may stand behind a phase; an empty ``test`` means any.

    ``better`` is for a measure whose own record takes no side.
    """

    measure: str
    test: str = ""
    better: str = ""


@dataclass(frozen=True, slots=True)
class Emphasis:
    """What may be trained for a phase, in the staff's words.

    Attributes:
        name: what it is called.
        phases: names of the phases it serves; a joined phase counts under each of its names.
        families: the kinds of exercises.
        trains: the contact or the time of force they train.
        why: why they may help there.
        talk: what an athlete reads of it.
        retest: tests that tell whether it moved.
        signs: the measures of which one has to lag or to have fallen.
    """

    name: str
    phases: tuple[str, ...]
    families: str
    trains: str
    why: str
    talk: str
    retest: tuple[str, ...]
    signs: tuple[Sign, ...]


DATE_ORDERS = ("day first", "month first")
"""What a sheet's dates like 03/09/2026 begin with."""

TIMINGS = ("electronic", "gates", "hand", "video")
"""How a sprint may be timed."""

PREVIOUS, LAST_YEAR = "previous", "last year"
"""What a day's value is set against: the last comparable day, or the one a year before."""

ALL_GROUPS = "default"
"""The headline of every group that names none of its own."""

AT_MOST_KEY = 5

SET_ASIDE, FLAG, OFF = "set aside", "flag", "off"
"""What may be done about what a check finds: left out, kept and named, not looked for."""


@dataclass(frozen=True, slots=True)
class Ratio:
    """One result of a day over another, under a name of its own."""

    name: str
    over: KeyMeasure
    under: KeyMeasure


@dataclass(frozen=True, slots=True)
class Battery:
    """The whole battery, checked."""

    season: str
    dates: str
    one_rep_max_equation: str
    max_repetitions: int
    scaling_exponent: float
    peak_power_equation: str
    smallest_group: int
    tests: Mapping[str, TestPlan]
    phases: Mapping[str, tuple[PhaseSet, ...]]
    key_measures: tuple[KeyMeasure, ...]
    ratios: Mapping[str, Ratio]
    charts: Mapping[str, tuple[float, float]]
    limits: Mapping[str, tuple[float, float]]
    angles: Mapping[str, float]
    against: str
    wind_error_s: float
    angle_tolerance: float
    typical_errors: Mapping[tuple[str, str, str], OwnError]
    smallest_worthwhile: Mapping[tuple[str, str, str], float]
    headlines: Mapping[str, tuple[KeyMeasure, ...]]
    references: tuple[Reference, ...]
    split_errors: Mapping[str, float]
    emphases: Mapping[str, Emphasis]
    planned: tuple[str, ...]
    body: Protocol
    checks: Mapping[str, str]

    def headline(self, group: str) -> tuple[KeyMeasure, ...]:
        """The measures whose changes make a group's headline, set beforehand."""
        return self.headlines.get(group, self.headlines[ALL_GROUPS])

    @property
    def phase_names(self) -> tuple[str, ...]:
        """The name of every phase of every set, once each, in the battery's order.

        After them those of neighbours, as they are called where the gate between was missed.
        """
        sets = [one.names for sets in self.phases.values() for one in sets]
        joined = (
            " and ".join(names[first:last])
            for names in sets
            for first in range(len(names))
            for last in range(first + 2, len(names) + 1)
        )
        return tuple(dict.fromkeys([*(name for names in sets for name in names), *joined]))

    def test_named(self, text: str) -> TestPlan | None:
        """The test a sheet calls ``text``: case, spaces and aliases aside."""
        wanted = _plain(text)
        for plan in self.tests.values():
            if wanted in {_plain(name) for name in (plan.name, *plan.aliases)}:
                return plan
        return None

    def phase_named(self, text: str) -> str | None:
        """The phase a sheet calls ``text``, case and spaces aside."""
        return next((name for name in self.phase_names if _plain(name) == _plain(text)), None)

    def emphasis_named(self, text: str) -> Emphasis | None:
        """The emphasis a sheet calls ``text``, case and spaces aside."""
        named = (one for one in self.emphases.values() if _plain(one.name) == _plain(text))
        return next(named, None)

    def gates(self, plan: TestPlan) -> tuple[float, ...]:
        """The gates of a run in metres: its own, those of its first phase set, or its end."""
        if plan.gates_m:
            return plan.gates_m
        sets = self.phases.get(plan.name, ()) if plan.kind == "sprint" else ()
        if sets:
            return sets[0].ends_m[1:]
        return () if plan.distance_m is None else (float(plan.distance_m),)

    def order(self, test: str) -> int:
        """Where a test stands in the battery; unknown ones last."""
        return list(self.tests).index(test) if test in self.tests else len(self.tests)


def _plain(text: str) -> str:
    return "".join(text.split()).casefold()


def nearest(word: str, known: Iterator[str] | tuple[str, ...] | list[str]) -> str:
    """A closing clause that offers the nearest known word, or nothing."""
    close = difflib.get_close_matches(word, list(known), n=1)
    return f"; did you mean “{close[0]}”?" if close else ""


def read_toml(path: Path, shown: str) -> dict[str, Any]:
    """Parse a TOML file, or say in one sentence why it cannot be."""
    if path.exists() and not path.is_file():  # a pipe would keep us waiting for ever
        raise CannotStartError(f"{shown} is no plain file.")
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except UnicodeDecodeError as error:
        raise CannotStartError(f"{shown} is not UTF-8 text; save it as UTF-8.") from error
    except tomllib.TOMLDecodeError as error:
        raise CannotStartError(f"{shown} cannot be read: {error}.") from error
    except OSError as error:
        raise CannotStartError(f"{shown} cannot be opened: {error.strerror}.") from error


def load(season: Path) -> tuple[Battery, list[Finding]]:
    """The battery of a season folder, defaults filled in.

    Raises:
        CannotStartError: a battery file is no TOML at all.
    """
    settings = read_toml(TEMPLATES / "battery.toml", "the default battery")
    findings: list[Finding] = []
    own = season / "battery.toml"
    if own.is_symlink():
        raise CannotStartError(
            "battery.toml is a link to another place; copy the file itself into the season folder."
        )
    if own.is_file():
        _merge(settings, read_toml(own, "battery.toml"), _Checker(findings))
    _known_words(settings, findings)
    return _build(settings), findings


# --- checking -------------------------------------------------------------------------------
# A check returns the value in its final form or raises ValueError with the reason.


def _text(value: object) -> object:
    if not isinstance(value, str):
        raise ValueError("it must be text in quotes")  # noqa: TRY004  # one kind of refusal
    return value


def _one_of(*allowed: str) -> Callable[[object], object]:
    def check(value: object) -> object:
        if value not in allowed:
            raise ValueError(f"it must be one of {', '.join(allowed)}")
        return value

    return check


def _number(low: float, high: float, *, whole: bool = False) -> Callable[[object], object]:
    def check(value: object) -> object:
        wanted = int if whole else (int, float)
        if isinstance(value, bool) or not isinstance(value, wanted):
            what = "a whole number" if whole else "a number"
            raise ValueError(f"it must be {what}")  # noqa: TRY004  # one kind of refusal
        if not low <= value <= high:
            raise ValueError(f"it must lie between {low:g} and {high:g}")
        return value

    return check


def _rebounds(value: object) -> object:
    if isinstance(value, bool) or value not in REBOUNDS:
        raise ValueError("it must be 5 or 10, the series that have a published rule")
    return value


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _range(value: object) -> object:
    if (
        not isinstance(value, list)
        or len(value) != 2  # noqa: PLR2004  # a range has two ends
        or not all(map(_is_number, value))
        or not value[0] < value[1]
    ):
        raise ValueError("it must be [low, high]")
    return value


def _names(value: object) -> object:
    if not isinstance(value, list) or not all(isinstance(v, str) for v in value):
        raise ValueError("it must be a list of texts")
    return value


def _distances(value: object) -> object:
    if not isinstance(value, list) or not all(_is_number(v) and v > 0 for v in value):
        raise ValueError("it must be a list of numbers above 0")
    if value != sorted(set(value)):
        raise ValueError("each number must be more than the one before")
    return value


def _phase_sets(value: object) -> object:
    if not isinstance(value, list) or not value or not all(isinstance(v, dict) for v in value):
        raise ValueError("it must be a list of sets")
    for one in value:
        ends, names = one.get("ends_m"), one.get("names")
        if not isinstance(ends, list) or not isinstance(names, list):
            raise ValueError("each set needs ends_m and names")  # noqa: TRY004  # one kind of refusal
        if not all(map(_is_number, ends)) or not all(isinstance(n, str) for n in names):
            raise ValueError("ends_m must be numbers and names texts")
        if len(ends) < 2 or ends != sorted(set(ends)) or ends[0] != 0:  # noqa: PLR2004  # as above
            raise ValueError("ends_m must rise from 0")
        if len(names) != len(ends) - 1:
            raise ValueError("there must be one name fewer than ends")
    return value


def _is_key_measure(value: object) -> bool:
    return (
        isinstance(value, dict)
        and set(value) == {"test", "measure"}
        and all(isinstance(text, str) for text in value.values())
    )


def _key_measures(value: object) -> object:
    if not isinstance(value, list) or not all(map(_is_key_measure, value)):
        raise ValueError("each entry needs test and measure, both texts")
    return value


def _own_errors(value: object) -> object:
    if not isinstance(value, dict) or not all(
        isinstance(v, dict)
        and set(v) == {"value", "unit"}
        and _is_number(v["value"])
        and v["value"] > 0
        and isinstance(v["unit"], str)
        for v in value.values()
    ):
        raise ValueError(
            'each entry needs a value above 0 and a unit, like {value = 1.1, unit = "%"}'
        )
    return value


def _amounts(value: object) -> object:
    if not isinstance(value, dict) or not all(_is_number(v) and v > 0 for v in value.values()):
        raise ValueError("each entry must be a number above 0, in the measure's unit")
    return value


def _headline(value: object) -> object:
    _key_measures(value)
    if isinstance(value, list) and len(value) > AT_MOST_KEY:
        raise ValueError(f"a headline holds at most {AT_MOST_KEY} measures, set beforehand")
    return value


_REFERENCE_KEYS = frozenset({"test", "measure", "sex", "mean", "sd", "n"})
_REFERENCE_MAY = frozenset({"part", "event"})


def _references(value: object) -> object:
    if not isinstance(value, list) or not all(
        isinstance(v, dict)
        and set(v) >= _REFERENCE_KEYS
        and set(v) <= _REFERENCE_KEYS | _REFERENCE_MAY
        and all(isinstance(v.get(name, ""), str) for name in ("test", "measure", "part", "event"))
        and v["sex"] in ("F", "M")
        and all(map(_is_number, (v["mean"], v["sd"], v["n"])))
        and v["sd"] > 0
        for v in value
    ):
        raise ValueError("each entry needs test, measure, sex (F or M), mean, sd and n")
    return value


def _ratio(value: object) -> object:
    if not isinstance(value, dict) or not all(_is_key_measure(value.get(s)) for s in _RATIO_SIDES):
        raise ValueError("it needs over and under, each with test and measure")
    return {side: value[side] for side in _RATIO_SIDES}


_EMPHASIS_TEXTS = ("families", "trains", "why", "talk")
_EMPHASIS = ("phases", *_EMPHASIS_TEXTS, "retest", "signs")


def _emphasis(value: object) -> object:
    if not isinstance(value, dict) or not set(value) >= set(_EMPHASIS):
        raise ValueError(f"it needs {', '.join(_EMPHASIS)}")
    for name in ("phases", "retest"):
        _names(value[name])
    for name in _EMPHASIS_TEXTS:
        _text(value[name])
    signs = value["signs"]
    if not isinstance(signs, list) or not all(
        isinstance(sign, dict)
        and {"measure"} <= set(sign) <= {"measure", "test", "better"}
        and all(isinstance(text, str) for text in sign.values())
        and sign.get("better", DIRECTIONS[0]) in DIRECTIONS
        for sign in signs
    ):
        raise ValueError("each sign needs a measure, and a test where only one counts")
    return {name: value[name] for name in _EMPHASIS}


def _flag(value: object) -> object:
    if not isinstance(value, bool):
        raise ValueError("it must be true or false")  # noqa: TRY004  # one kind of refusal
    return value


def _table(_: object) -> object:
    raise ValueError("it must be a table")


_Check = Callable[[object], object]

_SCALARS: dict[str, _Check] = {
    "season": _text,
    "dates": _one_of("", *DATE_ORDERS),
    "one_rep_max_equation": _one_of(*EQUATIONS),
    "max_repetitions": _number(1, 12, whole=True),
    "scaling_exponent": _number(0, 1),
    "peak_power_equation": _one_of(*POWER_EQUATIONS),
    "smallest_group": _number(5, 100, whole=True),
    "key_measures": _key_measures,
    "against": _one_of(PREVIOUS, LAST_YEAR),
    "wind_error_s": _number(0, 1),
    "angle_tolerance": _number(0, 90),
    "references": _references,
    "planned": _names,
}
_TEST_KEYS: dict[str, _Check] = {
    "kind": _one_of(*KINDS),
    "attempts": _number(1, 20, whole=True),
    "distance_m": _number(1, 1000),
    "aliases": _names,
    "protocol": _text,
    "estimate": _flag,
    "unit": _text,
    "better": _one_of(*DIRECTIONS),
    "decimals": _number(0, 4, whole=True),
    "low": _number(-1e6, 1e6),
    "high": _number(-1e6, 1e6),
    "rebounds": _rebounds,
    "who": _names,
    "sides": _flag,
    "drop_heights_cm": _distances,
    "gates_m": _distances,
    "sets": _number(1, 20, whole=True),
    "station": _number(STATIONS[0], STATIONS[-1], whole=True),
    "order": _text,
    "rest": _text,
    "no_mark": _text,
    "record": _names,
}
_TABLES: dict[str, _Check] = {
    "phases": _phase_sets,
    "ratios": _ratio,
    "charts": _range,
    "limits": _range,
    "angles": _number(0, 180),
    "typical_errors": _own_errors,
    "smallest_worthwhile": _amounts,
    "headline": _headline,
    "split_errors": _number(0.001, 1),
    "emphasis": _emphasis,
    "protocols": protocols.check,
    "checks": _one_of(SET_ASIDE, FLAG, OFF),
}
_FREE_NAMES = ("limits", "angles", "headline", "ratios", "emphasis")
"""Tables whose entries are not known here: measures, what staff look at, names they give."""
_BY_TEST = ("phases", "typical_errors", "smallest_worthwhile")
"""Tables whose entries are tests."""
_RATIO_SIDES = ("over", "under")


class _Checker:
    """Collects what is wrong with a season's battery; a bad value leaves the default."""

    def __init__(self, findings: list[Finding]) -> None:
        self._findings = findings

    def value(self, target: dict[str, Any], key: str, name: str, new: object, test: _Check) -> None:
        try:
            target[key] = test(new)
        except ValueError as error:
            self._findings.append(
                finding("battery-value", Place("battery.toml", column=name), key=name, why=error)
            )

    def unknown(self, name: str, key: str, known: list[str]) -> None:
        self._findings.append(
            finding(
                "battery-key",
                Place("battery.toml", column=name),
                key=name,
                guess=nearest(key, known),
            )
        )


def _merge(settings: dict[str, Any], own: dict[str, Any], check: _Checker) -> None:
    for key, new in own.items():
        if key in _SCALARS:
            check.value(settings, key, key, new, _SCALARS[key])
        elif key not in (*_TABLES, "tests"):
            check.unknown(key, key, [*_SCALARS, *_TABLES, "tests"])
        elif not isinstance(new, dict):
            check.value(settings, key, key, new, _table)
        elif key == "tests":
            for name, plan in new.items():
                _merge_test(settings["tests"], name, plan, check)
    tests = settings["tests"]
    for key in _TABLES:
        entries = own.get(key, {})
        for entry, value in entries.items() if isinstance(entries, dict) else ():
            known = list(tests) if key in _BY_TEST else list(settings[key])
            if key not in _FREE_NAMES and entry not in known:
                check.unknown(f"{key}.{entry}", entry, known)
            else:
                _merge_entry(settings[key], key, entry, value, check)


def _merge_entry(
    target: dict[str, Any], key: str, entry: str, value: object, check: _Checker
) -> None:
    before = target.get(entry)
    whole = before | value if isinstance(before, dict) and isinstance(value, dict) else value
    check.value(target, entry, f"{key}.{entry}", whole, _TABLES[key])
    fields = {
        "phases": ("ends_m", "names"),
        "ratios": _RATIO_SIDES,
        "emphasis": _EMPHASIS,
        "protocols": protocols.FIELDS,
    }.get(key, ())
    parts = value if isinstance(value, list) else [value]
    used = {n: None for one in parts if fields and isinstance(one, dict) for n in one}
    for name in (n for n in used if n not in fields):
        check.unknown(f"{key}.{entry}.{name}", name, list(fields))


def _merge_test(tests: dict[str, Any], name: str, plan: object, check: _Checker) -> None:
    where = f'tests."{name}"'
    if not isinstance(plan, dict):
        check.value(tests, name, where, plan, _table)
        return
    merged = dict(tests.get(name, {}))
    for key, value in plan.items():
        if key in _TEST_KEYS:
            check.value(merged, key, f"{where}.{key}", value, _TEST_KEYS[key])
        else:
            check.unknown(f"{where}.{key}", key, list(_TEST_KEYS))
    check.value(tests, name, where, merged, _whole_test)


def _whole_test(plan: object) -> object:
    """A test once its settings are in: it must have a kind, and a sprint a distance."""
    if isinstance(plan, dict) and "kind" not in plan:
        raise ValueError("a new test needs a kind")
    if isinstance(plan, dict) and plan["kind"] in BLOWN and "distance_m" not in plan:
        raise ValueError("a sprint needs its distance_m")
    if isinstance(plan, dict) and plan["kind"] == "rebound" and "rebounds" not in plan:
        raise ValueError("a rebound series needs rebounds, 5 or 10")
    if isinstance(plan, dict):
        _recordable(plan["kind"], plan.get("record", []))
    return plan


def _recordable(kind: str, headings: list[str]) -> None:
    for heading in headings:
        if heading not in RECORDED[kind]:
            guess = nearest(heading, RECORDED[kind])
            raise ValueError(f"no sheet of a {kind} has the heading “{heading}”{guess}")


def _known_words(settings: dict[str, Any], findings: list[Finding]) -> None:
    """Leave out what names no test among the planned ones, no heading among the recorded ones."""
    check = _Checker(findings)
    lists = [("planned", settings, list(settings["tests"]))]
    lists += [
        (f"protocols.{kind}.record", protocol, list(RECORDED[kind]))
        for kind, protocol in settings["protocols"].items()
    ]
    for where, table, known in lists:
        key = where.rpartition(".")[2]
        for word in table[key]:
            if word not in known:
                check.unknown(f"{where}.{word}", word, known)
        table[key] = [word for word in table[key] if word in known]


BLOWN = ("sprint", "flying", "repeated")
"""Kinds of tests that are run, over a distance and through the wind."""


def unknown_measures(battery: Battery, known: list[str]) -> list[Finding]:
    """Measures that a battery names and nothing computes; only those who know them can say."""
    named = {f"limits.{key}": key for key in battery.limits}
    named |= {f"key_measures.{k.measure}": k.measure for k in battery.key_measures}
    named |= {
        f"headline.{group}.{k.measure}": k.measure
        for group, keys in battery.headlines.items()
        for k in keys
    }
    named |= {f"typical_errors.{t}.{m}": m for t, m, _ in battery.typical_errors}
    named |= {f"smallest_worthwhile.{t}.{m}": m for t, m, _ in battery.smallest_worthwhile}
    named |= {f"references.{r.measure}": r.measure for r in battery.references}
    named |= {
        f"emphasis.{e.name}.{s.measure}": s.measure
        for e in battery.emphases.values()
        for s in e.signs
    }
    findings: list[Finding] = []
    for name, key in named.items():
        if key not in known:
            _Checker(findings).unknown(name, key, known)
    return findings


_NEVER_ESTIMATED = ("clean", "snatch")
"""Lifts whose name holds one are not estimated unless the battery says so: common practice, no
source; the equations were made for slow lifts."""


_LISTS_OF_TEST = ("aliases", "who", "drop_heights_cm", "gates_m", "record")


def _plan(name: str, plan: dict[str, Any], of_kind: Mapping[str, dict[str, Any]]) -> TestPlan:
    """A test with what its kind's protocol says, its own words before those of the kind."""
    names = [_plain(n) for n in (name, *plan.get("aliases", ()))]
    estimate = not any(word in n for word in _NEVER_ESTIMATED for n in names)
    whole = {"estimate": estimate, **of_kind[plan["kind"]], **plan}
    lists = {key: tuple(whole.get(key, ())) for key in _LISTS_OF_TEST}
    return TestPlan(name, **{**whole, **lists})


def _build(settings: dict[str, Any]) -> Battery:
    return Battery(
        season=settings["season"],
        dates=settings["dates"],
        one_rep_max_equation=settings["one_rep_max_equation"],
        max_repetitions=settings["max_repetitions"],
        scaling_exponent=float(settings["scaling_exponent"]),
        peak_power_equation=settings["peak_power_equation"],
        smallest_group=settings["smallest_group"],
        tests={
            name: _plan(name, plan, settings["protocols"])
            for name, plan in settings["tests"].items()
        },
        phases={
            name: tuple(PhaseSet(tuple(s["ends_m"]), tuple(s["names"])) for s in sets)
            for name, sets in settings["phases"].items()
        },
        key_measures=tuple(KeyMeasure(**entry) for entry in settings["key_measures"]),
        ratios={
            name: Ratio(name, *(KeyMeasure(**sides[side]) for side in _RATIO_SIDES))
            for name, sides in settings["ratios"].items()
        },
        charts={name: (low, high) for name, (low, high) in settings["charts"].items()},
        limits={name: (low, high) for name, (low, high) in settings["limits"].items()},
        angles={name: float(angle) for name, angle in settings["angles"].items()},
        against=settings["against"],
        wind_error_s=float(settings["wind_error_s"]),
        angle_tolerance=float(settings["angle_tolerance"]),
        typical_errors={
            place: OwnError(float(own["value"]), own["unit"])
            for place, own in _by_part(settings["typical_errors"])
        },
        smallest_worthwhile={
            place: float(amount) for place, amount in _by_part(settings["smallest_worthwhile"])
        },
        headlines={
            group: tuple(KeyMeasure(**entry) for entry in entries)
            for group, entries in settings["headline"].items()
        },
        references=tuple(Reference(**entry) for entry in settings["references"]),
        split_errors={how: float(error) for how, error in settings["split_errors"].items()},
        emphases={name: _an_emphasis(name, one) for name, one in settings["emphasis"].items()},
        planned=tuple(settings["planned"]),
        body=Protocol.of(settings["protocols"]["body"]),
        checks=dict(settings["checks"]),
    )


def _an_emphasis(name: str, one: Mapping[str, Any]) -> Emphasis:
    return Emphasis(
        name=name,
        phases=tuple(one["phases"]),
        **{text: one[text] for text in _EMPHASIS_TEXTS},
        retest=tuple(one["retest"]),
        signs=tuple(Sign(**sign) for sign in one["signs"]),
    )


def _by_part(table: Mapping[str, Mapping[str, Any]]) -> Iterator[tuple[tuple[str, str, str], Any]]:
    """Entries by (test, measure, part); a key is a measure, or ``"measure, part"``."""
    for test, entries in table.items():
        for key, value in entries.items():
            measure, _, part = key.partition(", ")
            yield (test, measure, part), value
