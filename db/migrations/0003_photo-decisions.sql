CREATE TABLE `photo_decisions` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`photo_id` text NOT NULL,
	`decision` text NOT NULL,
	`reason` text NOT NULL,
	`decided_by` text NOT NULL,
	`decided_at` integer NOT NULL,
	FOREIGN KEY (`decided_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`photo_id`,`child_id`,`family_id`) REFERENCES `photos`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `photo_decisions_photo` ON `photo_decisions` (`photo_id`);