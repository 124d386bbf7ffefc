CREATE TABLE `translations` (
	`id` text PRIMARY KEY NOT NULL,
	`practice_id` text NOT NULL,
	`language` text NOT NULL,
	`about` text NOT NULL,
	`source` text NOT NULL,
	`words` text NOT NULL,
	`version` integer DEFAULT 1 NOT NULL,
	`written_by` text NOT NULL,
	`written_at` integer NOT NULL,
	FOREIGN KEY (`practice_id`) REFERENCES `practices`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`written_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `translations_once` ON `translations` (`practice_id`,`language`,`about`,`source`);