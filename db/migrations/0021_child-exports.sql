CREATE TABLE `child_exports` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`asked_by` text NOT NULL,
	`asked_at` integer NOT NULL,
	`begun` integer DEFAULT 0 NOT NULL,
	`files_to_do` integer,
	`files_done` integer DEFAULT 0 NOT NULL,
	`made_at` integer,
	`byte_length` integer,
	`sha256` text,
	`failed_at` integer,
	`gone_at` integer,
	FOREIGN KEY (`asked_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `child_exports_open` ON `child_exports` (`asked_by`,`child_id`) WHERE gone_at is null;--> statement-breakpoint
CREATE INDEX `child_exports_waiting` ON `child_exports` (`asked_at`) WHERE made_at is null and failed_at is null and gone_at is null;--> statement-breakpoint
CREATE UNIQUE INDEX `child_exports_of_child` ON `child_exports` (`id`,`child_id`,`family_id`);--> statement-breakpoint
CREATE TABLE `export_parts` (
	`export_id` text NOT NULL,
	`ordinal` integer NOT NULL,
	`file_id` text NOT NULL,
	`byte_length` integer NOT NULL,
	PRIMARY KEY(`export_id`, `ordinal`),
	FOREIGN KEY (`export_id`) REFERENCES `child_exports`(`id`) ON UPDATE no action ON DELETE cascade
);
