CREATE TABLE `sign_in_failures` (
	`address_hash` text PRIMARY KEY NOT NULL,
	`failures` integer NOT NULL,
	`last_at` integer NOT NULL
);
--> statement-breakpoint
ALTER TABLE `sign_in_codes` ADD `network_hash` text;--> statement-breakpoint
CREATE INDEX `sign_in_codes_network` ON `sign_in_codes` (`network_hash`,`created_at`);