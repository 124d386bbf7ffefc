CREATE TABLE `clips` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`photo_id` text NOT NULL,
	`container` text NOT NULL,
	`codec` text NOT NULL,
	`duration_ms` integer NOT NULL,
	`frames` integer NOT NULL,
	`width` integer NOT NULL,
	`height` integer NOT NULL,
	`mirrored_flag` integer NOT NULL,
	`taken_at` integer,
	`received_bytes` integer NOT NULL,
	`received_sha256` text NOT NULL,
	`stored_at` integer NOT NULL,
	FOREIGN KEY (`photo_id`,`child_id`,`family_id`) REFERENCES `photos`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `clips_photo` ON `clips` (`photo_id`);--> statement-breakpoint
CREATE INDEX `clips_child` ON `clips` (`child_id`);