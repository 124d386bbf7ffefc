import { patternName } from "@/app/desk/queue-words";
import type { GrantOf } from "@/lib/access/grant";
import { handler } from "@/lib/access/handler";
import type { Pattern } from "@/lib/domain/curve/record";
import { once } from "@/lib/domain/once";
import { csv, CSV_MARK } from "@/lib/domain/words/csv";
import { timedSets } from "@/lib/records/answer-times";
import { exerciseWords } from "@/lib/records/exercise-names";
import { personName } from "@/lib/records/standing";

const MINUTE_MS = 60_000;
const COLUMNS = ["sent_utc", "answered_utc", "due_utc", "working_minutes", "state", "exercise", "curve_pattern", "answered_by", "nth_photo_set", "paused_minutes"];

/**
 * Every photo set that the answer times rest on, without whose it is, read as it is taken: some rows at a time, whoever else waits in between.
 * Instants are UTC; what waits has none for its answer. `paused_minutes`: working time spent waiting on the family, in no other figure.
 */
export const GET = handler("times.read", async (grant, _request, _params, now) => {
  const lots = linesOf(grant, now);
  // The first is read before anything is answered, so that what fails at once is an error and not a broken answer.
  let next = await lots.next();
  const encoder = new TextEncoder();
  const body = new ReadableStream<Uint8Array>({
    async pull(controller) {
      if (next.done) return controller.close();
      controller.enqueue(encoder.encode(next.value));
      next = await lots.next();
    },
    async cancel() { await lots.return(); },
  }, { highWaterMark: 0 });
  return new Response(body, {
    headers: {
      "Content-Type": "text/csv; charset=utf-8", "Content-Disposition": 'attachment; filename="answer-times.csv"',
      "Cache-Control": "private, no-store", "X-Content-Type-Options": "nosniff",
    },
  });
});

async function* linesOf(grant: GrantOf<"times.read">, now: number): AsyncGenerator<string, void> {
  const { practiceId } = grant.actor;
  const instant = (at: number | null): string | null => (at === null ? null : new Date(at).toISOString());
  // A name is looked up once, not once a row.
  const [titleOf, patternSaid, nameOf] = [
    once((key: string) => exerciseWords(practiceId, key, null).title), once((pattern: Pattern) => patternName(pattern)), once((id: string) => personName(practiceId, id)),
  ];
  let [mark, head]: [string, readonly (readonly string[])[]] = [CSV_MARK, [COLUMNS]];
  for await (const sets of timedSets(grant, now)) {
    if (head.length + sets.length > 0) yield mark + csv([...head, ...sets.map(({ sentAt, answeredAt, dueAt, workingMs, pausedMs, isOnFamily, exerciseKey, pattern, answeredBy, nth }) => [
      instant(sentAt), instant(answeredAt), instant(dueAt), Math.round(workingMs / MINUTE_MS), isOnFamily ? "waiting-on-family" : answeredAt === null ? "waiting" : "answered",
      titleOf(exerciseKey), patternSaid(pattern), answeredBy === null ? null : nameOf(answeredBy), nth, Math.round(pausedMs / MINUTE_MS),
    ])]);
    [mark, head] = ["", []];
  }
}
