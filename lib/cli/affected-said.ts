import type { Affected } from "@/lib/audit/affected";

/** Whom it concerns, a line each, random ids alone; the last lines say what the audit cannot. */
export function affectedInWords({ touched, withinReach, otherActs, signIns, personId }: Affected): readonly string[] {
  if (personId === null) return ["Nobody here has this id or address, and no sign-in this hash."];
  const at = (instant: number): string => new Date(instant).toISOString();
  const touchedIds = new Set(touched.map(({ childId }) => childId));
  return [
    ...touched.map((one) => `touched  family ${one.familyId}  child ${one.childId ?? "-"}  entries ${one.entries}  from ${at(one.first)}  to ${at(one.last)}`),
    ...withinReach.filter(({ childId }) => !touchedIds.has(childId)).map(({ familyId, childId }) => `reached  family ${familyId}  child ${childId}`),
    ...otherActs.map(({ act, entries }) => `other    ${act}  entries ${entries}`),
    ...signIns.map((one) => `sign-in  ${one.sessionHash}  entries ${one.entries}  from ${at(one.first)}  to ${at(one.last)}`),
    `${touched.length} touched by what the audit holds; ${withinReach.length} children within reach in all, ${new Set(withinReach.map(({ familyId }) => familyId)).size} families.`,
    "Staff opening a child's page or photo or hearing a spoken note, and every change, are in the audit. The queue and the lists name many children on one page, and what a carer opens is not in it: whoever was within reach may have been read of.",
  ];
}
