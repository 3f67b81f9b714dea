"""The battery: defaults, a season's own settings, and what is said of bad ones."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from pipeline import battery as batteries
from pipeline import computing, reading
from pipeline.battery import TEMPLATES, Battery, OwnError, PhaseSet
from pipeline.errors import CannotStartError, Finding
from pipeline.measures.registry import MEASURES
from tests import seasons


def _load(folder: Path, text: str | None = None) -> tuple[Battery, list[Finding]]:
    if text is not None:
        (folder / "battery.toml").write_text(text, encoding="utf-8")
    return batteries.load(folder)


# --- defaults -------------------------------------------------------------------------------


def test_the_default_battery_loads_without_a_word(tmp_path: Path) -> None:
    battery, findings = _load(tmp_path)
    assert not findings
    assert {plan.kind for plan in battery.tests.values()} <= set(batteries.KINDS)
    assert battery.one_rep_max_equation in batteries.EQUATIONS
    assert battery.smallest_group >= 5


def test_the_default_battery_laid_over_itself_changes_nothing(tmp_path: Path) -> None:
    default, _ = _load(tmp_path)
    text = (TEMPLATES / "battery.toml").read_text(encoding="utf-8")
    assert _load(tmp_path, text) == (default, [])


def test_every_default_names_tests_and_measures_that_there_are(tmp_path: Path) -> None:
    battery, _ = _load(tmp_path)
    assert {k.test for k in battery.key_measures} <= set(battery.tests)
    assert {k.measure for k in battery.key_measures} <= set(MEASURES)
    assert set(battery.phases) <= set(battery.tests)
    assert set(battery.limits) <= set(MEASURES)


def test_every_run_of_the_default_battery_has_a_distance(tmp_path: Path) -> None:
    battery, _ = _load(tmp_path)
    for plan in battery.tests.values():
        assert (plan.kind in ("sprint", "flying", "repeated")) == (plan.distance_m is not None)


def test_phases_of_the_default_battery_end_where_the_design_says(tmp_path: Path) -> None:
    battery, _ = _load(tmp_path)
    ends = {name: [s.ends_m for s in sets] for name, sets in battery.phases.items()}
    assert ends["100 m"] == [(0, 10, 30, 60, 100), (0, 30, 60, 100), (0, 10, 30), (0, 30)]
    assert ends["60 m"][0] == (0, 10, 30, 60)


def test_an_empty_battery_file_changes_nothing(tmp_path: Path) -> None:
    default, _ = _load(tmp_path)
    assert _load(tmp_path, "# nothing yet\n") == (default, [])


# --- a season's own -------------------------------------------------------------------------


def test_a_setting_of_the_season_replaces_that_default_and_no_other(tmp_path: Path) -> None:
    default, _ = _load(tmp_path)
    battery, findings = _load(
        tmp_path,
        'season = "2026/27"\none_rep_max_equation = "brzycki"\nmax_repetitions = 5\n'
        "[limits]\njump_height = [5, 75]\n",
    )
    assert not findings
    assert battery.season == "2026/27"
    assert battery.one_rep_max_equation == "brzycki"
    assert battery.max_repetitions == 5
    assert battery.limits["jump_height"] == (5, 75)
    assert (battery.tests, battery.phases, battery.charts) == (
        default.tests, default.phases, default.charts,
    )  # fmt: skip


def test_a_new_test_of_the_season_is_known_by_name_and_alias(tmp_path: Path) -> None:
    battery, findings = _load(
        tmp_path, '[tests."trap-bar deadlift"]\nkind = "lift"\naliases = ["trap bar", "TBD"]\n'
    )
    assert not findings
    for written in (
        "trap-bar deadlift",
        "Trap-Bar  Deadlift",
        "trap-bardeadlift",
        "TRAP BAR",
        "tbd",
    ):
        plan = battery.test_named(written)
        assert plan is not None
        assert plan.name == "trap-bar deadlift"
    assert battery.test_named("log press") is None
    assert battery.order("trap-bar deadlift") == len(battery.tests) - 1
    assert battery.order("log press") == len(battery.tests)


def test_a_result_of_a_new_test_reaches_the_tables(tmp_path: Path) -> None:
    season = seasons.write(
        tmp_path,
        {
            "battery.toml": '[tests."80 m"]\nkind = "sprint"\ndistance_m = 80\n',
            f"{seasons.DAY_FOLDER}/sprints.csv": "athlete_id,test,t80_s\nA01,80 m,10.12\n",
        },
    )
    results = computing.check(season, None).tables["results"]
    (row,) = results[(results["test"] == "80 m") & (results["measure"] == "time")].to_dict(
        "records"
    )
    assert row["value"] == 10.12


def test_a_phase_set_of_the_season_replaces_the_sets_of_that_test(tmp_path: Path) -> None:
    battery, findings = _load(
        tmp_path, '[[phases."60 m"]]\nends_m = [0, 20, 60]\nnames = ["first", "second"]\n'
    )
    assert not findings
    assert battery.phases["60 m"] == (PhaseSet((0, 20, 60), ("first", "second")),)
    assert len(battery.phases["100 m"]) == 4


def test_part_of_a_known_test_may_be_changed(tmp_path: Path) -> None:
    default, _ = _load(tmp_path)
    battery, findings = _load(tmp_path, '[tests."60 m"]\nattempts = 4\n')
    assert not findings
    assert battery.tests["60 m"].attempts == 4
    assert battery.tests["60 m"].distance_m == 60
    assert list(battery.tests) == list(default.tests)


def test_settings_of_change_are_read(tmp_path: Path) -> None:
    battery, findings = _load(
        tmp_path,
        'against = "last year"\nwind_error_s = 0.05\n'
        '[typical_errors]\n"60 m" = {time = {value = 0.8, unit = "%"}, '
        '"phase_time, drive" = {value = 0.02, unit = "s"}}\n'
        '[smallest_worthwhile]\n"60 m" = {time = 0.04}\n'
        '[headline]\njumps = [{test = "countermovement jump", measure = "jump_height"}]\n'
        '[[references]]\ntest = "60 m"\nmeasure = "time"\nsex = "F"\nmean = 8.1\nsd = 0.3\n'
        'n = 40\nevent = "100 m"\n',
    )
    assert not findings
    assert (battery.against, battery.wind_error_s) == ("last year", 0.05)
    assert battery.typical_errors == {
        ("60 m", "time", ""): OwnError(0.8, "%"),
        ("60 m", "phase_time", "drive"): OwnError(0.02, "s"),
    }
    assert battery.smallest_worthwhile["60 m", "time", ""] == 0.04
    assert battery.smallest_worthwhile["60 m", "split_time", "10 m"] == 0.006  # the default stays
    assert [k.test for k in battery.headline("jumps")] == ["countermovement jump"]
    assert battery.headline("anybody else") == battery.headlines["default"]
    (line,) = battery.references
    assert (line.sex, line.event, line.part, line.mean) == ("F", "100 m", "", 8.1)


def test_the_defaults_of_change_are_those_of_their_sources(tmp_path: Path) -> None:
    """0.2 of the spread of trained sprinters at 10 to 40 m, recomputed from Haugen et al. 2019."""
    battery, _ = _load(tmp_path)
    assert (battery.against, battery.wind_error_s) == ("previous", 0.03)
    assert battery.typical_errors == {}
    assert len(battery.headlines["default"]) <= 5
    splits = [
        battery.smallest_worthwhile["60 m", "split_time", f"{gate} m"] for gate in (10, 20, 30, 40)
    ]
    assert splits == [0.006, 0.010, 0.016, 0.022]


def test_a_season_changes_a_word_of_an_emphasis_and_keeps_the_rest(tmp_path: Path) -> None:
    default, _ = _load(tmp_path)
    changed, findings = _load(
        tmp_path, '[emphasis."short contacts"]\ntalk = "light feet"\n[split_errors]\ngates = 0.02\n'
    )
    assert not findings
    old, new = (b.emphases["short contacts"] for b in (default, changed))
    assert new.talk == "light feet"
    assert (new.families, new.signs, new.phases) == (old.families, old.signs, old.phases)
    assert (changed.split_errors["gates"], changed.split_errors["hand"]) == (0.02, 0.08)


def test_every_default_emphasis_serves_a_phase_and_names_measures_that_there_are(
    tmp_path: Path,
) -> None:
    battery, _ = _load(tmp_path)
    phases = {name for sets in battery.phases.values() for one in sets for name in one.names}
    for one in battery.emphases.values():
        assert set(one.phases) <= phases
        assert {sign.measure for sign in one.signs} <= set(MEASURES)
        assert {sign.test for sign in one.signs} - {""} <= set(battery.tests)
        assert set(one.retest) - {"technique"} <= set(battery.tests)
        assert all((one.families, one.trains, one.why, one.talk))
    served = {name for one in battery.emphases.values() for name in one.phases}
    assert {"start", "drive", "maximum velocity", "maintenance"} <= served


# --- bad values -----------------------------------------------------------------------------

BAD = [
    ("season = 5", "season"),
    ('one_rep_max_equation = "Epley"', "one_rep_max_equation"),
    ('[tests."power clean"]\nestimate = "no"', 'tests."power clean".estimate'),
    ("ratios = 3", "ratios"),
    ('[ratios]\nx = "a over b"', "ratios.x"),
    ('[ratios.x]\nover = {test = "power clean", measure = "one_rep_max"}', "ratios.x"),
    ('[ratios.x]\nover = {test = "power clean"}\nunder = {test = "60 m"}', "ratios.x"),
    ("one_rep_max_equation = 1", "one_rep_max_equation"),
    ('one_rep_max_equation = ["epley"]', "one_rep_max_equation"),
    ("max_repetitions = 0", "max_repetitions"),
    ("max_repetitions = 13", "max_repetitions"),
    ("max_repetitions = 5.5", "max_repetitions"),
    ("max_repetitions = true", "max_repetitions"),
    ('max_repetitions = "10"', "max_repetitions"),
    ("scaling_exponent = 1.5", "scaling_exponent"),
    ("scaling_exponent = nan", "scaling_exponent"),
    ("scaling_exponent = false", "scaling_exponent"),
    ("smallest_group = 4", "smallest_group"),
    ("smallest_group = 1000", "smallest_group"),
    ("key_measures = 3", "key_measures"),
    ('key_measures = ["time"]', "key_measures"),
    ('[[key_measures]]\ntest = "60 m"', "key_measures"),
    ('[[key_measures]]\ntest = 60\nmeasure = "time"', "key_measures"),
    ('[[key_measures]]\ntest = "60 m"\nmeasure = "time"\npart = "x"', "key_measures"),
    ("limits = 5", "limits"),
    ("charts = [0, 13]", "charts"),
    ('phases = "all"', "phases"),
    ("tests = 3", "tests"),
    ("[limits]\njump_height = 75", "limits.jump_height"),
    ("[limits]\njump_height = [75, 5]", "limits.jump_height"),
    ("[limits]\njump_height = [5, 5]", "limits.jump_height"),
    ("[limits]\njump_height = [5, 50, 75]", "limits.jump_height"),
    ('[limits]\njump_height = ["5", "75"]', "limits.jump_height"),
    ("[limits]\njump_height = [nan, 75]", "limits.jump_height"),
    ("[limits]\njump_height = [false, true]", "limits.jump_height"),
    ("[charts]\nspeed_mps = [0, inf]", "charts.speed_mps"),
    ("[charts]\nspeed_mps = [13, 0]", "charts.speed_mps"),
    ('[phases]\n"60 m" = []', "phases.60 m"),
    ('[phases]\n"60 m" = [1, 2]', "phases.60 m"),
    ('[phases]\n"60 m" = "thirds"', "phases.60 m"),
    ('[[phases."60 m"]]\nends_m = [0, 30]', "phases.60 m"),
    ('[[phases."60 m"]]\nends_m = []\nnames = []', "phases.60 m"),
    ('[[phases."60 m"]]\nends_m = [0]\nnames = []', "phases.60 m"),
    ('[[phases."60 m"]]\nends_m = [0, 30]\nnames = ["a", "b"]', "phases.60 m"),
    ('[[phases."60 m"]]\nends_m = [0, 30, 10]\nnames = ["a", "b"]', "phases.60 m"),
    ('[[phases."60 m"]]\nends_m = [0, 30, 30]\nnames = ["a", "b"]', "phases.60 m"),
    ('[[phases."60 m"]]\nends_m = [10, 30]\nnames = ["a"]', "phases.60 m"),
    ('[[phases."60 m"]]\nends_m = [0, "30"]\nnames = ["a"]', "phases.60 m"),
    ('[[phases."60 m"]]\nends_m = [0, [30]]\nnames = ["a"]', "phases.60 m"),
    ('[[phases."60 m"]]\nends_m = [0, nan]\nnames = ["a"]', "phases.60 m"),
    ('[[phases."60 m"]]\nends_m = [0, 30]\nnames = [1]', "phases.60 m"),
    ('[tests]\n"60 m" = 5', 'tests."60 m"'),
    ('[tests."60 m"]\nkind = "swim"', 'tests."60 m".kind'),
    ('[tests."60 m"]\nattempts = 0', 'tests."60 m".attempts'),
    ('[tests."60 m"]\nattempts = 2.0', 'tests."60 m".attempts'),
    ('[tests."60 m"]\ndistance_m = "60"', 'tests."60 m".distance_m'),
    ('[tests."60 m"]\ndistance_m = -60', 'tests."60 m".distance_m'),
    ('[tests."60 m"]\naliases = "sixty"', 'tests."60 m".aliases'),
    ('[tests."60 m"]\naliases = [60]', 'tests."60 m".aliases'),
    ('[tests."60 m"]\nprotocol = 1', 'tests."60 m".protocol'),
    ('[tests."new one"]\nattempts = 2', 'tests."new one"'),
    ('against = "last month"', "against"),
    ("against = 1", "against"),
    ("wind_error_s = -0.1", "wind_error_s"),
    ("wind_error_s = 2", "wind_error_s"),
    ('wind_error_s = "0.03"', "wind_error_s"),
    ('[typical_errors]\n"60 m" = 0.8', "typical_errors.60 m"),
    ('[typical_errors]\n"60 m" = {time = 0.8}', "typical_errors.60 m"),
    ('[typical_errors]\n"60 m".time = {value = 0.8}', "typical_errors.60 m"),
    ('[typical_errors]\n"60 m".time = {value = 0, unit = "s"}', "typical_errors.60 m"),
    ('[typical_errors]\n"60 m".time = {value = inf, unit = "s"}', "typical_errors.60 m"),
    ('[typical_errors]\n"60 m".time = {value = 1, unit = 1}', "typical_errors.60 m"),
    ('[smallest_worthwhile]\n"60 m" = 0.05', "smallest_worthwhile.60 m"),
    ('[smallest_worthwhile]\n"60 m" = {time = -0.05}', "smallest_worthwhile.60 m"),
    ('[smallest_worthwhile]\n"60 m" = {time = "0.05"}', "smallest_worthwhile.60 m"),
    ("[headline]\nsprint = 5", "headline.sprint"),
    ('[headline]\nsprint = [{test = "60 m"}]', "headline.sprint"),
    (
        "[headline]\nsprint = [" + ", ".join(['{test = "60 m", measure = "time"}'] * 6) + "]",
        "headline.sprint",
    ),
    ('references = ["60 m"]', "references"),
    (
        '[[references]]\ntest = "60 m"\nmeasure = "time"\nsex = "W"\nmean = 8\nsd = 1\nn = 9',
        "references",
    ),
    (
        '[[references]]\ntest = "60 m"\nmeasure = "time"\nsex = "F"\nmean = 8\nsd = 0\nn = 9',
        "references",
    ),
    ('[[references]]\ntest = "60 m"\nmeasure = "time"\nsex = "F"\nmean = 8\nsd = 1', "references"),
    ("angle_tolerance = 100", "angle_tolerance"),
    ("[split_errors]\ngates = 0", "split_errors.gates"),
    ('[split_errors]\ngates = "0.01"', "split_errors.gates"),
    ('[emphasis]\n"short contacts" = "bounds"', "emphasis.short contacts"),
    ('[emphasis."short contacts"]\ntalk = 5', "emphasis.short contacts"),
    ('[emphasis."short contacts"]\nphases = "drive"', "emphasis.short contacts"),
    ('[emphasis."short contacts"]\nsigns = ["rsi"]', "emphasis.short contacts"),
    ('[emphasis."short contacts"]\nsigns = [{test = "60 m"}]', "emphasis.short contacts"),
    (
        '[emphasis."short contacts"]\nsigns = [{measure = "rsi", better = "more"}]',
        "emphasis.short contacts",
    ),
    ('[emphasis.sleds]\nphases = ["drive"]', "emphasis.sleds"),  # a new one must be whole
    ('planned = "60 m"', "planned"),
    ('[tests."60 m"]\nwho = "sprint"', 'tests."60 m".who'),
    ('[tests."60 m"]\nsides = "both"', 'tests."60 m".sides'),
    ('[tests."60 m"]\ngates_m = [30, 10]', 'tests."60 m".gates_m'),
    ('[tests."60 m"]\ngates_m = [0, 10]', 'tests."60 m".gates_m'),
    ('[tests."drop jump"]\ndrop_heights_cm = 30', 'tests."drop jump".drop_heights_cm'),
    ('[tests."back squat"]\nsets = 0', 'tests."back squat".sets'),
    ('[tests."60 m"]\nstation = 100', 'tests."60 m".station'),
    ('[tests."60 m"]\nrest = 6', 'tests."60 m".rest'),
    ('[tests."60 m"]\nrecord = ["flight_time_s"]', 'tests."60 m"'),
    ("[protocols]\nlift = 5", "protocols.lift"),
    ("[protocols.lift]\nrest = 3", "protocols.lift"),
    ("[protocols.lift]\nstation = true", "protocols.lift"),
    ("[protocols.lift]\nstation = [1]", "protocols.lift"),
    ('[protocols.lift]\nrecord = "load_kg"', "protocols.lift"),
    ("[protocols.lift]\nrecord = [1]", "protocols.lift"),
]


@pytest.mark.parametrize(("text", "key"), BAD)
def test_a_bad_value_keeps_the_default_and_is_an_error_that_names_it(
    tmp_path: Path, text: str, key: str
) -> None:
    tomllib.loads(text)  # the fault is in the value, not in the TOML
    default, _ = _load(tmp_path)
    battery, findings = _load(tmp_path, text)
    assert [(f.code, f.place.file, f.place.column) for f in findings] == [
        ("battery-value", "battery.toml", key)
    ]
    assert f"“{key}”" in findings[0].message
    assert battery == default


def test_a_bad_value_does_not_keep_the_good_ones_out(tmp_path: Path) -> None:
    battery, findings = _load(
        tmp_path,
        "max_repetitions = 99\nscaling_exponent = 0.5\n"
        "[limits]\njump_height = 9\nbody_mass = [30, 150]\n",
    )
    assert len(findings) == 2
    assert (battery.scaling_exponent, battery.limits) == (0.5, {"body_mass": (30, 150)})


def test_a_new_sprint_without_a_distance_is_said_to_lack_one(tmp_path: Path) -> None:
    _, findings = _load(tmp_path, '[tests."80 m"]\nkind = "sprint"\n')
    (fault,) = findings
    assert fault.code == "battery-value"
    assert "distance_m" in fault.message


# --- protocols ------------------------------------------------------------------------------


def test_a_tests_own_words_go_before_those_of_its_kind(tmp_path: Path) -> None:
    default, _ = _load(tmp_path)
    battery, findings = _load(
        tmp_path,
        '[protocols.lift]\nrest = "5 min."\nrecord = ["load_lb", "reps"]\n'
        '[tests."back squat"]\nrest = "4 min."\nsides = true\n'
        '[tests."hip thrust"]\nkind = "lift"\nwho = ["sprint women", "100 m"]\n',
    )
    assert not findings
    squat, thrust = battery.tests["back squat"], battery.tests["hip thrust"]
    assert (squat.rest, thrust.rest) == ("4 min.", "5 min.")
    assert squat.record == thrust.record == ("load_lb", "reps")
    assert thrust.no_mark == default.tests["front squat"].no_mark
    assert (squat.sides, thrust.sides) == (True, False)
    assert thrust.who == ("sprint women", "100 m")


def test_gates_are_the_tests_own_else_of_its_phases_else_its_end(tmp_path: Path) -> None:
    battery, _ = _load(tmp_path, '[tests."40 m"]\ngates_m = [5, 40]\n')
    gates = {name: battery.gates(battery.tests[name]) for name in ("40 m", "60 m", "flying 20 m")}
    assert gates == {"40 m": (5, 40), "60 m": (10, 30, 60), "flying 20 m": (20,)}
    assert battery.gates(battery.tests["back squat"]) == ()


@pytest.mark.parametrize(
    ("text", "key", "guess"),
    [
        ('planned = ["60 m", "61 m"]', "planned.61 m", "60 m"),
        (
            '[protocols.lift]\nrecord = ["load_kg", "rep"]', "protocols.lift.record.rep", "reps",
        ),
        ("[protocols.lifts]\nstation = 1", "protocols.lifts", "lift"),
        ('[protocols.lift]\nno_marks = "x"', "protocols.lift.no_marks", "no_mark"),
    ],
)  # fmt: skip
def test_a_word_of_the_sheets_that_nothing_knows_is_named_and_left_out(
    tmp_path: Path, text: str, key: str, guess: str
) -> None:
    battery, findings = _load(tmp_path, text)
    (fault,) = (f for f in findings if f.code == "battery-key")
    assert (fault.place.column, f"“{guess}”" in fault.message) == (key, True)
    assert battery.planned in ((), ("60 m",))
    assert "rep" not in battery.tests["back squat"].record


# --- unknown keys ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "key", "nearest"),
    [
        ("max_repititions = 5", "max_repititions", "max_repetitions"),
        ("[limit]\njump_height = [5, 75]", "limit", "limits"),
        ('[test."60 m"]\nattempts = 2', "test", "tests"),
        ('[tests."60 m"]\natempts = 2', 'tests."60 m".atempts', "attempts"),
        ('[tests."60 m"]\ndistance = 60', 'tests."60 m".distance', "distance_m"),
        ("[charts]\nsped_mps = [0, 13]", "charts.sped_mps", "speed_mps"),
        ("[limits]\njump_hight = [5, 75]", "limits.jump_hight", "jump_height"),
        (
            '[[key_measures]]\ntest = "60 m"\nmeasure = "tiem"',
            "key_measures.tiem",
            "time",
        ),
        ('[typical_errors]\n"60m".time = {value = 1, unit = "%"}', "typical_errors.60m", "60 m"),
        (
            '[typical_errors]\n"60 m".tiem = {value = 1, unit = "%"}',
            "typical_errors.60 m.tiem",
            "time",
        ),
        ('[smallest_worthwhile]\n"60 m" = {tiem = 1}', "smallest_worthwhile.60 m.tiem", "time"),
        (
            '[headline]\nx = [{test = "60 m", measure = "tiem"}]',
            "headline.x.tiem",
            "time",
        ),
        (
            '[[references]]\ntest = "60 m"\nmeasure = "tiem"\nsex = "F"\nmean = 1\nsd = 1\nn = 9',
            "references.tiem",
            "time",
        ),
        ("wind_eror_s = 0.1", "wind_eror_s", "wind_error_s"),
        ("[split_errors]\ngate = 0.02", "split_errors.gate", "gates"),
        ('[emphasis."short contacts"]\ntlak = "x"', "emphasis.short contacts.tlak", "talk"),
        (
            '[emphasis."short contacts"]\nsigns = [{measure = "rsj"}]',
            "emphasis.short contacts.rsj",
            "rsi",
        ),
        (
            '[[phases."60m"]]\nends_m = [0, 30]\nnames = ["start"]',
            "phases.60m",
            "60 m",
        ),
        (
            '[[phases."60 m"]]\nends_m = [0, 30]\nnames = ["start"]\nnmaes = ["x"]',
            "phases.60 m.nmaes",
            "names",
        ),
    ],
)
def test_a_setting_that_nothing_reads_is_named_with_the_nearest_known_one(
    tmp_path: Path, text: str, key: str, nearest: str
) -> None:
    """The exact key shown is the project's to choose; that one is shown is not."""
    season = seasons.write(tmp_path, {"battery.toml": text})
    faults = [f for f in reading.read(season, None).findings if f.code.startswith("battery-")]
    assert len(faults) == 1
    assert key.rsplit(".", maxsplit=1)[-1] in faults[0].message
    assert f"“{nearest}”" in faults[0].message


def test_a_key_like_no_other_gets_no_guess(tmp_path: Path) -> None:
    _, (fault,) = _load(tmp_path, 'weather = "fair"\n')
    assert fault.code == "battery-key"
    assert "did you mean" not in fault.message


# --- files ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "data", [b"limits = [", b"\xff\xfe\x00", 'season = "Fr\u00fch"'.encode("cp1252")]
)
def test_a_file_that_is_no_toml_cannot_start_a_run_and_is_named(
    tmp_path: Path, data: bytes
) -> None:
    (tmp_path / "battery.toml").write_bytes(data)
    with pytest.raises(CannotStartError, match=r"battery\.toml"):
        batteries.load(tmp_path)
