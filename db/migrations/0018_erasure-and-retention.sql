CREATE TABLE `erased_files` (
	`file_id` text PRIMARY KEY NOT NULL
);
--> statement-breakpoint
CREATE TABLE `erasure_requests` (
	`id` text PRIMARY KEY NOT NULL,
	`kind` text NOT NULL,
	`object_id` text NOT NULL,
	`child_id` text,
	`family_id` text NOT NULL,
	`asked_by` text NOT NULL,
	`asked_at` integer NOT NULL,
	`due_at` integer NOT NULL,
	`taken_back_at` integer,
	`taken_back_by` text,
	FOREIGN KEY (`family_id`) REFERENCES `families`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`asked_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`taken_back_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "erasure_requests_child" CHECK(("erasure_requests"."kind" = 'family') = ("erasure_requests"."child_id" is null))
);
--> statement-breakpoint
CREATE UNIQUE INDEX `erasure_requests_open` ON `erasure_requests` (`kind`,`object_id`) WHERE taken_back_at is null;--> statement-breakpoint
CREATE INDEX `erasure_requests_family` ON `erasure_requests` (`family_id`);--> statement-breakpoint
CREATE INDEX `erasure_requests_due` ON `erasure_requests` (`due_at`);--> statement-breakpoint
CREATE TABLE `quarantines` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`photo_id` text NOT NULL,
	`set_aside_by` text NOT NULL,
	`set_aside_at` integer NOT NULL,
	`released_by` text,
	`released_at` integer,
	FOREIGN KEY (`set_aside_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`released_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`photo_id`,`child_id`,`family_id`) REFERENCES `photos`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `quarantines_open` ON `quarantines` (`photo_id`) WHERE released_at is null;--> statement-breakpoint
CREATE INDEX `quarantines_child` ON `quarantines` (`child_id`);--> statement-breakpoint
CREATE TABLE `retention_runs` (
	`id` text PRIMARY KEY NOT NULL,
	`practice_id` text NOT NULL,
	`ran_at` integer NOT NULL,
	`due` integer NOT NULL,
	`total` integer NOT NULL,
	`outcome` text NOT NULL,
	`confirmed_by` text,
	`confirmed_at` integer,
	FOREIGN KEY (`practice_id`) REFERENCES `practices`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`confirmed_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `retention_runs_newest` ON `retention_runs` (`practice_id`,`ran_at`);--> statement-breakpoint
CREATE TABLE `tombstones` (
	`id` text NOT NULL,
	`kind` text NOT NULL,
	`erased_at` integer NOT NULL,
	PRIMARY KEY(`kind`, `id`)
);
--> statement-breakpoint
ALTER TABLE `photo_sets` ADD `photos_erased_at` integer;--> statement-breakpoint
ALTER TABLE `photo_sets` ADD `erase_warned_at` integer;--> statement-breakpoint
ALTER TABLE `practices` ADD `retention_months` integer DEFAULT 12 NOT NULL;