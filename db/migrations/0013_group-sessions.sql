CREATE TABLE `group_sessions` (
	`id` text PRIMARY KEY NOT NULL,
	`practice_id` text NOT NULL,
	`exercise_key` text NOT NULL,
	`pattern_key` text NOT NULL,
	`starts_at` integer NOT NULL,
	`how_to_join` text DEFAULT '' NOT NULL,
	`created_by` text NOT NULL,
	`created_at` integer NOT NULL,
	`closed_at` integer,
	`closed_by` text,
	`version` integer DEFAULT 1 NOT NULL,
	FOREIGN KEY (`practice_id`) REFERENCES `practices`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`created_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`closed_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "group_sessions_closed" CHECK(("group_sessions"."closed_at" is null) = ("group_sessions"."closed_by" is null))
);
--> statement-breakpoint
CREATE INDEX `group_sessions_starts` ON `group_sessions` (`practice_id`,`starts_at`);--> statement-breakpoint
CREATE TABLE `photo_asks` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`place_id` text NOT NULL,
	`due_on` text NOT NULL,
	`asked_by` text NOT NULL,
	`asked_at` integer NOT NULL,
	`taken_back_at` integer,
	`taken_back_by` text,
	FOREIGN KEY (`asked_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`taken_back_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`place_id`,`child_id`,`family_id`) REFERENCES `session_places`(`id`,`child_id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `photo_asks_open` ON `photo_asks` (`place_id`) WHERE taken_back_at is null;--> statement-breakpoint
CREATE TABLE `session_invitations` (
	`id` text PRIMARY KEY NOT NULL,
	`session_id` text NOT NULL,
	`link_hash` text NOT NULL,
	`created_by` text NOT NULL,
	`created_at` integer NOT NULL,
	`expires_at` integer NOT NULL,
	`revoked_at` integer,
	FOREIGN KEY (`session_id`) REFERENCES `group_sessions`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`created_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `session_invitations_link` ON `session_invitations` (`link_hash`);--> statement-breakpoint
CREATE UNIQUE INDEX `session_invitations_open` ON `session_invitations` (`session_id`) WHERE revoked_at is null;--> statement-breakpoint
CREATE TABLE `session_places` (
	`id` text PRIMARY KEY NOT NULL,
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`session_id` text NOT NULL,
	`asked_by` text NOT NULL,
	`asked_at` integer NOT NULL,
	`decision` text,
	`decided_by` text,
	`decided_at` integer,
	`ended_at` integer,
	`ended_by` text,
	FOREIGN KEY (`session_id`) REFERENCES `group_sessions`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`asked_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`decided_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`ended_by`) REFERENCES `people`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "session_places_decided" CHECK(("session_places"."decision" is null) = ("session_places"."decided_at" is null))
);
--> statement-breakpoint
CREATE UNIQUE INDEX `session_places_open` ON `session_places` (`session_id`,`child_id`) WHERE ended_at is null;--> statement-breakpoint
CREATE INDEX `session_places_child` ON `session_places` (`child_id`);--> statement-breakpoint
CREATE UNIQUE INDEX `session_places_of_child` ON `session_places` (`id`,`child_id`,`family_id`);