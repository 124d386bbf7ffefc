import "server-only";
import type { Problem } from "@/lib/domain/result";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";

/** Why nothing was done, as this reader is told. */
export const refusalSaid = ({ code, values }: Problem, reader: Reader): string => say("problems", reader)(code, { ...values });
