import "server-only";
import { and, eq, gt, isNull, lte, notExists, sql, type Placeholder, type SQL } from "drizzle-orm";
import { alias } from "drizzle-orm/sqlite-core";
import { database } from "@/db/client";
import { answers } from "@/db/schema/answers";

const later = alias(answers, "later_version");

/**
 * The one rule of which answers count now: not taken back, published, and the newest such version of
 * its photo set. A condition on `answers`, for the query around it.
 */
export const inForce = (now: number | Placeholder): SQL | undefined => and(
  isNull(answers.takenBackAt), lte(answers.publishedAt, now),
  notExists(database().select({ one: sql`1` }).from(later).where(and(
    eq(later.photoSetId, answers.photoSetId), gt(later.version, answers.version), isNull(later.takenBackAt), lte(later.publishedAt, now),
  ))),
);

/** The answer that stopped its photo set's clock: the first one that was not taken back, published or not. */
// A version written into the statement, not handed to it: an index of first answers can be used only where it is read.
export const firstAnswer = (): SQL | undefined => and(isNull(answers.takenBackAt), sql`${answers.version} = 1`);

/** The newest version that was not taken back, published or not: what a next version builds on. */
export const newestVersion = (): SQL | undefined => and(
  isNull(answers.takenBackAt),
  notExists(database().select({ one: sql`1` }).from(later).where(and(
    eq(later.photoSetId, answers.photoSetId), gt(later.version, answers.version), isNull(later.takenBackAt),
  ))),
);
