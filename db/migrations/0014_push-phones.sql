CREATE TABLE `push_phones` (
	`id` text PRIMARY KEY NOT NULL,
	`person_id` text NOT NULL,
	`endpoint_hash` text NOT NULL,
	`sealed_address` text NOT NULL,
	`device` text NOT NULL,
	`created_at` integer NOT NULL,
	FOREIGN KEY (`person_id`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `push_phones_endpoint` ON `push_phones` (`endpoint_hash`);--> statement-breakpoint
CREATE INDEX `push_phones_person` ON `push_phones` (`person_id`);--> statement-breakpoint
ALTER TABLE `notices` ADD `phone_id` text REFERENCES push_phones(id) ON DELETE cascade;--> statement-breakpoint
CREATE INDEX `notices_phone` ON `notices` (`phone_id`);