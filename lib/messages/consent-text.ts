import "server-only";
import { createHash } from "node:crypto";
import type { Reader } from "@/lib/domain/words/reader";
import auth from "@/lib/messages/en/auth.json";
import { say } from "@/lib/messages/say";

export const PURPOSES = ["photos", "teaching"] as const;
export type Purpose = (typeof PURPOSES)[number];

/** The texts people are asked about now. A changed text gets a new version beside the old one, never in its place. */
const CURRENT = { photos: "3", teaching: "1" } as const satisfies Record<Purpose, string>;

/** Whether who agreed to this text about photos has read of clips. */
export const namesClips = (photosVersion: string): boolean => photosVersion !== "1";

export type ConsentText = {
  readonly purpose: Purpose;
  readonly version: string;
  /** SHA-256, hex, of the title and every sentence in order, in the language they were read in: what was read can be proven later. */
  readonly hash: string;
  readonly title: string;
  readonly sentences: readonly string[];
};

export function consentText(purpose: Purpose, reader: Reader, version: string = CURRENT[purpose]): ConsentText {
  const t = say("auth", reader);
  const texts: Readonly<Record<string, object>> = auth.consentText[purpose];
  const [title = "", ...sentences] = Object.keys(texts[version] ?? {}).map((key) => t(`consentText.${purpose}.${version}.${key}`));
  return { purpose, version, title, sentences, hash: createHash("sha256").update(JSON.stringify([title, ...sentences])).digest("hex") };
}
