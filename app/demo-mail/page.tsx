import type { Metadata } from "next";
import { notFound } from "next/navigation";
import { EmptyState } from "@/app/ui/empty-state";
import { Heading } from "@/app/ui/heading";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { OpenShell } from "@/app/ui/shell";
import { Stack } from "@/app/ui/stack";
import { isDemo } from "@/lib/access/demo";
import { readerNow } from "@/lib/access/session";
import { say } from "@/lib/messages/say";
import { writtenMails } from "@/lib/notices/send";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("auth", await readerNow())("demo.mailTitle") });

const MOST = 30;

/** The demo's mailbox for everybody. A practice has no such page. */
export default async function DemoMailPage() {
  if (!isDemo()) notFound();
  const reader = await readerNow();
  const [t, common] = [say("auth", reader), say("common", reader)];
  const mails = writtenMails(MOST);
  return (
    <OpenShell words={{ product: common("product"), skip: common("skip") }} demoWords={common("demo")}>
      <Stack gap="large">
        <Heading level={1} lead={t("demo.mailLead")}>{t("demo.mailTitle")}</Heading>
        {mails.length === 0 ? <EmptyState title={t("demo.mailNone")}>{t("demo.mailNoneWhy")}</EmptyState> : (
          <RuledList label={t("demo.mailTitle")}>
            {mails.map(({ file, to, subject, text }) => (
              <RuledRow key={file}>
                <Stack gap="small">
                  <Heading level={2} lead={t("demo.mailTo", { to })}>{subject}</Heading>
                  {text.split("\n\n").map((part) => <p key={part}>{part.startsWith("http") ? <a href={part}>{part}</a> : part}</p>)}
                </Stack>
              </RuledRow>
            ))}
          </RuledList>
        )}
      </Stack>
    </OpenShell>
  );
}
