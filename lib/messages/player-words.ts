import "server-only";
import { clock } from "@/lib/domain/words/clock";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";

/** What a player of a spoken note says; with a date where it stands apart from its answer. */
export function playerWords(durationMs: number, reader: Reader, date: string | null = null) {
  const t = say("voice", reader);
  const lasts = clock(durationMs);
  return {
    title: date === null ? t("player.title", { lasts }) : t("player.from", { lasts, date }),
    speed: t("player.speed"), times: t("player.times", { n: "{n}" }), same: t("player.same"),
  };
}
