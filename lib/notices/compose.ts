import "server-only";
import { publicUrl } from "@/lib/access/origin";
import { say } from "@/lib/messages/say";
import type { NoticeValues } from "@/lib/notices/add";

export type Mail = { readonly id: string; readonly to: string; readonly subject: string; readonly text: string };

/** The staff's own alarm; like every other mail it says whom it is about to nobody. */
const NOW = ["symptom-urgent", "symptom-today"];

/**
 * The words of a notice: no name, no health data, nothing that tells one kind of news from another to
 * whoever sees the mailbox. Links are made from the configured address and carry no session.
 */
export function compose(notice: { readonly id: string; readonly kind: string; readonly to: string; readonly values: NoticeValues }): Mail {
  const t = say("notices");
  const { id, kind, to, values } = notice;
  const address = (path: string): string => new URL(path, publicUrl()).href;
  if (kind === "sign-in-code") {
    return { id, to, subject: t("code.subject"), text: t("code.text", { code: values.code ?? "", link: address(`/sign-in/link?key=${values.key ?? ""}`) }) };
  }
  if (kind === "invitation") {
    return { id, to, subject: t("invitation.subject"), text: t("invitation.text", { link: address(`/join?key=${values.key ?? ""}`) }) };
  }
  const words = NOW.includes(kind) ? "now" : "news";
  return { id, to, subject: t(`${words}.subject`), text: t(`${words}.text`, { link: address("/") }) };
}

/** Who mail comes from. */
export const mailFrom = (): string => process.env["MAIL_FROM"] || `Trueside <no-reply@${publicUrl().hostname}>`;

/** The same for a notice sent twice, so that a mailbox can tell. */
export const messageId = (id: string): string => `<${id}@${publicUrl().hostname}>`;
