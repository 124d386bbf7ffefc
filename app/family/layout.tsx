import { redirect } from "next/navigation";
import type { ReactNode } from "react";
import { isStaff } from "@/lib/access/actor";
import { signedIn } from "@/lib/access/session";

/** Staff have no family pages; the desk is theirs. For comfort alone: each page asks the gate itself. */
export default async function Layout({ children }: { readonly children: ReactNode }) {
  const actor = await signedIn();
  if (isStaff(actor.role)) redirect("/desk");
  return children;
}
