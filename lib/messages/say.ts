import "server-only";
import { createTranslator } from "use-intl/core";
import auth from "@/lib/messages/en/auth.json";
import common from "@/lib/messages/en/common.json";
import desk from "@/lib/messages/en/desk.json";
import exercise from "@/lib/messages/en/exercise.json";
import family from "@/lib/messages/en/family.json";
import notices from "@/lib/messages/en/notices.json";
import problems from "@/lib/messages/en/problems.json";

const CATALOGUE = { auth, common, desk, exercise, family, notices, problems };
type Area = keyof typeof CATALOGUE;

/** Words of one area; keys may be dotted. Throws on an unknown key, so that a missing sentence fails a test. */
export type Say = (key: string, values?: Readonly<Record<string, string | number>>) => string;

export function say(area: Area): Say {
  const translate = createTranslator({
    locale: "en",
    timeZone: "UTC",
    messages: CATALOGUE,
    onError: (error) => {
      throw error;
    },
  });
  // Keys are composed at run time (item and reason keys), which the typed translator cannot follow.
  const untyped = translate as unknown as Say;
  return (key, values) => untyped(`${area}.${key}`, values);
}
