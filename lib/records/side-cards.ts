import "server-only";
import { and, eq, inArray, isNull, sql } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { OF_CHILD, prepared } from "@/db/prepared";
import { families } from "@/db/schema/care";
import { photoDecisions } from "@/db/schema/photos";
import { sideCards } from "@/db/schema/teaching";
import type { ChildGrant } from "@/lib/access/grant";
import { CARD_RANDOM_LENGTH, cardNumber } from "@/lib/domain/photo/card-number";
import type { CardFinding, CardOwner, CardSaid } from "@/lib/domain/photo/side-card";
import { serialiseFinding } from "@/lib/domain/photo/side-card.schema";
import { ok, type Result } from "@/lib/domain/result";
import { act } from "@/lib/records/act";
import { own, type ChildRef } from "@/lib/records/child-facts";

export type SideCard = { readonly number: string; readonly madeAt: number };

/** This child's card in use, or null when none was made yet. */
export async function sideCardOf(grant: ChildGrant<"side-card.print">): Promise<SideCard | null> {
  return database().transaction((tx) => currentCard(tx, grant));
}

/** The numbers of all cards made for this child, lost ones too, by which its family's phone knows them. */
export async function cardNumbersOf(grant: ChildGrant<"photo-set.send">): Promise<readonly string[]> {
  return database().select({ number: sideCards.number }).from(sideCards).where(own(sideCards, grant)).all().map(({ number }) => number);
}

/** The child's card, made now if there is none. */
export async function makeSideCard(grant: ChildGrant<"side-card.print">, now: number): Promise<Result<SideCard>> {
  return act(grant, "side-card.made", now, (tx) => {
    const there = currentCard(tx, grant);
    return there ? ok({ objectId: grant.childId, value: there }) : insertCard(tx, grant, now);
  });
}

/** A lost card is used no more and a new one made; the lost one is still known as this child's. */
export async function renewSideCard(grant: ChildGrant<"side-card.renew">, now: number): Promise<Result<SideCard>> {
  return act(grant, "side-card.renewed", now, (tx) => {
    tx.update(sideCards).set({ retiredAt: now }).where(and(own(sideCards, grant), isNull(sideCards.retiredAt))).run();
    return insertCard(tx, grant, now);
  });
}

function currentCard(tx: Transaction, ref: ChildRef): SideCard | null {
  return tx.select({ number: sideCards.number, madeAt: sideCards.madeAt }).from(sideCards)
    .where(and(own(sideCards, ref), isNull(sideCards.retiredAt))).get() ?? null;
}

function insertCard(tx: Transaction, grant: ChildGrant<"side-card.print" | "side-card.renew">, now: number) {
  const card = { number: cardNumber(crypto.getRandomValues(new Uint8Array(CARD_RANDOM_LENGTH))), madeAt: now };
  const id = crypto.randomUUID();
  tx.insert(sideCards).values({ id, childId: grant.childId, familyId: grant.familyId, madeBy: grant.actor.personId, ...card }).run();
  return ok({ objectId: id, value: card });
}

/** What a screen may know of the card that was found. */
export function cardSaid(ref: ChildRef, finding: CardFinding | null): CardSaid | null {
  if (finding?.found !== "one") return finding;
  const { number, turnToUpright, levelDegrees } = finding.reading;
  return { found: "one", owner: ownerOf(ref, number), turnToUpright, levelDegrees };
}

const cardOfPractice = prepared((db) => {
  const practice = db.select({ id: families.practiceId }).from(families).where(eq(families.id, OF_CHILD.familyId));
  return db.select({ childId: sideCards.childId }).from(sideCards).innerJoin(families, eq(families.id, sideCards.familyId))
    .where(and(eq(sideCards.number, sql.placeholder("number")), inArray(families.practiceId, practice))).prepare();
});

/** Cards of another practice are as unknown as any other. */
function ownerOf(ref: ChildRef, number: string): CardOwner {
  const card = cardOfPractice().get({ familyId: ref.familyId, number });
  if (!card) return "unknown";
  return card.childId === ref.childId ? "this-child" : "other-child";
}

/** What a new photo's card settles. Any card of ours does, whoever it belongs to: it stood in the picture. */
export const settledByCard = (finding: CardFinding | null) => ({
  cardReading: finding && serialiseFinding(finding),
  isTurnedBack: finding?.found === "one" && finding.reading.mirrored,
  mirrorSettledBy: finding?.found === "one" ? ("card" as const) : null,
});

const saidToBeRight = prepared((db) => db.select({ id: photoDecisions.id }).from(photoDecisions)
  .where(and(own(photoDecisions, OF_CHILD), eq(photoDecisions.photoId, sql.placeholder("photoId")), eq(photoDecisions.decision, "right-child"))).prepare());

/** Another child's card in the picture, and no therapist has said yet that the photo shows this child all the same. */
export function needsEye({ childId, familyId }: ChildRef, photoId: string, card: CardSaid | null): boolean {
  if (card?.found !== "one" || card.owner !== "other-child") return false;
  return !saidToBeRight().get({ childId, familyId, photoId });
}
