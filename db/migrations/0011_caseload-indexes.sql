DROP INDEX `verdicts_child`;--> statement-breakpoint
CREATE INDEX `verdicts_item` ON `verdicts` (`child_id`,`exercise_key`,`item_key`,`sequence`);--> statement-breakpoint
CREATE INDEX `verdicts_fix` ON `verdicts` (`child_id`,`exercise_key`,`item_key`,`sequence`,`judged_at`,`is_stop`) WHERE verdict = 'fix';--> statement-breakpoint
CREATE INDEX `photo_sets_last` ON `photo_sets` (`child_id`,`sent_at`);