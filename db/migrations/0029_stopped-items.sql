CREATE TABLE `stopped_items` (
	`child_id` text NOT NULL,
	`family_id` text NOT NULL,
	`exercise_key` text NOT NULL,
	`item_key` text NOT NULL,
	`lifted_at` integer,
	PRIMARY KEY(`child_id`, `exercise_key`, `item_key`),
	FOREIGN KEY (`child_id`,`family_id`) REFERENCES `children`(`id`,`family_id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `stopped_items_open` ON `stopped_items` (`lifted_at`);--> statement-breakpoint
DROP INDEX `verdicts_stop`;--> statement-breakpoint
DROP INDEX `verdicts_fix_item`;--> statement-breakpoint
CREATE INDEX `verdicts_fix_item` ON `verdicts` (`item_key`,`child_id`,`exercise_key`) WHERE verdict = 'fix' and is_stop = 0;--> statement-breakpoint
CREATE VIEW look_at_stopped AS SELECT child_id, family_id, exercise_key, item_key FROM stopped_items;--> statement-breakpoint
CREATE TRIGGER stopped_item_looked_at INSTEAD OF INSERT ON look_at_stopped
BEGIN
	DELETE FROM stopped_items WHERE child_id = new.child_id AND exercise_key = new.exercise_key AND item_key = new.item_key;
	INSERT INTO stopped_items (child_id, family_id, exercise_key, item_key, lifted_at)
	SELECT new.child_id, new.family_id, new.exercise_key, new.item_key, (
		SELECT min(CASE WHEN v.answer_id IS NULL THEN 0 ELSE a.published_at END)
		FROM verdicts v LEFT JOIN answers a ON a.id = v.answer_id LEFT JOIN photo_sets s ON s.id = a.photo_set_id
		WHERE v.child_id = new.child_id AND v.exercise_key = new.exercise_key AND v.item_key = new.item_key
			AND v.sequence > f.newest AND v.verdict = 'in-place' AND v.evidence_at <= v.judged_at AND v.evidence_at > f.judged
			AND (v.answer_id IS NULL OR (
				a.version = 1 AND a.taken_back_at IS NULL AND (s.void_reason IS NULL OR s.void_reason <> 'wrong-child')
				AND NOT EXISTS (SELECT 1 FROM answers l WHERE l.photo_set_id = a.photo_set_id AND l.version > 1 AND l.taken_back_at IS NULL))))
	FROM (
		SELECT max(sequence) AS newest, max(judged_at) AS judged FROM verdicts
		WHERE verdict = 'fix' AND child_id = new.child_id AND exercise_key = new.exercise_key AND item_key = new.item_key HAVING max(is_stop) = 1
	) f;
END;--> statement-breakpoint
CREATE TRIGGER stopped_item_judged AFTER INSERT ON verdicts
WHEN new.verdict IN ('fix', 'in-place') AND ((new.verdict = 'fix' AND new.is_stop)
	OR EXISTS (SELECT 1 FROM stopped_items WHERE child_id = new.child_id AND exercise_key = new.exercise_key AND item_key = new.item_key))
BEGIN
	INSERT INTO look_at_stopped VALUES (new.child_id, new.family_id, new.exercise_key, new.item_key);
END;--> statement-breakpoint
CREATE TRIGGER stopped_item_erased AFTER DELETE ON verdicts
WHEN EXISTS (SELECT 1 FROM stopped_items WHERE child_id = old.child_id AND exercise_key = old.exercise_key AND item_key = old.item_key)
BEGIN
	INSERT INTO look_at_stopped VALUES (old.child_id, old.family_id, old.exercise_key, old.item_key);
END;--> statement-breakpoint
CREATE TRIGGER stopped_item_amended AFTER INSERT ON answers WHEN new.version > 1
BEGIN
	INSERT INTO look_at_stopped SELECT * FROM look_at_stopped WHERE child_id = new.child_id;
END;--> statement-breakpoint
CREATE TRIGGER stopped_item_answer_changed AFTER UPDATE OF version, published_at, taken_back_at ON answers
BEGIN
	INSERT INTO look_at_stopped SELECT * FROM look_at_stopped WHERE child_id = new.child_id;
END;--> statement-breakpoint
CREATE TRIGGER stopped_item_answer_erased AFTER DELETE ON answers
BEGIN
	INSERT INTO look_at_stopped SELECT * FROM look_at_stopped WHERE child_id = old.child_id;
END;--> statement-breakpoint
CREATE TRIGGER stopped_item_set_void AFTER UPDATE OF void_reason ON photo_sets
BEGIN
	INSERT INTO look_at_stopped SELECT * FROM look_at_stopped WHERE child_id = new.child_id;
END;--> statement-breakpoint
INSERT INTO look_at_stopped SELECT DISTINCT child_id, family_id, exercise_key, item_key FROM verdicts WHERE verdict = 'fix' AND is_stop = 1;
