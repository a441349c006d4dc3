"""Every kind of event that a record knows is written by something and tried by a test; none is known that nobody writes."""

from __future__ import annotations

import ast
import importlib
import inspect
from collections.abc import Mapping
from pathlib import Path

import pytest

from verifier.record.kinds import KINDS

TESTS = Path(__file__).parents[1]

CEREMONY = "drawn/test_release_ceremony.py"
WORDS = "drawn/test_review_words.py"
ROUNDS = "house/test_rounds_in_the_record.py"
CLOSING = "house/test_closing_in_the_record.py"
ACTING, ENTRIES = "verifier.pipeline.people.acting", "verifier.pipeline.inspection.round_entries"
REVIEWING, HANDING = "verifier.pipeline.review.reviewing", "verifier.pipeline.review.handing_over"

# Kind -> module and function that write it, file and test that try it.
WRITTEN: dict[str, tuple[str, str, str, str]] = {
    "device.enrol": (
        *("verifier.record.people", "join_device", CEREMONY),
        "test_the_record_vouches_for_the_certificate_under_which_documents_are_sealed",
    ),
    "device.clock": (
        *("verifier.record.people", "note_clock", CEREMONY),
        "test_a_clock_that_ran_ahead_is_told_and_work_goes_on",
    ),
    "key.enrol": (
        *("verifier.record.people", "enrol", CEREMONY),
        "test_nobody_is_enrolled_beyond_the_drawing_file_or_unintroduced",
    ),
    "key.revoke": ("verifier.record.people", "revoke", CEREMONY, "test_a_revoked_key_releases_nothing"),
    "drawing": (
        ACTING,
        "open_record",
        CEREMONY,
        "test_folder_and_bundle_tell_the_same_story_and_what_changed",
    ),
    "falsework.file": (
        *(ACTING, "open_record", CEREMONY),
        "test_what_a_release_rests_on_ends_it_in_the_record_when_it_becomes_another",
    ),
    "order.file": (
        *(ACTING, "open_record", CEREMONY),
        "test_what_a_release_rests_on_ends_it_in_the_record_when_it_becomes_another",
    ),
    "rules": (ACTING, "open_record", CEREMONY, "test_folder_and_bundle_tell_the_same_story_and_what_changed"),
    "rounds.list": (ENTRIES, "record_answers", ROUNDS, "test_the_list_in_the_record_outlives_a_changed_file"),
    "rounds.people": (
        ENTRIES,
        "record_answers",
        ROUNDS,
        "test_the_sealed_bundle_holds_answers_list_and_photo",
    ),
    "board": (
        *("verifier.record.stamps", "issue_board", "drawn/test_issued_boards.py"),
        "test_a_photo_of_an_issued_board_is_bounded_from_both_sides",
    ),
    "photo": (
        *("verifier.pipeline.intake.adding", "add_photos", "drawn/test_pour_folder.py"),
        "test_photos_are_in_the_record_before_the_first_one_is_measured",
    ),
    "tape": (
        *("verifier.pipeline.intake.adding", "add_tape", "drawn/test_pour_folder.py"),
        "test_a_tape_file_put_right_and_added_again_takes_the_place_of_the_first",
    ),
    "measurement": (
        *("verifier.pipeline.intake.adding", "add_photos", "drawn/test_pour_folder.py"),
        "test_recorded_measurements_are_not_made_again_until_the_board_is_known_better",
    ),
    "observation": (
        *("verifier.pipeline.intake.adding", "add_photos", CEREMONY),
        "test_what_a_photo_brings_is_told_apart_in_the_record",
    ),
    "item": (
        ENTRIES,
        "record_answers",
        ROUNDS,
        "test_who_only_looks_in_the_last_round_has_not_documented_the_work",
    ),
    "inspection": (
        ENTRIES,
        "record_answers",
        ROUNDS,
        "test_an_earlier_answer_or_a_repair_can_not_pass_as_an_inspection",
    ),
    "correction": (
        ENTRIES,
        "record_round_event",
        ROUNDS,
        "test_a_defect_stops_until_put_right_and_seen_again",
    ),
    "hold.release": (
        *(ENTRIES, "record_round_event", ROUNDS),
        "test_a_hold_point_is_released_with_the_own_key_and_opened_by_a_moved_prop",
    ),
    "finding": (
        *("verifier.pipeline.sealing.recording", "record_check", "drawn/test_pour_folder.py"),
        "test_a_check_in_the_record_tells_what_changed_and_seals_into_a_bundle_that_holds",
    ),
    "check": (
        *("verifier.pipeline.sealing.recording", "record_check", CEREMONY),
        "test_a_release_is_signed_by_the_person_and_its_bundle_holds",
    ),
    "review.ask": (
        HANDING,
        "hand_over",
        WORDS,
        "test_a_hand_over_names_who_and_when_and_stands_in_the_queue",
    ),
    "review.back": (
        HANDING,
        "take_back",
        WORDS,
        "test_taken_back_it_stops_the_pour_until_it_is_handed_over_again",
    ),
    "remark": (REVIEWING, "say", WORDS, "test_a_remark_on_a_place_is_seen_and_answered"),
    "return": (
        *(REVIEWING, "send_back", WORDS),
        "test_an_item_sent_back_stops_the_pour_until_it_is_lifted_under_the_own_key",
    ),
    "spot.ask": (REVIEWING, "say", WORDS, "test_a_further_spot_is_asked_for_like_those_of_the_drawing"),
    "spot.waive": (
        REVIEWING,
        "send_back",
        WORDS,
        "test_a_further_spot_is_asked_for_like_those_of_the_drawing",
    ),
    "measurement.own": (
        *(REVIEWING, "measure_personally", WORDS),
        "test_an_own_measurement_is_kept_with_its_doubt_and_decides_nothing",
    ),
    "acceptance": (
        *("verifier.pipeline.approval.accepting", "stands", CEREMONY),
        "test_a_no_go_is_released_only_if_the_engineer_of_record_accepts_in_writing",
    ),
    "refusal": (
        *("verifier.pipeline.approval.releasing", "refuse", CEREMONY),
        "test_a_refusal_is_a_record_of_its_own",
    ),
    "release": (
        *("verifier.record.people", "release", CEREMONY),
        "test_a_release_is_signed_by_the_person_and_its_bundle_holds",
    ),
    "lapse": (
        *("verifier.pipeline.sealing.recording", "record_check", CEREMONY),
        "test_a_release_stands_until_it_runs_out_or_something_changes_and_its_lapse_is_recorded",
    ),
    "order": (
        *("verifier.pipeline.concreting.orders", "send_order", "house/test_order_in_the_record.py"),
        "test_an_order_counts_once_it_is_sent_and_confirmed",
    ),
    "pour.log": (
        *("verifier.pipeline.concreting.pouring", "record_log", CLOSING),
        "test_an_entry_that_waited_for_a_connection_counts_once",
    ),
    "closing": (
        "verifier.pipeline.concreting.closing",
        "record_after",
        CLOSING,
        "test_a_dry_day_lengthens_the_curing",
    ),
    "propping": (
        *("verifier.pipeline.concreting.closing", "record_after", CLOSING),
        "test_back_props_are_written_and_checked_floor_by_floor",
    ),
    "closing.sign": (
        *("verifier.pipeline.concreting.closing", "sign_closing", CLOSING),
        "test_nobody_signs_for_another_post_and_nothing_closes_while_something_lacks",
    ),
    "close": (
        *("verifier.pipeline.concreting.closing", "close_record", CLOSING),
        "test_a_record_closes_when_everything_is_there_and_its_bundle_holds",
    ),
    "seal": (
        *("verifier.record.sealing", "seal", CEREMONY),
        "test_a_release_is_signed_by_the_person_and_its_bundle_holds",
    ),
    "token": (
        *("verifier.record.stamps", "record_stamp", "tamper/test_stamped_pour.py"),
        "test_a_stamp_carried_by_hand_bounds_every_photo_before_it",
    ),
}


def test_every_kind_stands_in_the_table() -> None:
    assert set(WRITTEN) == set(KINDS)


@pytest.mark.parametrize("kind", WRITTEN)
def test_each_kind_has_its_writer_and_its_test(kind: str) -> None:
    module_name, function, file, test = WRITTEN[kind]
    module = importlib.import_module(module_name)
    assert callable(getattr(module, function))
    fields = (getattr(one, "model_fields", {}) for one in vars(module).values() if isinstance(one, type))
    models = {known["kind"].default for known in fields if "kind" in known}
    listed = {key for one in vars(module).values() if isinstance(one, Mapping) for key in one}
    assert kind in models | listed or f'"{kind}"' in inspect.getsource(module), (
        f"{module_name} never names {kind}"
    )
    tree = ast.parse((TESTS / file).read_text(encoding="utf-8"))
    assert test in {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}
