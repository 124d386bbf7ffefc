import Link from "next/link";
import { demoAction } from "@/app/(open)/sign-in/actions";
import { ActionForm } from "@/app/ui/action-form";
import { Heading } from "@/app/ui/heading";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { isStaff } from "@/lib/access/actor";
import type { DemoPerson } from "@/lib/access/demo";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";

/** One button for each invented person. */
export function DemoPeople({ people, goTo, reader }: { readonly people: readonly DemoPerson[]; readonly goTo: string; readonly reader: Reader }) {
  const t = say("auth", reader);
  return (
    <section>
      <Heading level={1} lead={t("demo.lead")}>{t("demo.title")}</Heading>
      <Stack>
        <RuledList label={t("demo.title")}>
          {people.map(({ personId, name, role }) => (
            <RuledRow key={personId}>
              <ActionForm action={demoAction} once={crypto.randomUUID()}>
                <input type="hidden" name="person" value={personId} />
                <input type="hidden" name="goTo" value={goTo.startsWith(isStaff(role) ? "/desk" : "/family") ? goTo : "/"} />
                <SubmitButton kind={isStaff(role) ? "primary" : "quiet"} pending={t("demo.working")}>{`${name} · ${t(`demo.role.${role}`)}`}</SubmitButton>
              </ActionForm>
            </RuledRow>
          ))}
        </RuledList>
        <p><Link href="/demo-mail" prefetch={false}>{t("demo.mail")}</Link></p>
      </Stack>
    </section>
  );
}
