/** Who a person is to a practice, a family or a child. Unknown roles may do nothing. */
export const ROLES = ["lead", "therapist", "guardian", "young-person"] as const;
export type Role = (typeof ROLES)[number];

export const SCOPES = ["practice", "family", "child"] as const;
export type Scope = (typeof SCOPES)[number];

type Rule = { readonly scope: Scope; readonly roles: readonly Role[] };

const STAFF = ["lead", "therapist"] as const;
const CARERS = ["guardian", "young-person"] as const;
const EVERYONE = [...STAFF, ...CARERS] as const;

/**
 * The one table of permissions: an ability, the scope its grant is made for, and who has it.
 * Staff reach a family or child of their own practice; carers reach what their care links name.
 */
export const POLICY = {
  // practice
  "practice.read": { scope: "practice", roles: STAFF },
  "practice.settings": { scope: "practice", roles: ["lead"] },
  "staff.manage": { scope: "practice", roles: ["lead"] },
  "queue.read": { scope: "practice", roles: STAFF },
  "times.read": { scope: "practice", roles: STAFF },
  "families.read": { scope: "practice", roles: STAFF },
  "families.add": { scope: "practice", roles: STAFF },
  // family
  "family.read": { scope: "family", roles: EVERYONE },
  "family.invite": { scope: "family", roles: STAFF },
  "child.add": { scope: "family", roles: STAFF },
  // child, the family's side
  "child.read": { scope: "child", roles: EVERYONE },
  "consent.give": { scope: "child", roles: CARERS },
  "photo-set.send": { scope: "child", roles: CARERS },
  "symptom.report": { scope: "child", roles: CARERS },
  "read-back.answer": { scope: "child", roles: CARERS },
  "practice-day.mark": { scope: "child", roles: CARERS },
  // child, the desk's side
  "photo.view": { scope: "child", roles: EVERYONE },
  "curve-record.write": { scope: "child", roles: STAFF },
  "setup.confirm": { scope: "child", roles: STAFF },
  "phase.open": { scope: "child", roles: STAFF },
  "answer.write": { scope: "child", roles: STAFF },
  "stop.place": { scope: "child", roles: STAFF },
  "seen-live.record": { scope: "child", roles: STAFF },
  "symptom.clear": { scope: "child", roles: STAFF },
} as const satisfies Record<string, Rule>;

export type Ability = keyof typeof POLICY;
export type AbilityIn<S extends Scope> = {
  [A in Ability]: (typeof POLICY)[A]["scope"] extends S ? A : never;
}[Ability];

/** False for anything the table does not name. */
export function may(role: string, ability: string): boolean {
  const rule: Rule | undefined = Object.hasOwn(POLICY, ability) ? POLICY[ability as Ability] : undefined;
  return rule !== undefined && (rule.roles as readonly string[]).includes(role);
}
