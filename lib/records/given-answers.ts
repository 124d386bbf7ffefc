import "server-only";
import { and, asc, desc, eq, isNull, sql } from "drizzle-orm";
import { among, OF_CHILD, prepared } from "@/db/prepared";
import { answers, verdicts } from "@/db/schema/answers";
import { people } from "@/db/schema/practice";
import type { ChildGrant } from "@/lib/access/grant";
import type { Verdict, View } from "@/lib/domain/setup/vocabulary";
import { spansOf, type GivenSpan } from "@/lib/records/answer-spans";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { grouped } from "@/lib/records/grouped";
import { inForce } from "@/lib/records/in-force";
import { pairsOf, type GivenPair } from "@/lib/records/pairs";
import { questionsOf, type Question } from "@/lib/records/question-threads";
import { voicesOf, type VoiceNote } from "@/lib/records/voice-notes";

export type GivenAnswer = {
  readonly answerId: string;
  /** 1, and one more for each amendment; `amendReason` is empty for the first. */
  readonly version: number;
  readonly amendReason: string;
  readonly kind: "answer" | "take-again";
  readonly summary: string;
  readonly nextStep: "new-photo" | "keep-going" | "open-next-phase" | "book-assessment";
  readonly nextView: View | null;
  readonly answeredAt: number;
  readonly answeredBy: string;
  readonly verdicts: readonly { readonly itemKey: string; readonly verdict: Verdict; readonly cue: string | null; readonly cueId: string | null; readonly sidesKey: string }[];
  /** Photos set side by side; none once one of them may not be looked at any more. */
  readonly pairs: readonly GivenPair[];
  /** Parts of clips to be repeated, by the photo whose clip it is. */
  readonly spans: readonly GivenSpan[];
  /** What the family asked about this version, with the replies, oldest first. */
  readonly thread: readonly Question[];
  /** None once its set is void. */
  readonly voice: VoiceNote | null;
};

/** Every version of the answer to one set that was not taken back, newest first: those on their way too, so not for a family. */
export const versionsOf = async (grant: ChildGrant<"answer.write">, photoSetId: string, now: number): Promise<readonly GivenAnswer[]> =>
  versionsTo(grant, [photoSetId], now).map(({ answer }) => answer);

/** The answer in force to each of these sets, by the set, with the versions that it amended, newest first. For lib/records alone. */
export function answersInForce(grant: ChildGrant<"child.read" | "answer.write">, photoSetIds: readonly string[], now: number): ReadonlyMap<string, { readonly answer: GivenAnswer; readonly earlier: readonly GivenAnswer[] }> {
  const bySet = grouped(versionsTo(grant, photoSetIds, now), ({ photoSetId }) => photoSetId);
  return new Map([...bySet].flatMap(([photoSetId, versions]) => {
    const at = versions.findIndex(({ isInForce }) => isInForce);
    const [inForceNow, ...earlier] = at === -1 ? [] : versions.slice(at).map(({ answer }) => answer);
    return inForceNow ? [[photoSetId, { answer: inForceNow, earlier }] as const] : [];
  }));
}

const versionsOfSets = prepared((db) => db.select({ answer: answers, by: people.name, isInForce: sql<number>`${inForce(sql.placeholder("now"))}` }).from(answers).innerJoin(people, eq(people.id, answers.answeredBy))
  .where(and(own(answers, OF_CHILD), among(answers.photoSetId, "photoSetIds"), isNull(answers.takenBackAt))).orderBy(desc(answers.version)).prepare());

function versionsTo(grant: ChildGrant<"child.read" | "answer.write">, photoSetIds: readonly string[], now: number) {
  const { childId, familyId } = grant;
  const rows = versionsOfSets().all({ childId, familyId, photoSetIds: JSON.stringify(photoSetIds), now });
  const ids = rows.map(({ answer }) => answer.id);
  if (ids.length === 0) return [];
  const [judged, pairs, spans, voices, threads] = [verdictsOf(grant, ids), pairsOf(grant, ids, now), spansOf(grant, ids), voicesOf(grant, ids), grouped(questionsOf(grant), ({ answerId }) => answerId)];
  return rows.map(({ answer, by, isInForce }) => ({
    photoSetId: answer.photoSetId, isInForce: isInForce === 1,
    answer: {
      answerId: answer.id, version: answer.version, amendReason: answer.amendReason, kind: answer.kind, summary: answer.summary, nextStep: answer.nextStep, nextView: answer.nextView,
      answeredAt: answer.answeredAt, answeredBy: by, verdicts: judged.get(answer.id) ?? [], pairs: pairs.get(answer.id) ?? [], spans: spans.get(answer.id) ?? [],
      voice: voices.get(answer.id) ?? null, thread: threads.get(answer.id) ?? [],
    } satisfies GivenAnswer,
  }));
}

const verdictsOfAnswers = prepared((db) => db.select({
  answerId: sql<string>`${verdicts.answerId}`, itemKey: verdicts.itemKey, verdict: verdicts.verdict, cue: verdicts.cue, cueId: verdicts.cueId, sidesKey: verdicts.sidesKey,
}).from(verdicts).where(and(own(verdicts, OF_CHILD), among(verdicts.answerId, "answerIds"))).orderBy(asc(verdicts.sequence)).prepare());

function verdictsOf({ childId, familyId }: ChildRef, answerIds: readonly string[]): ReadonlyMap<string, GivenAnswer["verdicts"]> {
  const rows = verdictsOfAnswers().all({ childId, familyId, answerIds: JSON.stringify(answerIds) });
  return new Map([...grouped(rows, ({ answerId }) => answerId)].map(([id, of]) => [id, of.map(({ answerId: _answerId, ...verdict }) => verdict)]));
}
