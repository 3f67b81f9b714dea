"""Inputs known to go wrong quietly elsewhere, and the tests here that hold the right answer.

Gathered from public problem reports about general-purpose libraries and from looking at real
testing-day files. Each line is an input; beside it stand the tests that hold it, by file.
"""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest

HERE = Path(__file__).parents[1]

Tests = dict[str, tuple[str, ...]]
"""Names of tests by their file."""

READING: dict[str, Tests] = {
    "ISO dates read with day-first on: 2018-04-11 becomes 4 November": {
        "intake/test_dates.py": ("test_an_iso_date_is_never_turned_round",),
        "intake/test_roster.py": ("test_an_iso_date_is_year_month_day",),
    },
    "a column of dates all up to 12 (03/09, 05/09, 11/09) is read month-first without a word": {
        "intake/test_dates.py": (
            "test_a_column_is_read_as_pandas_reads_it_or_is_asked_for",
            "test_the_roster_s_dates_are_asked_for_once_a_column",
        ),
    },
    "1,80; 1,79; 1.805,00: one thousands point turns the whole column to text": {
        "intake/test_trials.py": ("test_point_comma_and_thousands_marks_read_alike",),
        "intake/test_cells.py": (
            "test_one_thousands_mark_leaves_the_others_what_they_are",
            "test_the_column_says_which_thousands_are_in_doubt",
        ),
    },
    "workbook cells “1,80” stored as text among numbers stay text": {
        "intake/test_trials.py": ("test_point_comma_and_thousands_marks_read_alike",),
        "fuzz/test_files_and_settings.py": ("test_numbers_stored_as_text_are_the_same_numbers",),
    },
    "best = MIN(trial 1, trial 2) saved without its value reads as blank": {
        "intake/test_formats.py": ("test_formulas_read_as_saved_and_without_a_value_are_named",),
        "intake/test_trials.py": (
            "test_a_formula_that_was_saved_without_its_value_is_not_a_blank_cell",
        ),
        "intake/test_layouts.py": ("test_a_column_that_sums_up_the_attempts_is_none",),
    },
    "group row, name row, blank row, data: a column is lost by its name": {
        "intake/test_frames.py": (
            "test_group_row_name_row_and_a_blank_row_lose_no_column",
            "test_merged_cells_say_how_far_a_group_reaches",
        ),
    },
    "ids NA, None, a surname Null: athletes vanish": {
        "intake/test_readers.py": (
            "test_ids_and_names_that_look_like_nothing_or_numbers_stay_text",
        ),
        "intake/test_examples.py": ("test_a_valid_sheet_is_read_as_its_neighbour_says",),
    },
    "ids 007, 12E3 become 7 and 12000; text in one file, number in the other": {
        "intake/test_roster.py": (
            "test_an_id_stays_the_text_it_is_and_is_found",
            "test_an_id_that_is_a_number_in_one_workbook_and_in_the_other_is_found",
        ),
    },
    "mm:ss cells and day fractions (0,089953704) come back as times of day or hours": {
        "intake/test_formats.py": ("test_times_of_a_workbook_are_minutes_and_seconds_again",),
        "intake/test_cells.py": (
            "test_a_part_of_a_day_is_known_by_its_decimals",
            "test_minutes_are_those_of_pandas",
        ),
    },
    "heights 6-2, 2-Jun, 74, 188 in one column": {
        "intake/test_amounts.py": ("test_heights_of_four_kinds_in_one_column_are_one_height",),
        "intake/test_formats.py": ("test_a_height_a_spreadsheet_took_for_a_date_is_no_number",),
        "intake/test_cells.py": ("test_heights_a_spreadsheet_turned_into_dates_are_told_apart",),
    },
    "rows with no id; an athlete present with no result: dropped by grouping": {
        "intake/test_roster.py": (
            "test_a_row_without_an_id_is_set_aside",
            "test_those_on_the_roster_without_a_row_are_named_absent",
        ),
    },
    "units in square brackets, a trailing blank or no-break space: heading not recognised": {
        "intake/test_headings.py": (
            "test_a_unit_is_read_in_brackets_behind_a_comma_and_at_the_end",
            "test_every_word_is_read_as_its_field_however_it_is_written",
        ),
    },
    "bare carriage returns; blanks that are one space": {
        "intake/test_readers.py": ("test_comma_semicolon_and_tab_with_any_line_end_read_alike",),
        "intake/test_formats.py": ("test_cells_of_one_blank_and_nul_bytes_are_cells",),
    },
    "rows of MEAN, SD, AVERAGE and spacer rows become athletes or the best trial": {
        "intake/test_frames.py": (
            "test_totals_are_nobody_s_results",
            "test_leading_blank_rows_and_spacers_change_no_number",
        ),
        "intake/test_roster.py": ("test_a_summary_row_becomes_nobody_s_result",),
    },
    "a table that starts at W3; headings without rows; a day sheet and a summary of it": {
        "intake/test_frames.py": (
            "test_a_table_that_starts_at_w3_keeps_its_rows_and_columns_as_pandas_sees_them",
            "test_a_day_sheet_and_a_summary_of_it_are_not_doubled_and_notes_are_passed_over",
        ),
        "intake/test_trials.py": ("test_a_sheet_without_rows_is_noted",),
    },
    "a planned template, 500 rows with ids and 12 with numbers: reports for people with nothing": {
        "intake/test_frames.py": ("test_a_planned_template_is_one_finding_and_no_error",),
        "intake/test_trials.py": (
            "test_an_athlete_whose_planned_rows_hold_nothing_was_not_tested",
        ),
    },
    "cumulative and interval times side by side under like names": {
        "intake/test_headings.py": (
            "test_one_distance_under_two_like_names_is_read_under_neither",
        ),
        "intake/test_layouts.py": (
            "test_times_from_the_line_and_between_gates_side_by_side_are_held_against_each_other",
        ),
        "measures/test_sprint_forms.py": (
            "test_segment_times_under_cumulative_headings_are_found",
        ),
    },
    "times starting with * (another timing source); 40 yards beside 40 m": {
        "intake/test_cells.py": (
            "test_signs_beside_times_are_said_and_kept_apart",
            "test_a_starred_time_is_no_result_twice",
        ),
        "intake/test_headings.py": ("test_forty_yards_are_never_forty_metres",),
    },
    "failed lifts unmarked; best in its own column lower than the largest tried": {
        "intake/test_examples.py": ("test_an_invalid_sheet_gives_the_findings_beside_it",),
        "intake/test_layouts.py": ("test_a_lifts_best_beside_its_trials_is_the_best_and_no_trial",),
        "intake/test_trials.py": ("test_a_failed_lift_is_never_used",),
    },
    "a repeated-sprint series in the shape of attempts": {
        "intake/test_layouts.py": ("test_a_series_of_repeated_sprints_across_is_one_set",),
        "measures/test_sprint_forms.py": (
            "test_a_set_of_repeated_sprints_is_fatigue_and_no_attempts",
        ),
    },
    "one value 117.5 between 158 and 197.5": {
        "intake/plausibility/test_across.py": ("test_one_load_out_of_a_rising_series",),
    },
}

