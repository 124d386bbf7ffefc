import type { Metadata } from "next";
import { redirect } from "next/navigation";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Stack } from "@/app/ui/stack";
import { isStaff } from "@/lib/access/actor";
import { currentActor, readerNow } from "@/lib/access/session";
import { say } from "@/lib/messages/say";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("joining", await readerNow())("title") });

/** Where a session invitation leads. Nothing is looked up here: to a stranger every address, good or not, says the same. */
export default async function SessionLinkPage({ searchParams }: { readonly searchParams: Promise<{ readonly key?: string | string[] }> }) {
  const { key } = await searchParams;
  const own = typeof key === "string" && /^[\w-]{1,100}$/.test(key) ? `/family/session?key=${key}` : "/family/session";
  const actor = await currentActor();
  if (actor) redirect(isStaff(actor.role) ? "/desk/sessions" : own);
  const t = say("joining", await readerNow());
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("stranger.lead")}>{t("stranger.title")}</Heading>
      <div><ButtonLink href={`/sign-in?then=${encodeURIComponent(own)}`}>{t("stranger.signIn")}</ButtonLink></div>
      <p>{t("stranger.noAccount")}</p>
    </Stack>
  );
}
