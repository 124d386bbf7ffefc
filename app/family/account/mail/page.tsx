import type { Metadata } from "next";
import { FamilyFrame } from "@/app/family/frame";
import { ChoicesForm } from "@/app/mail/choices-form";
import { readerNow, signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("notices", await readerNow())("choices.title") });

export default async function MailPage() {
  return <FamilyFrame current="account"><ChoicesForm actor={await signedIn()} /></FamilyFrame>;
}
