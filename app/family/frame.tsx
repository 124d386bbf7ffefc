import type { ReactNode } from "react";
import { Caution } from "@/app/ui/notice";
import { PhoneLink } from "@/app/ui/phone-link";
import { FamilyShell } from "@/app/ui/shell";
import { Stack } from "@/app/ui/stack";
import { signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";
import { practiceFor } from "@/lib/records/family-home";

/** Every page of a family: the shell, and the caution under it. */
export async function FamilyFrame({ current, children }: {
  readonly current?: "today" | "send" | "history" | "account";
  readonly children: ReactNode;
}) {
  const actor = await signedIn();
  const { reader } = actor;
  const practice = practiceFor(actor);
  const [family, common] = [say("family", reader), say("common", reader)];
  const words = {
    today: family("shell.today"), send: family("shell.send"), history: family("shell.history"), account: family("shell.account"),
    product: common("product"), skip: common("skip"),
  };
  return (
    <FamilyShell words={words} {...(current ? { current } : {})}>
      <Stack gap="large">
        {children}
        {practice.phone ? <p>{family("callPractice", { practice: practice.name })} <PhoneLink number={practice.phone} /></p> : null}
        <Caution>{common("caution")}</Caution>
      </Stack>
    </FamilyShell>
  );
}
