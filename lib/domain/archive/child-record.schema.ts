import { z } from "zod";
import { REGIONS } from "@/lib/domain/curve/region";
import { PHASES, VERDICTS, VIEWS } from "@/lib/domain/setup/vocabulary";
import { SIDES } from "@/lib/domain/sides";

/** An instant in UTC, as RFC 3339 writes it. */
const at = z.iso.datetime();
/** Which of `people` did it. */
const by = z.string();
const said = z.strictObject({ by, at });
/** Sides are always the child's own. */
const side = z.enum(SIDES);

/** A file of the archive, by its path in it; null where it no longer exists or is closed to the reader. */
const file = z.strictObject({ path: z.string(), contentType: z.string(), bytes: z.int(), sha256: z.string() });
export type ArchiveFile = z.output<typeof file>;

const verdict = z.strictObject({ item: z.string(), title: z.string(), verdict: z.enum(VERDICTS), isStop: z.boolean(), cue: z.string().nullable(), by, at, evidenceAt: at.nullable() });

const finding = z.discriminatedUnion("state", [
  z.strictObject({ state: z.literal("curve"), convexSide: side, apex: z.string(), cobbDegrees: z.number().nullable() }),
  z.strictObject({ state: z.literal("none") }),
  z.strictObject({ state: z.literal("not-assessed") }),
]);

const answer = z.strictObject({
  id: z.string(), version: z.int(), ...said.shape, isInForce: z.boolean(), amendReason: z.string(),
  kind: z.enum(["answer", "take-again"]), summary: z.string(),
  nextStep: z.enum(["new-photo", "keep-going", "open-next-phase", "book-assessment"]), nextView: z.enum(VIEWS).nullable(),
  verdicts: z.array(verdict),
  /** Photos with this answer's marks drawn in, and the marks as they are stored. */
  marked: z.array(z.strictObject({ photoId: z.string(), file: file.nullable() })),
  marks: z.array(z.strictObject({ photoId: z.string(), body: z.unknown() })),
  /** Parts of clips that the family was to repeat, by the photo whose clip it is. */
  spans: z.array(z.strictObject({ photoId: z.string(), fromSeconds: z.number(), toSeconds: z.number() })),
  pairs: z.array(z.strictObject({ thenPhotoId: z.string(), nowPhotoId: z.string() })),
  spokenNote: z.strictObject({ seconds: z.number(), file: file.nullable() }).nullable(),
  questions: z.array(z.strictObject({ id: z.string(), words: z.string(), ...said.shape, reply: z.strictObject({ words: z.string(), ...said.shape }).nullable() })),
});

const photo = z.strictObject({
  id: z.string(), view: z.enum(VIEWS), width: z.int(), height: z.int(), takenAt: at.nullable(), sideCheck: z.string().nullable(),
  isTurnedBack: z.boolean(), isCovered: z.boolean(), file: file.nullable(),
  /** The clip that this photo is a frame of. `moments`: pictures that a therapist took from it for an answer, each at its time; an answer's `marked` and `marks` name them as photos. */
  clip: z.strictObject({
    seconds: z.number(), file: file.nullable(),
    /** Quarters clockwise by which it is to be shown turned. */
    turns: z.int(),
    moments: z.array(z.strictObject({ id: z.string(), seconds: z.number(), width: z.int(), height: z.int(), ...said.shape, file: file.nullable() })),
  }).nullable(),
});

/**
 * `data.json` of an archive: everything Trueside keeps of one child, but other people's addresses. `form` rises with
 * whatever changes in here, so that a reader of another form can tell.
 */
