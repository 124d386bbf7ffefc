import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import styles from "@/app/desk/sessions/[sessionId]/invitation/sheet.module.css";
import { Heading } from "@/app/ui/heading";
import { PrintThis } from "@/app/ui/print-this";
import { QrCode } from "@/app/ui/qr-code";
import { ScreenOnly } from "@/app/ui/screen-only";
import { Stack } from "@/app/ui/stack";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { formatDateTime } from "@/lib/domain/time/format";
import { LOCALES } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";
import { sessionOf } from "@/lib/records/group-sessions";
import { practiceOf } from "@/lib/records/practice";
import { sessionInvitationOf } from "@/lib/records/session-invitations";

export const metadata: Metadata = { title: say("sessions")("invitation.title") };

/** A session invitation to print and hand out: the address and its code, when, until when, and a line for the exercise. Whoever finds it learns nobody's name and nothing of a back. */
export default async function InvitationSheetPage({ params }: { readonly params: Promise<{ readonly sessionId: string }> }) {
  const t = say("sessions");
  const actor = await signedIn();
  const reading = await grant(actor, "sessions.read", null);
  const now = Date.now();
  const session = await sessionOf(reading, (await params).sessionId, now);
  if (!session) notFound();
  const { timeZone: zone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const invitation = session.closedAt === null ? await sessionInvitationOf(reading, session.sessionId, now) : null;
  return (
    <Stack gap="large">
      <ScreenOnly>
        <p><Link href={`/desk/sessions/${session.sessionId}`} prefetch={false}>{t("invitation.toSession")}</Link></p>
        <Heading level={1} lead={t("invitation.sheetLead")}>{t("invitation.sheet")}</Heading>
        {invitation ? null : <p>{t("invitation.none")}</p>}
      </ScreenOnly>
      {invitation ? (
        <>
          <PrintThis words={{ print: t("invitation.print"), hint: t("invitation.printHint") }} />
          <section className={styles.sheet} aria-label={t("invitation.title")}>
            <div className={styles.address}>
              <QrCode text={invitation.address} words={t("invitation.code")} />
              <p className={styles.link}>{invitation.address}</p>
            </div>
            {LOCALES.map((locale) => {
              const words = say("joining", { locale, voice: "carer" });
              const said = (at: number) => formatDateTime(at, zone, locale);
              return (
                <section key={locale} lang={locale} className={styles.words}>
                  <Heading level={2}>{words("sheet.title", { when: said(session.startsAt) })}</Heading>
                  <p>{words("sheet.how")}</p>
                  <p className={styles.line}>{words("sheet.exercise")}</p>
                  <p><strong>{words("sheet.until", { until: said(invitation.expiresAt) })}</strong> {words("sheet.zone", { zone })}</p>
                  <p>{words("sheet.caution")}</p>
                </section>
              );
            })}
          </section>
        </>
      ) : null}
    </Stack>
  );
}
