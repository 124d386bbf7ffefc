CREATE TABLE `waiting_sets` (
	`photo_set_id` text PRIMARY KEY NOT NULL,
	FOREIGN KEY (`photo_set_id`) REFERENCES `photo_sets`(`id`) ON UPDATE no action ON DELETE cascade
);
--> statement-breakpoint
DROP INDEX `photos_hash`;--> statement-breakpoint
DROP INDEX `photos_of_child`;--> statement-breakpoint
CREATE UNIQUE INDEX `photos_of_child` ON `photos` (`child_id`,`family_id`,`id`);--> statement-breakpoint
DROP INDEX `seen_live_of_child`;--> statement-breakpoint
CREATE UNIQUE INDEX `seen_live_of_child` ON `seen_live` (`child_id`,`family_id`,`id`);--> statement-breakpoint
DROP INDEX `questions_of_child`;--> statement-breakpoint
CREATE UNIQUE INDEX `questions_of_child` ON `questions` (`child_id`,`family_id`,`id`);--> statement-breakpoint
DROP INDEX `voice_notes_of_child`;--> statement-breakpoint
CREATE UNIQUE INDEX `voice_notes_of_child` ON `voice_notes` (`child_id`,`family_id`,`id`);--> statement-breakpoint
CREATE INDEX `answers_published` ON `answers` (`published_at`);--> statement-breakpoint
CREATE INDEX `marks_child` ON `marks` (`child_id`);--> statement-breakpoint
CREATE INDEX `read_backs_child` ON `read_backs` (`child_id`,`person_id`);--> statement-breakpoint
CREATE INDEX `verdicts_fix_item` ON `verdicts` (`item_key`,`child_id`,`exercise_key`,`sequence`,`judged_at`,`is_stop`) WHERE verdict = 'fix';--> statement-breakpoint
CREATE INDEX `verdicts_stop` ON `verdicts` (`child_id`,`exercise_key`,`item_key`,`sequence`,`judged_at`) WHERE verdict = 'fix' and is_stop = 1;--> statement-breakpoint
CREATE INDEX `verdicts_cue` ON `verdicts` (`exercise_key`,`sequence`) WHERE cue_id is not null;--> statement-breakpoint
CREATE INDEX `care_links_child` ON `care_links` (`child_id`);--> statement-breakpoint
CREATE INDEX `children_name` ON `children` (`given_name`,`id`);--> statement-breakpoint
CREATE INDEX `families_name` ON `families` (`practice_id`,`name`,`id`);--> statement-breakpoint
CREATE INDEX `notices_kind` ON `notices` (`kind`,`created_at`);--> statement-breakpoint
CREATE INDEX `media_files_child` ON `media_files` (`child_id`,`kind`);--> statement-breakpoint
CREATE INDEX `people_of_practice` ON `people` (`practice_id`,`role`);--> statement-breakpoint
CREATE INDEX `photos_hash_first` ON `photos` (substr(hash, 1, 6));--> statement-breakpoint
CREATE INDEX `photos_hash_middle` ON `photos` (substr(hash, 7, 5));--> statement-breakpoint
CREATE INDEX `photos_hash_last` ON `photos` (substr(hash, 12, 5));--> statement-breakpoint
INSERT INTO `waiting_sets` SELECT `id` FROM `photo_sets` WHERE `sent_at` IS NOT NULL AND `voided_at` IS NULL
	AND NOT EXISTS (SELECT 1 FROM `answers` WHERE `photo_set_id` = `photo_sets`.`id` AND `version` = 1 AND `taken_back_at` IS NULL);--> statement-breakpoint
CREATE TRIGGER waiting_set_sent AFTER INSERT ON photo_sets WHEN new.sent_at IS NOT NULL
BEGIN
	DELETE FROM waiting_sets WHERE photo_set_id = new.id;
	INSERT INTO waiting_sets SELECT id FROM photo_sets WHERE id = new.id AND sent_at IS NOT NULL AND voided_at IS NULL
		AND NOT EXISTS (SELECT 1 FROM answers WHERE photo_set_id = new.id AND version = 1 AND taken_back_at IS NULL);
END;--> statement-breakpoint
CREATE TRIGGER waiting_set_changed AFTER UPDATE OF sent_at, voided_at ON photo_sets
BEGIN
	DELETE FROM waiting_sets WHERE photo_set_id = new.id;
	INSERT INTO waiting_sets SELECT id FROM photo_sets WHERE id = new.id AND sent_at IS NOT NULL AND voided_at IS NULL
		AND NOT EXISTS (SELECT 1 FROM answers WHERE photo_set_id = new.id AND version = 1 AND taken_back_at IS NULL);
END;--> statement-breakpoint
CREATE TRIGGER waiting_set_answered AFTER INSERT ON answers WHEN new.version = 1
BEGIN
	DELETE FROM waiting_sets WHERE photo_set_id = new.photo_set_id;
	INSERT INTO waiting_sets SELECT id FROM photo_sets WHERE id = new.photo_set_id AND sent_at IS NOT NULL AND voided_at IS NULL
		AND NOT EXISTS (SELECT 1 FROM answers WHERE photo_set_id = new.photo_set_id AND version = 1 AND taken_back_at IS NULL);
END;--> statement-breakpoint
CREATE TRIGGER waiting_set_answer_changed AFTER UPDATE OF version, taken_back_at ON answers
BEGIN
	DELETE FROM waiting_sets WHERE photo_set_id = new.photo_set_id;
	INSERT INTO waiting_sets SELECT id FROM photo_sets WHERE id = new.photo_set_id AND sent_at IS NOT NULL AND voided_at IS NULL
		AND NOT EXISTS (SELECT 1 FROM answers WHERE photo_set_id = new.photo_set_id AND version = 1 AND taken_back_at IS NULL);
END;--> statement-breakpoint
CREATE TRIGGER waiting_set_answer_erased AFTER DELETE ON answers
BEGIN
	DELETE FROM waiting_sets WHERE photo_set_id = old.photo_set_id;
	INSERT INTO waiting_sets SELECT id FROM photo_sets WHERE id = old.photo_set_id AND sent_at IS NOT NULL AND voided_at IS NULL
		AND NOT EXISTS (SELECT 1 FROM answers WHERE photo_set_id = old.photo_set_id AND version = 1 AND taken_back_at IS NULL);
END;