export const ChildRecord = z.strictObject({
  format: z.literal("trueside.child-record"), form: z.literal(3), madeAt: at, madeFor: z.enum(["family", "practice"]), language: z.string(),
  practice: z.strictObject({ name: z.string(), timeZone: z.string() }),
  child: z.strictObject({ id: z.string(), givenName: z.string(), bornIn: z.string(), writesWith: side.nullable() }),
  /** By name alone, and only who did something below. */
  people: z.array(z.strictObject({ id: z.string(), name: z.string(), role: z.enum(["staff", "guardian", "self"]) })),
  carers: z.array(z.strictObject({ person: z.string(), relation: z.enum(["guardian", "self"]), from: at, until: at.nullable() })),
  agreements: z.array(z.strictObject({ guardian: z.string(), decision: z.enum(["agreed", "represents", "ended"]), ...said.shape })),
  consents: z.array(z.strictObject({ id: z.string(), purpose: z.enum(["photos", "teaching"]), decision: z.enum(["given", "withdrawn"]), standing: z.string(), textVersion: z.string(), textHash: z.string(), ...said.shape })),
  /** Newest first; the first is the current one. `lines` say the same in words. */
  curveRecords: z.array(z.strictObject({
    id: z.string(), ...said.shape, assessedOn: z.string(), source: z.string(), filmViewedFrom: z.string(), reassessBy: z.string().nullable(), note: z.string(),
    regions: z.record(z.enum(REGIONS), finding), lines: z.array(z.string()),
  })),
  setups: z.array(z.strictObject({
    id: z.string(), ...said.shape, exercise: z.string(), title: z.string(), exerciseVersion: z.int(), kind: z.enum(["rule", "individual"]), curveRecordId: z.string(),
    isCurrent: z.boolean(), lieOn: side, sides: z.unknown(), apexSpot: z.string(), reason: z.string(), lines: z.array(z.string()),
  })),
  phases: z.array(z.strictObject({ exercise: z.string(), phase: z.enum(PHASES), openedBy: by, openedAt: at, closedAt: at.nullable() })),
  practiceDays: z.array(z.strictObject({ exercise: z.string(), day: z.string(), by })),
  photoSets: z.array(z.strictObject({
    id: z.string(), ...said.shape, exercise: z.string(), title: z.string(), phase: z.enum(PHASES), setupId: z.string(), takenAt: at.nullable(), isOld: z.boolean(), note: z.string(),
    voidReason: z.enum(["wrong-child", "consent-withdrawn", "erased"]).nullable(), photosErasedAt: at.nullable(), photos: z.array(photo), answers: z.array(answer),
    /** What the practice asked the family before it answered. */
    askedBack: z.array(z.strictObject({ id: z.string(), words: z.string(), ...said.shape, withdrawnAt: at.nullable(), /** A photo set sent then came in the place of words. */ newPhotoAt: at.nullable(), reply: z.strictObject({ words: z.string(), ...said.shape }).nullable() })),
  })),
  seenLive: z.array(z.strictObject({ id: z.string(), ...said.shape, exercise: z.string(), title: z.string(), how: z.enum(["visit", "call"]), seenAt: at, note: z.string(), verdicts: z.array(verdict) })),
  symptoms: z.array(z.strictObject({
    id: z.string(), ...said.shape, tier: z.enum(["urgent", "today"]), noticed: z.array(z.string()), note: z.string(),
    clearance: z.strictObject({ spokeTo: z.string(), outcome: z.string(), ...said.shape }).nullable(),
  })),
  /** Placed by staff without a photo. `exercise` null: all of them. */
  stops: z.array(z.strictObject({ id: z.string(), ...said.shape, exercise: z.string().nullable(), reason: z.string(), lifted: z.strictObject({ reason: z.string(), ...said.shape }).nullable() })),
  readBacks: z.array(z.strictObject({ stopKind: z.enum(["answer", "staff-stop", "symptom"]), stopId: z.string(), question: z.string(), choice: z.string(), isRight: z.boolean(), ...said.shape })),
  groupSessions: z.array(z.strictObject({ title: z.string(), startsAt: at, decision: z.enum(["taken-in", "declined"]).nullable(), askedAt: at, endedAt: at.nullable(), photosAskedFor: z.array(z.strictObject({ dueOn: z.string(), at, takenBackAt: at.nullable() })) })),
  sideCards: z.array(z.strictObject({ number: z.string(), madeAt: at, retiredAt: at.nullable() })),
  /** Paths of files that stand here and could not be read when the archive was made. */
  unreadable: z.array(z.string()),
});
export type ChildRecord = z.output<typeof ChildRecord>;
export type ArchivedSet = ChildRecord["photoSets"][number];
export type ArchivedAnswer = ArchivedSet["answers"][number];
