CREATE TABLE `answer_openings` (
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`answer_id` text NOT NULL,
	`person_id` text NOT NULL,
	`opened_at` integer NOT NULL,
	PRIMARY KEY(`answer_id`, `person_id`),
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`answer_id`,`child_id`,`family_id`) REFERENCES `answers`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `answer_openings_child` ON `answer_openings` (`child_id`);