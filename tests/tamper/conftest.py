"""Attacks on a record, each a test that says which alarm it must raise, or why none is owed and who alone can tell.

What an attack meets, row by row; ``test_attack_table.py`` holds this list to the tests that there are.

========================================  ==============================================================  =======================
attack                                    tests                                                           what can't be caught
========================================  ==============================================================  =======================
edit a photo                              test_edit_a_photo, test_edit_a_photo_in_the_folder              -
edit a measurement in the database        test_edit_a_measurement_in_the_database,                        -
                                          test_edit_a_measurement_and_seal_anew_with_the_stolen_device
edit, and recompute the chain, no keys    test_edit_and_recompute_the_chain_without_any_key,              -
                                          test_edit_in_the_database_and_chain_anew_without_any_key
drop a photo file                         test_drop_a_photo_file                                          -
drop a photo with its records             test_drop_a_photo_with_its_records                              a photo never added
slip a photo in                           test_a_photo_slipped_in_under_its_own_hash,                     -
                                          test_a_file_that_no_record_accounts_for
cut the tail, to hide a refusal           test_cut_the_tail_to_hide_a_refusal,                            all of it, without a
                                          test_a_part_that_leaves_out_what_speaks_against_it              head held outside
reorder                                   test_reorder                                                    -
backdate, by a holder of the key          test_backdate_by_a_holder_of_the_key,                           minutes between two
                                          test_a_clock_set_wrong_on_purpose_is_caught_by_the_stamps_      stamps; without stamps,
                                          around_it                                                       a clock set wrong
replace the rules                         test_replace_the_rules_file,                                    -
                                          test_change_the_rules_after_the_review
forge an approval                         test_forge_an_approval,                                         what a person signs
                                          test_a_record_that_says_other_than_the_person_signed,           under force
                                          test_edit_the_statement_of_a_release,
                                          test_a_signature_made_for_another_purpose,
                                          test_a_decision_slipped_into_the_database_by_an_enrolled_key
document and release                      test_the_same_person_documents_and_releases,                    two names that do not
                                          test_whoever_corrected_the_steel_cannot_release_it,             read alike; a photo
                                          test_the_same_person_under_a_second_spelling,                   that names nobody is a
                                          test_steel_that_nobody_says_to_have_documented                  caution
what a release rests on, changed after    test_concrete_on_a_release_whose_ground_was_changed,            concrete that no log
                                          test_concrete_after_the_end_of_a_release,                       tells of; a time that
                                          test_a_refusal_that_the_log_passes_over,                        the log tells wrongly
                                          test_a_release_that_leaves_out_what_it_rests_on
a closing signed too early                test_something_written_after_the_signatures,                    -
                                          test_closed_without_a_signature_and_written_on_afterwards,
                                          test_in_a_post_that_is_not_ones_own,
                                          test_a_device_signs_the_closing
a release over what stopped the pour      test_a_release_that_passes_over_what_stopped_the_pour,          a verdict that a check
                                          test_a_release_slipped_before_the_concrete_by_a_clock_set_back, itself says wrongly
                                          test_documenting_under_the_name_of_the_last_round
past the common tools alone               test_an_added_file_is_found_wherever_it_hides,                  what only the audit
                                          test_an_added_link_is_found,                                    holds against the
                                          test_another_key_under_a_reviewers_name,                        records
                                          test_a_list_of_signers_that_was_altered,
                                          test_a_line_behind_the_last_one,
                                          test_a_module_that_stands_in_for_one_of_pythons
old release on a new pour                 test_old_release_on_a_new_pour, test_the_same_release_twice,    -
                                          test_a_head_made_out_for_another_pour,
                                          test_a_bundle_that_says_it_is_of_another_pour
stolen laptop, key revoked                test_stolen_laptop_with_a_revoked_key,                          what was signed between
                                          test_the_head_and_the_seal_signed_with_a_revoked_key            theft and revocation
keys that prove nothing, or another       test_a_key_under_which_anybody_can_sign_anything,               -
                                          test_one_key_for_a_device_and_a_person,
                                          test_a_second_key_in_the_reviewers_name,
                                          test_enrol_somebody_elses_key_in_ones_own_name,
                                          test_a_device_introduces_a_reviewer, test_a_key_signs_once
all keys stolen, history written anew     test_all_keys_stolen_and_the_whole_history_written_anew,        all of it, without a
                                          test_no_release_without_a_head_held_outside,                    head or a stamp held
                                          test_a_history_written_anew_contradicts_its_old_stamp           outside
two histories, two heads                  test_two_heads_of_the_same_size,                                short forms prepared in
                                          test_a_good_head_does_not_cover_for_a_bad_one,                  advance (2^40 tries)
                                          test_a_reviewer_is_shown_an_older_state,
                                          test_a_head_signed_by_a_stranger, test_a_proof_that_is_none
time                                      test_an_authority_of_ones_own, test_a_stamp_over_other_bytes,   markers that a record
                                          test_a_stamp_over_a_head_of_another_record,                     says to be seen, unless
                                          test_a_photo_that_shows_a_board_made_later,                     measured again
                                          test_a_photo_that_only_says_to_show_a_board,
                                          test_a_photo_of_every_standing_board_dates_nothing,
                                          test_a_photo_with_a_board_of_another_pour_is_not_bounded,
                                          test_marker_ids_that_do_not_follow_from_the_head
same-key lie at capture                   test_a_staged_scene                                             all of it: the audit
                                                                                                          says so itself
another value, measured again             test_measuring_again_gives_another_value                        -
the container                             test_a_top_folder_that_leads_elsewhere,                         -
                                          test_a_name_that_means_something_else_elsewhere,
                                          test_two_names_that_are_one_where_case_does_not_count,
                                          test_bytes_before_between_and_behind,
                                          test_a_directory_that_points_elsewhere,
                                          test_a_size_that_is_not_there, test_a_file_twice_in_the_zip,
                                          test_a_compressed_bomb_is_not_unpacked,
                                          test_a_link_in_an_unpacked_bundle,
                                          test_a_file_that_changes_during_the_audit,
                                          test_pack_the_bundle_again
what lies beside the evidence             test_another_release_document, test_a_program_and_texts_that_lie,  texts and pictures for
                                          test_a_list_of_people_that_the_records_do_not_bear_out          reading: said to be so
spelling                                  test_a_record_that_two_readers_read_differently,                -
                                          test_foreign_text_can_neither_write_a_line_of_the_report_nor_
                                          steer_the_terminal,
                                          test_what_is_read_before_signing_is_what_is_written
the database                              test_a_database_with_more_in_it_than_records,                   -
                                          test_a_database_without_its_guards,
                                          test_a_row_that_holds_no_bytes,
                                          test_a_log_of_other_rows_left_beside_the_database
any single byte                           test_every_single_byte_of_a_small_bundle,                       -
                                          test_random_bytes_of_a_full_bundle,
                                          test_every_file_removed_renamed_swapped_or_joined_by_another
false alarm                               test_a_hundred_clean_bundles_raise_no_alarm                     -
========================================  ==============================================================  =======================
"""

from record_world import bundle, people_keys, pour, sealed

__all__ = ["bundle", "people_keys", "pour", "sealed"]
