import Link from "next/link";
import type { ReactNode } from "react";
import { askLanguageAction } from "@/app/language/actions";
import { LanguageChoice } from "@/app/language/language-choice";
import { Caution } from "@/app/ui/notice";
import { OpenShell } from "@/app/ui/shell";
import { Stack } from "@/app/ui/stack";
import { isDemo } from "@/lib/access/demo";
import { currentActor, readerNow } from "@/lib/access/session";
import { say } from "@/lib/messages/say";

/** Pages for people who are not known yet. */
export default async function OpenLayout({ children }: { readonly children: ReactNode }) {
  const reader = await readerNow();
  const common = say("common", reader);
  return (
    <OpenShell words={{ product: common("product"), skip: common("skip") }} demoWords={isDemo() ? common("demo") : undefined}>
      <Stack gap="large">
        {children}
        <footer>
          {(await currentActor()) ? null : <LanguageChoice action={askLanguageAction} reader={reader} />}
          <Caution>{common("caution")}</Caution>
          <p><Link href="/privacy" prefetch={false}>{say("auth", reader)("signIn.privacy")}</Link></p>
        </footer>
      </Stack>
    </OpenShell>
  );
}
