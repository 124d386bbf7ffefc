CREATE TABLE `alarms` (
	`id` text PRIMARY KEY NOT NULL,
	`practice_id` text NOT NULL,
	`kind` text NOT NULL,
	`raised_at` integer NOT NULL,
	FOREIGN KEY (`practice_id`) REFERENCES `practices`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `alarms_newest` ON `alarms` (`practice_id`,`kind`,`raised_at`);--> statement-breakpoint
CREATE TABLE `alarms_seen` (
	`alarm_id` text PRIMARY KEY NOT NULL,
	`seen_by` text NOT NULL,
	`seen_at` integer NOT NULL,
	FOREIGN KEY (`alarm_id`) REFERENCES `alarms`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`seen_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
ALTER TABLE `practices` ADD `family_megabytes` integer DEFAULT 5000 NOT NULL;--> statement-breakpoint
CREATE INDEX `media_files_family` ON `media_files` (`family_id`,`byte_length`);--> statement-breakpoint
CREATE TRIGGER `alarms_no_update` BEFORE UPDATE ON `alarms` BEGIN SELECT RAISE(ABORT, 'alarms are append-only'); END;--> statement-breakpoint
CREATE TRIGGER `alarms_no_delete` BEFORE DELETE ON `alarms` BEGIN SELECT RAISE(ABORT, 'alarms are append-only'); END;--> statement-breakpoint
CREATE TRIGGER `alarms_seen_no_update` BEFORE UPDATE ON `alarms_seen` BEGIN SELECT RAISE(ABORT, 'alarms are append-only'); END;--> statement-breakpoint
CREATE TRIGGER `alarms_seen_no_delete` BEFORE DELETE ON `alarms_seen` BEGIN SELECT RAISE(ABORT, 'alarms are append-only'); END;
