import type { Reach } from "@/lib/domain/policy/care";

/** Who a person is to a practice, a family or a child. Unknown roles may do nothing. */
export const ROLES = ["lead", "therapist", "guardian", "young-person"] as const;
export type Role = (typeof ROLES)[number];

export const SCOPES = ["self", "practice", "family", "child"] as const;
export type Scope = (typeof SCOPES)[number];

type Rule = {
  readonly scope: Scope;
  readonly roles: readonly Role[];
  /** Of a carer: only one whose care link lets them decide for the child. */
  readonly decides?: true;
  /** Only for who has shown within the last ten minutes that it is them: staff their second step, a carer a code mailed to this session. */
  readonly freshProof?: true;
  /** Staff who use it open pages of words about this: each opening is audited, as looking at a picture is. */
  readonly reads?: "queue" | "caseload" | "families" | "sessions" | "erasures" | "family" | "child";
};

const STAFF = ["lead", "therapist"] as const;
const CARERS = ["guardian", "young-person"] as const;
const EVERYONE = [...STAFF, ...CARERS] as const;

/**
 * The one table of permissions: an ability, the scope its grant is made for, and who has it.
 * Staff reach a family or child of their own practice; carers reach what their care links name;
 * everybody reaches themself. What a carer's link lets them do on a day is `careReach`.
 */
export const POLICY = {
  // oneself
  "notices.choose": { scope: "self", roles: EVERYONE },
  "language.choose": { scope: "self", roles: CARERS },
  "sign-in.read": { scope: "self", roles: STAFF },
  "sign-in.prove": { scope: "self", roles: STAFF },
  "sign-in.change": { scope: "self", roles: STAFF, freshProof: true },
  "mail-proof.show": { scope: "self", roles: CARERS },
  "address.read": { scope: "self", roles: EVERYONE },
  "address.change": { scope: "self", roles: EVERYONE, freshProof: true },
  "session.stay": { scope: "self", roles: EVERYONE },
  "sign-ins.read": { scope: "self", roles: EVERYONE },
  "sign-ins.end": { scope: "self", roles: EVERYONE },
  "kept.read": { scope: "self", roles: CARERS },
  // practice
  "practice.read": { scope: "practice", roles: STAFF },
  "practice.settings": { scope: "practice", roles: ["lead"], freshProof: true },
  "staff.manage": { scope: "practice", roles: ["lead"], freshProof: true },
  "queue.read": { scope: "practice", roles: STAFF, reads: "queue" },
  "times.read": { scope: "practice", roles: STAFF },
  "teaching.read": { scope: "practice", roles: STAFF },
  "caseload.read": { scope: "practice", roles: STAFF, reads: "caseload" },
  "families.read": { scope: "practice", roles: STAFF, reads: "families" },
  "families.add": { scope: "practice", roles: STAFF },
  "cues.read": { scope: "practice", roles: STAFF },
  "cues.write": { scope: "practice", roles: STAFF },
  "exercise.read": { scope: "practice", roles: STAFF },
  "exercise.write": { scope: "practice", roles: STAFF },
  "sessions.read": { scope: "practice", roles: STAFF, reads: "sessions" },
  "sessions.write": { scope: "practice", roles: STAFF },
  "erasures.read": { scope: "practice", roles: ["lead"], reads: "erasures" },
  "alarms.read": { scope: "practice", roles: ["lead"] },
  "alarms.see-to": { scope: "practice", roles: ["lead"] },
  "retention.confirm": { scope: "practice", roles: ["lead"], freshProof: true },
  // family
  "family.read": { scope: "family", roles: EVERYONE, reads: "family" },
  "family.invite": { scope: "family", roles: STAFF, freshProof: true },
  "child.add": { scope: "family", roles: STAFF },
  "family.erase": { scope: "family", roles: ["lead"], freshProof: true },
  // child, the family's side
  "child.read": { scope: "child", roles: EVERYONE, reads: "child" },
  "consent.give": { scope: "child", roles: CARERS, decides: true },
  "care.agree": { scope: "child", roles: ["young-person"], decides: true },
  // Everything of one child: whoever decides for it, and the practice lead for the clinical record.
  "export.read": { scope: "child", roles: ["lead", ...CARERS], decides: true },
  "export.ask": { scope: "child", roles: ["lead", ...CARERS], decides: true, freshProof: true },
  "export.take": { scope: "child", roles: ["lead", ...CARERS], decides: true, freshProof: true },
  "writes-with.set": { scope: "child", roles: EVERYONE },
  "photo-set.send": { scope: "child", roles: CARERS },
  "symptom.report": { scope: "child", roles: CARERS },
  "read-back.answer": { scope: "child", roles: CARERS },
  "practice-day.mark": { scope: "child", roles: CARERS },
  "question.ask": { scope: "child", roles: CARERS },
  "back-question.reply": { scope: "child", roles: CARERS },
  "session.join": { scope: "child", roles: CARERS },
  "erasure.ask": { scope: "child", roles: CARERS, decides: true, freshProof: true },
  "erasure.take-back": { scope: "child", roles: CARERS, decides: true },
  // child, the desk's side
  "photo.view": { scope: "child", roles: EVERYONE },
  "side-card.print": { scope: "child", roles: EVERYONE },
  "side-card.renew": { scope: "child", roles: STAFF },
  "mirror.settle": { scope: "child", roles: STAFF },
  "progress.read": { scope: "child", roles: STAFF, reads: "child" },
  "curve-record.write": { scope: "child", roles: STAFF },
  "setup.confirm": { scope: "child", roles: STAFF },
  "phase.open": { scope: "child", roles: STAFF },
  "answer.write": { scope: "child", roles: STAFF, reads: "child" },
  "question.reply": { scope: "child", roles: STAFF },
  "back-question.ask": { scope: "child", roles: STAFF },
  "stop.place": { scope: "child", roles: STAFF },
  "stop.remind": { scope: "child", roles: STAFF },
  "seen-live.record": { scope: "child", roles: STAFF },
  "symptom.clear": { scope: "child", roles: STAFF },
  "photo.set-aside": { scope: "child", roles: STAFF },
  "erasure.settle": { scope: "child", roles: ["lead"], freshProof: true },
} as const satisfies Record<string, Rule>;

