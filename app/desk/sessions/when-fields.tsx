import { Field, TextArea } from "@/app/ui/field";
import { say } from "@/lib/messages/say";

/** When a session is, in the practice's zone, and what who comes must know. */
export function WhenFields({ zone, day, time, howToJoin }: {
  readonly zone: string;
  /** `YYYY-MM-DD` and "HH:MM". */
  readonly day?: string;
  readonly time?: string;
  readonly howToJoin?: string;
}) {
  const t = say("sessions");
  return (
    <>
      <Field label={t("day")} name="day" type="date" required defaultValue={day} />
      <Field label={t("time")} name="time" hint={t("zone", { zone })} type="time" required defaultValue={time} />
      <TextArea label={t("howToJoin")} name="howToJoin" hint={t("howToJoinHint")} maxLength={600} defaultValue={howToJoin} />
    </>
  );
}
