import { endPhoneAction } from "@/app/mail/actions";
import { PushChoice } from "@/app/mail/push-choice";
import { ActionForm } from "@/app/ui/action-form";
import { Heading } from "@/app/ui/heading";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Actor } from "@/lib/access/actor";
import { readCookie } from "@/lib/access/cookies";
import { MOST_PHONES } from "@/lib/domain/notices/push";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { pushKeys } from "@/lib/notices/push";
import type { Phone } from "@/lib/records/push-phones";

const STANDINGS = ["title", "working", "turnOn", "turnOff", "unsupported", "install", "blocked", "off", "on", "failed"] as const;

/** This browser's own choice, and every phone and computer that is pushed to, each with one press to end it. */
export async function Phones({ actor, phones }: { readonly actor: Actor; readonly phones: readonly Phone[] }) {
  const t = say("notices", actor.reader);
  const problems = say("problems", actor.reader);
  const here = await readCookie("phone");
  const words = {
    ...(Object.fromEntries(STANDINGS.map((key) => [key, t(`push.${key}`)])) as Record<(typeof STANDINGS)[number], string>), // each key, once
    "push-too-many": problems("push-too-many", { most: MOST_PHONES }), "push-unknown": problems("push-unknown"),
  };
  const end = (which: string, label: string, name: string) => (
    <ActionForm isBare action={endPhoneAction} once={crypto.randomUUID()} label={name}>
      <input type="hidden" name="phone" value={which} />
      <SubmitButton kind="quiet" pending={t("push.ending")}>{label}</SubmitButton>
    </ActionForm>
  );
  return (
    <>
      <PushChoice personId={actor.personId} publicKey={pushKeys().publicKey} isKnown={phones.some(({ id }) => id === here)} words={words} />
      {phones.length > 0 ? (
        <Stack gap="small">
          <Heading level={2}>{t("push.phones")}</Heading>
          <RuledList label={t("push.phones")}>
            {phones.map(({ id, device, createdAt }) => {
              const name = t("push.since", { device: t(`push.device.${device}`), when: formatDateTime(createdAt, actor.timeZone, actor.reader.locale) });
              return (
                <RuledRow key={id}>
                  <Stack gap="small">
                    <p>{name}{id === here ? <> <strong>{t("push.here")}</strong></> : null}</p>
                    {end(id, t("push.end"), name)}
                  </Stack>
                </RuledRow>
              );
            })}
          </RuledList>
          {phones.length > 1 ? end("all", t("push.endAll"), t("push.endAll")) : null}
        </Stack>
      ) : null}
    </>
  );
}
