"""Damage to the day's settings, the battery, and to which days there are."""

from __future__ import annotations

import random

from .damage import SETTINGS, cleared, damage, note_needed
from .made import DAY, Made

_DAY, _BATTERY = f"{DAY}/day.toml", "battery.toml"


def _into_day(made: Made, line: str) -> str:
    """Put a line before the first table of the day file."""
    made.settings[_DAY] = f"{line}\n{made.settings.get(_DAY, '')}"
    return line


def _after_day(made: Made, lines: str) -> str:
    made.settings[_DAY] = f"{made.settings.get(_DAY, '')}\n{lines}\n"
    return lines


@damage(SETTINGS)
def _day_setting_unknown(rng: random.Random, made: Made) -> str:
    lines = (
        'surfcae = "grass"',
        "x = 1",
        '"" = 2',
        "[session.track.more]\na = 1",
        "[columns]\na = 1",
    )
    line = rng.choice(lines)
    if line.startswith("["):
        return _after_day(made, line)
    return _into_day(made, line)


@damage(SETTINGS)
def _day_setting_wrong(rng: random.Random, made: Made) -> str:
    lines = (
        "indoor = 3", "surface = 1", 'timing = "sundial"', "altitude_m = inf", "altitude_m = nan",
        'repeat_of = "spring"', "repeat_of = 2026-09-15", "temperature_c = true", "beams = []",
        "pressure_hpa = 1e400", "altitude_m = -9999999999999999999", "resolution_ms = 0",
        "start = {}", "clock = 2026-09-15",
    )  # fmt: skip
    return _into_day(made, rng.choice(lines))


@damage(SETTINGS)
def _session_wrong(rng: random.Random, made: Made) -> str:
    lines = ("session = 1", "[session]\ntrack2 = 5", '[session.""]\nindoor = true',
             '[session."a;b!c"]\ndate = "x"', "[session.late]\ndate = 2020-01-01")  # fmt: skip
    line = rng.choice(lines)
    if line == "session = 1":
        made.settings[_DAY] = "date = 2026-09-15\nsession = 1\n"
    elif line.startswith("[session]"):
        made.settings[_DAY] = f"date = 2026-09-15\n{line}\n"
    else:
        _after_day(made, line)
    return line


@damage(SETTINGS)
def _session_not_there(rng: random.Random, made: Made) -> str:
    name = rng.choice(("track", "gym"))
    text = made.settings.get(_DAY, "")
    made.settings[_DAY] = text.replace(f"[session.{name}]", "[session.other]")
    return name


@damage(SETTINGS)
def _day_file_broken(rng: random.Random, made: Made) -> str:
    broken = ("", "date", "date = ", 'date = "soon"', "date = 2026-13-45", "date = 1\n", "\x00",
              "[date]\n", "date = 2026-09-15T10:00:00\n", "term = 'x'\n")  # fmt: skip
    made.settings[_DAY] = rng.choice(broken)
    made.stops |= {"day.toml", "testing day"}
    return repr(made.settings[_DAY])


@damage(SETTINGS, late=True)
def _settings_in_other_bytes(rng: random.Random, made: Made) -> str:
    name = rng.choice((_DAY, _BATTERY))
    data = made.files.get(name, b"")
    changed = (data.decode().encode("utf-16"), b"\xff" + data, b"\xef\xbb\xbf" + data,
               data.replace(b"\n", b"\r"), data + b"\x00")  # fmt: skip
    made.files[name] = rng.choice(changed)
    made.stops |= {name.rsplit("/", maxsplit=1)[-1], "testing day"}
    return name


@damage(SETTINGS, late=True)
def _settings_cut(rng: random.Random, made: Made) -> str:
    name = rng.choice((_DAY, _BATTERY))
    data = made.files.get(name, b"")
    made.files[name] = data[: rng.randrange(max(len(data), 1))]
    made.stops |= {name.rsplit("/", maxsplit=1)[-1], "testing day"}
    return name


@damage(SETTINGS, late=True)
def _settings_a_folder(rng: random.Random, made: Made) -> str:
    name = rng.choice((_DAY, _BATTERY))
    made.files.pop(name, None)
    made.disk.append(lambda season: cleared(season, name).mkdir())
    made.stops |= {name.rsplit("/", maxsplit=1)[-1], "testing day"}
    return name


@damage(SETTINGS, late=True)
def _battery_gone(rng: random.Random, made: Made) -> str:
    """It may be missing: then the default stands."""
    made.files[_BATTERY] = rng.choice((b"", b"# nothing yet\n"))
    if rng.random() < 0.5:
        made.files.pop(_BATTERY, None)
    return _BATTERY


@damage(SETTINGS)
def _battery_setting_unknown(rng: random.Random, made: Made) -> str:
    lines = ('[tests."60 m"]\natempts = 2', "[testz]\na = 1", "[limits]\nnothing = [1, 2]",
             "smallest = 3", '[typical_errors]\n"60 m" = 3')  # fmt: skip
    line = rng.choice(lines)
    made.settings[_BATTERY] = f"{line}\n"
    return line