MEASURING: dict[str, Tests] = {
    "term 1 310 lb × 5, term 2 145 kg × 5: a gain shown as a loss": {
        "intake/test_cells.py": ("test_310_pounds_and_then_145_kilograms_are_a_gain",),
        "intake/test_trials.py": (
            "test_pounds_in_spring_and_kilograms_in_autumn_compare_as_masses",
        ),
    },
    "trials 1.80, 1.75, 1.90 and jumps 30, 33, 31, DNF last": {
        "intake/test_cells.py": (
            "test_the_best_is_the_best_whatever_stands_last_and_a_failed_gate_gives_no_split",
        ),
        "intake/test_trials.py": (
            "test_a_dnf_as_the_last_attempt_leaves_the_best_of_the_others",
            "test_every_order_of_the_rows_gives_the_same_best",
        ),
    },
    "a 40 m gate failed: blank, 0.00, or equal to 30 m": {
        "intake/test_cells.py": (
            "test_the_best_is_the_best_whatever_stands_last_and_a_failed_gate_gives_no_split",
        ),
        "intake/plausibility/test_row_by_row.py": (
            "test_splits_out_of_order_set_the_whole_run_aside",
        ),
    },
    "a 30 kg child with 8 N noise; a 120 kg adult with 23 N offset": {
        "measures/test_force_traces.py": (
            "test_an_eight_newton_plate_under_a_child_of_thirty_kilograms_is_read",
            "test_an_offset_of_23_newtons_under_120_kilograms_is_taken_off",
            "test_a_fixed_threshold_would_have_missed_that_flight",
        ),
    },
    "one plate counted twice; body weight subtracted; a step-off after the jump": {
        "measures/test_force_traces.py": (
            "test_two_plates_with_one_counted_twice_weigh_1_74_times_the_body",
            "test_what_cannot_be_trusted_is_refused_with_a_reason",
            "test_a_step_off_after_the_jump_does_not_win",
        ),
    },
    "a landing alone; a trace in volts; no sampling rate: a 44 m jump": {
        "measures/test_force_traces.py": ("test_what_cannot_be_trusted_is_refused_with_a_reason",),
        "intake/test_force.py": (
            "test_a_fault_is_found_at_its_cell_and_the_row_set_aside",
            "test_without_a_rate_column_no_row_is_used",
        ),
    },
}

HELD = {**READING, **MEASURING}


@cache
def _tests_of(file: str) -> frozenset[str]:
    tree = ast.parse((HERE / file).read_text(encoding="utf-8"))
    return frozenset(node.name for node in tree.body if isinstance(node, ast.FunctionDef))


@pytest.mark.parametrize("trouble", HELD)
def test_each_known_trouble_is_held_by_tests_that_are_there(trouble: str) -> None:
    assert HELD[trouble]
    for file, names in HELD[trouble].items():
        assert names
        assert all(name.startswith("test_") for name in names)
        assert set(names) <= _tests_of(file), file


def test_no_known_trouble_is_left_out() -> None:
    assert (len(READING), len(MEASURING)) == (21, 6)
