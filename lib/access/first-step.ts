import "server-only";
import type { Done } from "@/lib/access/action";
import { isStaff } from "@/lib/access/actor";
import { setCookie } from "@/lib/access/cookies";
import { roleOf } from "@/lib/access/role-of";
import { beginSecondStep, SECOND_STEP_LIFE_MS, type FirstStep } from "@/lib/access/second-factor";
import { startSession } from "@/lib/access/session";
import { ok, refuse, type Result } from "@/lib/domain/result";

/** A family is signed in by its first proof; staff go on to the second step and have no session until then. */
export async function afterFirstStep(personId: string, first: FirstStep, goTo: string, now: number): Promise<Result<Done>> {
  if (!isStaff(roleOf(personId))) return (await startSession(personId, null, now)) ? ok({ goTo }) : refuse("link-spent");
  await setCookie("second-step", beginSecondStep(personId, first, now), SECOND_STEP_LIFE_MS);
  return ok({ goTo: "/sign-in/second-step" });
}
