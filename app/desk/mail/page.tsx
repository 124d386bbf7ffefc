import type { Metadata } from "next";
import { ChoicesForm } from "@/app/mail/choices-form";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";

export const metadata: Metadata = { title: say("notices")("choices.title") };

export default async function MailPage() {
  const actor = await signedIn();
  await grant(actor, "practice.read", null);
  return <ChoicesForm actor={actor} />;
}