@damage(SETTINGS)
def _battery_setting_wrong(rng: random.Random, made: Made) -> str:
    lines = (
        "tests = 1", "[tests]\nx = 1", '[tests."60 m"]\nattempts = -1',
        '[tests."60 m"]\nattempts = "two"', '[tests."60 m"]\ndistance_m = 0',
        '[tests.new]\nkind = "dance"', "[tests.new]\n", "[limits]\ntime = [2, 1]",
        "[limits]\ntime = 3", '[limits]\njump_height = ["a", "b"]', "phases = 4",
        '[[phases."60 m"]]\nends = [0, 30, 20]\nnames = ["a", "b"]',
        '[[phases."60 m"]]\nends = []\nnames = []', "[[key_measures]]\ntest = 3",
        "key_measures = {}",
        "smallest_group = 0", "season = 3", "[headline]\nsprint = 3", "[split_errors]\ngates = -1",
        "[emphasis.x]\nphases = 1", "[charts]\ntime = [nan, inf]", "[ratios.x]\n",
        '[tests.""]\nkind = "jump"',
        '[tests."a"]\nkind = "jump"\naliases = ["cmj"]', "[angles]\nx = 3",
        '[smallest_worthwhile."60 m"]\ntime = "much"', 'against = "never"',
    )  # fmt: skip
    line = rng.choice(lines)
    made.settings[_BATTERY] = f"{line}\n"
    return line


@damage(SETTINGS)
def _battery_broken(rng: random.Random, made: Made) -> str:
    made.settings[_BATTERY] = rng.choice(
        ("[tests", "= 1", 'a = "', "a = 1\na = 2", "\x00", "a.b.c")
    )
    made.stops.add("battery.toml")
    return made.settings[_BATTERY]


@damage(SETTINGS)
def _no_day(_: random.Random, made: Made) -> str:
    made.settings.pop(_DAY, None)
    made.stops |= {"day.toml", "testing day"}
    for sheet in made.of_day():
        sheet.known = False
    return _DAY


@damage(SETTINGS)
def _two_days_of_one_date(rng: random.Random, made: Made) -> str:
    made.settings["again/day.toml"] = f"date = {rng.choice(('2026-09-15', '2026-09-16'))}\n"
    made.stops.add("Two folders")
    if "16" in made.settings["again/day.toml"]:  # a later day without a sheet is the one read
        for sheet in made.of_day():
            sheet.known = False
    return made.settings["again/day.toml"]


@damage(SETTINGS)
def _day_in_a_folder_of_an_odd_name(rng: random.Random, made: Made) -> str:
    name = rng.choice(("a!b;c%21", "été 2026", " blank ", "x" * 100, "--out", "$HOME"))
    made.settings[f"{name}/day.toml"] = "date = 2026-05-20\n"
    return name


@damage(SETTINGS, late=True)
def _two_rosters(rng: random.Random, made: Made) -> str:
    made.files[f"roster{rng.choice(('.csv', '.CSV', '.tsv'))}"] = b"athlete_id\nA01\n"
    made.stops.add("roster")
    made.sheet("roster").known = False
    for sheet in made.sheets:
        sheet.known = False
    return "roster"


@damage(SETTINGS)
def _roster_of_doubles(rng: random.Random, made: Made) -> str:
    rows = made.sheet("roster").rows
    below = rows[1:]
    for row in below:
        row[0].text = rng.choice((row[0].text, row[0].text.lower(), below[0][0].text, "CON", "a b"))
    made.stops.add("roster")
    return ", ".join(row[0].text for row in below)


@damage(SETTINGS)
def _corrections(rng: random.Random, made: Made) -> str:
    """Signed or not, of cells that are there or not, that hold what was said or not."""
    lines = ["file,sheet,row,column,was,action,value,reason,by"]
    for _ in range(rng.choice((1, 3, 8))):
        sheet = rng.choice(made.sheets)
        row = rng.randrange(len(sheet.rows))
        at = rng.randrange(max(len(sheet.headings), 1))
        cells = [cell.text for cell in sheet.rows[row]]
        was = rng.choice((cells[at] if at < len(cells) else "", "", "7"))
        heading = sheet.headings[at].text if at < len(sheet.headings) else "nothing"
        column = rng.choice((heading, heading, heading, "", "nothing"))
        action = rng.choice(("replace", "exclude", "accept", "erase", ""))
        value, by = (
            rng.choice(("7.7", "0.5", "0.5", "A01", "", "=1+1")),
            rng.choice(("staff", "staff", "")),
        )
        number = rng.choice((str(row + 1), str(row + 1), "0", "99999", "x"))
        texts = (sheet.path, sheet.name, number, column, was, action, value, "misread", by)
        lines.append(",".join('"' + text.replace('"', '""') + '"' for text in texts))
        note_needed(made, sheet)
    made.settings["corrections.csv"] = "\n".join(lines) + "\n"
    return f"{len(lines) - 1} lines"
