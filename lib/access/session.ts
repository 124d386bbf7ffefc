import "server-only";
import { redirect } from "next/navigation";
import type { Actor } from "@/lib/access/actor";

/** Who the request's session belongs to, checked in the database on every request; null for a stranger. */
export async function currentActor(): Promise<Actor | null> {
  return null;
}

/** The person, or the way to the sign-in page. */
export async function signedIn(): Promise<Actor> {
  const actor = await currentActor();
  if (!actor) redirect("/sign-in");
  return actor;
}
