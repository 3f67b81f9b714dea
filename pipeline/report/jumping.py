"""The working pages of jumps, drop jumps, rebounds, and of left against right."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from pipeline.measures import drop_jumps
from pipeline.measures.drop_jumps import BOTH, CONTACT, HEIGHT, NEITHER, RISING
from pipeline.measures.rebounds import SLOW
from pipeline.measures.registry import MEASURES
from pipeline.measures.sides import COMPARED_SIDES, LEFT, RIGHT, lasting, weaker_side
from pipeline.measures.spec import ESTIMATED, key_without
from pipeline.report import charts, wording
from pipeline.report.blocks import (
    FIGURE,
    NUMBER,
    TEXT,
    Block,
    Bullets,
    Heading,
    Prose,
    Section,
    Table,
)
from pipeline.report.facts import TWO_LINES, Report, best_before, flags_of, table_row
from pipeline.report.wording import say
from pipeline.tables import NOT_COMPARABLE

_WHAT = {
    HEIGHT: "moved height",
    CONTACT: "moved contact",
    BOTH: "moved both",
    NEITHER: "moved neither",
}
_TRIO = ("rsi", "jump_height", "contact_time")


def _cell(row: Any) -> str:
    """A value with its unit and as many digits as its instrument gives."""
    return wording.value(row["value"], MEASURES[row["measure"]], row["resolution"])


def jumps(report: Report) -> Section:
    """Jump heights and distances with the value before and the instrument's step."""
    rows = [
        _jump_row(report, row)
        for test in report.tests("jump", "distance jump")
        for record in MEASURES.values()
        if record.section == "jumps"
        for row in report.of(record.key, test).to_dict("records")
    ]
    if not rows:
        return Section.of(Prose(say("jumps none")))
    columns = [
        say(c)
        for c in ("col measure", "col before", "col best", "col now", "col attempts", "col how")
    ]
    kinds = [TEXT, FIGURE, FIGURE, FIGURE, NUMBER, FIGURE]
    table = Table(say("jumps caption"), columns, rows, kinds)
    return Section.of(table, Prose(say("jumps step")), sides(report, "jump", "distance jump"))


def _jump_row(report: Report, row: Any) -> list[str]:
    label, before, now, _ = table_row(report, row, TWO_LINES)
    estimated = row["basis"] == ESTIMATED
    half = wording.half_step(report.record(row), row["resolution"])
    # an equation is far less sure than the step of what goes into it
    shown = say("step", value=now, half=half) if half and not estimated else now
    how = ", ".join([ESTIMATED, *flags_of(row["flags"])]) if estimated else str(row["basis"])
    return [label, before, best_before(report, row), shown, str(int(row["n_attempts"])), how]


# --- left against right ---------------------------------------------------------------------


def sides(report: Report, *kinds: str) -> list[Block]:
    """Left beside right in the tests of some kinds, and a word where it is due."""
    tests = report.tests(*kinds)
    differences = report.of("asymmetry")
    differences = differences[differences["test"].isin(tests)]
    if differences.empty:
        return []
    rows, alarms = [], []
    earlier = report.results[report.results["measure"] == "asymmetry"]
    for _, row in differences.iterrows():
        shown = _side_values(report, row)
        record = MEASURES["asymmetry"]
        low, high = (wording.number(row[c], record.decimals) for c in ("low", "high"))
        value = wording.value(row["value"], record)
        rows.append(
            [
                wording.capital(str(row["test"])),
                shown.get(LEFT, wording.NOTHING),
                shown.get(RIGHT, wording.NOTHING),
                say("side difference", value=value, low=low, high=high),
                weaker_side(str(row["flags"])) or wording.NOTHING,
            ]
        )
        then = lasting(row, earlier)
        if then is not None:
            alarms.append(
                say(
                    "sides alarm",
                    test=wording.capital(str(row["test"])),
                    side=weaker_side(str(row["flags"])),
                    value=value,
                    date=wording.short_date(str(then["day"])),
                )
            )
    columns = [
        say(c) for c in ("col test", "col left", "col right", "col difference", "col weaker")
    ]
    table = Table(say("sides caption"), columns, rows, [TEXT, FIGURE, FIGURE, FIGURE, FIGURE])
    told: list[Block] = [Bullets(alarms)] if alarms else []
    return [Prose(say("sides lead")), table, *told]


def _side_values(report: Report, row: Any) -> dict[str, str]:
    """The two values behind a difference, by side."""
    now = report.now
    own = now[(now["test"] == row["test"]) & now["measure"].isin(COMPARED_SIDES)]
    base = [key_without(conditions, "side") for conditions in own["conditions"]]
    own = own[[b == row["conditions"] for b in base]]
    own = own[own["basis"] == row["basis"]]
    return {str(one["part"]): _cell(one) for one in own.to_dict("records")}


# --- reactive strength ----------------------------------------------------------------------


def reactive(report: Report) -> Section:
    """Drop jumps by drop height, what moved, the best height; then rebound series."""
    blocks = [*_drops(report), *_rebounds(report)]
    return Section.of(blocks) if blocks else Section.of(Prose(say("reactive none")))


def _by_drop(rows: pd.DataFrame) -> pd.DataFrame:
    drops = [float(str(part).partition(" ")[0] or "nan") for part in rows["part"]]  # none noted
    return rows.assign(drop=drops).sort_values("drop", kind="stable")


