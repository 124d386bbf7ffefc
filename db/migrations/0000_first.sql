CREATE TABLE `answers` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`photo_set_id` text NOT NULL,
	`kind` text NOT NULL,
	`summary` text NOT NULL,
	`next_step` text NOT NULL,
	`next_view` text,
	`take_again_reason` text,
	`side_reason` text DEFAULT '' NOT NULL,
	`answered_by` text NOT NULL,
	`answered_at` integer NOT NULL,
	FOREIGN KEY (`answered_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`photo_set_id`,`child_id`,`family_id`) REFERENCES `photo_sets`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `answers_once` ON `answers` (`photo_set_id`);--> statement-breakpoint
CREATE INDEX `answers_child` ON `answers` (`child_id`,`answered_at`);--> statement-breakpoint
CREATE UNIQUE INDEX `answers_of_child` ON `answers` (`id`,`child_id`,`family_id`);--> statement-breakpoint
CREATE TABLE `claims` (
	`photo_set_id` text PRIMARY KEY NOT NULL,
	`person_id` text NOT NULL,
	`claimed_at` integer NOT NULL,
	`lapses_at` integer NOT NULL,
	FOREIGN KEY (`photo_set_id`) REFERENCES `photo_sets`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `drafts` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`photo_set_id` text NOT NULL,
	`person_id` text NOT NULL,
	`body` text NOT NULL,
	`version` integer NOT NULL,
	`saved_at` integer NOT NULL,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`photo_set_id`,`child_id`,`family_id`) REFERENCES `photo_sets`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `drafts_own` ON `drafts` (`photo_set_id`,`person_id`);--> statement-breakpoint
CREATE TABLE `marks` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`answer_id` text NOT NULL,
	`photo_id` text NOT NULL,
	`body` text NOT NULL,
	FOREIGN KEY (`answer_id`,`child_id`,`family_id`) REFERENCES `answers`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`photo_id`,`child_id`,`family_id`) REFERENCES `photos`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `marks_once` ON `marks` (`answer_id`,`photo_id`);--> statement-breakpoint
CREATE TABLE `read_backs` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`stop_kind` text NOT NULL,
	`stop_id` text NOT NULL,
	`person_id` text NOT NULL,
	`question` text NOT NULL,
	`choice` text NOT NULL,
	`is_right` integer NOT NULL,
	`answered_at` integer NOT NULL,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `read_backs_stop` ON `read_backs` (`stop_kind`,`stop_id`,`person_id`);--> statement-breakpoint
CREATE TABLE `seen_live` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`exercise_key` text NOT NULL,
	`setup_id` text NOT NULL,
	`how` text NOT NULL,
	`seen_at` integer NOT NULL,
	`note` text DEFAULT '' NOT NULL,
	`recorded_by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	FOREIGN KEY (`recorded_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `seen_live_of_child` ON `seen_live` (`id`,`child_id`,`family_id`);--> statement-breakpoint
CREATE TABLE `staff_stops` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`exercise_key` text,
	`reason` text NOT NULL,
	`placed_by` text NOT NULL,
	`placed_at` integer NOT NULL,
	`lifted_by` text,
	`lifted_at` integer,
	`lift_reason` text,
	FOREIGN KEY (`placed_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`lifted_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `staff_stops_child` ON `staff_stops` (`child_id`);--> statement-breakpoint
CREATE TABLE `verdicts` (
	`sequence` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`answer_id` text,
	`seen_live_id` text,
	`exercise_key` text NOT NULL,
	`item_key` text NOT NULL,
	`is_stop` integer NOT NULL,
	`verdict` text NOT NULL,
	`cue` text,
	`sides_key` text NOT NULL,
	`evidence_at` integer,
	`judged_by` text NOT NULL,
	`judged_at` integer NOT NULL,
	FOREIGN KEY (`judged_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`answer_id`,`child_id`,`family_id`) REFERENCES `answers`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`seen_live_id`,`child_id`,`family_id`) REFERENCES `seen_live`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "verdicts_source" CHECK(("verdicts"."answer_id" is null) <> ("verdicts"."seen_live_id" is null)),
	CONSTRAINT "verdicts_stop" CHECK(not ("verdicts"."is_stop" and "verdicts"."verdict" = 'not-part'))
);
--> statement-breakpoint
CREATE UNIQUE INDEX `verdicts_answer` ON `verdicts` (`answer_id`,`item_key`);--> statement-breakpoint
CREATE INDEX `verdicts_child` ON `verdicts` (`child_id`,`exercise_key`,`sequence`);--> statement-breakpoint
CREATE TABLE `care_links` (
	`id` text PRIMARY KEY NOT NULL,
	`person_id` text NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`relation` text NOT NULL,
	`created_at` integer NOT NULL,
	`ended_at` integer,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `care_links_open` ON `care_links` (`person_id`,`child_id`) WHERE ended_at is null;--> statement-breakpoint
CREATE TABLE `children` (
	`id` text PRIMARY KEY NOT NULL,
	`family_id` text NOT NULL,
	`given_name` text NOT NULL,
	`born_in` text NOT NULL,
	`created_at` integer NOT NULL,
	`version` integer DEFAULT 1 NOT NULL,
	FOREIGN KEY (`family_id`) REFERENCES `families`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `children_family` ON `children` (`family_id`);--> statement-breakpoint
CREATE UNIQUE INDEX `children_in_family` ON `children` (`id`,`family_id`);--> statement-breakpoint
CREATE TABLE `consents` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`person_id` text NOT NULL,
	`purpose` text NOT NULL,
	`decision` text NOT NULL,
	`text_version` text NOT NULL,
	`text_hash` text NOT NULL,
	`standing` text NOT NULL,
	`decided_at` integer NOT NULL,
	`sequence` integer NOT NULL,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `consents_order` ON `consents` (`child_id`,`sequence`);--> statement-breakpoint
CREATE TABLE `curve_records` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`record` text NOT NULL,
	`reassess_by` text,
	`pattern_key` text NOT NULL,
	`note` text DEFAULT '' NOT NULL,
	`recorded_by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	`sequence` integer NOT NULL,
	FOREIGN KEY (`recorded_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `curve_records_order` ON `curve_records` (`child_id`,`sequence`);--> statement-breakpoint
CREATE UNIQUE INDEX `curve_records_of_child` ON `curve_records` (`id`,`child_id`,`family_id`);--> statement-breakpoint
CREATE TABLE `families` (
	`id` text PRIMARY KEY NOT NULL,
	`practice_id` text NOT NULL,
	`name` text NOT NULL,
	`created_at` integer NOT NULL,
	`version` integer DEFAULT 1 NOT NULL,
	FOREIGN KEY (`practice_id`) REFERENCES `practices`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `phase_openings` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`exercise_key` text NOT NULL,
	`phase` text NOT NULL,
	`opened_by` text NOT NULL,
	`opened_at` integer NOT NULL,
	`closed_at` integer,
	FOREIGN KEY (`opened_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "phase_openings_phase" CHECK("phase_openings"."phase" in ('position', 'breath', 'movement', 'activation'))
);
--> statement-breakpoint
CREATE UNIQUE INDEX `phase_openings_open` ON `phase_openings` (`child_id`,`exercise_key`,`phase`) WHERE closed_at is null;--> statement-breakpoint
CREATE TABLE `practice_days` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`exercise_key` text NOT NULL,
	`day` text NOT NULL,
	`person_id` text NOT NULL,
	`marked_at` integer NOT NULL,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `practice_days_once` ON `practice_days` (`child_id`,`exercise_key`,`day`);--> statement-breakpoint
CREATE TABLE `setups` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`exercise_key` text NOT NULL,
	`exercise_version` integer NOT NULL,
	`curve_record_id` text NOT NULL,
	`kind` text NOT NULL,
	`resolution` text NOT NULL,
	`sides_key` text NOT NULL,
	`apex_spot` text DEFAULT '' NOT NULL,
	`reason` text DEFAULT '' NOT NULL,
	`confirmed_by` text NOT NULL,
	`confirmed_at` integer NOT NULL,
	`sequence` integer NOT NULL,
	FOREIGN KEY (`confirmed_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`curve_record_id`,`child_id`,`family_id`) REFERENCES `curve_records`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `setups_order` ON `setups` (`child_id`,`exercise_key`,`sequence`);--> statement-breakpoint
CREATE UNIQUE INDEX `setups_of_child` ON `setups` (`id`,`child_id`,`family_id`);--> statement-breakpoint
CREATE TABLE `acts_done` (
	`person_id` text NOT NULL,
	`key` text NOT NULL,
	`act` text NOT NULL,
	`result` text NOT NULL,
	`done_at` integer NOT NULL,
	PRIMARY KEY(`person_id`, `key`)
);
--> statement-breakpoint
CREATE TABLE `audit_entries` (
	`sequence` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`at` integer NOT NULL,
	`actor_id` text,
	`role` text,
	`act` text NOT NULL,
	`object_id` text,
	`family_id` text,
	`outcome` text NOT NULL,
	`request_id` text,
	`session_hash` text,
	`previous_hash` text NOT NULL,
	`hash` text NOT NULL
);
--> statement-breakpoint
CREATE TABLE `notices` (
	`id` text PRIMARY KEY NOT NULL,
	`kind` text NOT NULL,
	`person_id` text NOT NULL,
	`dedupe_key` text NOT NULL,
	`sealed_values` text,
	`created_at` integer NOT NULL,
	`next_try_at` integer NOT NULL,
	`tries` integer DEFAULT 0 NOT NULL,
	`sent_at` integer,
	`gave_up_at` integer,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `notices_once` ON `notices` (`dedupe_key`);--> statement-breakpoint
CREATE INDEX `notices_waiting` ON `notices` (`sent_at`,`next_try_at`);--> statement-breakpoint
CREATE TABLE `media_files` (
	`file_id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`photo_id` text NOT NULL,
	`kind` text NOT NULL,
	`answer_id` text,
	`width` integer NOT NULL,
	`height` integer NOT NULL,
	`byte_length` integer NOT NULL,
	`sha256` text NOT NULL,
	`key_id` text NOT NULL,
	`stored_at` integer NOT NULL,
	FOREIGN KEY (`photo_id`,`child_id`,`family_id`) REFERENCES `photos`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `media_files_photo` ON `media_files` (`photo_id`,`kind`);--> statement-breakpoint
CREATE TABLE `photo_sets` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`exercise_key` text NOT NULL,
	`phase` text NOT NULL,
	`setup_id` text NOT NULL,
	`sent_by` text NOT NULL,
	`started_at` integer NOT NULL,
	`sent_at` integer,
	`taken_at` integer,
	`taken_at_source` text DEFAULT 'unknown' NOT NULL,
	`is_old` integer DEFAULT false NOT NULL,
	`note` text DEFAULT '' NOT NULL,
	`voided_at` integer,
	`voided_by` text,
	`void_reason` text,
	FOREIGN KEY (`sent_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`setup_id`,`child_id`,`family_id`) REFERENCES `setups`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `photo_sets_sent` ON `photo_sets` (`sent_at`);--> statement-breakpoint
CREATE INDEX `photo_sets_child` ON `photo_sets` (`child_id`,`exercise_key`,`sent_at`);--> statement-breakpoint
CREATE UNIQUE INDEX `photo_sets_of_child` ON `photo_sets` (`id`,`child_id`,`family_id`);--> statement-breakpoint
CREATE TABLE `photos` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`photo_set_id` text NOT NULL,
	`ordinal` integer NOT NULL,
	`view` text NOT NULL,
	`width` integer NOT NULL,
	`height` integer NOT NULL,
	`placeholder` text NOT NULL,
	`sharpness` real NOT NULL,
	`exposure_mean` real NOT NULL,
	`exposure_dark_share` real NOT NULL,
	`exposure_light_share` real NOT NULL,
	`hash` text NOT NULL,
	`mirrored_flag` integer NOT NULL,
	`taken_at` integer,
	`head_x` real,
	`head_y` real,
	`facing` text,
	`side_check` text,
	`received_bytes` integer NOT NULL,
	`received_sha256` text NOT NULL,
	`stored_at` integer NOT NULL,
	`removed_at` integer,
	FOREIGN KEY (`photo_set_id`,`child_id`,`family_id`) REFERENCES `photo_sets`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "photos_ordinal" CHECK("photos"."ordinal" between 1 and 4)
);
--> statement-breakpoint
CREATE UNIQUE INDEX `photos_place` ON `photos` (`photo_set_id`,`ordinal`) WHERE removed_at is null;--> statement-breakpoint
CREATE INDEX `photos_hash` ON `photos` (`hash`);--> statement-breakpoint
CREATE UNIQUE INDEX `photos_of_child` ON `photos` (`id`,`child_id`,`family_id`);--> statement-breakpoint
CREATE TABLE `symptom_clearances` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`report_id` text NOT NULL,
	`spoke_to` text NOT NULL,
	`outcome` text NOT NULL,
	`cleared_by` text NOT NULL,
	`cleared_at` integer NOT NULL,
	FOREIGN KEY (`cleared_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`report_id`,`child_id`,`family_id`) REFERENCES `symptom_reports`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `symptom_clearances_once` ON `symptom_clearances` (`report_id`);--> statement-breakpoint
CREATE TABLE `symptom_reports` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`tier` text NOT NULL,
	`symptoms` text NOT NULL,
	`note` text DEFAULT '' NOT NULL,
	`photo_set_id` text,
	`reported_by` text NOT NULL,
	`reported_at` integer NOT NULL,
	FOREIGN KEY (`reported_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `symptom_reports_child` ON `symptom_reports` (`child_id`);--> statement-breakpoint
CREATE UNIQUE INDEX `symptom_reports_of_child` ON `symptom_reports` (`id`,`child_id`,`family_id`);--> statement-breakpoint
CREATE TABLE `closures` (
	`id` text PRIMARY KEY NOT NULL,
	`practice_id` text NOT NULL,
	`day` text NOT NULL,
	`label` text NOT NULL,
	`recorded_by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	`removed_at` integer,
	FOREIGN KEY (`practice_id`) REFERENCES `practices`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `closures_day` ON `closures` (`practice_id`,`day`);--> statement-breakpoint
CREATE TABLE `people` (
	`id` text PRIMARY KEY NOT NULL,
	`practice_id` text NOT NULL,
	`role` text NOT NULL,
	`email` text NOT NULL,
	`name` text NOT NULL,
	`phone` text,
	`time_zone` text,
	`demo_order` integer,
	`disabled_at` integer,
	`version` integer DEFAULT 1 NOT NULL,
	`created_at` integer NOT NULL,
	FOREIGN KEY (`practice_id`) REFERENCES `practices`(`id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "people_role" CHECK("people"."role" in ('lead', 'therapist', 'guardian', 'young-person'))
);
--> statement-breakpoint
CREATE UNIQUE INDEX `people_email` ON `people` (`email`);--> statement-breakpoint
CREATE TABLE `practices` (
	`id` text PRIMARY KEY NOT NULL,
	`name` text NOT NULL,
	`time_zone` text NOT NULL,
	`photo_weeks` integer DEFAULT 8 NOT NULL,
	`version` integer DEFAULT 1 NOT NULL,
	`created_at` integer NOT NULL
);
--> statement-breakpoint
CREATE TABLE `working_hours` (
	`id` text PRIMARY KEY NOT NULL,
	`practice_id` text NOT NULL,
	`effective_from` integer NOT NULL,
	`week` text NOT NULL,
	`promise_minutes` integer NOT NULL,
	`recorded_by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	FOREIGN KEY (`practice_id`) REFERENCES `practices`(`id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "working_hours_promise" CHECK("working_hours"."promise_minutes" > 0)
);
--> statement-breakpoint
CREATE UNIQUE INDEX `working_hours_from` ON `working_hours` (`practice_id`,`effective_from`);--> statement-breakpoint
CREATE TABLE `challenges` (
	`id` text PRIMARY KEY NOT NULL,
	`token_hash` text NOT NULL,
	`person_id` text,
	`purpose` text NOT NULL,
	`value` text NOT NULL,
	`tries` integer DEFAULT 0 NOT NULL,
	`expires_at` integer NOT NULL,
	`used_at` integer,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `challenges_token` ON `challenges` (`token_hash`);--> statement-breakpoint
CREATE TABLE `invitations` (
	`id` text PRIMARY KEY NOT NULL,
	`person_id` text NOT NULL,
	`link_hash` text NOT NULL,
	`created_by` text,
	`created_at` integer NOT NULL,
	`expires_at` integer NOT NULL,
	`used_at` integer,
	`revoked_at` integer,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `invitations_link` ON `invitations` (`link_hash`);--> statement-breakpoint
CREATE INDEX `invitations_person` ON `invitations` (`person_id`);--> statement-breakpoint
CREATE TABLE `passkeys` (
	`id` text PRIMARY KEY NOT NULL,
	`person_id` text NOT NULL,
	`credential_id` text NOT NULL,
	`public_key` text NOT NULL,
	`counter` integer NOT NULL,
	`transports` text NOT NULL,
	`created_at` integer NOT NULL,
	`last_used_at` integer,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `passkeys_credential` ON `passkeys` (`credential_id`);--> statement-breakpoint
CREATE INDEX `passkeys_person` ON `passkeys` (`person_id`);--> statement-breakpoint
CREATE TABLE `sessions` (
	`id` text PRIMARY KEY NOT NULL,
	`token_hash` text NOT NULL,
	`person_id` text NOT NULL,
	`created_at` integer NOT NULL,
	`last_seen_at` integer NOT NULL,
	`ends_at` integer NOT NULL,
	`proved_at` integer,
	`ended_at` integer,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `sessions_token` ON `sessions` (`token_hash`);--> statement-breakpoint
CREATE INDEX `sessions_person` ON `sessions` (`person_id`);--> statement-breakpoint
CREATE TABLE `sign_in_codes` (
	`id` text PRIMARY KEY NOT NULL,
	`address_hash` text NOT NULL,
	`person_id` text,
	`code_hash` text NOT NULL,
	`link_hash` text NOT NULL,
	`created_at` integer NOT NULL,
	`expires_at` integer NOT NULL,
	`tries` integer DEFAULT 0 NOT NULL,
	`used_at` integer,
	`replaced_at` integer,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `sign_in_codes_address` ON `sign_in_codes` (`address_hash`,`created_at`);--> statement-breakpoint
CREATE UNIQUE INDEX `sign_in_codes_link` ON `sign_in_codes` (`link_hash`);--> statement-breakpoint
CREATE TABLE `totp_secrets` (
	`person_id` text PRIMARY KEY NOT NULL,
	`sealed_secret` text NOT NULL,
	`created_at` integer NOT NULL,
	`confirmed_at` integer,
	`last_step` integer,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TRIGGER `audit_entries_no_update` BEFORE UPDATE ON `audit_entries` BEGIN SELECT RAISE(ABORT, 'audit entries are append-only'); END;
--> statement-breakpoint
CREATE TRIGGER `audit_entries_no_delete` BEFORE DELETE ON `audit_entries` BEGIN SELECT RAISE(ABORT, 'audit entries are append-only'); END;
