CREATE TABLE `exercise_drafts` (
	`id` text PRIMARY KEY NOT NULL,
	`practice_id` text NOT NULL,
	`exercise_key` text NOT NULL,
	`person_id` text NOT NULL,
	`based_on` integer NOT NULL,
	`body` text NOT NULL,
	`version` integer NOT NULL,
	`saved_at` integer NOT NULL,
	FOREIGN KEY (`practice_id`) REFERENCES `practices`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `exercise_drafts_own` ON `exercise_drafts` (`practice_id`,`exercise_key`,`person_id`);