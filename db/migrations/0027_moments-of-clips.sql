CREATE TABLE `answer_spans` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`answer_id` text NOT NULL,
	`photo_id` text NOT NULL,
	`from_ms` integer NOT NULL,
	`to_ms` integer NOT NULL,
	FOREIGN KEY (`answer_id`,`child_id`,`family_id`) REFERENCES `answers`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`photo_id`,`child_id`,`family_id`) REFERENCES `photos`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "answer_spans_forward" CHECK("answer_spans"."from_ms" >= 0 and "answer_spans"."from_ms" < "answer_spans"."to_ms")
);
--> statement-breakpoint
CREATE UNIQUE INDEX `answer_spans_once` ON `answer_spans` (`answer_id`,`photo_id`);--> statement-breakpoint
CREATE INDEX `answer_spans_child` ON `answer_spans` (`child_id`);--> statement-breakpoint
CREATE TABLE `__new_photos` (
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
	`card_reading` text,
	`is_turned_back` integer DEFAULT false NOT NULL,
	`mirror_settled_by` text,
	`taken_at` integer,
	`head_x` real,
	`head_y` real,
	`facing` text,
	`side_check` text,
	`received_bytes` integer NOT NULL,
	`original_bytes` integer,
	`is_covered` integer DEFAULT false NOT NULL,
	`received_sha256` text NOT NULL,
	`stored_at` integer NOT NULL,
	`removed_at` integer,
	`moment_of` text,
	`clip_ms` integer,
	`moment_by` text,
	FOREIGN KEY (`moment_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`photo_set_id`,`child_id`,`family_id`) REFERENCES `photo_sets`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`moment_of`,`child_id`,`family_id`) REFERENCES `photos`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "photos_ordinal" CHECK("__new_photos"."ordinal" between 1 and 10 and ("__new_photos"."ordinal" > 4) = ("__new_photos"."moment_of" is not null)),
	CONSTRAINT "photos_moment_whole" CHECK(("__new_photos"."moment_of" is null) = ("__new_photos"."clip_ms" is null) and ("__new_photos"."moment_of" is null) = ("__new_photos"."moment_by" is null))
);
--> statement-breakpoint
INSERT INTO `__new_photos`("id", "child_id", "family_id", "photo_set_id", "ordinal", "view", "width", "height", "placeholder", "sharpness", "exposure_mean", "exposure_dark_share", "exposure_light_share", "hash", "mirrored_flag", "card_reading", "is_turned_back", "mirror_settled_by", "taken_at", "head_x", "head_y", "facing", "side_check", "received_bytes", "original_bytes", "is_covered", "received_sha256", "stored_at", "removed_at") SELECT "id", "child_id", "family_id", "photo_set_id", "ordinal", "view", "width", "height", "placeholder", "sharpness", "exposure_mean", "exposure_dark_share", "exposure_light_share", "hash", "mirrored_flag", "card_reading", "is_turned_back", "mirror_settled_by", "taken_at", "head_x", "head_y", "facing", "side_check", "received_bytes", "original_bytes", "is_covered", "received_sha256", "stored_at", "removed_at" FROM `photos`;--> statement-breakpoint
DROP TABLE `photos`;--> statement-breakpoint
ALTER TABLE `__new_photos` RENAME TO `photos`;--> statement-breakpoint
CREATE INDEX `photos_moment` ON `photos` (`moment_of`) WHERE moment_of is not null;--> statement-breakpoint
CREATE UNIQUE INDEX `photos_place` ON `photos` (`photo_set_id`,`ordinal`) WHERE removed_at is null;--> statement-breakpoint
CREATE UNIQUE INDEX `photos_of_child` ON `photos` (`child_id`,`family_id`,`id`);--> statement-breakpoint
CREATE INDEX `answer_pairs_child` ON `answer_pairs` (`child_id`);--> statement-breakpoint
CREATE INDEX `photos_hash_first` ON `photos` (substr(hash, 1, 6));--> statement-breakpoint
CREATE INDEX `photos_hash_middle` ON `photos` (substr(hash, 7, 5));--> statement-breakpoint
CREATE INDEX `photos_hash_last` ON `photos` (substr(hash, 12, 5));
