"""What an athlete's page says of phases, targets and choices: each state, each reason, each word.

Figures are invented; the words are those of the promise that only a gap for one's own time stands
out, that nothing is ranked, and that nothing is prescribed.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from pipeline import bundle, computing, tables
from pipeline.bundle import AthleteSlice, DayBundle
from pipeline.compare import followed, phase_reference
from pipeline.report import athlete, phases
from pipeline.report.blocks import Section
from pipeline.report.facts import Report
from tests import seasons
from tests.seasons import DAY_FOLDER

NAN = math.nan
SPRING = "2026-05-spring"
AGAIN = "We look again at the next testing day."
LEAD = "Where the next tenth may be. "


@pytest.fixture(scope="module", name="folder")
def _folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A season of two days, the first a little slower."""
    place = tmp_path_factory.mktemp("two")
    day = seasons.DAY.replace("2026-09", "2026-05").replace("autumn", "spring")
    slower = seasons.SPRINTS.replace("4.28", "4.58").replace("4.31", "4.61")
    slower = slower.replace("7.70", "8.00").replace("7.74", "8.04")
    files = {f"{SPRING}/day.toml": day, f"{SPRING}/sprints.csv": slower}
    bundle.write(place / "data", computing.check(seasons.write(place / "season", files), None))
    return place / "data" / "athletes"


@pytest.fixture(name="base")
def _base(folder: Path) -> AthleteSlice:
    """A01, a minor, with two good runs of the 60 m."""
    return bundle.read_athlete(folder / "A01.json")


def _state(state: str, **more: Any) -> dict[str, Any]:
    return {
        "athlete_id": "A01", "test": "60 m", "conditions": "start=three-point", "runs": 2,
        "state": state, "hint": False, "reference": "squad", "reason": "", "sprints": 34,
        "people": 14, "listed_people": 0, "group": "", "group_people": 0, "z_used": 2.214,
        "main": True,
    } | more  # fmt: skip


def _group(state: str, **more: Any) -> dict[str, Any]:
    """A state without a line of own-time shape, beside a group."""
    off = {"reference": "", "reason": phase_reference.TOO_FEW, "z_used": None}
    return _state(state, **{**off, "group": "own event", "group_people": 6, **more})


PLAIN = {
    "athlete_id": "A01", "test": "60 m", "runs": 2, "group_reference": NAN, "group_gap": NAN,
    "expected": NAN, "usual_low": NAN, "usual_high": NAN, "own_gap": NAN, "low": NAN, "high": NAN,
    "z": NAN, "finding": "",
}  # fmt: skip
STRETCHES = (("start", 0.0, 10.0), ("drive", 10.0, 30.0), ("maximum velocity", 30.0, 60.0))
TIMES = (2.05, 2.25, 3.424)


