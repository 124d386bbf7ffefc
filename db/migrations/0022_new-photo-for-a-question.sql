CREATE TABLE `__new_back_questions` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`photo_set_id` text NOT NULL,
	`words` text NOT NULL,
	`side_reason` text DEFAULT '' NOT NULL,
	`asked_by` text NOT NULL,
	`asked_at` integer NOT NULL,
	`reply` text,
	`replied_by` text,
	`replied_at` integer,
	`withdrawn_by` text,
	`withdrawn_at` integer,
	`new_photo_at` integer,
	FOREIGN KEY (`asked_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`replied_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`withdrawn_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`photo_set_id`,`child_id`,`family_id`) REFERENCES `photo_sets`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "back_questions_reply" CHECK(("__new_back_questions"."reply" is null) = ("__new_back_questions"."replied_at" is null) and ("__new_back_questions"."replied_by" is null) = ("__new_back_questions"."replied_at" is null)),
	CONSTRAINT "back_questions_withdrawn" CHECK(("__new_back_questions"."withdrawn_by" is null) = ("__new_back_questions"."withdrawn_at" is null)),
	CONSTRAINT "back_questions_end" CHECK(("__new_back_questions"."replied_at" is not null) + ("__new_back_questions"."withdrawn_at" is not null) + ("__new_back_questions"."new_photo_at" is not null) <= 1)
);
--> statement-breakpoint
INSERT INTO `__new_back_questions`("id", "child_id", "family_id", "photo_set_id", "words", "side_reason", "asked_by", "asked_at", "reply", "replied_by", "replied_at", "withdrawn_by", "withdrawn_at") SELECT "id", "child_id", "family_id", "photo_set_id", "words", "side_reason", "asked_by", "asked_at", "reply", "replied_by", "replied_at", "withdrawn_by", "withdrawn_at" FROM `back_questions`;--> statement-breakpoint
DROP TABLE `back_questions`;--> statement-breakpoint
ALTER TABLE `__new_back_questions` RENAME TO `back_questions`;--> statement-breakpoint
CREATE UNIQUE INDEX `back_questions_open` ON `back_questions` (`photo_set_id`) WHERE replied_at is null and withdrawn_at is null and new_photo_at is null;--> statement-breakpoint
CREATE INDEX `back_questions_child` ON `back_questions` (`child_id`,`photo_set_id`);--> statement-breakpoint
CREATE INDEX `back_questions_timed` ON `back_questions` (`family_id`,`photo_set_id`,`asked_at`,`replied_at`,`withdrawn_at`,`new_photo_at`);