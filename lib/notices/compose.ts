import "server-only";
import { publicUrl } from "@/lib/access/origin";
import { hasOwnWords } from "@/lib/domain/notices/kinds";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";
import type { NoticeValues } from "@/lib/notices/add";
import { offKey } from "@/lib/notices/off-key";

export type Mail = {
  readonly id: string;
  readonly to: string;
  readonly subject: string;
  readonly text: string;
  /** Where a mail program can switch such mails off by one request; null for what is about signing in. */
  readonly offUrl: string | null;
};

type Notice = { readonly id: string; readonly kind: string; readonly personId: string; readonly to: string; readonly values: NoticeValues; readonly reader: Reader };

/**
 * The words of a notice in its reader's language: one subject for all, one text for everything but what is about signing in; no
 * name, no health data, nothing that tells one kind of news from another, an alarm or a stop included, to
 * whoever sees the mailbox. Links are made from the configured address and carry no session.
 */
export function compose(notice: Notice): Mail {
  const t = say("notices", notice.reader);
  const { id, kind, personId, to, values } = notice;
  const address = (path: string): string => new URL(path, publicUrl()).href;
  const mail = { id, to, subject: t("subject"), offUrl: null };
  if (hasOwnWords(kind)) {
    const key = values.key ?? "";
    if (kind === "invitation") return { ...mail, text: t("invitation", { link: address(`/join?key=${key}`) }) };
    if (kind === "sign-in-code") return { ...mail, text: t("code", { code: values.code ?? "", link: address(`/sign-in/link?key=${key}`) }) };
    if (kind === "proof-code") return { ...mail, text: t("proofCode", { code: values.code ?? "" }) };
    if (kind === "address-code") return { ...mail, text: t("addressCode", { code: values.code ?? "" }) };
    if (kind === "address-changed") return { ...mail, text: t("addressChanged") };
    return { ...mail, text: t(`signIn.${kind}`, { link: address("/desk/account") }) };
  }
  const key = offKey(personId);
  return { ...mail, text: t("news", { link: address("/"), off: address(`/mail-off?key=${key}`) }), offUrl: address(`/mail-off/press?key=${key}`) };
}

/** Who mail comes from. */
export const mailFrom = (): string => process.env["MAIL_FROM"] || `Trueside <no-reply@${publicUrl().hostname}>`;

/** The same for a notice sent twice, so that a mailbox can tell. */
export const messageId = (id: string): string => `<${id}@${publicUrl().hostname}>`;