def _rows(*more: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The three phases of a 60 m, each with what is given for it."""
    return [
        {**PLAIN, "phase": name, "from_m": low, "to_m": high, "time": time, **own}
        for (name, low, high), time, own in zip(STRETCHES, TIMES, more, strict=True)
    ]


def _own(expected: float, usual: tuple[float, ...], cost: tuple[float, ...]) -> dict[str, Any]:
    """What a row has where a line is in use: the usual ends, and the cost with its ends."""
    names = ("usual_low", "usual_high", "own_gap", "low", "high")
    return {"expected": expected, **dict(zip(names, (*usual, *cost), strict=True))}


START = _own(2.06, (2.0, 2.12), (-0.012, -0.06, 0.05))
DRIVE = _own(2.33, (2.27, 2.39), (-0.1, -0.16, -0.03))
LATE = _own(3.304, (3.231, 3.378), (0.24, 0.09, 0.39))
OUT = LATE | {"finding": "stands out"}
WITHIN = _own(3.354, (3.27, 3.44), (0.14, -0.02, 0.3)) | {"finding": "most to gain"}
BESIDE = {"group_reference": 3.361, "group_gap": 0.063, "finding": "most to gain"}


def _made(base: AthleteSlice, *, minor: bool = True, **given: Any) -> Report:
    """The slice with states, rows and facts laid over it."""
    facts = copy.deepcopy(dict(base.facts))
    person = dict(facts["athlete"])
    for name in ("phase_states", "proposals", "target_phases"):
        person[name] = list(given.get(name, ()))
    facts["athlete"] = person | {"minor": minor}
    own = {
        name: pd.DataFrame(list(given.get(name, ())), columns=list(tables.SCHEMAS[name].columns))
        for name in ("phases", "targets", "plan")
    }
    return Report(AthleteSlice(facts, base.results, base.changes, findings=base.findings, **own))


def _words(section: Section) -> str:
    return str(section._repr_mimebundle_()["text/plain"])


def _lines(section: Section, start: str) -> list[str]:
    """The lines of a section's tables that begin so, blanks made single."""
    return [
        " ".join(line.split()) for line in _words(section).splitlines() if line.startswith(start)
    ]


def _first(base: AthleteSlice, state: dict[str, Any], rows: Sequence[Any], **more: Any) -> str:
    made = _made(base, phase_states=[state], phases=rows, **more)
    return _words(phases.next_tenth(made))


# --- the first page -----------------------------------------------------------------------------

TALK = {"test": "60 m", "phase": "maximum velocity", "says": "suggested",
        "emphasis": "short contacts", "talk": "quick, springy ground contacts"}  # fmt: skip
MAYBE = {**TALK, "says": "talk about"}


def test_a_phase_stands_out_in_seconds_beside_runners_alike_and_at_the_finish(
    base: AthleteSlice,
) -> None:
    said = _first(base, _state("stands out"), _rows(START, DRIVE, OUT), proposals=[TALK])
    assert said.split("\n\n") == [
        LEAD + "30–60 m of your 60 m took 3.42 s, the mean of both your good runs. Runners with a "
        "60 m like yours usually need 3.23 to 3.37 s there. That may cost you about 0.24 s at the "
        "finish (0.09 to 0.39 s).",
        "What next. Your coach will talk with you about quick, springy ground contacts. " + AGAIN,
    ]


def test_a_time_beyond_what_is_usual_never_looks_like_its_edge(base: AthleteSlice) -> None:
    """3.4241 s beyond 3.4239 s would read 3.42 and 3.42: then the middle stands alone."""
    edge = OUT | {"usual_high": 3.4239}
    said = _first(base, _state("stands out"), _rows(START, DRIVE, edge))
    assert "usually need about 3.30 s there" in said
    assert "to 3.42" not in said


def test_two_phases_may_stand_out_and_each_is_talked_about_as_far_as_it_goes(
    base: AthleteSlice,
) -> None:
    rows = _rows(START | {"finding": "stands out"}, DRIVE, OUT)
    maybe = {**TALK, "phase": "start", "says": "talk about", "talk": ""}
    said = _first(base, _state("stands out", runs=3), rows, proposals=[TALK, maybe])
    assert "0–10 m of your 60 m took 2.05 s, the mean of your 3 good runs." in said
    assert "30–60 m of your 60 m took 3.42 s" in said
    assert "will talk with you about quick, springy ground contacts." in said
    assert "may talk with you about 0–10 m, start." in said


def test_published_finals_are_no_runners_of_the_squad(base: AthleteSlice) -> None:
    state = _state("stands out", reference="published")
    said = _first(base, state, _rows(START, DRIVE, OUT))
    assert "Finalists with a 60 m like yours usually need" in said


def test_most_to_gain_is_softer_and_within_what_is_usual(base: AthleteSlice) -> None:
    rows = _rows(START, DRIVE, WITHIN)
    said = _first(base, _state("most to gain"), rows, proposals=[MAYBE])
    assert said.split("\n\n") == [
        LEAD + "Your coach may want to look at 30–60 m of your 60 m: 3.42 s, the mean of both your "
        "good runs. Runners with a 60 m like yours usually need about 3.35 s there. The difference "
        "is within what is usual, so it may just be your way of running.",
        "What next. Your coach may talk with you about 30–60 m, maximum velocity. " + AGAIN,
    ]


@pytest.mark.parametrize(
    ("group", "others"),
    [
        ("own band", "the 6 others of your event and age"),
        ("own age", "the 6 others of your age"),
        ("own event", "the 6 others of your event"),
        ("own sex", "the 6 others of the squad"),
    ],
)
def test_beside_others_nothing_stands_out(base: AthleteSlice, group: str, others: str) -> None:
    said = _first(base, _group("most to gain", group=group), _rows({}, {}, BESIDE))
    assert said == (
        f"{LEAD}Your coach may want to look at 30–60 m of your 60 m: 3.42 s, the mean of both your "
        f"good runs. The mean of {others} is 3.36 s. Whether that is more than runners usually "
        f"differ cannot be said yet. {AGAIN}"
    )


@pytest.mark.parametrize(("row", "within"), [(WITHIN, True), (LATE, False)])
def test_one_run_is_a_hint_and_says_so(
    base: AthleteSlice, row: Mapping[str, Any], *, within: bool
) -> None:
    """A single run beyond what is usual is not said to lie within it, nor to stand out."""
    rows = _rows(START, DRIVE, {**row, "finding": "most to gain"})
    said = _first(base, _state("most to gain", runs=1, hint=True), rows)
    assert "60 m: 3.42 s in your one good run. " in said
    assert "One run is a hint, no more." in said
    assert ("within what is usual" in said) is within
    assert "stands out" not in said


def test_balanced_is_said_aloud(base: AthleteSlice) -> None:
    rows = _rows(START, DRIVE, {**WITHIN, "finding": ""})
    said = _first(base, _state("balanced"), rows)
    assert said == f"{LEAD}No phase stands out: your 60 m is balanced for its time. {AGAIN}"
    said = _first(base, _group("balanced"), _rows({}, {}, {}))
    assert said == (
        f"{LEAD}No phase of your 60 m stands out beside the 6 others of your event. {AGAIN}"
    )


@pytest.mark.parametrize(
    ("reason", "told"),
    [
        (
            phase_reference.TOO_FEW,
            "too few like you ran the 60 m the same way so far. Each testing day adds to it.",
        ),
        (
            phase_reference.OUTSIDE,
            (
                "nobody near your 60 m time was timed the same way so far. "
                "Each testing day adds to it."
            ),
        ),
        (
            phase_reference.NO_SEX,
            (
                "the squad's list lacks what it takes to choose others like you. "
                "Your coach can fill that in."
            ),
        ),
        (
            phase_reference.NOT_FROM_MOVEMENT,
            (
                "without a reaction time your 60 m counts from the gun, not from first movement. A "
                "reaction time would help next time."
            ),
        ),
        (
            phase_reference.ONE_PHASE,
            "your 60 m was timed in one stretch. Gates on the way would help next time.",
        ),
        (
            phase_reference.NO_RANGE,
            "those who ran the 60 m like you all ran one time. Each testing day adds to it.",
        ),
    ],
)
def test_too_thin_says_why_and_what_would_help(base: AthleteSlice, reason: str, told: str) -> None:
    state = _group("too thin", reason=reason, group="", group_people=0)
    said = _first(base, state, _rows({}, {}, {}))
    assert said == f"{LEAD}That cannot be said yet: {told} {AGAIN}"


def test_one_run_or_a_missed_gate_is_too_thin_to_call_balanced(base: AthleteSlice) -> None:
    """The slice holds two timed runs: with one of them judged, the other lacked a gate."""
    said = _first(base, _state("too thin", runs=1), _rows(START, DRIVE, LATE))
    assert said == (
        f"{LEAD}That cannot be said yet: only one of your 2 runs of the 60 m had a time at every "
        f"gate. A second run with every gate would tell more. {AGAIN}"
    )
    times = base.results["measure"].eq("time") & base.results["test"].eq("60 m")
    base.results.loc[times, "n_attempts"] = 1
    said = _first(base, _state("too thin", runs=1), _rows(START, DRIVE, LATE))
    assert said == (
        f"{LEAD}That cannot be said yet: you had one good run of the 60 m. A second run would tell "
        f"more. {AGAIN}"
    )


def test_two_reasons_are_both_told(base: AthleteSlice) -> None:
    base.results.loc[base.results["measure"] == "time", "n_attempts"] = 1
    state = _group("too thin", group="", group_people=0, runs=1)
    said = _first(base, state, _rows({}, {}, {}))
    assert "you had one good run of the 60 m and too few like you ran the 60 m" in said
    assert "A second run would tell more. Each testing day adds to it." in said


def test_without_a_sprint_by_phase_that_is_said(base: AthleteSlice) -> None:
    said = _words(phases.next_tenth(_made(base)))
    assert said.startswith(LEAD + "No run of yours was timed at the ends of all its phases")
    jumped = AthleteSlice(
        base.facts, base.results[base.results["test"] != "60 m"], base.changes, base.phases,
        base.targets, base.plan, base.findings,
    )  # fmt: skip
    said = _words(phases.next_tenth(_made(jumped)))
    assert said == (
        LEAD + "No sprint of yours was timed by phase this time, so nothing can be said of it."
    )


STATES = [
    (_state("stands out"), _rows(START, DRIVE, OUT), [TALK]),
    (_state("most to gain"), _rows(START, DRIVE, WITHIN), [MAYBE]),
    (_state("most to gain", runs=1, hint=True), _rows(START, DRIVE, WITHIN), [MAYBE]),
    (_group("most to gain"), _rows({}, {}, BESIDE), [MAYBE]),
    (_state("balanced"), _rows(START, DRIVE, {**WITHIN, "finding": ""}), []),
    (_group("balanced"), _rows({}, {}, {}), []),
    (_state("too thin", runs=1), _rows(START, DRIVE, LATE), []),
    (_group("too thin", group=""), _rows({}, {}, {}), []),
]


@pytest.mark.parametrize(("state", "rows", "proposals"), STATES)
def test_the_first_page_ranks_nobody_prescribes_nothing_and_shows_no_formula(
    base: AthleteSlice, state: dict[str, Any], rows: list[Any], proposals: list[Any]
) -> None:
    young = _first(base, state, rows, proposals=proposals)
    grown = _first(base, state, rows, proposals=proposals, minor=False)
    assert young == grown
    forbidden = ("rank", "percentile", "z ", "deviation", "2.21", "body mass", "should", "must",
                 "you need to", "=", "÷", "σ", "first of", "slowest", "last of")  # fmt: skip
    assert [word for word in forbidden if word in young] == []
    assert young.endswith(AGAIN)


# --- the working page ---------------------------------------------------------------------------


def _goes(
    base: AthleteSlice, *states: dict[str, Any], rows: Sequence[Any], minor: bool = True
) -> Section:
    return phases.time_goes(_made(base, phase_states=states, phases=rows, minor=minor))


def test_the_working_page_says_which_line_is_in_use_and_on_what_it_stands(
    base: AthleteSlice,
) -> None:
    rows = _rows(START, DRIVE, OUT)
    said = _words(_goes(base, _state("stands out", listed_people=8), rows=rows))
    assert "A slower finish comes with slower phases everywhere" in said
    assert "Yours is the mean of both your good runs." in said
    assert (
        "Usual times: from 34 sprints by 14 others of your sex who ran it the same way (8 of them "
        "from the staff's table); you are not among them." in said
    )
    assert "2.21 standard deviations either way, all phases at once" in said
    assert "Too few others of your age ran it the same way to give their mean." in said
    published = _words(_goes(base, _state("stands out", reference="published"), rows=rows))
    assert "Usual times: from published finals of the men's 100 m." in published
    assert "sprints by" not in published


def test_the_table_gives_time_usual_cost_and_what_can_be_said(base: AthleteSlice) -> None:
    rows = _rows(START | {"group_reference": 2.071}, DRIVE, OUT)
    section = _goes(base, _state("stands out", group="own age", group_people=5), rows=rows)
    assert _lines(section, "phase ") == ["phase yours usual cost others' mean what we can say"]
    assert _lines(section, "0–10 m, start") == [
        "0–10 m, start 2.05 s 2.00 to 2.12 s −0.01 s −0.06 to +0.05 2.07 s within what is usual"
    ]
    assert _lines(section, "10–30 m, drive")[0].endswith("−0.16 to −0.03 – quick for your time")
    assert _lines(section, "30–60 m")[0].endswith("stands out: slow for your time")


def test_the_drawing_tells_a_state_by_shape_and_word(base: AthleteSlice) -> None:
    rows = _rows(START, DRIVE, OUT)
    drawing = _goes(base, _state("stands out"), rows=rows).blocks[-1]
    assert drawing.data()["type"] == "chart"
    assert drawing.data()["alt"] == (
        "60 m: cost of each phase at the finish. 0–10 m, start −0.01 s (−0.06 to +0.05), within "
        "what is usual; 10–30 m, drive −0.10 s (−0.16 to −0.03), quick for your time; 30–60 m, "
        "maximum velocity +0.24 s (+0.09 to +0.39), stands out."
    )
    assert "Square: stands out; diamond: most to gain; open circle: neither." in str(drawing.data())
    for word in ("stands out", "quick for your time", "30–60 m", "maximum velocity"):
        assert word in drawing.data()["svg"]


def test_one_run_is_a_hint_in_the_drawing_as_in_the_table(base: AthleteSlice) -> None:
    state = _state("most to gain", runs=1, hint=True)
    section = _goes(base, state, rows=_rows(START, DRIVE, WITHIN))
    assert _lines(section, "0–10 m, start")[0].endswith("cannot tell from one run")
    assert _lines(section, "30–60 m")[0].endswith("a hint of more to gain, from one run")
    alt = section.blocks[-1].data()["alt"]
    assert alt.count(", one run") == 2  # the other two phases
    assert alt.endswith("a hint, from one run.")
    assert "within what is usual" not in alt


def test_beside_others_the_table_has_their_mean_and_no_usual_time(base: AthleteSlice) -> None:
    rows = _rows(
        {"group_reference": 2.1, "group_gap": -0.05}, {"group_reference": 2.2, "group_gap": 0.05},
        BESIDE,
    )  # fmt: skip
    section = _goes(base, _group("most to gain"), rows=rows)
    said = _words(section)
    assert "No usual times for your own finish: too few like you ran the 60 m the same way" in said
    assert "(34 sprints by 14 others)" in said
    assert "The others' mean is that of the 6 others of your event, each counted once." in said
    assert _lines(section, "phase ") == ["phase yours others' mean what we can say"]
    assert _lines(section, "0–10 m, start")[0].endswith("not slower than the others")
    assert _lines(section, "10–30 m, drive")[0].endswith("slower, where others differ more")
    assert _lines(section, "30–60 m")[0].endswith("most to gain beside the others")
    assert not any(block.data()["type"] == "chart" for block in section.blocks)
    balanced = _goes(base, _group("balanced"), rows=_rows({}, {"group_gap": 0.05}, {}))
    assert _lines(balanced, "10–30 m")[0].endswith("slower, nothing to single out")


def test_with_nobody_to_be_held_against_no_table_is_drawn(base: AthleteSlice) -> None:
    state = _group("too thin", group="", group_people=0)
    young = _goes(base, state, rows=_rows({}, {}, {}))
    assert "So nothing is said of its phases yet." in _words(young)
    assert "of your age" in _words(young)
    assert not any(block.data()["type"] == "table" for block in young.blocks)
    grown = _words(_goes(base, state, rows=_rows({}, {}, {}), minor=False))
    assert "Too few others ran it the same way" in grown
    assert _words(phases.time_goes(_made(base))) == "No sprint was timed by phase on this day."


def test_every_sprint_has_its_place_and_one_of_them_the_first_page(base: AthleteSlice) -> None:
    other = [{**row, "test": "40 m", "to_m": min(row["to_m"], 40.0)} for row in _rows({}, {}, {})]
    states = [
        _group("too thin", test="40 m", main=False, group=""),
        _state("stands out"),
    ]
    made = _made(base, phase_states=states, phases=[*other, *_rows(START, DRIVE, OUT)])
    said = _words(phases.time_goes(made))
    assert said.index("\n60 m\n") < said.index("\n40 m\n")  # the battery's order
    assert "40 m" not in _words(phases.next_tenth(made))


# --- targets ------------------------------------------------------------------------------------

AIM = {
    "athlete_id": "A01", "test": "60 m", "measure": "time", "target": 7.6, "by": "2027-05-31",
    "unit": "s", "now": 7.7, "now_day": "2026-09-15", "part": "", "conditions": "clock=gate",
    "gap": 0.1, "terms_left": 2, "needed_per_term": 0.05, "best_term": 0.3,
    "best_from": "2026-05-15", "best_to": "2026-09-15", "state": "open",
}  # fmt: skip
NOT_LEFT = {"terms_left": None, "needed_per_term": None}
BEST = "0.30 s May 2026 to Sep 2026"
NO_TERM = {"best_term": None, "best_from": "", "best_to": ""}


def _aims(base: AthleteSlice, *rows: Mapping[str, Any], **more: Any) -> Section:
    return phases.targets(_made(base, targets=rows, **more))


def test_an_open_target_stands_beside_the_best_term_and_promises_nothing(
    base: AthleteSlice,
) -> None:
    section = _aims(base, AIM)
    (line,) = _lines(section, "60 m ")
    assert line == (
        "60 m 7.60 s by 31 May 2027 7.70 s 0.10 s 0.05 s 2 terms left 0.30 s May 2026 to Sep 2026 "
        "open"
    )
    said = _words(section)
    assert "That is a comparison, no promise." in said
    assert not any(word in said for word in ("will reach", "on course", "expected", "Reached"))
    (line,) = _lines(_aims(base, {**AIM, "terms_left": 1, "needed_per_term": 0.1}), "60 m ")
    assert "0.10 s 1 term left" in line


@pytest.mark.parametrize(
    ("more", "row", "sentence"),
    [
        (
            {"state": "reached", "now": 7.55, "gap": -0.05, **NOT_LEFT},
            f"60 m 7.60 s by 31 May 2027 7.55 s – – {BEST} reached",
            "Reached: 60 m (7.60 s). Your coach may set a new one with you.",
        ),
        (
            {"state": "late", "by": "2026-06-30", **NOT_LEFT},
            f"60 m 7.60 s by 30 Jun 2026 7.70 s 0.10 s – {BEST} its date has passed",
            "Not reached by its date: 60 m (7.60 s). Your coach may look at it with you.",
        ),
        (
            {"state": "open", "by": "", "now_day": "2026-05-15", **NOT_LEFT, **NO_TERM},
            "60 m 7.60 s 7.70 s 15 May 2026 0.10 s – – open",
            "",
        ),
        (
            {"state": "no value", "now": None, "now_day": "", "gap": None, "conditions": "",
             **NOT_LEFT, **NO_TERM},
            "60 m 7.60 s by 31 May 2027 – – – – not measured so far",
            "",
        ),
    ],
)  # fmt: skip
def test_each_state_of_a_target_is_a_word(
    base: AthleteSlice, more: Mapping[str, Any], row: str, sentence: str
) -> None:
    section = _aims(base, {**AIM, **more})
    assert _lines(section, "60 m ") == [row]
    assert sentence in _words(section)
    assert ("Reached:" in _words(section)) is (more["state"] == "reached")
    assert ("Not reached" in _words(section)) is (more["state"] == "late")


def test_a_target_of_a_jump_has_its_own_unit_and_words(base: AthleteSlice) -> None:
    jump = {**AIM, "test": "countermovement jump", "measure": "jump_height", "target": 36.0,
            "unit": "cm", "now": 33.02, "gap": 2.98, "needed_per_term": 1.49}  # fmt: skip
    (line,) = _lines(_aims(base, jump), "Countermovement jump, jump height")
    assert "36.0 cm by 31 May 2027 33.0 cm 3.0 cm 1.5 cm 2 terms left" in line


def test_nobody_without_a_target_is_given_one(base: AthleteSlice) -> None:
    assert _words(_aims(base)) == "No target is set for you."


def test_how_a_target_time_usually_looks_by_phase(base: AthleteSlice) -> None:
    now, then = TIMES, (2.04, 2.24, 3.32)
    at = [
        {"athlete_id": "A01", "test": "60 m", "target": 7.6, "by": "2027-05-31", "phase": name,
         "from_m": low, "to_m": high, "now": a, "then": b}
        for (name, low, high), a, b in zip(STRETCHES, now, then, strict=True)
    ]  # fmt: skip
    section = _aims(base, AIM, target_phases=at)
    said = _words(section)
    assert "A 60 m of 7.60 s usually looks like this." in said
    assert "not a plan for you" in said
    assert _lines(section, "30–60 m") == ["30–60 m, maximum velocity 3.42 s 3.32 s +0.10 s"]
    assert "the reaction comes on top" not in said
    from_gun = [{**row, "target": 7.75} for row in at]
    assert "the reaction comes on top" in _words(_aims(base, AIM, target_phases=from_gun))


# --- what was chosen ----------------------------------------------------------------------------


def _plan(base: AthleteSlice, measure: str, part: str, kind: str, **more: Any) -> dict[str, Any]:
    """A row of the plan beside a change the slice holds."""
    changes = base.changes[(base.changes["measure"] == measure) & (base.changes["part"] == part)]
    row = changes[changes["test"].isin(["60 m", "countermovement jump"])].iloc[0]
    same = {name: row[name] for name in ("test", "part", "measure", "conditions", "from_day")}
    return {
        "athlete_id": "A01", "chosen": "2026-05-18", "sprint_phase": "drive",
        "emphasis": "short contacts", "note": "as B. asked", "kind": kind, **same,
        "verdict": row["verdict"], "reason": row["reason"], **more,
    }  # fmt: skip


def test_what_was_chosen_stands_beside_what_the_phase_then_did(base: AthleteSlice) -> None:
    same = base.changes["measure"].eq("phase_time") & base.changes["part"].eq("drive")
    faster = {"change": -0.31, "low": -0.36, "high": -0.26, "verdict": "clearly better"}
    base.changes.loc[same, [*faster, "reason"]] = [*faster.values(), ""]
    plan = [_plan(base, "phase_time", "drive", "phase")]
    section = phases.chosen(_made(base, plan=plan))
    said = _words(section)
    assert "From 18 May 2026 you worked on drive (short contacts). Since then:" in said
    (line,) = _lines(section, "- 10–30 m, drive")
    assert line == (
        "- 10–30 m, drive (60 m), against 15 May 2026: clearly faster (by 0.31 s; needs 0.05 s)"
    )
    assert said.endswith("That is no proof it was the work: much else changes in a term.")
    assert "B. asked" not in said  # a note is the staff's own


@pytest.mark.parametrize(
    ("reason", "words"),
    [
        (followed.NOT_RUN, "That phase was not run this time"),
        (followed.FIRST_MARK, "That phase has no earlier time"),
        (followed.NO_PHASE, "No phase was named with it."),
    ],
)
def test_a_choice_with_nothing_beside_it_says_why_and_proves_nothing(
    base: AthleteSlice, reason: str, words: str
) -> None:
    row = _plan(base, "phase_time", "drive", "phase", reason=reason, verdict="")
    row |= dict.fromkeys(("test", "part", "measure", "conditions", "from_day"), "")
    said = _words(phases.chosen(_made(base, plan=[row])))
    assert words in said
    assert "no proof" not in said


def test_choices_stay_apart_and_a_blank_part_is_left_out(base: AthleteSlice) -> None:
    plan = [
        _plan(base, "phase_time", "drive", "phase", emphasis=""),
        _plan(base, "phase_time", "start", "phase", chosen="2026-08-01", sprint_phase=""),
    ]
    said = _words(phases.chosen(_made(base, plan=plan)))
    assert "From 18 May 2026 you worked on drive. Since then:" in said
    assert "From 1 Aug 2026 you worked on short contacts. Since then:" in said
    assert _words(phases.chosen(_made(base))) == (
        "Nothing was noted as chosen for you since the last testing day."
    )


# --- nobody else --------------------------------------------------------------------------------


def test_the_pages_of_one_hold_no_phase_target_or_choice_of_another(
    tmp_path: Path, base: AthleteSlice
) -> None:
    """Every figure and note of A02 is unlike any of A01's, and none is on A01's pages or slice."""
    whole = computing.check(seasons.write(tmp_path / "season", {}), None)
    theirs = {"athlete_id": "A02"}
    rows = _rows(START, DRIVE, OUT)
    other = [{**row, **theirs, "time": 77.71 + row["from_m"], "expected": 66.61} for row in rows]
    plan = _plan(base, "phase_time", "drive", "phase")
    laid = {
        "phases": [*rows, *other],
        "targets": [AIM, {**AIM, **theirs, "target": 55.51, "now": 987.61}],
        "plan": [plan, {**plan, **theirs, "note": "Zwiebelkuchen", "emphasis": "Quittengelee"}],
    }
    frames = dict(whole.tables) | {
        name: tables.shape(name, pd.DataFrame(given)) for name, given in laid.items()
    }
    states = [_state("stands out"), {**_state("stands out"), **theirs, "sprints": 98765}]
    at = {"test": "60 m", "target": 55.51, "by": "", "phase": "start", "from_m": 0, "to_m": 10,
          "now": 33.31, "then": 22.21}  # fmt: skip
    facts = dict(whole.day) | {"phase_states": states, "target_phases": [{**at, **theirs}]}
    bundle.write(tmp_path / "data", DayBundle(frames, facts))
    path = tmp_path / "data" / "athletes" / "A01.json"
    made = athlete.load(str(path))
    sections = (phases.next_tenth, phases.time_goes, phases.targets, phases.chosen)
    page = "\n".join(_words(section(made)) for section in sections)
    assert "3.42 s" in page
    assert "7.60 s" in page
    words = ("98765", "Zwiebel", "Quitten", "A02")
    marks = ("77.71", "66.61", "55.51", "987.61", "33.31", "22.21", *words)
    for text in (page, path.read_text(encoding="utf-8")):
        assert [mark for mark in marks if mark in text] == []
    theirs_too = (tmp_path / "data" / "athletes" / "A02.json").read_text(encoding="utf-8")
    missing = [mark for mark in marks if mark not in theirs_too]
    assert missing == ["Zwiebel"]  # a note is for staff: not even the own slice holds it


def test_field_sprints_are_judged_on_their_page_like_any_other(tmp_path: Path) -> None:
    """Six who ran the 40 m: the tables are the build's own, and the page has their words."""
    roster = "athlete_id,name,sex,birth_date,groups,event\n" + "".join(
        f"P{n},Person {n},F,2000-01-0{n},field,football\n" for n in range(1, 7)
    )
    runs = "".join(
        f"track,P{n},40 m,{run},{1.9 + 0.01 * n + 0.001 * run},{3.2 + 0.015 * n},"
        f"{5.6 + 0.02 * n + (0.2 if n == 6 else 0)}\n"
        for n in range(1, 7)
        for run in (1, 2)
    )
    head = "session,athlete_id,test,attempt,t10_s,t20_s,t40_s\n"
    files = {f"{DAY_FOLDER}/{name}.csv": None for name in ("jumps", "lifts", "body")}
    files |= {"roster.csv": roster, f"{DAY_FOLDER}/sprints.csv": head + runs}
    season = seasons.write(tmp_path / "season", files)
    bundle.write(tmp_path / "data", computing.check(season, None))
    made = athlete.load(str(tmp_path / "data" / "athletes" / "P6.json"))
    said = _words(athlete.next_tenth(made))
    assert "Your coach may want to look at 20–40 m of your 40 m: 2.63 s" in said
    assert "The mean of the 5 others of your event and age is 2.42 s." in said
    assert "most to gain beside the others" in _words(athlete.time_goes(made))
