"""Whom a row belongs to: names through accents, order and slips; never a choice between two."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.errors import Finding, Place
from pipeline.intake.people import People, folded
from pipeline.intake.roster import FULL_NAME, Athlete, Roster
from tests.intake.small import adds_up, found, message, read, states

ROW = Place("2026/jumps.csv", "", 2)


def _people(**names: str) -> People:
    athletes = {
        key: Athlete(key, name or key, "", None, (), "", None, None, FULL_NAME)
        for key, name in names.items()
    }
    return People(Roster(athletes, Place("roster.csv"), (), frozenset({"x09"})))


def _of_row(
    people: People, row: Place, raw_id: str, name: str = ""
) -> tuple[Athlete | None, list[Finding]]:
    return people.of_row(row, {"athlete_id": raw_id, "name": name}, {"athlete_id": "Who"})


SQUAD = {
    "A01": "Ada Quillon",
    "A02": "Bram Ostrander-Vale",
    "A03": "José-María d'Árbol",
    "A04": "Łucja Sørensen-Weiß",
    "A05": "Jon Smithers",
    "A06": "Jan Smithers",
    "A07": "Cleo Vanterpool",
    "A08": "Vanterpool Cleo",
    "A09": "Ana Maria Terzopoulou",
    "NA": "Null None",
    "B10": "Zoë März",
    "C11": "",
    "007": "Gil Ban",
    "12E3": "Ivo Ka",
}


@pytest.fixture(scope="module", name="squad")
def _squad() -> People:
    return _people(**SQUAD)


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("  ADA\u00a0 Quillon ", ("ada", "quillon")),
        ("Weiß", ("weiss",)),
        ("Łódź", ("lodz",)),
        ("Ångström-Ørsted", ("angstrom", "orsted")),
        ("O’Brien / O'Brien", ("obrien", "obrien")),
        ("İnci Işık", ("inci", "isik")),
        ("Ae\u0301", ("ae",)),
        ("नेहा", ("नेहा",)),
        ("so\u00adft", ("soft",)),
        ("--", ()),
    ],
)
def test_letters_are_folded(written: str, words: tuple[str, ...]) -> None:
    assert folded(written) == words


@pytest.mark.parametrize(
    ("raw", "who", "code"),
    [
        # by id
        ("A01", "A01", ""), (" a01 ", "A01", ""), ("NA", "NA", ""), ("na", "NA", ""),
        ("007", "007", ""), ("12E3", "12E3", ""),
        # an id after a spreadsheet, or with a zero left out
        ("7", "007", "athlete-id-near"), ("7.0", "007", "athlete-id-near"),
        ("12000", "12E3", "athlete-id-near"), ("A1", "A01", "athlete-id-near"),
        # by name, written otherwise
        ("ada quillon", "A01", ""), ("Null None", "NA", ""),
        ("Quillon, Ada", "A01", "athlete-respelled"),
        ("OSTRANDER VALE, Bram", "A02", "athlete-respelled"),
        ("Bram OstranderVale", "A02", "athlete-respelled"),
        ("Bram\u00a0Ostrander\u2013Vale", "A02", "athlete-respelled"),
        ("Darbol Jose Maria", "A03", "athlete-respelled"),
        ("Lucja Sorensen Weiss", "A04", "athlete-respelled"),
        ("Zoe Marz", "B10", "athlete-respelled"),
        # near
        ("Ada Quilon", "A01", "athlete-name-near"), ("Adda Quillno", "A01", "athlete-name-near"),
        ("Bram Ostrender-Vale", "A02", "athlete-name-near"),
        ("Ana Terzopoulou", "A09", "athlete-name-near"),
        # nobody, or one of two
        ("Cleo Vanterpool", None, "athlete-name-shared"),
        ("Vanterpool, Cleo", None, "athlete-name-shared"),
        ("Jn Smithers", None, "athlete-unclear"), ("Jin Smithers", None, "athlete-unclear"),
        ("B77", None, "athlete-unknown"), ("A11", None, "athlete-unknown"),
        ("Ada", None, "athlete-unknown"), ("Gil Bin", "007", "athlete-name-near"),
        ("Ivo Ku", "12E3", "athlete-name-near"), ("Ivo", None, "athlete-unknown"),
        ("MEAN", None, "athlete-unknown"), ("Average", None, "athlete-unknown"),
        ("Ada Quintana", None, "athlete-unknown"), ("x09", None, "athlete-id-contested"),
        ("", None, "athlete-blank"),
    ],
)  # fmt: skip
def test_whom_a_text_means(squad: People, raw: str, who: str | None, code: str) -> None:
    match = squad.match(raw)
    assert (match.athlete.athlete_id if match.athlete else None, match.code) == (who, code)


@pytest.mark.parametrize(
    ("raw_id", "raw_name", "who", "code"),
    [
        ("A01", "Ada Quillon", "A01", ""), ("A01", "quillon, ada", "A01", ""),
        ("A01", "–", "A01", ""), ("A01", "Ada", "A01", "athlete-respelled"),
        ("A01", "A. Quillon", "A01", "athlete-respelled"),
        ("A01", "Ada Quilon", "A01", "athlete-respelled"),
        ("A05", "Jon Smithers", "A05", ""), ("A07", "Cleo Vanterpool", "A07", ""),
        ("A1", "Ada Quillon", "A01", "athlete-id-near"),
        ("A01", "Bram Ostrander-Vale", None, "athlete-disagrees"),
        ("A05", "Jan Smithers", None, "athlete-disagrees"),
        ("A05", "Jn Smithers", None, "athlete-disagrees"),
        ("A01", "Somebody Else", None, "athlete-disagrees"),
        ("A1", "Bram Ostrander-Vale", None, "athlete-disagrees"),
        ("Ada Quillon", "Zoe Marz", None, "athlete-disagrees"),
        ("B77", "Ada Quillon", None, "athlete-unknown"),
        ("", "Ada Quillon", "A01", ""), ("C11", "Anybody Atall", "C11", ""),
    ],
)  # fmt: skip
def test_an_id_and_a_name_beside_it(
    squad: People, raw_id: str, raw_name: str, who: str | None, code: str
) -> None:
    match = squad.match(raw_id, raw_name)
    assert (match.athlete.athlete_id if match.athlete else None, match.code) == (who, code)


@pytest.mark.parametrize(
    ("raw_id", "raw_name", "told"),
    [
        ("Cleo Vanterpool", "", ("A07", "A08")),
        ("Jn Smithers", "", ("A05", "A06")),
        ("A01", "Bram Ostrander-Vale", ("A01", "A02")),
        ("B77", "Ada Quillon", ("B77", "A01")),
        ("Ada Quilon", "", ("Ada Quilon", "A01")),
        ("7", "", ("“7”", "007")),
    ],
)
def test_whoever_is_meant_or_could_be_is_named(
    squad: People, raw_id: str, raw_name: str, told: tuple[str, str]
) -> None:
    athlete, (said,) = _of_row(squad, ROW, raw_id, raw_name)
    for word in told:
        assert word in said.message
    assert said.athlete_id == (athlete.athlete_id if athlete else "")
    assert said.place.row == 2


def test_another_spelling_is_said_once_a_sheet_and_a_near_one_at_each_row() -> None:
    people = _people(**SQUAD)
    said = [_of_row(people, ROW.at(row), "Quillon, Ada")[1] for row in (2, 3)]
    said += [_of_row(people, Place("b.csv", "", 2), "Quillon, Ada")[1]]
    assert [len(one) for one in said] == [1, 0, 1]
    assert [len(_of_row(people, ROW.at(row), "Ada Quilon")[1]) for row in (2, 3)] == [1, 1]


def test_ids_that_become_one_are_never_chosen_between() -> None:
    people = _people(**{"007": "", "07": "", "0007": ""})
    match = people.match("7")
    assert (match.athlete, match.code) == (None, "athlete-unclear")
    assert people.match("07").athlete is not None


def test_an_id_with_two_names_in_the_sheets_is_set_aside_where_the_roster_has_none() -> None:
    people = _people(A01="", A02="")
    for row, (key, name) in enumerate(
        [("A01", "Ada Quillon"), ("A01", "Bram Vale"), ("A02", "Cleo Ruud"), ("A02", "Cleo Rud")],
        start=2,
    ):
        _of_row(people, ROW.at(row), key, name)
    faults = people.called_twice()
    assert [(f.code, f.place.row, f.athlete_id) for f in faults] == [
        ("athlete-two-names", 2, ""), ("athlete-two-names", 3, ""),
    ]  # fmt: skip
    assert "“Ada Quillon” and “Bram Vale”" in faults[0].message


ROSTER = "athlete_id,name\nA01,Ada Quillon\nA02,Bram Vale\nA03,Ada Quillon\nA04,\nx1,Ann\nX1,Bo\n"
JUMPS = """\
athlete_id,name,test,attempt,flight_time_s
,"Vale, Bram",cmj,1,0.50
Bram Vael,,cmj,2,0.51
,Ada Quillon,cmj,1,0.52
A01,Ada Quillon,cmj,1,0.53
A01,Bram Vale,cmj,2,0.54
A04,Cleo Ruud,cmj,1,0.55
A04,Dag Marchetti,cmj,2,0.56
X1,Ann,cmj,1,0.57
"""


@pytest.mark.parametrize(
    "columns", [("name",), ("Surname", "First name"), ("Vorname", "Nachname"), ("Nom", "Prénom")]
)
def test_a_name_in_one_or_two_columns_is_enough(tmp_path: Path, columns: tuple[str, ...]) -> None:
    names = {"name": "Ada Quillon", "Nom": "Quillon", "Prénom": "Ada"}
    names |= dict.fromkeys(("Surname", "Nachname"), "Quillon")
    names |= dict.fromkeys(("First name", "Vorname"), "Ada")
    row = ",".join(names[column] for column in columns)
    text = ",".join(columns) + f",test,flight_time_s\n{row},cmj,0.5\n"
    day = read(tmp_path, {"jumps.csv": text})
    assert not found(day)
    assert day.trials.attempts["athlete_id"].tolist() == ["A01"]


def test_a_day_by_name_uses_who_is_plain_and_loses_no_row(tmp_path: Path) -> None:
    status = "name,test,status\nBram Vale,cmj,limited\nAda Quillon,cmj,limited\n"
    day = read(tmp_path, {"jumps.csv": JUMPS, "status.csv": status}, {"roster.csv": ROSTER})
    used = day.trials.values[day.trials.values["status"] == "used"]
    who = day.trials.attempts.loc[used["key"], "athlete_id"]
    assert sorted(zip(who, used["raw"], strict=True)) == [
        ("A01", "0.53"), ("A02", "0.50"), ("A02", "0.51"),
    ]  # fmt: skip
    rows = [(code, row) for code, row, _ in found(day) if row and code.startswith("athlete")]
    assert sorted(rows, key=lambda r: (r[1], r[0])) == [
        ("athlete-respelled", 2), ("athlete-name-near", 3), ("athlete-name-shared", 3),
        ("athlete-name-shared", 4), ("athlete-disagrees", 6), ("athlete-two-names", 7),
        ("athlete-two-names", 8), ("athlete-id-contested", 9),
    ]  # fmt: skip
    assert states(day, "jumps.csv") == (8, 2, 1, 5)
    assert states(day, "status.csv") == (2, 1, 0, 1)
    assert adds_up(day)
    assert [s.athlete_id for s in day.statuses] == ["A02"]
    assert "A02" in message(day, "athlete-name-near")
