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
  "/sign-in/code": "everyone",
  "/sign-in/link": "everyone",
  "/sign-in/second-step": "everyone",
  "/privacy": "everyone",
  "/demo-mail": "everyone",
  "/join": "everyone",
  "/join/next": "whoever is signed in",
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
  "POST /sign-out": "everyone",
  "POST /api/photos/[childId]": "the child's guardian",
  "POST /api/claims/[childId]/[photoSetId]": "the practice's staff",
  "PUT /api/drafts/[childId]/[photoSetId]": "the practice's staff",
  "DELETE /api/photos/[childId]/[photoId]": "the child's guardian",
  "POST /api/photos/[childId]/[photoId]/turn": "the child's guardian",
  "GET /media/[childId]/[photoId]/[kind]": "the child's guardian and staff",
};

/** By the file an action is written in and its name. An action without a row fails the walk. */
export const ACTIONS: Readonly<Record<string, Audience>> = {
  "app/desk/children/[childId]/clearance/actions.ts#clearSymptomAction": "the practice's staff",
  "app/desk/children/[childId]/sets/[photoSetId]/actions.ts#wrongChildAction": "the practice's staff",
  "app/desk/children/[childId]/sets/[photoSetId]/actions.ts#takeAgainAction": "the practice's staff",
  "app/desk/children/[childId]/sets/[photoSetId]/actions.ts#sendAnswerAction": "the practice's staff",
  "app/desk/children/[childId]/seen-live/actions.ts#seenLiveAction": "the practice's staff",
  "app/desk/children/[childId]/stop/actions.ts#liftStopAction": "the practice's staff",
  "app/desk/children/[childId]/stop/actions.ts#placeStopAction": "the practice's staff",
  "app/(open)/join/actions.ts#joinAction": "everyone",
  "app/(open)/join/actions.ts#joinFirstAction": "everyone",
  "app/(open)/sign-in/actions.ts#askForCodeAction": "everyone",
  "app/(open)/sign-in/actions.ts#codeAction": "everyone",
  "app/(open)/sign-in/actions.ts#demoAction": "everyone",
  "app/(open)/sign-in/actions.ts#linkAction": "everyone",
  "app/(open)/sign-in/actions.ts#newPasskeyAction": "everyone",
  "app/(open)/sign-in/actions.ts#passkeyAction": "everyone",
  "app/(open)/sign-in/actions.ts#passkeyAloneAction": "everyone",
  "app/(open)/sign-in/actions.ts#totpAction": "everyone",
  "app/desk/people/actions.ts#disablePersonAction": "lead",
  "app/desk/people/actions.ts#enablePersonAction": "lead",
  "app/desk/people/actions.ts#inviteStaffAction": "lead",
  "app/desk/people/actions.ts#endCareAction": "the practice's staff",
  "app/desk/people/actions.ts#inviteGuardianAction": "the practice's staff",
  "app/family/consent/[childId]/actions.ts#giveConsentAction": "the child's guardian",
  "app/family/consent/[childId]/actions.ts#withdrawConsentAction": "the child's guardian",
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

/** The handler that ends the walker's own session: walked last. */
export const SIGN_OUT = "POST /sign-out";
