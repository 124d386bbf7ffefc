import Link from "next/link";
import type { ReactNode } from "react";
import { Caution } from "@/app/ui/notice";
import { OpenShell } from "@/app/ui/shell";
import { Stack } from "@/app/ui/stack";
import { isDemo } from "@/lib/access/demo";
import { say } from "@/lib/messages/say";

/** Pages for people who are not known yet. */
export default function OpenLayout({ children }: { readonly children: ReactNode }) {
  const common = say("common");
  return (
    <OpenShell words={{ product: common("product"), skip: common("skip") }} demoWords={isDemo() ? common("demo") : undefined}>
      <Stack gap="large">
        {children}
        <footer>
          <Caution>{common("caution")}</Caution>
          <p><Link href="/privacy" prefetch={false}>{say("auth")("signIn.privacy")}</Link></p>
        </footer>
      </Stack>
    </OpenShell>
  );
}
