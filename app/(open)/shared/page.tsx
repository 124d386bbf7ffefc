import type { Metadata } from "next";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { readerNow } from "@/lib/access/session";
import { say } from "@/lib/messages/say";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("installed", await readerNow())("share.openTitle") });

/** Where a share leads that no phone of a signed-in family took: the photo is chosen in the app. */
export default async function Page() {
  const words = say("installed", await readerNow());
  return (
    <>
      <Heading level={1} lead={words("share.openLead")}>{words("share.openTitle")}</Heading>
      <p>{words("share.openKept")}</p>
      <ButtonLink href="/family/send">{words("share.openGo")}</ButtonLink>
    </>
  );
}
