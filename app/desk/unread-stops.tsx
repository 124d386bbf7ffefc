import { remindAction } from "@/app/desk/remind-action";
import { ActionForm } from "@/app/ui/action-form";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { say } from "@/lib/messages/say";
import type { UnreadStopRow } from "@/lib/records/unread-stops";

const HOUR_MS = 3_600_000;

/** A child's stops that nobody has read back, how old they are, and one press that mails whoever is asked. */
export function UnreadStops({ row, from }: { readonly row: UnreadStopRow; readonly from: "queue" | "child" }) {
  const t = say("stops");
  return (
    <Stack gap="small">
      {row.stops.map((stop) => {
        const hours = Math.floor(stop.ageMs / HOUR_MS);
        return <p key={stop.stopId}><strong>{hours === 0 ? t("ageNew") : t("age", { hours })}</strong>, {t(`kindIs.${stop.stopKind}`)}.</p>;
      })}
      <p>{row.carers.length === 0 ? t("nobody") : t("who", { who: row.carers.join(", ") })}</p>
      {row.carers.length > 0 && row.isReminded ? <p>{t("reminded")}</p> : null}
      {row.carers.length > 0 && !row.isReminded ? (
        <ActionForm action={remindAction} once={crypto.randomUUID()} childId={row.childId} label={t("remind")}>
          <input type="hidden" name="from" value={from} />
          <SubmitButton kind="quiet" pending={t("reminding")}>{t("remind")}</SubmitButton>
        </ActionForm>
      ) : null}
    </Stack>
  );
}
