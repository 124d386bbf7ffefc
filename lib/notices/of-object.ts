import "server-only";
import { and, gte, lt, type SQL } from "drizzle-orm";
import { notices } from "@/db/schema/machinery";
import type { NoticeKind } from "@/lib/domain/notices/kinds";

/** Every notice of one kind about one thing, by the beginning of its key: a range of the index, which a pattern is not. */
export const ofObject = (kind: NoticeKind, objectId: string): SQL | undefined =>
  // A semicolon is what comes after a colon.
  and(gte(notices.dedupeKey, `${kind}:${objectId}:`), lt(notices.dedupeKey, `${kind}:${objectId};`));
