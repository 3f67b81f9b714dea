"""Findings (what was wrong with an input) and failures (why a run could not go on).

Every finding has a code. The catalogue below is the one home of its severity, its
sentence and what to do about it; nothing else in the project words a finding.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from enum import StrEnum
from urllib.parse import unquote

from pipeline import outgoing


class Severity(StrEnum):
    """How bad a finding is. An *error* set a row or a value aside."""

    NOTE = "note"
    WARNING = "warning"
    ERROR = "error"

    @property
    def rank(self) -> int:
        """0 for the worst, so that sorting puts errors first."""
        return (Severity.ERROR, Severity.WARNING, Severity.NOTE).index(self)


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of finding: how bad it is, its sentence, and the mend in plain words.

    A row with a ``no_result`` finding gives nothing, and the account counts it as set aside, be the
    finding ever so mild. ``many`` is the sentence where a sheet has more than ``FEW`` such rows:
    then one finding speaks for all, with their ``count`` and ``rows``.
    ``repeat``: while the gear is out, the attempt it lies on may be repeated.
    """

    severity: Severity
    text: str
    fix: str
    no_result: bool = False
    many: str = ""
    repeat: bool = False


FEW = 3
"""Rows of one sheet that are still named one by one."""


_NOTE, _WARNING, _ERROR = Severity.NOTE, Severity.WARNING, Severity.ERROR

