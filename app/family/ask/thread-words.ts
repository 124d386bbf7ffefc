import "server-only";
import { expectSaid } from "@/app/family/expectation";
import type { ThreadTurn } from "@/app/ui/thread";
import type { Actor } from "@/lib/access/actor";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { Question } from "@/lib/records/question-threads";

/** Both sides of a thread as a family reads them; what waits says until when. */
export const turnsOf = (thread: readonly Question[], actor: Actor, now: number): readonly ThreadTurn[] => thread.map((question) => {
  const t = say("questions", actor.reader);
  return {
    key: question.questionId,
    asked: t("asked", { who: question.askedBy, date: formatDateTime(question.askedAt, actor.timeZone, actor.reader.locale) }),
    words: question.words,
    replied: question.reply
      ? t("replied", { who: question.reply.repliedBy, date: formatDateTime(question.reply.repliedAt, actor.timeZone, actor.reader.locale) })
      : `${t("waits")} ${expectSaid("question", question.askedAt, actor, now)}`,
    reply: question.reply?.words ?? null,
  };
});
