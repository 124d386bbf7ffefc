import { KINDS, type Kind } from "@/e2e/walk/people";

/** Who may pass a door. Stated here on its own, not computed from the product's permissions. */
const AUDIENCES = {
  everyone: KINDS,
  "whoever is signed in": ["guardian", "guardian of the sibling only", "other guardian", "therapist", "lead", "therapist elsewhere"],
  carers: ["guardian", "guardian of the sibling only", "other guardian"],
  /** Pages about the reader's own practice: each member of staff sees their own. */
  staff: ["therapist", "lead", "therapist elsewhere"],
  lead: ["lead"],
  "the child's guardian": ["guardian"],
  "the child's guardian and staff": ["guardian", "therapist", "lead"],
  "the practice's staff": ["therapist", "lead"],
} as const satisfies Record<string, readonly Kind[]>;
export type Audience = keyof typeof AUDIENCES;

export const mayPass = (audience: Audience, kind: Kind): boolean => (AUDIENCES[audience] as readonly Kind[]).includes(kind);

/** A page or handler without a row here fails the walk. */
export const PAGES: Readonly<Record<string, Audience>> = {
  "/": "whoever is signed in",
  "/sign-in": "everyone",
  "/join": "everyone",
  "/family": "carers",
  "/family/send": "carers",
  "/family/symptom": "carers",
  "/family/history": "carers",
  "/family/account": "carers",
  "/family/consent/[childId]": "the child's guardian",
  "/desk": "staff",
  "/desk/families": "staff",
  "/desk/families/[familyId]": "the practice's staff",
  "/desk/children/[childId]": "the practice's staff",
  "/desk/children/[childId]/curve": "the practice's staff",
  "/desk/children/[childId]/setup": "the practice's staff",
  "/desk/children/[childId]/sets/[photoSetId]": "the practice's staff",
  "/desk/children/[childId]/stop": "the practice's staff",
  "/desk/children/[childId]/seen-live": "the practice's staff",
  "/desk/children/[childId]/clearance": "the practice's staff",
  "/desk/times": "staff",
  "/desk/practice": "staff",
};

export const HANDLERS: Readonly<Record<string, Audience>> = {
  "GET /api/health": "everyone",
  "POST /api/photos/[childId]": "the child's guardian",
  "DELETE /api/photos/[childId]/[photoId]": "the child's guardian",
  "POST /api/photos/[childId]/[photoId]/turn": "the child's guardian",
  "GET /media/[childId]/[photoId]/[kind]": "the child's guardian and staff",
};

/** By the file an action is written in and its name. An action without a row fails the walk. */
export const ACTIONS: Readonly<Record<string, Audience>> = {
  "app/desk/families/actions.ts#addFamilyAction": "staff",
  "app/desk/families/actions.ts#addChildAction": "the practice's staff",
  "app/desk/children/[childId]/actions.ts#openPhaseAction": "the practice's staff",
  "app/desk/children/[childId]/actions.ts#closePhaseAction": "the practice's staff",
  "app/desk/children/[childId]/curve/actions.ts#recordCurveAction": "the practice's staff",
  "app/desk/children/[childId]/setup/actions.ts#confirmSetupAction": "the practice's staff",
  "app/desk/children/[childId]/setup/actions.ts#confirmIndividualAction": "the practice's staff",
  "app/desk/practice/actions.ts#addClosureAction": "lead",
  "app/desk/practice/actions.ts#removeClosureAction": "lead",
  "app/desk/practice/actions.ts#setHoursAction": "lead",
  "app/desk/practice/actions.ts#setPracticeAction": "lead",
  "app/family/actions.ts#doneAction": "the child's guardian",
  "app/family/actions.ts#readBackAction": "the child's guardian",
  "app/family/actions.ts#reportAction": "the child's guardian",
  "app/family/actions.ts#reportWhileSendingAction": "the child's guardian",
  "app/family/actions.ts#sendAction": "the child's guardian",
};

/** Actions that end the walker's own session: each kind calls them last. */
export const ENDS_SESSION: readonly string[] = [];
