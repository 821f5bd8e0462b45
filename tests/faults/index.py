"""The faults that tests inject, by number: what happens, and the tests that show what becomes of it.

Each of these tests ends with the invariants of `tests.support.invariants`, or with what its own
level can see of them: a browser, that the record of the server holds every tick once.
"""

from __future__ import annotations

from tests.faults.fault import KILLS, Fault

PLAYED = frozenset([1, 2, 3, 4, 5, 9, 13, 25, 26])
"""The play of hypothesis makes these happen too."""
FAULTS: dict[int, Fault] = {
    1: Fault("the server is killed before the commit", KILLS),
    2: Fault("the server is killed after the commit and before the answer", KILLS),
    3: Fault(
        "the commit itself fails",
        {
            "tests/routes/api/test_failing.py": (
                "test_a_failed_commit_is_never_answered_with_success",
            ),
            "tests/sync/test_faults.py": (
                "test_a_failed_commit_is_no_stored_outcome_and_sending_again_completes",
            ),
        },
    ),
    4: Fault(
        "everything is delivered again, by sixteen senders at once",
        {
            "tests/sync/test_faults.py": (
                "test_sixteen_senders_of_the_same_events_store_them_once",
                "test_sixteen_tablets_on_sixteen_setups_at_once_lose_nothing",
            ),
        },
    ),
    5: Fault(
        "batches come out of order",
        {
            "tests/faults/test_arrivals.py": (
                "test_batches_in_any_order_of_two_tablets_end_alike",
            ),
            "tests/sync/test_accepting.py": (
                "test_batches_out_of_order_end_in_the_same_state_as_in_order",
            ),
            "tests/sync/test_faults.py": (
                "test_a_shuffled_setup_in_random_batches_ends_in_the_rebuilt_state",
            ),
        },
    ),
    6: Fault(
        "an event never arrives",
        {
            "tests/faults/test_arrivals.py": (
                "test_an_event_that_never_arrives_is_a_gap_by_number_and_stops_nothing",
                "test_a_gap_on_one_tablet_is_not_looked_for_on_another",
            ),
            "tests/sync/test_accepting.py": (
                "test_a_missing_event_leaves_a_gap_that_is_flagged_and_later_filled",
            ),
        },
    ),
    7: Fault(
        "the same id comes with other bytes",
        {
            "tests/faults/test_arrivals.py": (
                "test_the_same_id_with_other_bytes_is_kept_beside_and_the_first_stays_as_it_was",
            ),
            "tests/sync/test_accepting.py": (
                "test_the_same_id_with_other_bytes_is_set_aside_and_its_neighbours_stored",
            ),
        },
    ),
    8: Fault(
        "what cannot be read, or has 2 MB, lies in mid-batch",
        {
            "tests/sync/test_accepting.py": (
                "test_what_is_no_event_is_set_aside_whole_and_blocks_nothing",
            ),
            "tests/sync/test_faults.py": (
                "test_events_with_any_field_changed_never_stop_the_batch",
            ),
            "tests/routes/api/test_sync.py": (
                "test_a_bad_event_in_the_middle_of_a_push_blocks_nothing",
            ),
        },
    ),
    9: Fault(
        "a tablet's clock is years ahead, a day behind, jumps, or changes to winter time",
        {
            "tests/faults/test_clocks.py": (
                "test_tablets_years_apart_leave_one_order_and_say_whose_clock_was_wrong",
                "test_a_clock_set_in_mid_setup_moves_no_record",
                "test_the_end_of_summer_time_is_no_step_in_what_is_kept",
            ),
            "tests/browser/test_tablet_faults.py": (
                "test_a_tablet_whose_clock_is_wrong_works_and_its_records_say_by_how_much",
                "test_a_clock_that_jumps_in_the_middle_of_a_setup_moves_no_record",
            ),
        },
    ),
    10: Fault(
        "the server's clock steps back",
        {
            "tests/faults/test_clocks.py": (
                "test_a_server_clock_that_steps_back_breaks_no_chain_and_loses_nothing",
                "test_a_server_clock_that_steps_back_keeps_a_locked_pin_locked",
            ),
        },
    ),
    11: Fault(
        "the tablet's storage is full",
        {
            "tests/browser/test_tablet_faults.py": (
                "test_storage_quota_exceeded_ticks_nothing_and_the_next_tap_after_making_room_does",
            ),
        },
    ),
    12: Fault(
        "the browser takes the connection to its storage away",
        {
            "tests/browser/test_tablet_faults.py": (
                "test_an_indexeddb_connection_that_is_lost_is_opened_again_by_the_next_tap",
            ),
        },
    ),
    13: Fault(
        "the browser is killed in mid-entry and right after a tick",
        {
            "tests/browser/test_kills.py": (
                "test_a_half_typed_reading_survives_the_death_of_the_browser",
                "test_a_tick_just_before_the_browser_died_is_on_the_server_once",
                "test_a_browser_that_died_in_mid_pass_starts_the_pass_again_and_says_so",
            ),
        },
    ),
    14: Fault(
        "a tablet's storage is wiped",
        {
            "tests/browser/test_tablet_faults.py": (
                "test_a_wiped_tablet_comes_back_as_a_new_one_and_takes_the_setup_over",
            ),
            "tests/faults/test_people.py": (
                "test_a_wiped_tablet_comes_as_a_new_one_and_the_old_ones_records_stay",
            ),
        },
    ),
    15: Fault(
        "a tablet is cloned",
        {
            "tests/browser/test_tablet_faults.py": (
                "test_a_cloned_tablet_is_found_out_nothing_is_lost_and_it_goes_on_under_a_new_name",
            ),
            "tests/faults/test_arrivals.py": (
                "test_a_clones_records_are_kept_whole_beside_those_of_the_first",
            ),
        },
    ),
    16: Fault(
        "a new build comes during a setup; a tablet is two releases behind",
        {
            "tests/browser/test_upgrades.py": (
                "test_a_tablet_two_builds_behind_works_on_and_then_takes_the_latest",
                "test_records_of_the_first_release_are_kept_signed_and_sent_by_this_one",
            ),
        },
    ),
    17: Fault(
        "the shell that is fetched is broken",
        {
            "tests/browser/test_upgrades.py": (
                "test_a_broken_precache_is_thrown_away_and_the_old_shell_goes_on",
            ),
        },
    ),
    18: Fault(
        "two tabs, one frozen, one with an old database",
        {
            "tests/browser/test_tablet_faults.py": (
                "test_of_two_tabs_one_works_and_the_other_goes_on_when_the_first_is_closed",
                "test_a_frozen_tab_keeps_the_other_from_writing_until_it_is_closed",
                "test_an_old_tab_that_holds_an_old_database_is_named_and_nothing_is_lost_when_it_closes",
            ),
        },
    ),
    19: Fault(
        "two tablets answer one step, both offline",
        {
            "tests/faults/test_arrivals.py": (
                "test_two_answers_to_one_step_both_stand_in_either_order",
            ),
            "tests/sync/test_faults.py": (
                "test_two_tablets_on_one_setup_at_once_end_in_the_rebuilt_state",
            ),
            "tests/browser/test_two_tablets.py": (
                "test_two_tablets_offline_on_one_step_give_two_answers_that_a_named_person_settles",
            ),
        },
    ),
    20: Fault(
        "a reading comes after the signature",
        {
            "tests/faults/test_arrivals.py": (
                "test_a_reading_after_the_signature_shows_and_asks_for_another",
            ),
        },
    ),
    21: Fault(
        "a wrong PIN offline and then the right one; the same sign-off fifty times",
        {
            "tests/faults/test_people.py": (
                "test_a_wrong_pin_offline_then_the_right_one_sent_in_any_order_ends_signed",
                "test_the_same_wrong_sign_off_sent_fifty_times_is_one_try",
            ),
            "tests/sync/test_signatures.py": (
                "test_the_same_sign_off_sent_fifty_times_counts_once",
            ),
        },
    ),
    22: Fault(
        "a person is revoked, a role, a PIN or the shop's key is changed meanwhile",
        {
            "tests/faults/test_people.py": (
                "test_work_of_who_left_or_changed_role_meanwhile_is_kept_and_the_signature_refused",
                "test_a_pin_changed_meanwhile_decides_and_the_record_stays",
                "test_a_pin_sealed_before_the_shops_key_was_changed_still_opens",
            ),
        },
    ),
    23: Fault(
        "a tablet is stolen, a sealed PIN is moved, a signature is forged",
        {
            "tests/faults/test_people.py": (
                "test_a_stolen_tablet_that_is_revoked_signs_nothing_any_more",
                "test_a_sealed_pin_moved_to_another_record_does_not_open",
                "test_a_sealed_pin_is_good_for_one_signature",
                "test_a_forged_signature_takes_no_number_and_is_kept_aside",
            ),
        },
    ),
    24: Fault(
        "the database is locked, the disk full, the file system read-only",
        {
            "tests/faults/test_storage.py": (
                "test_a_locked_database_says_when_to_come_again_and_keeps_no_part",
            ),
            "tests/operating/test_read_only.py": (
                "test_on_a_disk_that_is_nearly_full_nothing_is_written_and_everything_can_be_read",
                "test_a_file_that_cannot_grow_leaves_no_partial_rows",
                "test_a_database_that_became_read_only_is_noticed_and_left_by_itself",
                "test_a_postgresql_that_takes_no_writes_is_noticed_and_left_by_itself",
            ),
        },
    ),
    25: Fault(
        "a restore from yesterday, another engine, tables built anew by a migration",
        {
            "tests/faults/test_moving.py": (
                "test_a_server_restored_from_yesterday_gets_everything_again_by_itself",
                "test_a_shop_moved_from_sqlite_to_postgresql_goes_on_where_it_was",
                "test_tables_built_anew_by_a_migration_keep_every_row_number_and_guard",
            ),
        },
    ),
    26: Fault(
        "a half-open network; thirty per cent are lost",
        {
            "tests/browser/test_bad_network.py": (
                "test_with_thirty_per_cent_loss_every_tick_is_on_the_server_once",
                "test_a_half_open_connection_stops_no_work_and_is_given_up_in_the_end",
            ),
        },
    ),
    27: Fault(
        "SIGTERM with an open stream and a push on its way",
        {
            "tests/operating/test_ending.py": (
                "test_streams_a_slow_sender_and_a_computation_do_not_hold_the_end_up",
                "test_a_push_in_flight_is_answered_or_sent_again",
                "test_a_push_that_waits_for_a_lock_is_cut_off_and_keeps_nothing",
            ),
        },
    ),
    28: Fault(
        "somebody edits, deletes, reorders, replaces, cuts the tail or writes the whole anew",
        {
            "tests/cli/test_verify_attacks.py": (
                "test_an_edit_is_found_at_its_row",
                "test_a_deletion_is_found",
                "test_two_events_that_change_places_are_found",
                "test_an_event_replaced_with_the_chain_made_anew_lacks_its_tablets_signature",
                "test_the_tail_cut_off_cleanly_is_found_by_the_checkpoints_outside",
                "test_the_whole_chain_made_anew_is_found_by_the_checkpoints_outside",
                "test_a_chain_made_anew_with_a_key_of_ones_own_is_found",
                "test_the_file_of_checkpoints_cut_shorter_is_found",
                "test_a_guard_that_was_taken_away_is_named",
            ),
        },
    ),
}
