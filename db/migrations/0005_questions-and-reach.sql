CREATE TABLE `questions` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`answer_id` text NOT NULL,
	`words` text NOT NULL,
	`asked_by` text NOT NULL,
	`asked_at` integer NOT NULL,
	FOREIGN KEY (`asked_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`answer_id`,`child_id`,`family_id`) REFERENCES `answers`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `questions_answer` ON `questions` (`answer_id`);--> statement-breakpoint
CREATE INDEX `questions_asked` ON `questions` (`asked_at`);--> statement-breakpoint
CREATE UNIQUE INDEX `questions_of_child` ON `questions` (`id`,`child_id`,`family_id`);--> statement-breakpoint
CREATE TABLE `replies` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`question_id` text NOT NULL,
	`words` text NOT NULL,
	`replied_by` text NOT NULL,
	`replied_at` integer NOT NULL,
	FOREIGN KEY (`replied_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`question_id`,`child_id`,`family_id`) REFERENCES `questions`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `replies_once` ON `replies` (`question_id`);--> statement-breakpoint
CREATE TABLE `notice_choices` (
	`person_id` text NOT NULL,
	`kind` text NOT NULL,
	`is_on` integer NOT NULL,
	`chosen_at` integer NOT NULL,
	PRIMARY KEY(`person_id`, `kind`),
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
ALTER TABLE `photos` ADD `original_bytes` integer;--> statement-breakpoint
ALTER TABLE `photos` ADD `is_covered` integer DEFAULT false NOT NULL;--> statement-breakpoint
ALTER TABLE `people` ADD `quiet_from` integer;--> statement-breakpoint
ALTER TABLE `people` ADD `quiet_until` integer;--> statement-breakpoint
ALTER TABLE `practices` ADD `read_back_hours` integer DEFAULT 24 NOT NULL;