export type Ability = keyof typeof POLICY;
export type AbilityIn<S extends Scope> = {
  [A in Ability]: (typeof POLICY)[A]["scope"] extends S ? A : never;
}[Ability];

/** False for anything the table does not name. */
export function may(role: string, ability: string): boolean {
  return ruleOf(ability)?.roles.includes(role as Role) ?? false; // an unknown role is in no rule
}

/** Whether a carer's reach of a child is enough for an ability that their role has. */
export const isEnough = (reach: Reach, ability: Ability): boolean => reach === "decide" || (reach === "practise" && !ruleOf(ability)?.decides);

/** OWASP ASVS 5.0, 7.5.3: whoever changes who may see what proves anew that it is them. Ten minutes are ours. */
export const PROOF_LIFE_MS = 10 * 60_000;

/** Whether a proof shown then (UTC ms, null for none) is enough to do this now. */
export const isProofEnough = (provedAt: number | null, ability: Ability, now: number): boolean =>
  !ruleOf(ability)?.freshProof || isProofFresh(provedAt, now);

export const isProofFresh = (provedAt: number | null, now: number): boolean => provedAt !== null && now - provedAt <= PROOF_LIFE_MS;

/** What a member of staff opens by using this ability; null where no page of words hangs on it. */
export const readsAs = (ability: Ability): NonNullable<Rule["reads"]> | null => ruleOf(ability)?.reads ?? null;

const ruleOf = (ability: string): Rule | undefined => (Object.hasOwn(POLICY, ability) ? POLICY[ability as Ability] : undefined); // just looked up