def _drops(report: Report) -> Iterator[Block]:
    tests = report.tests("drop jump")
    ratios = report.of("rsi")
    ratios = ratios[ratios["test"].isin(tests)]
    if ratios.empty:
        return
    ratios = _by_drop(ratios)
    rows: list[list[str]] = []
    slow: list[str] = []
    told: list[str] = []
    for row in ratios.to_dict("records"):
        _, before, now, _ = table_row(report, row, TWO_LINES)
        beside = [
            wording.NOTHING if one is None else _cell(one)
            for one in (
                report.on(report.day, row, key)
                for key in ("jump_height", "contact_time", "flight_contact_ratio")
            )
        ]
        rows.append([row["part"], *beside, before, best_before(report, row), now])
        if SLOW in flags_of(row["flags"]):
            slow.append(row["part"])
        told += _moved(report, row, say("moved from", drop=row["part"]))
    columns = [
        say(c)
        for c in (
            "col drop",
            "col height",
            "col contact",
            "col ratio",
            "col before",
            "col best",
            "col rsi",
        )
    ]
    yield Prose(say("reactive lead"))
    yield Table(say("reactive caption"), columns, rows, [NUMBER, *[FIGURE] * 6])
    if told:
        yield Bullets(told)
    if slow:
        yield Prose(say("slow contact", drops=wording.listed(list(dict.fromkeys(slow)))))
    yield Prose(" ".join([*_best_drop(report, ratios), say("drop real")]))
    if len(set(ratios["drop"])) > 1:
        yield _drop_chart(report, ratios)


def _before(report: Report, row: Any) -> str:
    """The last comparable day of a result, or nothing."""
    change = report.change(row)
    if change is None or change["verdict"] == NOT_COMPARABLE:
        return ""
    return str(change["from_day"])


def _moved(report: Report, row: Any, label: str) -> Iterator[str]:
    """One sentence: reactive strength, height and contact then and now, and which moved."""
    day = _before(report, row)
    if not day:
        return
    now, then = ({k: report.on(d, row, k) for k in _TRIO} for d in (report.day, day))
    if any(one is None for one in (*now.values(), *then.values())):
        return
    facts = {
        "label": label,
        "date": wording.short_date(day),
        "rsi": _cell(now["rsi"]),
        "rsi_before": _cell(then["rsi"]),
        "height": _cell(now["jump_height"]),
        "height_before": _cell(then["jump_height"]),
        "contact": _cell(now["contact_time"]),
        "contact_before": _cell(then["contact_time"]),
    }
    what = drop_jumps.moved(_pair(then), _pair(now))
    yield say("moved", what=say(_WHAT[what]), **facts)


def _pair(rows: dict[str, Any]) -> dict[str, float]:
    pair = {}
    for name, key in ((HEIGHT, "jump_height"), (CONTACT, "contact_time")):
        step = rows[key]["resolution"]
        pair[name] = float(rows[key]["value"])
        pair[f"{name}_step"] = float("nan") if step is None else float(step)
    return pair


def _best_drop(report: Report, ratios: pd.DataFrame) -> Iterator[str]:
    best = report.of("best_drop_height")
    if best.empty:
        yield say("drop few", count=ratios["drop"].nunique())
    for row in best.to_dict("records"):
        yield say("drop best", height=_cell(row), count=ratios["drop"].nunique())
        for flag in flags_of(row["flags"]):
            if flag == RISING:
                yield say("drop rising")
            elif flag.startswith("plateau "):
                yield say("drop plateau", stretch=flag.removeprefix("plateau "))


def _drop_chart(report: Report, ratios: pd.DataFrame) -> Block:
    """Reactive strength by drop height, this day over the last comparable one."""
    days = sorted({d for d in (_before(report, r) for r in ratios.to_dict("records")) if d})
    series, told = [], []
    for day in [*days[-1:], report.day]:
        rows = report.results[(report.results["day"] == day) & (report.results["measure"] == "rsi")]
        rows = rows[rows["conditions"].isin(ratios["conditions"])]
        marks, words = [], []
        for row in _by_drop(rows).to_dict("records"):
            height, contact = (report.on(day, row, key) for key in _TRIO[1:])
            if height is None or contact is None:
                continue
            shown = {"height": _cell(height), "contact": _cell(contact)}
            marks.append(charts.DropMark(row["drop"], row["value"], "\n".join(shown.values())))
            words.append(say("drop chart mark", rsi=_cell(row), drop=row["part"], **shown))
        date = wording.short_date(day)
        series.append(charts.DropCurve(date, marks, day == report.day))
        told.append(say("drop chart day", date=date, marks=wording.listed(words)))
    words_of = {
        "x": say("axis drop"),
        "y": say("axis rsi"),
        "caption": say("drop chart"),
        "alt": say("drop chart alt", days=" ".join(told)),
    }
    return charts.strength_by_drop("drop-heights", series, words_of)


def _rebounds(report: Report) -> Iterator[Block]:
    rows: list[list[str]] = []
    told: list[str] = []
    for test in report.tests("rebound"):
        for row in report.of("rsi", test).to_dict("records"):
            _, before, now, _ = table_row(report, row, TWO_LINES)
            label = wording.capital(" ".join(t for t in (test, row["part"]) if t))
            height, contact = (report.on(report.day, row, key) for key in _TRIO[1:])
            beside = [wording.NOTHING if o is None else _cell(o) for o in (height, contact)]
            rows.append([label, *beside, before, best_before(report, row), now])
            rule = ", ".join(flags_of(row["flags"]))
            told += [say("rebounds rule", test=label, rule=rule), *_moved(report, row, label)]
    if not rows:
        return
    columns = [
        say(c)
        for c in ("col test", "col height", "col contact", "col before", "col best", "col rsi")
    ]
    yield Heading(say("rebounds heading"))
    yield Table(
        say("rebounds caption"), columns, rows, [TEXT, FIGURE, FIGURE, NUMBER, NUMBER, FIGURE]
    )
    yield Bullets(told)
