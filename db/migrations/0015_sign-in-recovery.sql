CREATE TABLE `recovery_codes` (
	`id` text PRIMARY KEY NOT NULL,
	`person_id` text NOT NULL,
	`code_hash` text NOT NULL,
	`created_at` integer NOT NULL,
	`used_at` integer,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `recovery_codes_code` ON `recovery_codes` (`code_hash`);--> statement-breakpoint
CREATE INDEX `recovery_codes_person` ON `recovery_codes` (`person_id`);--> statement-breakpoint
CREATE TABLE `totp_failures` (
	`person_id` text PRIMARY KEY NOT NULL,
	`failures` integer NOT NULL,
	`last_at` integer NOT NULL,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
ALTER TABLE `sessions` ADD `browser` text;--> statement-breakpoint
ALTER TABLE `sessions` ADD `system` text;