import { redirect } from "next/navigation";
import { isStaff } from "@/lib/access/actor";
import { signedIn } from "@/lib/access/session";

/** The way in: everyone to their own first screen. */
export default async function Page() {
  const actor = await signedIn();
  redirect(isStaff(actor.role) ? "/desk" : "/family");
}
