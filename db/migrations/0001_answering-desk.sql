CREATE TABLE `answer_pairs` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`answer_id` text NOT NULL,
	`then_photo_id` text NOT NULL,
	`now_photo_id` text NOT NULL,
	FOREIGN KEY (`answer_id`,`child_id`,`family_id`) REFERENCES `answers`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`then_photo_id`,`child_id`,`family_id`) REFERENCES `photos`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`now_photo_id`,`child_id`,`family_id`) REFERENCES `photos`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `answer_pairs_once` ON `answer_pairs` (`answer_id`,`then_photo_id`,`now_photo_id`);--> statement-breakpoint
CREATE TABLE `cues` (
	`id` text PRIMARY KEY NOT NULL,
	`practice_id` text NOT NULL,
	`exercise_key` text NOT NULL,
	`item_key` text NOT NULL,
	`starter_key` text,
	`words` text NOT NULL,
	`version` integer DEFAULT 1 NOT NULL,
	`written_by` text NOT NULL,
	`written_at` integer NOT NULL,
	`retired_at` integer,
	FOREIGN KEY (`practice_id`) REFERENCES `practices`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`written_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `cues_item` ON `cues` (`practice_id`,`exercise_key`,`item_key`);--> statement-breakpoint
CREATE UNIQUE INDEX `cues_starter` ON `cues` (`practice_id`,`exercise_key`,`starter_key`) WHERE starter_key is not null;--> statement-breakpoint
CREATE TABLE `exercise_versions` (
	`id` text PRIMARY KEY NOT NULL,
	`practice_id` text NOT NULL,
	`exercise_key` text NOT NULL,
	`version` integer NOT NULL,
	`body` text NOT NULL,
	`words` text NOT NULL,
	`written_by` text NOT NULL,
	`written_at` integer NOT NULL,
	FOREIGN KEY (`practice_id`) REFERENCES `practices`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`written_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "exercise_versions_version" CHECK("exercise_versions"."version" >= 1)
);
--> statement-breakpoint
CREATE UNIQUE INDEX `exercise_versions_once` ON `exercise_versions` (`practice_id`,`exercise_key`,`version`);--> statement-breakpoint
CREATE TABLE `exercises_retired` (
	`id` text PRIMARY KEY NOT NULL,
	`practice_id` text NOT NULL,
	`exercise_key` text NOT NULL,
	`retired_by` text NOT NULL,
	`retired_at` integer NOT NULL,
	`returned_at` integer,
	FOREIGN KEY (`practice_id`) REFERENCES `practices`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`retired_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `exercises_retired_open` ON `exercises_retired` (`practice_id`,`exercise_key`) WHERE returned_at is null;--> statement-breakpoint
CREATE TABLE `side_cards` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`number` text NOT NULL,
	`made_by` text NOT NULL,
	`made_at` integer NOT NULL,
	`retired_at` integer,
	FOREIGN KEY (`made_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `side_cards_number` ON `side_cards` (`number`);--> statement-breakpoint
CREATE UNIQUE INDEX `side_cards_current` ON `side_cards` (`child_id`) WHERE retired_at is null;--> statement-breakpoint
CREATE TABLE `voice_notes` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`photo_set_id` text NOT NULL,
	`container` text NOT NULL,
	`duration_ms` integer NOT NULL,
	`recorded_by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	`removed_at` integer,
	FOREIGN KEY (`recorded_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `voice_notes_set` ON `voice_notes` (`photo_set_id`);--> statement-breakpoint
CREATE UNIQUE INDEX `voice_notes_of_child` ON `voice_notes` (`id`,`child_id`,`family_id`);--> statement-breakpoint
CREATE TABLE `__new_answers` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`photo_set_id` text NOT NULL,
	`version` integer DEFAULT 1 NOT NULL,
	`kind` text NOT NULL,
	`summary` text NOT NULL,
	`next_step` text NOT NULL,
	`next_view` text,
	`take_again_reason` text,
	`side_reason` text DEFAULT '' NOT NULL,
	`answered_by` text NOT NULL,
	`answered_at` integer NOT NULL,
	`published_at` integer NOT NULL,
	`taken_back_at` integer,
	`amend_reason` text DEFAULT '' NOT NULL,
	`voice_note_id` text,
	FOREIGN KEY (`answered_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`photo_set_id`,`child_id`,`family_id`) REFERENCES `photo_sets`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`voice_note_id`,`child_id`,`family_id`) REFERENCES `voice_notes`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "answers_taken_back" CHECK("__new_answers"."taken_back_at" is null or "__new_answers"."taken_back_at" <= "__new_answers"."published_at")
);
--> statement-breakpoint
INSERT INTO `__new_answers`("id", "child_id", "family_id", "photo_set_id", "version", "kind", "summary", "next_step", "next_view", "take_again_reason", "side_reason", "answered_by", "answered_at", "published_at", "taken_back_at", "amend_reason", "voice_note_id") SELECT "id", "child_id", "family_id", "photo_set_id", 1, "kind", "summary", "next_step", "next_view", "take_again_reason", "side_reason", "answered_by", "answered_at", "answered_at", null, '', null FROM `answers`;--> statement-breakpoint
DROP TABLE `answers`;--> statement-breakpoint
ALTER TABLE `__new_answers` RENAME TO `answers`;--> statement-breakpoint
CREATE UNIQUE INDEX `answers_once` ON `answers` (`photo_set_id`,`version`) WHERE taken_back_at is null;--> statement-breakpoint
CREATE INDEX `answers_child` ON `answers` (`child_id`,`answered_at`);--> statement-breakpoint
CREATE UNIQUE INDEX `answers_of_child` ON `answers` (`id`,`child_id`,`family_id`);--> statement-breakpoint
CREATE TABLE `__new_media_files` (
	`file_id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`photo_id` text,
	`voice_note_id` text,
	`kind` text NOT NULL,
	`answer_id` text,
	`width` integer,
	`height` integer,
	`byte_length` integer NOT NULL,
	`sha256` text NOT NULL,
	`key_id` text NOT NULL,
	`stored_at` integer NOT NULL,
	FOREIGN KEY (`photo_id`,`child_id`,`family_id`) REFERENCES `photos`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`voice_note_id`,`child_id`,`family_id`) REFERENCES `voice_notes`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "media_files_of" CHECK(("__new_media_files"."photo_id" is null) <> ("__new_media_files"."voice_note_id" is null)),
	CONSTRAINT "media_files_voice_kind" CHECK(("__new_media_files"."kind" = 'voice') = ("__new_media_files"."voice_note_id" is not null))
);
--> statement-breakpoint
INSERT INTO `__new_media_files`("file_id", "child_id", "family_id", "photo_id", "voice_note_id", "kind", "answer_id", "width", "height", "byte_length", "sha256", "key_id", "stored_at") SELECT "file_id", "child_id", "family_id", "photo_id", null, "kind", "answer_id", "width", "height", "byte_length", "sha256", "key_id", "stored_at" FROM `media_files`;--> statement-breakpoint
DROP TABLE `media_files`;--> statement-breakpoint
ALTER TABLE `__new_media_files` RENAME TO `media_files`;--> statement-breakpoint
CREATE INDEX `media_files_photo` ON `media_files` (`photo_id`,`kind`);--> statement-breakpoint
CREATE UNIQUE INDEX `media_files_voice` ON `media_files` (`voice_note_id`);--> statement-breakpoint
ALTER TABLE `drafts` ADD `sent_at` integer;--> statement-breakpoint
ALTER TABLE `verdicts` ADD `cue_id` text;--> statement-breakpoint
ALTER TABLE `photos` ADD `card_reading` text;--> statement-breakpoint
ALTER TABLE `photos` ADD `is_turned_back` integer DEFAULT false NOT NULL;--> statement-breakpoint
ALTER TABLE `photos` ADD `mirror_settled_by` text;