CREATE TABLE `settled_times` (
	`practice_id` text NOT NULL,
	`week_from` integer NOT NULL,
	`by` text NOT NULL,
	`key` text NOT NULL,
	`minutes` blob NOT NULL,
	`in_time` integer NOT NULL,
	`quantiles` text NOT NULL,
	PRIMARY KEY(`practice_id`, `by`, `week_from`, `key`),
	FOREIGN KEY (`practice_id`,`week_from`) REFERENCES `settled_weeks`(`practice_id`,`week_from`) ON UPDATE no action ON DELETE cascade
);
--> statement-breakpoint
CREATE INDEX `settled_times_week` ON `settled_times` (`practice_id`,`week_from`);--> statement-breakpoint
CREATE TABLE `settled_weeks` (
	`practice_id` text NOT NULL,
	`week_from` integer NOT NULL,
	`week_until` integer NOT NULL,
	`settled_at` integer NOT NULL,
	PRIMARY KEY(`practice_id`, `week_from`),
	FOREIGN KEY (`practice_id`) REFERENCES `practices`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `settled_weeks_until` ON `settled_weeks` (`week_until`);--> statement-breakpoint
DROP INDEX `back_questions_timed`;--> statement-breakpoint
CREATE INDEX `back_questions_timed` ON `back_questions` (`asked_at`,`family_id`,`photo_set_id`,`replied_at`,`withdrawn_at`,`new_photo_at`);--> statement-breakpoint
DROP INDEX `questions_asked`;--> statement-breakpoint
CREATE INDEX `questions_asked` ON `questions` (`asked_at`,`family_id`,`answer_id`,`id`);--> statement-breakpoint
CREATE INDEX `curve_records_pattern` ON `curve_records` (`pattern_key`,`family_id`);--> statement-breakpoint
CREATE INDEX `photo_sets_wrong_child` ON `photo_sets` (`id`) WHERE void_reason = 'wrong-child';--> statement-breakpoint
CREATE VIEW no_more_settled AS SELECT sent_at, child_id, exercise_key FROM photo_sets;--> statement-breakpoint
CREATE TRIGGER settled_no_more INSTEAD OF INSERT ON no_more_settled
BEGIN
	DELETE FROM settled_weeks WHERE week_until > new.sent_at AND (week_from <= new.sent_at OR EXISTS (
		SELECT 1 FROM photo_sets WHERE child_id = new.child_id AND exercise_key = new.exercise_key AND sent_at >= week_from AND sent_at < week_until));
END;--> statement-breakpoint
CREATE TRIGGER settled_set_sent AFTER INSERT ON photo_sets WHEN new.sent_at IS NOT NULL
BEGIN
	INSERT INTO no_more_settled SELECT new.sent_at, new.child_id, new.exercise_key WHERE new.sent_at IS NOT NULL;
END;--> statement-breakpoint
CREATE TRIGGER settled_set_changed AFTER UPDATE OF child_id, exercise_key, setup_id, sent_at, voided_at ON photo_sets
BEGIN
	INSERT INTO no_more_settled SELECT old.sent_at, old.child_id, old.exercise_key WHERE old.sent_at IS NOT NULL;
	INSERT INTO no_more_settled SELECT new.sent_at, new.child_id, new.exercise_key WHERE new.sent_at IS NOT NULL;
END;--> statement-breakpoint
CREATE TRIGGER settled_set_erased AFTER DELETE ON photo_sets WHEN old.sent_at IS NOT NULL
BEGIN
	INSERT INTO no_more_settled SELECT old.sent_at, old.child_id, old.exercise_key WHERE old.sent_at IS NOT NULL;
END;--> statement-breakpoint
CREATE TRIGGER settled_answered AFTER INSERT ON answers WHEN new.version = 1
BEGIN
	INSERT INTO no_more_settled SELECT sent_at, child_id, exercise_key FROM photo_sets WHERE id = new.photo_set_id AND sent_at IS NOT NULL;
END;--> statement-breakpoint
CREATE TRIGGER settled_answer_changed AFTER UPDATE OF photo_set_id, version, taken_back_at, answered_by, answered_at ON answers
BEGIN
	INSERT INTO no_more_settled SELECT sent_at, child_id, exercise_key FROM photo_sets WHERE id = old.photo_set_id AND sent_at IS NOT NULL;
	INSERT INTO no_more_settled SELECT sent_at, child_id, exercise_key FROM photo_sets WHERE id = new.photo_set_id AND sent_at IS NOT NULL;
END;--> statement-breakpoint
CREATE TRIGGER settled_answer_erased AFTER DELETE ON answers
BEGIN
	INSERT INTO no_more_settled SELECT sent_at, child_id, exercise_key FROM photo_sets WHERE id = old.photo_set_id AND sent_at IS NOT NULL;
END;--> statement-breakpoint
CREATE TRIGGER settled_asked AFTER INSERT ON back_questions
BEGIN
	INSERT INTO no_more_settled SELECT sent_at, child_id, exercise_key FROM photo_sets WHERE id = new.photo_set_id AND sent_at IS NOT NULL;
END;--> statement-breakpoint
CREATE TRIGGER settled_question_changed AFTER UPDATE OF photo_set_id, asked_at, replied_at, withdrawn_at, new_photo_at ON back_questions
BEGIN
	INSERT INTO no_more_settled SELECT sent_at, child_id, exercise_key FROM photo_sets WHERE id = old.photo_set_id AND sent_at IS NOT NULL;
	INSERT INTO no_more_settled SELECT sent_at, child_id, exercise_key FROM photo_sets WHERE id = new.photo_set_id AND sent_at IS NOT NULL;
END;--> statement-breakpoint
CREATE TRIGGER settled_question_erased AFTER DELETE ON back_questions
BEGIN
	INSERT INTO no_more_settled SELECT sent_at, child_id, exercise_key FROM photo_sets WHERE id = old.photo_set_id AND sent_at IS NOT NULL;
END;--> statement-breakpoint
CREATE TRIGGER settled_hours AFTER INSERT ON working_hours
BEGIN
	DELETE FROM settled_weeks WHERE settled_at > new.effective_from;
END;--> statement-breakpoint
CREATE TRIGGER settled_hours_changed AFTER UPDATE ON working_hours
BEGIN
	DELETE FROM settled_weeks;
END;--> statement-breakpoint
CREATE TRIGGER settled_hours_erased AFTER DELETE ON working_hours
BEGIN
	DELETE FROM settled_weeks;
END;--> statement-breakpoint
CREATE TRIGGER settled_closures AFTER INSERT ON closures
BEGIN
	DELETE FROM settled_weeks WHERE settled_at > new.recorded_at;
END;--> statement-breakpoint
CREATE TRIGGER settled_closures_ended AFTER UPDATE OF removed_at ON closures
BEGIN
	DELETE FROM settled_weeks WHERE settled_at > old.removed_at OR settled_at > new.removed_at;
END;--> statement-breakpoint
CREATE TRIGGER settled_closures_changed AFTER UPDATE OF day, recorded_at ON closures
BEGIN
	DELETE FROM settled_weeks;
END;--> statement-breakpoint
CREATE TRIGGER settled_closures_erased AFTER DELETE ON closures
BEGIN
	DELETE FROM settled_weeks;
END;--> statement-breakpoint
CREATE TRIGGER settled_extra_openings AFTER INSERT ON extra_openings
BEGIN
	DELETE FROM settled_weeks WHERE settled_at > new.recorded_at;
END;--> statement-breakpoint
CREATE TRIGGER settled_extra_openings_ended AFTER UPDATE OF removed_at ON extra_openings
BEGIN
	DELETE FROM settled_weeks WHERE settled_at > old.removed_at OR settled_at > new.removed_at;
END;--> statement-breakpoint
CREATE TRIGGER settled_extra_openings_changed AFTER UPDATE OF day, spans, recorded_at ON extra_openings
BEGIN
	DELETE FROM settled_weeks;
END;--> statement-breakpoint
CREATE TRIGGER settled_extra_openings_erased AFTER DELETE ON extra_openings
BEGIN
	DELETE FROM settled_weeks;
END;--> statement-breakpoint
CREATE TRIGGER settled_zone AFTER UPDATE OF time_zone ON practices
BEGIN
	DELETE FROM settled_weeks;
END;
