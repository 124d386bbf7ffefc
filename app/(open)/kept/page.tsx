import type { Metadata } from "next";
import { BackLink } from "@/app/(open)/kept/back-link";
import { KeptShell } from "@/app/(open)/kept/kept-shell";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { readerNow } from "@/lib/access/session";
import { SYMPTOM_KEYS, SYMPTOMS } from "@/lib/domain/symptoms/symptoms";
import { say } from "@/lib/messages/say";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("installed", await readerNow())("offline.title") });

/**
 * What stands when the server cannot be reached. The worker keeps this page as a stranger sees it, so
 * it says nothing of anybody; whatever else it shows comes from the phone.
 */
export default async function Page() {
  const reader = await readerNow();
  const [words, kept, family] = [say("installed", reader), say("kept", reader), say("family", reader)];
  return (
    <KeptShell words={{ title: family("shell.today"), unknown: kept("shell.unknown"), online: kept("shell.online"), open: kept("shell.open"), waiting: kept("shell.waiting") }}>
      <Heading level={1} lead={words("offline.lead")}>{words("offline.title")}</Heading>
      <Notice kind="caution">{words("offline.caution")}</Notice>
      <p>{words("offline.kept")}</p>
      <p><BackLink>{words("offline.again")}</BackLink></p>
      <Heading level={2}>{family("symptom.title")}</Heading>
      <p>{kept("shell.hurts")}</p>
      <p><strong>{kept("shell.urgent")}</strong></p>
      <ul>{SYMPTOM_KEYS.filter((key) => SYMPTOMS[key] === "urgent").map((key) => <li key={key}>{family(`symptom.is.${key}`)}</li>)}</ul>
    </KeptShell>
  );
}
