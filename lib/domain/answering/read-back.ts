import type { JudgedItem } from "@/lib/domain/ledger/judged";
import { groupByItem, standing } from "@/lib/domain/ledger/standing";
import type { GoAheadFacts } from "@/lib/domain/setup/go-ahead-facts";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";

/** `practise` asks whether the child may do the exercise now: always no while the stop is open. */
export const READ_BACK_QUESTIONS = ["side", "prop", "practise"] as const;
export type ReadBackQuestion = (typeof READ_BACK_QUESTIONS)[number];

export const READ_BACK_CHOICES = {
  side: ["left", "right"],
  prop: ["low-back", "ribs", "hip"],
  practise: ["no", "yes"],
} as const satisfies Record<ReadBackQuestion, readonly string[]>;

export type ReadBack = {
  readonly stopKind: "answer" | "staff-stop" | "symptom";
  readonly stopId: string;
  readonly exerciseKey: string;
  readonly question: ReadBackQuestion;
};
export type AskedReadBack = ReadBack & { readonly right: string };

/** One person's try at one question; the last one counts. */
export type ReadBackTry = { readonly stopId: string; readonly question: string; readonly isRight: boolean };
export type OpenReadBack = ReadBack & {
  /** This person's last try was wrong. */
  readonly wasWrong: boolean;
};

/** What one exercise's questions rest on. */
export type ReadBackFacts = {
  readonly facts: Pick<GoAheadFacts, "exerciseKey" | "symptomStops" | "staffStops"> & {
    readonly record: Pick<NonNullable<GoAheadFacts["record"]>, "id"> | null;
    readonly setup: Pick<NonNullable<GoAheadFacts["setup"]>, "recordId" | "sides"> | null;
  };
  /** With the answer each came with; null when seen live, which is read back in person. */
  readonly judged: readonly (JudgedItem & { readonly answerId: string | null })[];
  readonly sides: SetupSides | null;
};

/** The questions of all of a child's exercises that one person has still to answer rightly. */
export function openReadBacks(exercises: readonly ReadBackFacts[], tries: readonly ReadBackTry[]): readonly (OpenReadBack & AskedReadBack)[] {
  return askedReadBacks(exercises).flatMap((asked) => {
    const last = tries.findLast((each) => each.stopId === asked.stopId && each.question === asked.question);
    return last?.isRight ? [] : [{ ...asked, wasWrong: last !== undefined }];
  });
}

/** The questions that nobody among those who practise has answered rightly: a right answer of one of them is enough. */
export const unreadBy = <A extends Pick<ReadBack, "stopId" | "question">>(asked: readonly A[], right: readonly Pick<ReadBackTry, "stopId" | "question">[]): readonly A[] =>
  asked.filter((each) => !right.some((one) => one.stopId === each.stopId && one.question === each.question));

/** One question for each open stop and what it is about. */
export function askedReadBacks(exercises: readonly ReadBackFacts[]): readonly AskedReadBack[] {
  const asked = exercises.flatMap(askedFor);
  // A symptom or a stop of everything is one stop, whatever it stops.
  return asked.filter((each, at) => asked.findIndex((other) => other.stopId === each.stopId && other.question === each.question) === at);
}

function askedFor(exercise: ReadBackFacts): readonly AskedReadBack[] {
  const { facts, judged } = exercise;
  const plain = (stopKind: ReadBack["stopKind"], stopId: string): AskedReadBack =>
    ({ stopKind, stopId, exerciseKey: facts.exerciseKey, question: "practise", right: "no" });
  const items = [...groupByItem(judged)].flatMap(([itemKey, each]) => {
    const stop = standing(each, { isStop: false, sideDependent: true }, facts.setup?.sides ?? null).openStop;
    return stop?.answerId ? [{ ...plain("answer", stop.answerId), ...questionOf(itemKey, exercise) }] : [];
  });
  return [
    ...facts.symptomStops.filter((stop) => stop.clearedAt === null).map((stop) => plain("symptom", stop.id)),
    ...facts.staffStops
      .filter((stop) => stop.liftedAt === null && (stop.exerciseKey === null || stop.exerciseKey === facts.exerciseKey))
      .map((stop) => plain("staff-stop", stop.id)),
    ...items,
  ];
}

/** A side is asked only where a set-up in force says it; a set-up whose record changed says nothing. */
function questionOf(itemKey: string, { facts: { record, setup }, sides }: ReadBackFacts): Pick<AskedReadBack, "question" | "right"> {
  const inForce = setup && setup.recordId === record?.id ? sides : null;
  if (inForce && itemKey === "side-down") return { question: "side", right: inForce.lieOn };
  if (inForce?.prop && itemKey.startsWith("prop-")) return { question: "prop", right: inForce.prop.place };
  return { question: "practise", right: "no" };
}
