import { z } from "zod";
import { KEPT_VERSION, type Kept } from "@/lib/domain/kept/kept";
import { KEPT_WORDS } from "@/lib/domain/kept/words";
import {
  BOTTOM_ARM_POSITIONS, BOTTOM_LEG_POSITIONS, PROP_KINDS, PROP_PLACES, TOP_ARM_POSITIONS, TOP_LEG_POSITIONS,
} from "@/lib/domain/setup/exercise";
import { isPossible } from "@/lib/domain/setup/setup-sides";
import { COVERAGES, PHASES, VERDICTS } from "@/lib/domain/setup/vocabulary";
import { SIDES } from "@/lib/domain/sides";
import { LOCALES } from "@/lib/domain/words/reader";

const id = z.string().min(1).max(64);
const said = z.string().min(1);
const at = z.number().finite();
const phase = z.enum(PHASES);
const side = z.enum(SIDES);

const facts = z.strictObject({
  exerciseKey: id,
  record: z.strictObject({ id, reassessBy: at.nullable() }).nullable(),
  setup: z.strictObject({
    confirmedAt: at.nullable(), confirmedBy: id.nullable(), recordId: id, coverage: z.enum(COVERAGES), phases: z.array(phase),
    items: z.array(z.strictObject({ key: id, phase, requiredForGo: z.boolean(), isStop: z.boolean(), sideDependent: z.boolean() })),
    sides: z.strictObject({ key: z.string(), since: at }),
  }).nullable(),
  notCovered: z.boolean(),
  phasesOpened: z.array(z.strictObject({ phase, openedAt: at, openedBy: id })),
  verdicts: z.array(z.strictObject({
    itemKey: id, verdict: z.enum(VERDICTS), isStop: z.boolean(), judgedAt: at, judgedBy: id, source: z.enum(["answer", "seen-live"]),
    evidenceAt: at.nullable(), sidesKey: z.string(), sequence: z.int(), cue: z.string().nullable(), answerId: id.nullable(),
  })),
  symptomStops: z.array(z.strictObject({ id, tier: z.enum(["urgent", "today"]), reportedAt: at, clearedAt: at.nullable() })),
  staffStops: z.array(z.strictObject({ id, placedAt: at, placedBy: id, liftedAt: at.nullable(), exerciseKey: id.nullable() })),
  photoConsent: z.enum(["given", "withdrawn", "never"]),
  photoWeeks: z.number().positive(),
});

const sides = z.strictObject({
  lieOn: side,
  prop: z.strictObject({ kind: z.enum(PROP_KINDS), place: z.enum(PROP_PLACES), side }).nullable(),
  topArm: z.strictObject({ side, position: z.enum(TOP_ARM_POSITIONS) }),
  bottomArm: z.strictObject({ side, position: z.enum(BOTTOM_ARM_POSITIONS) }),
  topLeg: z.strictObject({ side, position: z.enum(TOP_LEG_POSITIONS) }),
  bottomLeg: z.strictObject({ side, position: z.enum(BOTTOM_LEG_POSITIONS) }),
  breatheInto: z.strictObject({ side }).nullable(),
}).refine(isPossible);

const exercise = z.strictObject({
  title: said,
  facts,
  sides: sides.nullable(),
  setup: z.strictObject({
    sideAndProp: z.array(said).min(2), limbs: z.array(said), doing: z.array(z.strictObject({ phase, text: said })), cautions: z.array(said),
    individual: said.nullable(), label: z.strictObject({ title: said, desc: said, down: said, up: said, breathe: said.exactOptional() }),
  }).nullable(),
  instead: said.nullable(),
  itemTitles: z.record(id, said),
  languages: z.record(said, z.enum(LOCALES)),
  picture: z.strictObject({ address: z.string().startsWith("/media/"), width: z.int().positive(), height: z.int().positive(), alt: said }).nullable(),
  note: z.strictObject({ address: z.string().startsWith("/media/"), title: said, summary: z.string() }).nullable(),
  clip: z.strictObject({
    address: z.string().startsWith("/media/").nullable(), title: said, about: said, instead: said,
    width: z.int().positive(), height: z.int().positive(), frames: z.int().positive(), durationMs: z.int().positive(), isTurnedBack: z.boolean(), turns: z.int().min(0).max(3),
  }).nullable(),
})
  .refine((each) => each.setup === null || each.sides !== null)
  .refine((each) => each.setup !== null || each.instead !== null)
  // Pictures close with the consent.
  .refine((each) => (each.picture === null && each.clip === null) || each.facts.photoConsent === "given");

/** What leaves the server to be kept on a phone: exactly this, and nothing beside it. */
export const KeptForm: z.ZodType<Kept> = z.strictObject({
  version: z.literal(KEPT_VERSION),
  personId: id,
  checkedAt: at,
  language: z.enum(LOCALES),
  dates: z.record(z.string().regex(/^\d+$/), said),
  days: z.array(z.strictObject({ from: at, said })).min(1),
  names: z.record(id, said),
  words: z.record(z.enum(KEPT_WORDS), said),
  children: z.array(z.strictObject({
    childId: id, name: said, stopFor: said, questions: z.strictObject({ side: said, prop: said, practise: said }),
    tries: z.array(z.strictObject({ stopId: id, question: said, isRight: z.boolean() })),
    exercises: z.array(exercise),
  })),
});
