import type { ReactNode } from "react";
import { AnswerPairs } from "@/app/desk/children/[childId]/then-and-now/answer-pairs";
import { pairWords, shownPhotos } from "@/app/desk/children/[childId]/then-and-now/words";
import type { ChildGrant } from "@/lib/access/grant";
import { firstPair, PAIR_FIELDS } from "@/lib/domain/answering/pair";
import type { SentSet } from "@/lib/records/answering";
import type { ExerciseNames } from "@/lib/records/exercise-names";
import { comparable } from "@/lib/records/pairs";

/** Around a photo set's page: what may stand beside its photos, and the pairs that its draft holds. */
export async function PairsAround({ granted, set, names, fields, zone, now, children }: {
  readonly granted: ChildGrant<"answer.write">;
  readonly set: SentSet;
  readonly names: ExerciseNames;
  readonly fields: Readonly<Record<string, string>>;
  readonly zone: string;
  readonly now: number;
  readonly children: ReactNode;
}) {
  const photos = shownPhotos(await comparable(granted, set.exerciseKey, now), granted.childId, zone);
  const first = firstPair(photos, undefined, set.photos[0]?.photoId);
  const saved = PAIR_FIELDS.flatMap((name) => fields[name] ?? []);
  const href = `/desk/children/${granted.childId}/then-and-now?exercise=${set.exerciseKey}&second=${set.photos[0]?.photoId ?? ""}&from=${set.photoSetId}`;
  return <AnswerPairs photos={photos} first={first} saved={saved} href={href} words={pairWords(photos, names)}>{children}</AnswerPairs>;
}