CATALOGUE: dict[str, Kind] = {
    # --- files and sheets
    "file-unreadable": Kind(
        _ERROR, "This file could not be read: {why}.", "Open it, save it again as CSV or XLSX."
    ),
    "file-not-used": Kind(
        _NOTE,
        "Nothing is read from this file: its name is none of {known}.",
        "Rename it if it holds results; leave it if it is only a note.",
    ),
    "file-format": Kind(
        _ERROR,
        "Files ending in “{suffix}” are not read.",
        "Save the sheet as CSV or XLSX under the same name.",
    ),
    "sheet-twice": Kind(
        _ERROR,
        "“{kind}” is there twice; {other} was read, this file was not.",
        "Keep one file, or move the rows into it.",
    ),
    "sheet-empty": Kind(
        _NOTE, "The sheet has headings and no rows.", "Nothing, if none were taken."
    ),
    "heading-unknown": Kind(
        _WARNING,
        "The heading “{heading}” is not known here; its column was not read{guess}.",
        "Use a heading of the data guide, with the unit at its end.",
    ),
    "heading-unit": Kind(
        _WARNING,
        "The heading “{heading}” does not say its unit, as “{example}” does; "
        "its column was not read.",
        "Put the unit at its end, or give it under [columns] in the day file.",
    ),
    "heading-seconds": Kind(
        _NOTE,
        "The heading “{heading}” does not say its unit; it was read as seconds.",
        "Nothing to do if that is so; else put the unit at its end.",
    ),
    "unit-conflict": Kind(
        _ERROR,
        "The column “{heading}” is in “{one}” by {by} and in “{other}” by {other_by}; "
        "it was not read.",
        "Correct whichever is wrong.",
    ),
    "splits-alike": Kind(
        _ERROR,
        "“{heading}” and “{other}” may both be the time at {part}; neither was read.",
        "Head times from the start t10_s, t20_s … and times between gates s0_10_s, s10_20_s …, "
        "or say so under [columns] in the day file.",
    ),
    "columns-target": Kind(
        _ERROR,
        "The table [columns] says that “{heading}” is “{target}”, which is no field{guess}.",
        "Write a heading of the data guide with its unit, a unit alone, or ignore.",
    ),
    "columns-unused": Kind(
        _WARNING,
        "The table [columns] names a heading “{heading}” that no sheet has{guess}.",
        "Correct it, or take the line out.",
    ),
    "columns-file": Kind(
        _WARNING,
        "The table [columns.{file}] is for a file that is not read{guess}.",
        "Name a sheet of the day without its ending, or take the table out.",
    ),
    "heading-twice": Kind(
        _WARNING,
        "The heading “{heading}” stands twice; only its first column was read.",
        "Delete or rename the second column.",
    ),
    "heading-blank": Kind(
        _WARNING,
        "Column {number} has values but no heading; it was not read.",
        "Give the column a heading, or clear it.",
    ),
    "heading-which-attempt": Kind(
        _WARNING,
        "“{heading}” stands beside columns of single attempts and does not say which of them it "
        "belongs to; it was not read.",
        "Number it like the others (wind 1, wind 2), or leave it if it only sums them up.",
    ),
    "column-summary": Kind(
        _NOTE,
        "“{heading}” sums up attempts that stand beside it; it was not read, so that none counts "
        "twice.",
        "Nothing to do.",
    ),
    "summary-alone": Kind(
        _WARNING,
        "“{heading}” is a best, a mean or the like of attempts that this sheet does not hold; it "
        "was not read.",
        "Enter the attempts; head it without that word if there was one attempt only.",
    ),
    "occasion-unknown": Kind(
        _ERROR,
        "“{heading}” is from before or after something, and the day file does not say that the day "
        "had two occasions; it was not read.",
        "Add [session.pre] and [session.post] to day.toml; the two are never set side by side.",
    ),
    "layout-across": Kind(
        _NOTE,
        "The results stand side by side in {count} groups of columns; each was read by itself.",
        "Nothing to do.",
    ),
    "date-ambiguous": Kind(
        _WARNING,
        "“{raw}” may be one of two dates, and neither its column nor {file} says which (dates like "
        "it: {count}); they count as not known.",
        'Add the line dates = "day first" or dates = "month first" there.',
    ),
    "number-doubtful": Kind(
        _ERROR,
        "“{raw}” may be a decimal or thousands: its column has decimals with the other mark; it "
        "was set aside.",
        "Write it with the decimal mark of its column.",
    ),
    "time-of-day": Kind(
        _ERROR,
        "“{raw}” looks like a part of a day, as a spreadsheet keeps a time of day (here {seconds} "
        "s); it was set aside.",
        "Format the cell as a number, and enter the time in seconds.",
    ),
    "cell-as-date": Kind(
        _ERROR,
        "“{raw}” is a date; likely a spreadsheet made it of an entry like 6-2. It was set aside.",
        "Format the column as text before entering it, or write 6 ft 2 in.",
    ),
    "hand-among-others": Kind(
        _ERROR,
        "“{raw}” is marked as timed by hand, and other times of the run are not; it was set aside.",
        "Give the hand time a row of its own.",
    ),
    "mark-hand": Kind(
        _NOTE, "“{raw}” is marked as timed by hand (h), and was read as such.", "Nothing to do."
    ),
    "mark-wind": Kind(
        _WARNING,
        "“{raw}” is marked as run with too much wind (w).",
        "Enter the reading under wind_mps, if there is one.",
    ),
    "mark-source": Kind(
        _WARNING,
        "“{raw}” bears a star; it counts as of another source, and is only set beside results that "
        "bear one, too.",
        "If the star means nothing, take it off; if it means another timing, fill in timing.",
    ),
    "mark-best": Kind(
        _NOTE,
        "“{raw}” says beside its number that it is a best; the number was read.",
        "Nothing to do.",
    ),
    "splits-disagree": Kind(
        _ERROR,
        "“{raw}” is not the difference of the times at its two ends, which stand in the same row; "
        "the run was set aside.",
        "Look for a cumulative time under the heading of a segment, or for swapped digits.",
    ),
    "result-twice": Kind(
        _ERROR,
        "“{raw}” is of a test that {other} holds for this athlete, too; it was set aside, so that "
        "none counts twice.",
        "Keep the test in one of the two files.",
    ),
    "unit-unknown": Kind(
        _ERROR,
        "“{raw}” is no unit that is known here; the row was set aside.",
        "Write the unit as at the end of a heading: s, ms, cm, m, kg, lb and so on.",
    ),
    "unit-blank": Kind(
        _ERROR,
        "The row gives no unit that goes with “{raw}”; it was set aside.",
        "Fill in the unit.",
    ),
    "measure-unknown": Kind(
        _ERROR,
        "“{raw}” is no quantity of this sheet in that unit{guess}; the row was set aside.",
        "Name it as a heading does: height, flight_time, t10 and so on.",
    ),
    "attempt-needed": Kind(
        _ERROR,
        "This attempt's values stand in several rows, and no number says which belong together; "
        "the row was set aside.",
        "Add a column attempt.",
    ),
    "heading-missing": Kind(
        _ERROR,
        "The column “{heading}” is missing, so no row of this sheet can be used.",
        "Add the column.",
    ),
    "rows-lost": Kind(
        _ERROR,
        "A second count finds {counted} rows here, but {read} were read.",
        "Tell us: the reader has a fault. Until then, check this sheet by hand.",
    ),
    "cells-beyond-headings": Kind(
        _WARNING,
        "The row has cells to the right of the last heading: “{raw}”; they were not read.",
        "Look for a comma too many in the row, or give the column a heading.",
    ),
    "link-not-read": Kind(
        _ERROR,
        "This is a link to another place; nothing was read from it.",
        "Copy what it leads to into the season folder.",
    ),
    "row-title": Kind(
        _NOTE,
        "“{text}” stands above the headings and is no result.",
        "Nothing to do.",
        no_result=True,
        many="{count} rows above the headings are no results ({rows}).",
    ),
    "row-groups": Kind(
        _NOTE,
        "“{text}” names groups of columns; it was read with the headings below it.",
        "Nothing to do.",
        no_result=True,
    ),
    "row-units": Kind(
        _NOTE,
        "“{text}” was read as the units of the columns.",
        "Nothing to do.",
        no_result=True,
    ),
    "row-heading": Kind(
        _NOTE,
        "The row says the headings again: “{text}”.",
        "Nothing to do.",
        no_result=True,
        many="{count} rows say the headings again ({rows}).",
    ),
    "row-total": Kind(
        _NOTE,
        "“{text}” sums up other rows and is nobody's result.",
        "Nothing to do; if it is an athlete's row, the roster must hold that id.",
        no_result=True,
        many="{count} rows sum up others and are nobody's results ({rows}).",
    ),
    "row-remark": Kind(
        _NOTE,
        "“{text}” is a note and no result.",
        "Nothing to do; if it is an athlete's row, the roster must hold that id.",
        no_result=True,
        many="{count} rows hold notes and no results ({rows}).",
    ),
    "row-other": Kind(
        _NOTE,
        "“{text}” stands on a sheet of something else.",
        "Nothing to do.",
        no_result=True,
        many="{count} rows stand on a sheet of something else ({rows}).",
    ),
    "sheet-other": Kind(
        _WARNING,
        "None of this sheet's headings is known here, so it was taken for notes; nothing was read.",
        "Give its columns headings of the data guide if it holds results.",
    ),
    "formula-unvalued": Kind(
        _WARNING,
        "{count} formulas were saved without their value (first in row {first}); "
        "they cannot be read.",
        "Open the file in a spreadsheet and save it again, which works them out.",
    ),
    "cells-hidden": Kind(
        _WARNING,
        "{what} are hidden in the spreadsheet; they were read like the others.",
        "Delete what should not count; hiding it is not enough.",
    ),
    "text-encoding": Kind(
        _NOTE,
        "The text is no Unicode and was read as Windows-1252; letters such as ł, ş or ő may be "
        "wrong.",
        "Look at the names; if they are wrong, save the file as UTF-8.",
    ),
    "quote-open": Kind(
        _WARNING,
        "A quotation mark is opened in this row and not closed; the quotation marks of this row "
        "were read as plain characters.",
        "Close the quotation mark, or take it out.",
    ),
    # --- the battery and the day
    "battery-key": Kind(
        _WARNING,
        "The battery has a setting “{key}” that nothing reads{guess}.",
        "Correct its spelling or take it out.",
    ),
    "battery-value": Kind(
        _ERROR,
        "The battery's setting “{key}” cannot be used: {why}. The default stands.",
        "Correct the value.",
    ),
    "day-key": Kind(
        _WARNING,
        "The day file has a setting “{key}” that nothing reads{guess}.",
        "Correct its spelling or take it out.",
    ),
    "day-value": Kind(
        _ERROR,
        "The day file's setting “{key}” cannot be used: {why}.",
        "Correct the value; until then it counts as not known.",
    ),
    # --- people
    "roster-id": Kind(
        _ERROR,
        "“{raw}” cannot be an athlete id: {why}.",
        "Use 1 to 64 letters, digits, hyphens or underscores.",
    ),
    "roster-id-twice": Kind(
        _ERROR,
        "The id “{raw}” is on the roster twice (first in row {first}), letter case aside; the "
        "first row stands.",
        "Delete one of the two rows.",
    ),
    "roster-id-two-names": Kind(
        _ERROR,
        "The id “{raw}” is on the roster for two names, {names}; neither row was used.",
        "Give each athlete an id of their own.",
    ),
    "roster-ids-alike": Kind(
        _WARNING,
        "A spreadsheet may turn the id “{raw}” into “{other}”, which is another athlete's.",
        "Use ids with a letter before the number; check that each row has the right one.",
    ),
    "roster-value": Kind(
        _WARNING, "“{raw}” is no {what}; it counts as not known.", "Correct the cell in the roster."
    ),
    "athlete-unknown": Kind(
        _ERROR,
        "“{raw}” is not on the roster{guess}; the row belongs to nobody and was set aside.",
        "Correct the id, or add the athlete to the roster.",
    ),
    "athlete-blank": Kind(
        _ERROR,
        "The row names no athlete; it was set aside.",
        "Fill in the id or the name, or delete the row.",
    ),
    "athlete-id-near": Kind(
        _WARNING,
        "“{raw}” is no id of the roster; it was read as {match}, the only one that a spreadsheet "
        "turns into it.",
        "Correct the id; format the column as text so that zeros stay.",
    ),
    "athlete-name-near": Kind(
        _WARNING,
        "“{raw}” is not on the roster as written; it was read as {match}, the only name near it.",
        "Correct the spelling; if it is somebody else, add them to the roster.",
    ),
    "athlete-respelled": Kind(
        _NOTE,
        "“{raw}” was read as {match}; only the spelling differs. Said once a sheet.",
        "Nothing to do.",
    ),
    "athlete-name-shared": Kind(
        _ERROR,
        "“{raw}” is the name of {who}; the row was set aside.",
        "Write the id of the one who is meant.",
    ),
    "athlete-unclear": Kind(
        _ERROR,
        "“{raw}” is not on the roster and may be {who}; the row was set aside.",
        "Write the id of the one who is meant.",
    ),
    "athlete-disagrees": Kind(
        _ERROR,
        "The id is that of {own}, and the name “{raw}” is not{guess}; the row was set aside.",
        "Correct whichever of the two is wrong.",
    ),
    "athlete-two-names": Kind(
        _ERROR,
        "The sheets call {own} by two names, {names}, and the roster by none; the row (“{raw}”) "
        "was set aside.",
        "Fill in the name on the roster, or correct the rows of the other one.",
    ),
    "athlete-id-contested": Kind(
        _ERROR,
        "“{raw}” stands on the roster for two people; the row was set aside.",
        "Give each an id of their own, on the roster and in the sheets.",
    ),
    "athlete-not-tested": Kind(
        _WARNING,
        "On the roster, but with no result on this day.",
        "Say why in status.csv, if it is known.",
    ),
    # --- rows and cells
    "test-unknown": Kind(
        _ERROR,
        "“{raw}” is no test of the battery{guess}; the row was set aside.",
        "Correct the name, or add the test to battery.toml.",
    ),
    "unit-own": Kind(
        _NOTE,
        "“{raw}” names its own unit under the heading “{heading}”; it was read in its own.",
        "Nothing to do; one unit for a whole column is safer.",
    ),
    "unit-other": Kind(
        _ERROR,
        "“{raw}” is in a unit that “{heading}” cannot hold; the value was set aside.",
        "Correct the cell, or put it under its own heading.",
    ),
    "unit-pair": Kind(
        _ERROR,
        "“{raw}” does not say how many of the larger and of the smaller unit; "
        "the value was set aside.",
        "Write 6 ft 2 in or 6-2 (10 st 4 lb or 10-4), or head the column with one unit.",
    ),
    "lift-planned": Kind(
        _ERROR,
        "“{raw}” is a plan, or cannot be told from one, and no lift that was done; "
        "the row was set aside.",
        "Write a row for each set done: its load in load_kg, its number in reps, and good or "
        "failed in result.",
    ),
    "lift-over-best": Kind(
        _ERROR,
        "{load} kg is more than the best of {best} kg in the same sheet, so it cannot have been "
        "good; it was set aside.",
        "Write failed in result, or correct the best.",
    ),
    "lift-no-estimate": Kind(
        _NOTE,
        "{test}: {reps} repetitions; no one-rep max is estimated in this lift.",
        "Nothing to do; take a single if a maximum is wanted.",
    ),
    "body-mass-needed": Kind(
        _WARNING,
        "“{raw}” counts the body, and there is no body mass of this day or before; "
        "the set gives no result.",
        "Add the athlete to body.csv.",
    ),
    "value-unreadable": Kind(
        _ERROR,
        "“{raw}” is no number; the value was set aside.",
        "Correct the cell.",
        repeat=True,
    ),
    "value-implausible": Kind(
        _ERROR,
        "“{raw}” gives {label} {value} {unit}, outside {low} to {high} {unit}; "
        "it was set aside{guess}.",
        "Check it against the sheet of the day; widen the limits in battery.toml if it is right.",
        repeat=True,
    ),
    "value-unusual": Kind(
        _WARNING, "“{raw}” is no {what}; it counts as not known.", "Correct the cell."
    ),
    "splits-disorder": Kind(
        _ERROR,
        "The time at {to_m} m ({to_s} s) is not after the time at {from_m} m ({from_s} s); "
        "the run was set aside{guess}.",
        "Look for swapped digits, or for segment times under cumulative headings.",
        repeat=True,
    ),
    "row-twice": Kind(
        _ERROR,
        "The row says the same as row {first}; it was set aside as a copy.",
        "Delete one of the two, or correct the attempt number.",
    ),
    "frames-without-rate": Kind(
        _ERROR, "“{raw}” is no {what}; the value was set aside.", "Fill in the column fps."
    ),
    "reaction-early": Kind(
        _WARNING,
        "A reaction of {reaction} s is under 0.100 s, a false start by the competition rule; "
        "{outcome}.",
        "Check the start system; no page shows a reaction that was none.",
    ),
    "start-too-fast": Kind(
        _ERROR,
        "The first {at} m took {seconds} s from first movement, faster than anybody has started; "
        "{outcome}. Likely the reaction was taken off twice.",
        "If the splits were taken from first movement already, set clock to movement.",
    ),
    "segments-as-cumulative": Kind(
        _ERROR,
        "The time at {at} m cannot be counted from the start, but can from the gate before: these "
        "look like segment times under cumulative headings; the run was set aside.",
        "Head the columns s0_10_s, s10_30_s … in place of t10_s, t30_s and so on.",
    ),
    "gate-beyond": Kind(
        _ERROR,
        "There is a time at {at} m, past the end of {test}; it was set aside.",
        "Put the run under the test it was, or the time under its own gate.",
    ),
    "run-too-slow": Kind(
        _ERROR,
        "{at} m in {seconds} s is no sprint; {outcome}{guess}.",
        "Check the frame rate or the unit of the sheet.",
        repeat=True,
    ),
    "runs-swapped": Kind(
        _WARNING,
        "{own} s is far from this athlete's earlier {test} ({before} s) and near that of {other}, "
        "whose time is near this athlete's; two runs may have changed places; {outcome}.",
        "Compare with the sheet of the day; put it right in corrections or the sheet.",
    ),
    # --- rows held against each other: what is done about each, the battery's [checks] says
    "cumulative-as-segments": Kind(
        _ERROR,
        "The time of {part} cannot be counted from the gate before, but can from the start: these "
        "look like cumulative times under segment headings; {outcome}.",
        "Head the columns t10_s, t30_s … in place of s0_10_s, s10_30_s and so on.",
    ),
    "attempt-far": Kind(
        _WARNING,
        "{label} {value} {unit} against {others} {unit} is over {limit} % apart, more than the "
        "error of the {test} lets two attempts differ{guess}; {outcome}.",
        "Look at the sheet of the day; if it stands there, repeat it now.",
        repeat=True,
    ),
    "farther-faster": Kind(
        _WARNING,
        "{far} m in {far_s} s is hardly after {near} m in {near_s} s, the best of the same day "
        "({where}); one of the two is wrong; {outcome}.",
        "Look for swapped digits, a gate at another distance, or a run under another test.",
        repeat=True,
    ),
    "one-leg-over-two": Kind(
        _WARNING,
        "{test}: {height} cm is higher than the jump off both legs, {two} cm ({where}); {outcome}.",
        "Check which test the row belongs to and its unit; if both stand so, repeat it now.",
        repeat=True,
    ),
    "squat-over-counter": Kind(
        _WARNING,
        "{test}: {height} cm is far above the countermovement jump, {two} cm ({where}); {outcome}.",
        "Check whether the rows changed places or the squat jump dipped first; else repeat it now.",
        repeat=True,
    ),
    "heights-apart": Kind(
        _WARNING,
        "The row gives a height of {height} cm, and its flight time {flown} cm; the flight time "
        "counts; {outcome}.",
        "Keep the column that was measured, or correct the unit of the other.",
    ),
    "times-exchanged": Kind(
        _WARNING,
        "A contact of {contact} s and a flight of {flight} s look as if they stood in each other's "
        "column; {outcome}.",
        "Look at the sheet of the day, and exchange the two if that is so.",
    ),
    "load-out-of-line": Kind(
        _WARNING,
        "{load} kg stands between {before} and {after} kg in a rising series{guess}; {outcome}.",
        "Check it against the sheet of the day.",
    ),
    "load-in-pounds": Kind(
        _WARNING,
        "{test}: {load} kg after {before} kg the last time is what pounds read as kilograms give; "
        "likely {which} day is in pounds; {outcome}.",
        "Head the column load_lb where it was pounds.",
    ),
    "max-under-lift": Kind(
        _WARNING,
        "{test}: a good lift of {load} kg stands over the one-rep max of {most} kg that the day's "
        "sets give; {outcome}.",
        "Fill in its repetitions, or write failed in result.",
    ),
    "body-mass-changed": Kind(
        _WARNING,
        "A body mass of {mass} kg after {before} kg on {day} is {share} % away{guess}; {outcome}.",
        "Weigh again; look for another unit, exchanged digits or another athlete's row.",
        repeat=True,
    ),
    "value-copied": Kind(
        _WARNING,
        "“{raw}” stands in rows {first} to {last} for {people} athletes, {count} times, which this "
        "column's spread hardly gives by chance: likely copied down; {outcome}.",
        "Check the rows against the sheet of the day.",
    ),
    "value-rare": Kind(
        _WARNING,
        "{label} {value} is over {bound}, which few ever reach; {outcome}.",
        "Check it against the sheet of the day; if it is right, there is nothing to do.",
    ),
    "wind-over": Kind(
        _WARNING,
        "The wind was {wind} m/s, over +2.0: no record, and hardly to be compared.",
        "Nothing to do; the page says so beside the mark.",
    ),
    "hand-timed": Kind(
        _NOTE,
        "Timed by hand: the time was rounded up to the next 0.1 s and 0.24 s were added.",
        "Nothing to do; it is never compared with electronic times.",
    ),
    "gate-missed": Kind(
        _WARNING,
        "There is no time at {gate}, a gate that others ran through; nothing was made up for it.",
        "Fill it in if it was noted elsewhere; else repeat the run while the gear is out.",
        repeat=True,
    ),
    "attempts-short": Kind(
        _WARNING,
        "{test}: {used} of {planned} attempts have a result.",
        "Repeat it while the gear is out, or say why in status.csv.",
    ),
    "status-given": Kind(_NOTE, "{test}: {status}.", "Nothing to do; the page says so."),
    "folder-not-used": Kind(
        _NOTE, "Nothing is read from this folder yet.", "Nothing to do; its files stay as they are."
    ),
    "target-unknown": Kind(
        _ERROR, "“{raw}” is no {what}; the target was set aside.", "Correct the cell in targets."
    ),
    "plan-blank": Kind(
        _ERROR,
        "Neither a phase nor an emphasis is named; the choice was set aside.",
        "Fill in one of the two, or delete the row.",
    ),
    "plan-unknown": Kind(
        _ERROR,
        "“{raw}” is no {what}{guess}; the choice was set aside.",
        "Correct the cell in plan.",
    ),
    "person-blank": Kind(
        _ERROR,
        "The row names no person; it was set aside.",
        "Fill in any name or number, the same in each row of one person, or delete the row.",
    ),
    "person-on-roster": Kind(
        _ERROR,
        "“{raw}” is on the roster; the row was set aside, since nobody is held against themselves.",
        "Delete the row, or give somebody else another name.",
    ),
    "person-sex": Kind(
        _ERROR,
        "“{raw}” is no sex ({what}); the row was set aside.",
        "Fill in the sex: a reference is of one sex.",
    ),
    "person-two-sexes": Kind(
        _ERROR,
        "“{raw}” has another sex in row {first}; all of this person's rows were set aside.",
        "Correct the sex, or give the two people two names.",
    ),
    "row-no-mark": Kind(_NOTE, "No mark: {raw}.", "Nothing to do."),
    "row-no-value": Kind(
        _WARNING,
        "The row holds no result; nothing was used from it.",
        "Fill it in or delete it.",
        no_result=True,
        many="{count} rows hold no result ({rows}); nothing was used from them.",
    ),
    "repetitions-too-many": Kind(
        _ERROR,
        "{reps} repetitions are too many to estimate a one-rep max from (limit {limit}); "
        "the set was set aside.",
        "Test with fewer repetitions.",
    ),
    "repetitions-missing": Kind(
        _WARNING,
        "A load without a number of repetitions says nothing about strength; it was not used.",
        "Fill in the repetitions.",
    ),
    "rebounds-short": Kind(
        _WARNING,
        "{test}, series {attempt}: {usable} contacts can count and its rule needs {needed}, so no "
        "value is given.",
        "Repeat the series while the gear is out; of ten, contacts must be under 250 ms.",
    ),
    "rebound-twice": Kind(
        _ERROR,
        "Contact {rep} of this series stands twice; this one was set aside.",
        "Correct the column rep, or give the second series its own attempt.",
    ),
    "body-mass-missing": Kind(
        _WARNING,
        "There is no body mass of this day or before, so strength for body mass is not given.",
        "Add the athlete to body.csv.",
    ),
    # --- signed corrections
    "cell-corrected": Kind(
        _NOTE,
        "“{raw}” was read as “{value}”: {reason} (signed {by}, row {line} of corrections).",
        "Nothing to do.",
    ),
    "cell-excluded": Kind(
        _NOTE,
        "“{raw}” was not used: {reason} (signed {by}, row {line} of corrections).",
        "Nothing to do.",
    ),
    "row-excluded": Kind(
        _NOTE,
        "The row was not used: {reason} (signed {by}, row {line} of corrections).",
        "Nothing to do.",
        no_result=True,
    ),
    "finding-accepted": Kind(
        _NOTE,
        "The finding {what} was accepted: {reason} (signed {by}, row {line} of corrections).",
        "Nothing to do.",
    ),
    "correction-unsigned": Kind(
        _ERROR,
        "The correction has no “{what}”; it was not applied.",
        "Fill it in: a correction says why, and who says so.",
    ),
    "correction-unclear": Kind(
        _ERROR,
        "“{raw}” is no {what}; the correction was not applied.",
        "Correct the cell in corrections.",
    ),
    "correction-twice": Kind(
        _ERROR,
        "Another line corrects the same cell or its whole row; neither was applied.",
        "Keep the one that is right.",
    ),
    "correction-stale": Kind(
        _ERROR,
        "The cell holds “{raw}” now, and “{was}” when this was signed; it was not applied.",
        "Look at the cell; delete the line, or sign it again for what is there now.",
    ),
    "correction-nowhere": Kind(
        _ERROR,
        "There is no {what} as this line names it; the correction was not applied.",
        "Write file, sheet, row and column as the finding that it answers has them.",
    ),
    "correction-idle": Kind(
        _WARNING,
        "There is nothing at that place to accept.",
        "Delete the line, or write the place as the finding has it.",
    ),
    # --- force traces
    "trace-file": Kind(
        _ERROR,
        "“{raw}” cannot be read as a trace: {why}; the row was set aside.",
        "Put the export into the day's folder force/ under the name the row gives.",
    ),
    "trace-column": Kind(
        _ERROR,
        "“{raw}” names no force in that file: {why}; the row was set aside.",
        "Name the column as its heading does, or by its number; two plates as left_N+right_N.",
    ),
    "trace-rate": Kind(
        _ERROR,
        "“{raw}” is no sampling rate from {low} to {high} Hz; the row was set aside.",
        "Fill in rate_hz from the plate's settings; it cannot be guessed.",
    ),
    "trace-unit": Kind(
        _ERROR,
        "“{raw}” is no unit of force that is read here; the row was set aside.",
        "Export newtons (N) or body weights (BW).",
    ),
    "trace-refused": Kind(
        _ERROR,
        "The trace cannot be used: {why}; the row was set aside.",
        "Look at the trace; repeat the test while the plate is out.",
        repeat=True,
    ),
    "trace-heights": Kind(
        _WARNING,
        "Height is {impulse} cm by impulse and {flight} cm by flight time, over {limit} % apart.",
        "Look for legs drawn up in the air, a step before the jump, or a wrong sampling rate.",
        repeat=True,
    ),
    "trace-dip": Kind(
        _WARNING,
        "The force falls by over {limit} % of body weight before the push: no squat jump.",
        "Repeat it from a held squat; the page says so beside the mark.",
        repeat=True,
    ),
    "trace-not-listed": Kind(
        _WARNING,
        "No row of traces.csv names this file, so nothing was read from it.",
        "Add a row, or move the file out of force/.",
    ),
    # --- pages
    "letters-missing": Kind(
        _WARNING,
        "The fonts shipped here have no shape for {letters}; the page shows □ instead.",
        "Write the name in Latin letters too, or install the extra fonts.",
    ),
}


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


def catalogue() -> list[tuple[str, Kind]]:
    """Every kind of finding by its code, the worst first, each detail as an ellipsis."""
    blank: defaultdict[str, str] = defaultdict(lambda: "…")
    kinds = [
        (code, replace(kind, text=kind.text.format_map(blank))) for code, kind in CATALOGUE.items()
    ]
    return sorted(kinds, key=lambda pair: (pair[1].severity.rank, pair[0]))


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
