CREATE TABLE `extra_openings` (
	`id` text PRIMARY KEY NOT NULL,
	`practice_id` text NOT NULL,
	`day` text NOT NULL,
	`spans` text NOT NULL,
	`recorded_by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	`removed_at` integer,
	FOREIGN KEY (`practice_id`) REFERENCES `practices`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `extra_openings_day` ON `extra_openings` (`practice_id`,`day`);--> statement-breakpoint
CREATE TABLE `__new_working_hours` (
	`id` text PRIMARY KEY NOT NULL,
	`practice_id` text NOT NULL,
	`effective_from` integer NOT NULL,
	`week` text NOT NULL,
	`time_zone` text NOT NULL,
	`promise_minutes` integer NOT NULL,
	`question_minutes` integer NOT NULL,
	`symptom_minutes` integer NOT NULL,
	`recorded_by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	FOREIGN KEY (`practice_id`) REFERENCES `practices`(`id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "working_hours_promise" CHECK("__new_working_hours"."promise_minutes" > 0 and "__new_working_hours"."question_minutes" > 0 and "__new_working_hours"."symptom_minutes" > 0),
	CONSTRAINT "working_hours_symptom" CHECK("__new_working_hours"."symptom_minutes" <= "__new_working_hours"."promise_minutes")
);
--> statement-breakpoint
INSERT INTO `__new_working_hours`("id", "practice_id", "effective_from", "week", "time_zone", "promise_minutes", "question_minutes", "symptom_minutes", "recorded_by", "recorded_at") SELECT "working_hours"."id", "practice_id", "effective_from", "week", "practices"."time_zone", "promise_minutes", "promise_minutes", "promise_minutes", "recorded_by", "recorded_at" FROM `working_hours` INNER JOIN `practices` ON "practices"."id" = "practice_id";--> statement-breakpoint
DROP TABLE `working_hours`;--> statement-breakpoint
ALTER TABLE `__new_working_hours` RENAME TO `working_hours`;--> statement-breakpoint
CREATE UNIQUE INDEX `working_hours_from` ON `working_hours` (`practice_id`,`effective_from`);