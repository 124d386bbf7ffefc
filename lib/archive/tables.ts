import "server-only";
import type { ChildRecord } from "@/lib/domain/archive/child-record.schema";
import { csv, CSV_MARK } from "@/lib/domain/words/csv";

/** Verdicts and words as tables. What anybody typed is told to be text, so that no spreadsheet reads it as a formula. */
export function archiveTables(record: ChildRecord): Readonly<Record<"verdicts.csv" | "words.csv", string>> {
  const names = new Map(record.people.map(({ id, name }) => [id, name]));
  const who = (id: string): string => names.get(id) ?? "";
  const verdicts = [
    ...record.photoSets.flatMap((set) => set.answers.flatMap((answer) => answer.verdicts.map((each) => ({ ...each, of: set.id, title: set.title, item: each.title, source: "answer", version: answer.version })))),
    ...record.seenLive.flatMap((seen) => seen.verdicts.map((each) => ({ ...each, of: seen.id, title: seen.title, item: each.title, source: seen.how as string, version: 1 }))),
  ];
  const words = [
    ...record.photoSets.flatMap((set) => [
      { at: set.at, by: set.by, kind: "note", of: set.id, words: set.note },
      ...set.askedBack.flatMap((each) => [
        { at: each.at, by: each.by, kind: "question-back", of: set.id, words: each.words },
        ...(each.reply ? [{ at: each.reply.at, by: each.reply.by, kind: "reply", of: set.id, words: each.reply.words }] : []),
      ]),
      ...set.answers.flatMap((answer) => [
        { at: answer.at, by: answer.by, kind: "answer", of: set.id, words: answer.summary },
        ...answer.questions.flatMap((each) => [
          { at: each.at, by: each.by, kind: "question", of: set.id, words: each.words },
          ...(each.reply ? [{ at: each.reply.at, by: each.reply.by, kind: "reply", of: set.id, words: each.reply.words }] : []),
        ]),
      ]),
    ]),
    ...record.symptoms.map((each) => ({ at: each.at, by: each.by, kind: `symptom-${each.tier}`, of: each.id, words: [...each.noticed, each.note].filter((said) => said !== "").join("; ") })),
    ...record.stops.map((each) => ({ at: each.at, by: each.by, kind: "stop", of: each.id, words: each.reason })),
  ].filter((each) => each.words !== "").toSorted((a, b) => a.at.localeCompare(b.at));
  return {
    "verdicts.csv": CSV_MARK + csv([
      ["judged_utc", "judged_by", "source", "of", "version", "exercise", "item", "verdict", "stop_item", "cue"],
      ...verdicts.map((each) => [each.at, who(each.by), each.source, each.of, each.version, each.title, each.item, each.verdict, each.isStop ? "yes" : "no", each.cue]),
    ]),
    "words.csv": CSV_MARK + csv([["utc", "by", "kind", "of", "words"], ...words.map((each) => [each.at, who(each.by), each.kind, each.of, each.words])]),
  };
}
