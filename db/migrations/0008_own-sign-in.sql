CREATE TABLE `care_agreements` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`guardian_id` text NOT NULL,
	`decision` text NOT NULL,
	`decided_by` text NOT NULL,
	`note` text DEFAULT '' NOT NULL,
	`decided_at` integer NOT NULL,
	`sequence` integer NOT NULL,
	FOREIGN KEY (`guardian_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`decided_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `care_agreements_order` ON `care_agreements` (`child_id`,`sequence`);--> statement-breakpoint
ALTER TABLE `children` ADD `writes_with` text;--> statement-breakpoint
ALTER TABLE `children` ADD `writes_with_said_at` integer;--> statement-breakpoint
ALTER TABLE `practices` ADD `own_sign_in_age` integer DEFAULT 16 NOT NULL;--> statement-breakpoint
ALTER TABLE `practices` ADD `adult_age` integer DEFAULT 18 NOT NULL;--> statement-breakpoint
CREATE UNIQUE INDEX `care_links_self` ON `care_links` (`child_id`) WHERE relation = 'self' and ended_at is null;--> statement-breakpoint
CREATE UNIQUE INDEX `care_links_one_self` ON `care_links` (`person_id`) WHERE relation = 'self' and ended_at is null;