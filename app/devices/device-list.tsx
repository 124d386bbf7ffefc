import { endOthersAction, endSignInAction } from "@/app/devices/actions";
import { ActionForm } from "@/app/ui/action-form";
import { Heading } from "@/app/ui/heading";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { isStaff, type Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { signInsOf } from "@/lib/records/sign-ins";

/** Where a person is signed in, this browser first, and the end of any other. The same for both sides. */
export async function DeviceList({ actor }: { readonly actor: Actor }) {
  const t = say("devices", actor.reader);
  const own = await signInsOf(await grant(actor, "sign-ins.read", null), Date.now());
  const moment = (instant: number): string => formatDateTime(instant, actor.timeZone, actor.reader.locale);
  return (
    <section>
      <Heading level={2} lead={t("lead")}>{t("title")}</Heading>
      <Stack>
        <RuledList label={t("title")}>
          {own.map(({ signInId, browser, system, createdAt, lastSeenAt, isThis }) => {
            const device = t("device", { browser, system });
            return (
              <RuledRow key={signInId}>
                <Stack gap="small">
                  <p><strong>{device}</strong>{isThis ? <> · {t("this")}</> : null}</p>
                  <p>{t("when", { since: moment(createdAt), used: moment(lastSeenAt) })}</p>
                  {isThis ? null : (
                    <ActionForm action={endSignInAction} once={crypto.randomUUID()}>
                      <input type="hidden" name="signInId" value={signInId} />
                      <SubmitButton kind="quiet" pending={t("ending")}>{t("end", { device, since: moment(createdAt) })}</SubmitButton>
                    </ActionForm>
                  )}
                </Stack>
              </RuledRow>
            );
          })}
        </RuledList>
        {own.length > 1 ? (
          <ActionForm action={endOthersAction} once={crypto.randomUUID()} label={t("endOthers")}>
            {isStaff(actor.role) ? null : <p>{t("stays")}</p>}
            <SubmitButton pending={t("ending")}>{t("endOthers")}</SubmitButton>
          </ActionForm>
        ) : <p>{t("only")}</p>}
      </Stack>
    </section>
  );
}
