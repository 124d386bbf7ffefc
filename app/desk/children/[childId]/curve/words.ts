import "server-only";
import { FILM_VIEWS, PROMINENCES, SOURCES } from "@/lib/domain/curve/record";
import { REGIONS, type Region } from "@/lib/domain/curve/region";
import { SIDES, type Side } from "@/lib/domain/sides";
import type { WarningCode } from "@/lib/domain/curve/record-warnings";
import { FINDINGS } from "@/app/desk/children/[childId]/curve/draft";
import { say } from "@/lib/messages/say";

const PLAIN = [
  "step1", "step2", "step3", "readBackLead", "secondLookLead", "change", "source", "film", "filmHint", "assessedOn", "reassessBy", "apex", "cobb",
  "ribs", "lowBack", "note", "review", "save", "working", "again", "picture", "counts", "ack", "drawn", "lookHere", "entered",
] as const;
const LISTS = { sourceIs: SOURCES, filmIs: FILM_VIEWS, regionIs: REGIONS, isIs: FINDINGS, seenIs: PROMINENCES, pictureIs: SIDES } as const;

/** The editor's words by key; it runs in the browser and cannot read the catalogue. */
export function editorWords(): Readonly<Record<string, string>> {
  const t = say("desk");
  const keys = [...PLAIN, ...Object.entries(LISTS).flatMap(([list, members]) => members.map((member) => `${list}.${member}`))];
  return Object.fromEntries(keys.map((key) => [key, t(`curve.${key}`)]));
}

const ABOUT: Readonly<Record<WarningCode, readonly Region[]>> = {
  "ribs-disagree": ["thoracic"],
  "low-back-disagrees": ["thoracolumbar", "lumbar"],
  "ribs-without-curve": ["thoracic"],
  "low-back-without-curve": ["lumbar"],
  "left-thoracic": ["thoracic"],
  "high-thoracic": ["thoracic"],
};
const EITHER: readonly (Side | null)[] = [null, ...SIDES];

/** The sentence of every second look there can be, by the id `openWarnings` gives it. */
export function warningWords(): Readonly<Record<string, string>> {
  const t = say("exercise");
  return Object.fromEntries(Object.entries(ABOUT).flatMap(([code, regions]) => regions.flatMap((region) => EITHER.flatMap((recorded) => EITHER.map((seen) => [
    [code, region, recorded, seen].filter((part) => part !== null).join(":"),
    t(`warnings.${code}`, { region, recorded: recorded ?? seen ?? "left", seen: seen ?? recorded ?? "left" }),
  ] as const)))));
}
