import "server-only";
import type { ThreadTurn } from "@/app/ui/thread";
import type { Actor } from "@/lib/access/actor";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { BackQuestion } from "@/lib/records/back-question-reads";

/** What the family was asked about one photo set, as it reads it. `isOver`: its photos have their answer, so nobody waits any more. */
export const askedTurns = (asked: readonly BackQuestion[], isOver: boolean, { reader, timeZone }: Actor): readonly ThreadTurn[] => asked.map((each) => {
  const t = say("questions", reader);
  const when = (at: number) => formatDateTime(at, timeZone, reader.locale);
  return {
    key: each.backQuestionId,
    asked: t("asked", { who: each.askedBy, date: when(each.askedAt) }),
    words: each.words,
    replied: each.repliedAt !== null ? t("back.answered", { who: each.repliedBy ?? "", date: when(each.repliedAt) })
      : each.newPhotoAt !== null ? t("back.newPhotoCame", { date: when(each.newPhotoAt) }) : each.withdrawnAt !== null ? t("back.withdrawn", { date: when(each.withdrawnAt) }) : t(isOver ? "back.over" : "back.noWords"),
    reply: each.reply,
  };
});
