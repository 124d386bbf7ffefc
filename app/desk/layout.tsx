import type { ReactNode } from "react";
import { SignOutForm } from "@/app/(open)/sign-out-form";
import { PersonHere } from "@/app/family/kept/person-here";
import { Warned } from "@/app/session-end/warned";
import { ButtonLink } from "@/app/ui/button";
import { DeskShell } from "@/app/ui/shell";
import { Row } from "@/app/ui/stack";
import { isDemo } from "@/lib/access/demo";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";

/** The therapist's side. Whoever is not staff finds nothing here. */
export default async function DeskLayout({ children }: { readonly children: ReactNode }) {
  const actor = await signedIn();
  await grant(actor, "practice.read", null);
  const t = say("desk");
  const common = say("common");
  const words = {
    queue: t("shell.queue"), families: t("shell.families"), caseload: t("shell.caseload"), sessions: t("shell.sessions"), teaching: t("shell.teaching"), times: t("shell.times"), practice: t("shell.practice"),
    product: common("product"), skip: common("skip"),
  };
  return <><Warned actor={actor} /><DeskShell words={words} demoWords={isDemo() ? common("demo") : undefined} end={<Row><ButtonLink href="/desk/account" kind="quiet">{say("ownSignIn")("title")}</ButtonLink><SignOutForm reader={actor.reader} personId={actor.personId} /></Row>}><PersonHere personId={null} />{children}</DeskShell></>;
}
