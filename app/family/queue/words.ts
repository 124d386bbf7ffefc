import "server-only";
import { emergency, problemWords } from "@/app/family/words";
import type { Actor } from "@/lib/access/actor";
import catalogue from "@/lib/messages/en/sending.json";
import { say } from "@/lib/messages/say";

/** Every word of the waiting sets: by its key, `do.` and a remedy, `code.` and a refusal. */
export function queueWords(actor: Actor, now: number): Record<string, string> {
  const [family, sending] = [say("family", actor.reader), say("sending", actor.reader)];
  const { do: remedies, code, signOut: _, ...plain } = catalogue;
  const own = [...Object.keys(plain), ...Object.keys(remedies).map((key) => `do.${key}`), ...Object.keys(code).map((key) => `code.${key}`)];
  const photos = Object.entries(problemWords(actor.reader)).filter(([key]) => /^(?:photo|clip)-/.test(key)).map(([key, words]) => [`code.${key}`, words]);
  return {
    ...Object.fromEntries(photos), ...Object.fromEntries(own.map((key) => [key, sending(key)])),
    ...Object.fromEntries(["taken-just-now", "taken-earlier-today", "taken-before"].map((key) => [key, family(`send.${key}`)])),
    urgent: emergency(actor, now), today: family("stopToday"),
  };
}
