import { redirect } from "next/navigation";
import type { ReactNode } from "react";
import { PersonHere } from "@/app/family/kept/person-here";
import { SaidOffline } from "@/app/family/kept/said-offline";
import { NewVersion } from "@/app/family/phone/new-version";
import { KeepSending } from "@/app/family/queue/use-queue";
import { Warned } from "@/app/session-end/warned";
import { isStaff } from "@/lib/access/actor";
import { signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";
import { practiceToCall } from "@/lib/records/family-home";

/** The development server has no worker: an old one would stand before new code. */
const HAS_WORKER = process.env.NODE_ENV === "production";

/** Staff have no family pages; the desk is theirs. For comfort alone: each page asks the gate itself. The worker is installed from here on. */
export default async function Layout({ children }: { readonly children: ReactNode }) {
  const actor = await signedIn();
  if (isStaff(actor.role)) redirect("/desk");
  const [words, kept, practice] = [say("installed", actor.reader), say("kept", actor.reader), practiceToCall(actor)];
  const renewed = {
    title: words("renewed.title"), what: words("renewed.what"), unsent: words("renewed.unsent"), reload: words("renewed.reload"), anyway: words("renewed.anyway"),
  };
  return (
    <>
      <PersonHere personId={actor.personId} />
      <SaidOffline personId={actor.personId} words={{ symptom: kept("waiting.symptom", { practice }), readBack: kept("waiting.readBack") }} />
      {HAS_WORKER ? <NewVersion personId={actor.personId} words={renewed} /> : null}
      <Warned actor={actor} />
      <KeepSending personId={actor.personId} />
      {children}
    </>
  );
}
