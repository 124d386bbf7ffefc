CREATE INDEX `answers_first` ON `answers` (`photo_set_id`,`version`,`taken_back_at`,`answered_at`,`answered_by`) WHERE version = 1 and taken_back_at is null;--> statement-breakpoint
CREATE UNIQUE INDEX `families_practice` ON `families` (`practice_id`,`id`);--> statement-breakpoint
CREATE INDEX `photo_sets_timed` ON `photo_sets` (`sent_at`,`id`,`family_id`,`child_id`,`exercise_key`,`setup_id`,`voided_at`) WHERE sent_at is not null and voided_at is null;--> statement-breakpoint
CREATE INDEX `photo_sets_setup` ON `photo_sets` (`setup_id`);